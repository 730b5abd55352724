"""The fixed words of the record of the work on the sheet; see :mod:`app.paper.words`."""

from __future__ import annotations


def QT_TRANSLATE_NOOP(_context: str, text: str) -> str:
    """The text itself; translators' tools find it by this name."""
    return text


RECORD_WORDS: dict[str, str] = {
    "key-before-rising": QT_TRANSLATE_NOOP("sheet", "before, rising"),
    "key-before-falling": QT_TRANSLATE_NOOP("sheet", "before, falling"),
    "key-before-unknown": QT_TRANSLATE_NOOP("sheet", "before"),
    # in short
    "short-found": QT_TRANSLATE_NOOP("sheet", "Found"),
    "short-altered": QT_TRANSLATE_NOOP("sheet", "Altered"),
    "short-compared": QT_TRANSLATE_NOOP("sheet", "Before, after"),
    "short-set": QT_TRANSLATE_NOOP("sheet", "Set up"),
    "phrase-fail": QT_TRANSLATE_NOOP("sheet", "Fails: {name:within} {value} ({limits})."),
    "phrase-borderline": QT_TRANSLATE_NOOP(
        "sheet", "Borderline: {name:within} {value} ({limits})."
    ),
    "phrase-shown": QT_TRANSLATE_NOOP("sheet", "Not judged: {name:within} {value} ({limits})."),
    "phrase-plain-shown": QT_TRANSLATE_NOOP("sheet", "Not judged: {name:within}, {value:within}."),
    "phrase-plain-fail": QT_TRANSLATE_NOOP("sheet", "Fails: {name:within}, {value:within}."),
    "phrase-plain-borderline": QT_TRANSLATE_NOOP(
        "sheet", "Borderline: {name:within}, {value:within}."
    ),
    "count-fail": QT_TRANSLATE_NOOP("sheet", "{count} fail."),
    "count-borderline": QT_TRANSLATE_NOOP("sheet", "{count} borderline."),
    "count-shown": QT_TRANSLATE_NOOP("sheet", "{count} shown, not judged."),
    "count-pass": QT_TRANSLATE_NOOP("sheet", "{count} pass."),
    "scatter-pass": QT_TRANSLATE_NOOP(
        "sheet", "Spark scatter at the crank {value}° either way: good."
    ),
    "scatter-borderline": QT_TRANSLATE_NOOP(
        "sheet", "Spark scatter at the crank {value}° either way: more than 1°."
    ),
    "scatter-fail": QT_TRANSLATE_NOOP(
        "sheet", "Spark scatter at the crank {value}° either way: reject."
    ),
    "phrase-compared": QT_TRANSLATE_NOOP(
        "sheet",
        "Measured inside the band: {before} of {count} ({before_name}), then {after} of {count} "
        "({after_name}).",
    ),
    "phrase-total": QT_TRANSLATE_NOOP(
        "sheet",
        "Static {static}; total {total}.",
    ),
    "phrase-fact": QT_TRANSLATE_NOOP("sheet", "{name} {value}."),
    "session-number": QT_TRANSLATE_NOOP("sheet", "session {number}"),
    # at length
    "not-printed": QT_TRANSLATE_NOOP("sheet", "Not printed at length, but in the docket: {names}."),
    "list-of-1": QT_TRANSLATE_NOOP("sheet", "{n0:within}"),
    "list-of-2": QT_TRANSLATE_NOOP("sheet", "{n0:within}, {n1:within}"),
    "list-of-3": QT_TRANSLATE_NOOP("sheet", "{n0:within}, {n1:within}, {n2:within}"),
    "list-of-4": QT_TRANSLATE_NOOP("sheet", "{n0:within}, {n1:within}, {n2:within}, {n3:within}"),
    "record-said": QT_TRANSLATE_NOOP("sheet", "Record of the work."),
    "record-empty": QT_TRANSLATE_NOOP(
        "sheet", "Nothing is recorded yet: no findings, no second session, no alterations."
    ),
    "before-and-after": QT_TRANSLATE_NOOP("sheet", "Before and after"),
    "compared-sessions": QT_TRANSLATE_NOOP("sheet", "Before: {before}.   After: {after}."),
    "check-point": QT_TRANSLATE_NOOP("sheet", "Check point"),
    "before": QT_TRANSLATE_NOOP("sheet", "Before"),
    "after": QT_TRANSLATE_NOOP("sheet", "After"),
    "decided": QT_TRANSLATE_NOOP("sheet", "decision"),
    "moved": QT_TRANSLATE_NOOP("sheet", "Moved by"),
    "row-speed": QT_TRANSLATE_NOOP("sheet", "at {speed} rev/min"),
    "row-vacuum": QT_TRANSLATE_NOOP("sheet", "vacuum, {depression}"),
    "findings": QT_TRANSLATE_NOOP("sheet", "Findings"),
    "finding": QT_TRANSLATE_NOOP("sheet", "Finding"),
    "found": QT_TRANSLATE_NOOP("sheet", "Found"),
    "limits": QT_TRANSLATE_NOOP("sheet", "Limits"),
    "state": QT_TRANSLATE_NOOP("sheet", "State"),
    "costs": QT_TRANSLATE_NOOP("sheet", "Scatter it costs at the crank, either way"),
    "finding-lobes": QT_TRANSLATE_NOOP("sheet", "Worst lobe off by"),
    "finding-leak": QT_TRANSLATE_NOOP("sheet", "Capsule loses in {seconds} s"),
    "state-pass": QT_TRANSLATE_NOOP("sheet", "pass"),
    "state-borderline": QT_TRANSLATE_NOOP("sheet", "borderline"),
    "state-shown": QT_TRANSLATE_NOOP("sheet", "shown, not judged"),
    "limits-for-lobes": QT_TRANSLATE_NOOP("sheet", "{limits}, {lobes} lobes assumed"),
    "scatter-for-lobes": QT_TRANSLATE_NOOP("sheet", "{said} With {lobes} lobes, assumed."),
    "usual-limits": QT_TRANSLATE_NOOP("sheet", "usual {limits}"),
    "unusual-limits": QT_TRANSLATE_NOOP("sheet", "outside the usual {limits}"),
    "state-fail": QT_TRANSLATE_NOOP("sheet", "fail"),
    "alterations": QT_TRANSLATE_NOOP("sheet", "Alterations made"),
    "read-before": QT_TRANSLATE_NOOP("sheet", "Read before"),
    "read-after": QT_TRANSLATE_NOOP("sheet", "Read after"),
    "setting-up": QT_TRANSLATE_NOOP("sheet", "Setting up"),
    "setting-frame": QT_TRANSLATE_NOOP(
        "sheet",
        "Engine speeds, crank degrees with static. Driving states rising; with the throttle shut, "
        "falling.",
    ),
    "pipe-off-short": QT_TRANSLATE_NOOP("sheet", "Pipe off"),
    "lamp-shows": QT_TRANSLATE_NOOP("sheet", "Lamp shows"),
    "pump-at": QT_TRANSLATE_NOOP("sheet", "Pump, {depression}"),
    "never-in-a-state": QT_TRANSLATE_NOOP("sheet", "{value}° in a driving state"),
    "never-but-passed": QT_TRANSLATE_NOOP("sheet", "{value}° in a driving state: ✗ passes it"),
    "driving-state": QT_TRANSLATE_NOOP("sheet", "Driving state"),
    "driving-state-usual": QT_TRANSLATE_NOOP("sheet", "Driving state (usual ones)"),
    "up-there": QT_TRANSLATE_NOOP("sheet", "At altitude"),
    "cautions-overleaf": QT_TRANSLATE_NOOP("sheet", "Cautions: see page {page}."),
}
