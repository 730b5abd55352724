"""The fixed words of printed pages, by the codes of :class:`core.sheet.description.Word`.

Source text for translation, context ``sheet``. In a template ``{name}`` is a fact of the word;
facts are figures already written. The labels of stored values (code ``label``) are translated in
the context ``parameters`` like everywhere else.
"""

from __future__ import annotations

from bobweight.app.messages.figure_words import FIGURE_WORDS, said
from bobweight.app.paper.print_words import PRINT_WORDS
from bobweight.app.paper.record_words import RECORD_WORDS
from bobweight.app.paper.tray_words import TRAY_WORDS
from bobweight.app.words import QT_TRANSLATE_NOOP, UNTITLED_UNIT
from bobweight.core.figure.description import Content

WORDS: dict[str, str] = {
    **TRAY_WORDS,
    **PRINT_WORDS,
    **RECORD_WORDS,
    **FIGURE_WORDS,
    # heading
    "untitled": UNTITLED_UNIT,
    "frame-distributor": QT_TRANSLATE_NOOP(
        "sheet", "Advance sheet. Speeds and degrees are at the distributor unless said otherwise."
    ),
    "frame-crank-static": QT_TRANSLATE_NOOP(
        "sheet",
        "Advance sheet. Speeds and degrees are at the crank, with {static}° static timing.",
    ),
    "frame-crank": QT_TRANSLATE_NOOP(
        "sheet", "Advance sheet. Speeds and degrees are at the crank, without static timing."
    ),
    "overall-measured-inside": QT_TRANSLATE_NOOP("sheet", "Measured: inside the band"),
    "overall-measured-outside": QT_TRANSLATE_NOOP("sheet", "Measured: outside the band"),
    "overall-measured-cannot-tell": QT_TRANSLATE_NOOP("sheet", "Measured: cannot be told yet"),
    "overall-judged-inside": QT_TRANSLATE_NOOP("sheet", "Inside the band"),
    "overall-judged-looks-inside": QT_TRANSLATE_NOOP("sheet", "Looks inside the band"),
    "overall-judged-cannot-be-told": QT_TRANSLATE_NOOP("sheet", "Cannot be told yet"),
    "overall-judged-looks-outside": QT_TRANSLATE_NOOP("sheet", "Looks outside the band"),
    "overall-judged-outside": QT_TRANSLATE_NOOP("sheet", "Outside the band"),
    "overall-predicted-inside": QT_TRANSLATE_NOOP("sheet", "Predicted: inside the band"),
    "overall-predicted-outside": QT_TRANSLATE_NOOP("sheet", "Predicted: outside the band"),
    "degrees-distributor": QT_TRANSLATE_NOOP("sheet", "{value}° at the distributor"),
    "degrees-crank": QT_TRANSLATE_NOOP("sheet", "{value}° at the crank"),
    "degrees-before": QT_TRANSLATE_NOOP("sheet", "{value}° before top dead centre"),
    "degrees-after": QT_TRANSLATE_NOOP("sheet", "{value}° after top dead centre"),
    "at-dead-centre": QT_TRANSLATE_NOOP("sheet", "at top dead centre"),
    # curve
    "curve": QT_TRANSLATE_NOOP("sheet", "Centrifugal advance"),
    "no-curve": QT_TRANSLATE_NOOP(
        "sheet", "Nothing to draw yet: no mechanism, no target, no readings. Grid for use by hand."
    ),
    "starts-at": QT_TRANSLATE_NOOP("sheet", "Predicted to start at {speed} rev/min."),
    "full-at": QT_TRANSLATE_NOOP("sheet", "Full {advance}° at {speed} rev/min."),
    "jumps-rising": QT_TRANSLATE_NOOP(
        "sheet", "Rising, jumps from {low}° to {high}° at {speed} rev/min."
    ),
    "jumps-falling": QT_TRANSLATE_NOOP(
        "sheet", "Falling, drops from {low}° to {high}° at {speed} rev/min."
    ),
    "stands-still": QT_TRANSLATE_NOOP(
        "sheet", "Stands still at {advance}° from {low} to {high} rev/min."
    ),
    "rising": QT_TRANSLATE_NOOP("sheet", "rising"),
    "falling": QT_TRANSLATE_NOOP("sheet", "falling"),
    "branch-falling": QT_TRANSLATE_NOOP("sheet", "▽ {value}"),  # as the key has its readings
    "key": QT_TRANSLATE_NOOP("sheet", "Readings (± is one standard deviation, two in three):"),
    "key-rising": QT_TRANSLATE_NOOP("sheet", "rising"),
    "key-falling": QT_TRANSLATE_NOOP("sheet", "falling"),
    "key-unknown": QT_TRANSLATE_NOOP("sheet", "direction not noted"),
    "key-left-out": QT_TRANSLATE_NOOP("sheet", "left out"),
    "read-with-lamp": QT_TRANSLATE_NOOP(
        "sheet",
        "{session}{count} readings by timing lamp{pumped}, {pm} {u_speed} engine rev/min, {pm} "
        "{u_angle} crank; static {static}.",
    ),
    "read-with-rig": QT_TRANSLATE_NOOP(
        "sheet",
        "{session}{count} readings on a rig{pumped}, {pm} {u_speed} rev/min, {pm} {u_angle} of "
        "the distributor; ring at {static} with no advance.",
    ),
    "read-with-lamp-one": QT_TRANSLATE_NOOP(
        "sheet",
        "{session}one reading by timing lamp{pumped}, {pm} {u_speed} engine rev/min, {pm} "
        "{u_angle} crank; static {static}.",
    ),
    "read-with-rig-one": QT_TRANSLATE_NOOP(
        "sheet",
        "{session}one reading on a rig{pumped}, {pm} {u_speed} rev/min, {pm} {u_angle} of the "
        "distributor; ring at {static} with no advance.",
    ),
    "read-pumped": QT_TRANSLATE_NOOP("sheet", " ({count} of the capsule)"),
    "read-and-signs": QT_TRANSLATE_NOOP(
        "sheet", "{read} Predicted: ✗ outside, ▲ rising, ▽ falling."
    ),
    "beyond-the-plot": QT_TRANSLATE_NOOP("sheet", "Readings beyond the plot: {count}"),
    # check points
    "check-points": QT_TRANSLATE_NOOP("sheet", "Check points"),
    "vacuum-check-points": QT_TRANSLATE_NOOP("sheet", "Vacuum check points"),
    "target-either": QT_TRANSLATE_NOOP("sheet", "{source}"),
    "target-rising": QT_TRANSLATE_NOOP("sheet", "{source}, read rising"),
    "target-falling": QT_TRANSLATE_NOOP("sheet", "{source}, read falling"),
    "speed": QT_TRANSLATE_NOOP("sheet", "Speed"),
    "speed-unit": QT_TRANSLATE_NOOP("sheet", "rev/min"),
    "depression": QT_TRANSLATE_NOOP("sheet", "Depression"),
    "degrees": QT_TRANSLATE_NOOP("sheet", "degrees"),
    "required": QT_TRANSLATE_NOOP("sheet", "Required"),
    "off": QT_TRANSLATE_NOOP("sheet", "Off the"),
    "middle": QT_TRANSLATE_NOOP("sheet", "middle"),
    "predicted-column": QT_TRANSLATE_NOOP("sheet", "Predicted"),
    "measured": QT_TRANSLATE_NOOP("sheet", "Measured"),
    "chance": QT_TRANSLATE_NOOP("sheet", "Chance"),
    "inside-of-it": QT_TRANSLATE_NOOP("sheet", "inside"),
    "decision": QT_TRANSLATE_NOOP("sheet", "Decision"),
    "predicted-is": QT_TRANSLATE_NOOP("sheet", "Predicted is"),
    "and-more": QT_TRANSLATE_NOOP("sheet", "And {count} more."),
    "and-more-overleaf": QT_TRANSLATE_NOOP("sheet", "And {count} more on page 2."),
    "and-more-overleaf-one": QT_TRANSLATE_NOOP("sheet", "And one more on page 2."),
    "and-more-one": QT_TRANSLATE_NOOP("sheet", "And one more."),
    "more-in-docket": QT_TRANSLATE_NOOP("sheet", "and {count} more in the docket"),
    "point-below": QT_TRANSLATE_NOOP("sheet", "below {speed}"),
    # capsule
    "capsule": QT_TRANSLATE_NOOP("sheet", "Vacuum capsule"),
    # springs and settings
    "springs": QT_TRANSLATE_NOOP("sheet", "Springs"),
    "figures-doubted": QT_TRANSLATE_NOOP(
        "sheet", "A figure of the mechanism cannot be right: judged as if none were known."
    ),
    "settings": QT_TRANSLATE_NOOP("sheet", "Weights, linkage, stop"),
    "springs-and-settings": QT_TRANSLATE_NOOP("sheet", "Springs, weights, linkage, stop"),
    "spring": QT_TRANSLATE_NOOP("sheet", "Spring"),
    "own-mark": QT_TRANSLATE_NOOP("sheet", "Marked"),
    "peg-on": QT_TRANSLATE_NOOP("sheet", "Peg on"),
    "rate": QT_TRANSLATE_NOOP("sheet", "Rate"),
    "free-length": QT_TRANSLATE_NOOP("sheet", "Free length"),
    "slack": QT_TRANSLATE_NOOP("sheet", "Slack"),
    "tension": QT_TRANSLATE_NOOP("sheet", "Tension"),
    "post": QT_TRANSLATE_NOOP("sheet", "Post"),
    "peg": QT_TRANSLATE_NOOP("sheet", "Peg"),
    "mm-at-degrees": QT_TRANSLATE_NOOP("sheet", "mm at °"),
    "polar": QT_TRANSLATE_NOOP("sheet", "{radius_mm} at {angle_deg}°"),
    "angles-from": QT_TRANSLATE_NOOP(
        "sheet", "Angles from the line through a weight’s pivot, plus towards advance."
    ),
    "numbered": QT_TRANSLATE_NOOP("sheet", "{name} {number}"),
    "tang": QT_TRANSLATE_NOOP("sheet", "Bent"),
    "taken-up": QT_TRANSLATE_NOOP("sheet", "Takes up at"),
    "from-rest": QT_TRANSLATE_NOOP("sheet", "rest"),
    # the rest
    "curve-found": QT_TRANSLATE_NOOP("sheet", "as found"),
    "curve-left": QT_TRANSLATE_NOOP("sheet", "as left"),
    "remarks": QT_TRANSLATE_NOOP("sheet", "Remarks"),
    "plan-key": QT_TRANSLATE_NOOP("sheet", "At rest, from above; not to scale"),
    "plan-key-assumed": QT_TRANSLATE_NOOP(
        "sheet", "At rest, from above, for clockwise (assumed); not to scale"
    ),
    "plan-from": QT_TRANSLATE_NOOP("sheet", "mm from the axis, or a weight’s pivot"),
    "of-weight": QT_TRANSLATE_NOOP("sheet", "Weight {number}: {name:within}"),
    "rows-measured": QT_TRANSLATE_NOOP("sheet", "Places of the cam measured"),
    "rows-learned": QT_TRANSLATE_NOOP("sheet", "Places of the cam learnt"),
    "assumed": QT_TRANSLATE_NOOP("sheet", "assumed"),
    "assumed-value": QT_TRANSLATE_NOOP("sheet", "{value} (assumed)"),
    "not-entered": QT_TRANSLATE_NOOP("sheet", "not entered"),
    "not-measured": QT_TRANSLATE_NOOP("sheet", "not measured"),
    "cautions-heading": QT_TRANSLATE_NOOP("sheet", "Cautions"),
    "cautions": QT_TRANSLATE_NOOP(
        "sheet",
        "Cautions. A lamp makes fan and belt look still; fans start unannounced. Wheels chocked, "
        "exhaust outdoors, clear of hot and moving parts; piston stop by hand. Ignition voltage "
        "injures, disturbs pacemakers: no high-tension lead open, no ignition on at closed "
        "points. Guard rig and eyes; no petrol vapour, no solvent on the capsule. Too much "
        "advance destroys engines: change 1 to 2° at a time, prove under load, back off at a "
        "ping. Maker’s data, local rules, a qualified technician first.",
    ),
    "scale-bar": QT_TRANSLATE_NOOP("sheet", "This bar is {length_mm:.0f} mm long at true scale"),
    "name": QT_TRANSLATE_NOOP("sheet", "Name"),
    "date": QT_TRANSLATE_NOOP("sheet", "Date"),
}


def worded(content: Content) -> str:
    """The text of a string or word of a printed page, as ``app.messages.figure_words`` does it."""
    return said(content, WORDS)
