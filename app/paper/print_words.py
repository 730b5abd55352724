"""The fixed words of the true-scale prints and of what goes to the engine; see
:mod:`app.paper.words`."""

from __future__ import annotations


def QT_TRANSLATE_NOOP(_context: str, text: str) -> str:
    """The text itself; translators' tools find it by this name."""
    return text


PRINT_WORDS: dict[str, str] = {
    "print-at-true-size": QT_TRANSLATE_NOOP(
        "sheet", "Print at 100 %, not fitted to the page; then measure {line}."
    ),
    "the-bar": QT_TRANSLATE_NOOP("sheet", "the bar"),
    "check-line": QT_TRANSLATE_NOOP("sheet", "the {length_mm} mm line"),
    # measuring card
    "measuring-card-title": QT_TRANSLATE_NOOP("sheet", "Measuring card"),
    "measuring-card-how": QT_TRANSLATE_NOOP(
        "sheet",
        "Cut along both squares. Lay the frame flat round the open unit, level with the base plate "
        "if you can, with nothing over the eight marks. Photograph it from straight above, as far "
        "off as fills the picture with the frame. Measure the 150 mm line and type its "
        "true length.",
    ),
    # timing tape
    "tape-title": QT_TRANSLATE_NOOP("sheet", "Timing tape"),
    "tape-diameter": QT_TRANSLATE_NOOP("sheet", "Diameter of the rim"),
    "tape-rotation": QT_TRANSLATE_NOOP("sheet", "Engine, seen from the front"),
    "turns-clockwise": QT_TRANSLATE_NOOP("sheet", "turns clockwise"),
    "turns-anticlockwise": QT_TRANSLATE_NOOP("sheet", "turns anticlockwise"),
    "tape-side": QT_TRANSLATE_NOOP("sheet", "Marked"),
    "tape-before": QT_TRANSLATE_NOOP("sheet", "{span}° before top dead centre"),
    "tape-after": QT_TRANSLATE_NOOP("sheet", "{span}° after top dead centre"),
    "tape-both": QT_TRANSLATE_NOOP("sheet", "{span}° before and after"),
    "tape-degree": QT_TRANSLATE_NOOP("sheet", "One crank degree"),
    "tape-length": QT_TRANSLATE_NOOP("sheet", "Length of the tape"),
    "tape-smallest": QT_TRANSLATE_NOOP("sheet", "Smallest step"),
    "tape-cylinders": QT_TRANSLATE_NOOP("sheet", "Cylinders marked"),
    "tape-thickness": QT_TRANSLATE_NOOP("sheet", "Paper allowed for"),
    "tape-how-check": QT_TRANSLATE_NOOP(
        "sheet",
        "Measure the bar below first: if it is not 100 mm long, the print is not true; print it "
        "again without fitting it to the page.",
    ),
    "tape-how-assumed": QT_TRANSLATE_NOOP(
        "sheet",
        "△ Check first: which way the engine turns was not entered. The tape is for one that turns "
        "clockwise, as most do, and has a ? at its arrows; on one that turns the other way its "
        "marks lie on the wrong side of the 0.",
    ),
    "tape-how-clockwise": QT_TRANSLATE_NOOP(
        "sheet",
        "Cut along the outline. Lay the tape round the rim, printed side out, its lower edge to "
        "the front of the engine: the arrow then points the way the pulley turns, and the marks "
        "before top dead centre lie to the right of the 0.",
    ),
    "tape-how-anticlockwise": QT_TRANSLATE_NOOP(
        "sheet",
        "Cut along the outline. Lay the tape round the rim, printed side out, its lower edge to "
        "the front of the engine: the arrow then points the way the pulley turns, and the marks "
        "before top dead centre lie to the left of the 0.",
    ),
    "tape-how-zero": QT_TRANSLATE_NOOP(
        "sheet",
        "Prove top dead centre with a piston stop from both sides, turning by hand, and bring the "
        "0 of the first cylinder under the pointer there. Clean the rim, glue the tape on, and see "
        "that the pointer stands close over it: 1.5 mm beside the mark on a {rim} mm rim is "
        "{off}°.",
    ),
    "tape-how-cylinders": QT_TRANSLATE_NOOP(
        "sheet",
        "Each 0 names the cylinders whose top dead centre it is. Each has its own scale.",
    ),
    "tape-how-firing": QT_TRANSLATE_NOOP(
        "sheet",
        "Each 0 says whose top dead centre it is by the place in the firing order: firing 1 is the "
        "first cylinder, firing 2 the one that fires after it.",
    ),
    "tape-how-join": QT_TRANSLATE_NOOP(
        "sheet",
        "Strips overlap: lay the dashed line of one on the line with the same letter of the next.",
    ),
    "tape-zero": QT_TRANSLATE_NOOP("sheet", "0"),
    "tape-zero-of": QT_TRANSLATE_NOOP("sheet", "0 cyl. {numbers}"),
    "tape-zero-firing": QT_TRANSLATE_NOOP("sheet", "0 firing {numbers}"),
    "tape-side-before": QT_TRANSLATE_NOOP("sheet", "before"),
    "tape-side-after": QT_TRANSLATE_NOOP("sheet", "after"),
    "strip-of": QT_TRANSLATE_NOOP("sheet", "strip {number} of {count}"),
    "tape-turns": QT_TRANSLATE_NOOP("sheet", "the pulley turns this way"),
    "tape-turns-assumed": QT_TRANSLATE_NOOP("sheet", "? assumed to turn this way"),
    "tape-lower-edge": QT_TRANSLATE_NOOP(
        "sheet", "This edge to the front of the engine. For a diameter of {diameter} mm only."
    ),
    "print-of": QT_TRANSLATE_NOOP("sheet", "{title}: {subject}"),
    # degree ring
    "ring-title": QT_TRANSLATE_NOOP("sheet", "Degree ring"),
    "ring-outer": QT_TRANSLATE_NOOP("sheet", "Outer radius"),
    "ring-inner": QT_TRANSLATE_NOOP("sheet", "Inner radius"),
    "ring-numbering": QT_TRANSLATE_NOOP("sheet", "Figures grow"),
    "ring-clockwise": QT_TRANSLATE_NOOP("sheet", "clockwise"),
    "ring-anticlockwise": QT_TRANSLATE_NOOP("sheet", "anticlockwise"),
    "ring-assumed": QT_TRANSLATE_NOOP("sheet", "{way} (assumed: check first)"),
    "ring-pointer": QT_TRANSLATE_NOOP("sheet", "Pointer runs at"),
    "ring-inner-edge": QT_TRANSLATE_NOOP("sheet", "the inner edge"),
    "ring-outer-edge": QT_TRANSLATE_NOOP("sheet", "the outer edge"),
    "ring-how-centre": QT_TRANSLATE_NOOP(
        "sheet",
        "Cut along both edges, glue the ring to a flat plate, and set it true to the shaft: "
        "turned round by hand, the pointer must keep the same distance from the edge all the way. "
        "From mark to mark is {step}° of the distributor, and the figures must grow the way it "
        "turns. A pointer on the shaft stands further back, against the figures, the more advance "
        "there is: the advance is how far.",
    ),
    "ring-how-join": QT_TRANSLATE_NOOP(
        "sheet",
        "Sectors overlap: lay the dashed line of one on the line with the same letter of the next.",
    ),
    # lamp card
    "card-title": QT_TRANSLATE_NOOP("sheet", "Lamp card"),
    "card-how": QT_TRANSLATE_NOOP(
        "sheet",
        "Engine warm, dwell set before timing, pipe off and plugged; set the static timing first. "
        "Speeds are as the tachometer shows them; degrees are at the crank as the lamp must show "
        "them by the unit’s figures, static, mark error and delay counted in.",
    ),
    "card-how-bare": QT_TRANSLATE_NOOP(
        "sheet",
        "Engine warm, dwell set before timing; set the static timing first. Speeds are as the "
        "tachometer shows them; degrees are at the crank as the lamp must show them by the unit’s "
        "figures, static, mark error and delay counted in.",
    ),
    "card-static": QT_TRANSLATE_NOOP("sheet", "Static timing"),
    "card-total": QT_TRANSLATE_NOOP("sheet", "Total"),
    "card-total-at": QT_TRANSLATE_NOOP("sheet", "{total}° at {speed} engine rev/min"),
    "card-total-held": QT_TRANSLATE_NOOP(
        "sheet", "{total}° at {speed} engine rev/min with {depression}"
    ),
    "static-by-mark": QT_TRANSLATE_NOOP("sheet", "{static} (by the mark: {shown}°)"),
    "card-backlash": QT_TRANSLATE_NOOP("sheet", "Backlash of the drive"),
    "card-backlash-of": QT_TRANSLATE_NOOP("sheet", "{value}°, counted in while speed falls"),
    "card-idle": QT_TRANSLATE_NOOP("sheet", "Idle"),
    "speed-of": QT_TRANSLATE_NOOP("sheet", "{speed} rev/min"),
    "card-gap": QT_TRANSLATE_NOOP("sheet", "Gap to set"),
    "card-dwell": QT_TRANSLATE_NOOP("sheet", "Dwell found, distributor"),
    "card-held": QT_TRANSLATE_NOOP("sheet", "Pipe on: hand pump holds"),
    "idle-capsule": QT_TRANSLATE_NOOP("sheet", "Capsule at idle"),
    "idle-capsule-of": QT_TRANSLATE_NOOP("sheet", "Capsule {number} at idle"),
    "idle-advances-manifold": QT_TRANSLATE_NOOP(
        "sheet", "advances {value}° (manifold, {depression})"
    ),
    "idle-retards-manifold": QT_TRANSLATE_NOOP(
        "sheet", "retards {value}° (manifold, {depression})"
    ),
    "idle-still-manifold": QT_TRANSLATE_NOOP("sheet", "does nothing (manifold, {depression})"),
    "idle-still-edge": QT_TRANSLATE_NOOP("sheet", "does nothing (edge of the throttle)"),
    "idle-advances-edge": QT_TRANSLATE_NOOP("sheet", "advances {value}° (edge of the throttle)"),
    "idle-retards-edge": QT_TRANSLATE_NOOP("sheet", "retards {value}° (edge of the throttle)"),
    "idle-shown": QT_TRANSLATE_NOOP("sheet", "Idle, pipe refitted"),
    "idle-shown-of-all": QT_TRANSLATE_NOOP("sheet", "Idle, pipes on"),
    "idle-falling": QT_TRANSLATE_NOOP("sheet", "{total}° at {speed} rev/min, falling"),
    "idle-falling-usual": QT_TRANSLATE_NOOP(
        "sheet", "{total}° at {speed} rev/min (a usual idle), falling"
    ),
    "figure-outside": QT_TRANSLATE_NOOP("sheet", "✗ {value}"),
    "card-outside": QT_TRANSLATE_NOOP(
        "sheet", "predicted by the unit’s figures, and outside the target."
    ),
    "card-judged": QT_TRANSLATE_NOOP("sheet", "By the readings: {said:within}"),
    "card-mark": QT_TRANSLATE_NOOP("sheet", "Error of the mark"),
    "card-lag": QT_TRANSLATE_NOOP("sheet", "Delay of the lamp"),
    "card-scale": QT_TRANSLATE_NOOP("sheet", "Tachometer"),
    "scale-true": QT_TRANSLATE_NOOP("sheet", "shows true speed"),
    "scale-times": QT_TRANSLATE_NOOP("sheet", "shown × {scale} is true"),
    "pipe-off": QT_TRANSLATE_NOOP("sheet", "Pipe off and plugged"),
    "lamp-must-show": QT_TRANSLATE_NOOP("sheet", "At the crank"),
    "pipe-on": QT_TRANSLATE_NOOP("sheet", "Pipe on the hand pump"),
    "tachometer": QT_TRANSLATE_NOOP("sheet", "Tachometer"),
    "band-short": QT_TRANSLATE_NOOP("sheet", "Target"),
    "rising-head": QT_TRANSLATE_NOOP("sheet", "Rising"),
    "falling-head": QT_TRANSLATE_NOOP("sheet", "Falling"),
    "seen": QT_TRANSLATE_NOOP("sheet", "Seen"),
    # blank session sheet
    "session-title": QT_TRANSLATE_NOOP("sheet", "Timing session"),
    "session-how": QT_TRANSLATE_NOOP(
        "sheet",
        "Engine warm, dwell set, top dead centre proved, pipe off and plugged. Go up through the "
        "speeds, then down, each point three times. Write what lamp and tachometer show; do "
        "no sums at the engine; the means can wait.",
    ),
    "session-how-bare": QT_TRANSLATE_NOOP(
        "sheet",
        "Engine warm, dwell set, top dead centre proved. Go up through the speeds, then down, each "
        "point three times. Write what lamp and tachometer show; do no sums at the engine; the "
        "means can wait.",
    ),
    "session-how-rig": QT_TRANSLATE_NOOP(
        "sheet",
        "Turn the unit its own way round. Note what the ring shows with no advance. Go up through "
        "the speeds, then down, each point three times. Write what is shown; where the ring’s "
        "figures fall as it advances, set the ring to 0 with no advance and write how far it goes.",
    ),
    "session-date": QT_TRANSLATE_NOOP("sheet", "Date"),
    "session-name": QT_TRANSLATE_NOOP("sheet", "Session"),
    "session-static": QT_TRANSLATE_NOOP("sheet", "Static set at, °"),
    "session-static-of": QT_TRANSLATE_NOOP("sheet", "Static set at, ° (wanted {value}°)"),
    "session-mark": QT_TRANSLATE_NOOP("sheet", "Error of the mark, °"),
    "session-tachometer": QT_TRANSLATE_NOOP("sheet", "Tachometer and lamp"),
    "session-dwell": QT_TRANSLATE_NOOP("sheet", "Dwell, distributor °"),
    "session-zero": QT_TRANSLATE_NOOP("sheet", "Ring shows with no advance, °"),
    "session-instrument": QT_TRANSLATE_NOOP("sheet", "Rig and tachometer"),
    "session-engine": QT_TRANSLATE_NOOP("sheet", "Engine"),
    "session-distributor": QT_TRANSLATE_NOOP("sheet", "Distributor"),
    "session-band": QT_TRANSLATE_NOOP("sheet", "Target as shown"),
    "session-band-without": QT_TRANSLATE_NOOP("sheet", "Target, no static"),
    "session-band-rig": QT_TRANSLATE_NOOP("sheet", "Target, ring at {zero}°"),
    "session-band-blank": QT_TRANSLATE_NOOP("sheet", "Target"),
    "session-rising": QT_TRANSLATE_NOOP("sheet", "Rising, ° shown"),
    "session-falling": QT_TRANSLATE_NOOP("sheet", "Falling, ° shown"),
    "mean": QT_TRANSLATE_NOOP("sheet", "Mean"),
    "session-note": QT_TRANSLATE_NOOP("sheet", "Note"),
    "session-vacuum": QT_TRANSLATE_NOOP(
        "sheet",
        "Then the capsule, by hand pump in steps both ways, at one speed held.",
    ),
    "session-vacuum-at": QT_TRANSLATE_NOOP(
        "sheet",
        "Then the capsule, by hand pump in steps both ways, at {speed} rev/min held, where the "
        "weights give nothing.",
    ),
    "session-held": QT_TRANSLATE_NOOP("sheet", "Speed held, rev/min"),
    "session-pipe-off": QT_TRANSLATE_NOOP("sheet", "Shown there, pipe off, °"),
    "session-pipe-off-of": QT_TRANSLATE_NOOP("sheet", "Shown, pipe off, ° (targets for {zero}°)"),
    "session-plate": QT_TRANSLATE_NOOP("sheet", "Target, vacuum alone"),
    "session-deeper": QT_TRANSLATE_NOOP("sheet", "Pumping up, ° shown"),
    "session-back": QT_TRANSLATE_NOOP("sheet", "Letting off, ° shown"),
    "session-notes": QT_TRANSLATE_NOOP("sheet", "Notes"),
    # reassembly
    "steps-title": QT_TRANSLATE_NOOP("sheet", "Reassembly"),
    "steps-cautions": QT_TRANSLATE_NOOP(
        "sheet",
        "Springs fly: wear eye protection when you hook them on. Petrol is no cleaning fluid; "
        "keep the capsule out of solvent. A unit that is half a turn out fires into open valves: "
        "check slot and dog before the springs go back, and turn the engine by hand before it is "
        "started.",
    ),
    "steps-cautions-bare": QT_TRANSLATE_NOOP(
        "sheet",
        "Springs fly: wear eye protection when you hook them on. Petrol is no cleaning fluid. A "
        "unit that is half a turn out fires into open valves: check slot and dog before the "
        "springs go back, and turn the engine by hand before it is started.",
    ),
    "step-rotor-post-off-bare": QT_TRANSLATE_NOOP("sheet", "Rotor arm at its cap segment"),
    "step-earth-lead-bare": QT_TRANSLATE_NOOP("sheet", "Earth lead sound and clear"),
    "steps-shaft": QT_TRANSLATE_NOOP("sheet", "Shaft, weights and cam"),
    "steps-advance": QT_TRANSLATE_NOOP("sheet", "Springs and advance"),
    "steps-plate": QT_TRANSLATE_NOOP("sheet", "Plate, capsule and contacts"),
    "steps-plate-bare": QT_TRANSLATE_NOOP("sheet", "Plate and contacts"),
    "steps-cap": QT_TRANSLATE_NOOP("sheet", "Rotor and cap"),
    "steps-trap": QT_TRANSLATE_NOOP("sheet", "trap"),
    "plan-heading": QT_TRANSLATE_NOOP("sheet", "Rotor slot and dog, at true size"),
    "plan-how": QT_TRANSLATE_NOOP(
        "sheet",
        "Hold the unit with its dog’s blade across and the wide side up. The arrow is the way the "
        "rotor’s slot must point.",
    ),
    "plan-assumed-rotation": QT_TRANSLATE_NOOP(
        "sheet",
        "△ Which way it turns was not entered. Clockwise is assumed: check first, since the slot "
        "is counted that way.",
    ),
    "plan-assumed-lobes": QT_TRANSLATE_NOOP(
        "sheet", "△ The number of lobes was not entered: {lobes} are drawn, as assumed."
    ),
    "plan-assumed-drive": QT_TRANSLATE_NOOP(
        "sheet", "△ What drives it was not entered: an offset dog is assumed."
    ),
    "plan-right": QT_TRANSLATE_NOOP("sheet", "right: looking down on the cap"),
    "plan-wrong": QT_TRANSLATE_NOOP("sheet", "wrong: the cam half a turn out"),
    "plan-over": QT_TRANSLATE_NOOP("sheet", "right: held with the dog to the eye"),
    # cautions
    "engine-cautions": QT_TRANSLATE_NOOP(
        "sheet",
        "A lamp makes fan and belt look still; electric fans start unannounced. Keep hands, leads "
        "and clothes clear of moving parts; park or neutral, wheels chocked, exhaust to the open "
        "air; mind hot parts. Ignition voltage injures; ignition left on with the points closed "
        "burns the coil; no high-tension lead is left open while it turns; ignition disturbs "
        "pacemakers. Turn the engine against a piston stop by hand only. Too much advance "
        "destroys an engine: change it 1 to 2° at a time, prove it under load, back off at the "
        "first ping. The maker’s data, local rules and a qualified technician come first.",
    ),
    "rig-cautions": QT_TRANSLATE_NOOP(
        "sheet",
        "Guard the chuck and wear eye protection; a lamp makes turning parts look still. Turn the "
        "unit its own way round; keep leads and clothes clear. Petrol is no cleaning fluid, "
        "its vapour near a sparking rig explodes. Ignition voltage injures, and disturbs "
        "pacemakers; no high-tension lead is left open. The maker’s data, local rules and a "
        "qualified technician come first.",
    ),
}
