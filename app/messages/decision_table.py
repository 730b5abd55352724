"""Sentences for readings that cannot be judged."""

from __future__ import annotations

from bobweight.app.words import QT_TRANSLATE_NOOP

DECISION_TABLE = {
    "no-free-values": QT_TRANSLATE_NOOP(
        "messages", "Every value is held fixed, so there is nothing to fit. Let at least one vary."
    ),
    "not-determined": QT_TRANSLATE_NOOP(
        "messages", "These points do not settle every value. Measure at other places as well."
    ),
    "too-many-springs": QT_TRANSLATE_NOOP(
        "messages",
        "{value} springs are more than a judgement is worked out for; {limit} are the most. Curve "
        "and readings are still compared with the table.",
    ),
    "too-few-readings": QT_TRANSLATE_NOOP(
        "messages",
        "{given} readings with the pipe off are too few to judge by; {needed} are the least, and "
        "twenty do well. Take more.",
    ),
    "stretch-not-read": QT_TRANSLATE_NOOP(
        "messages", "The check points from {low} to {high} have no readings on both sides."
    ),
    "rising-not-read": QT_TRANSLATE_NOOP(
        "messages", "All readings were taken falling; the table asks for rising."
    ),
    "falling-not-read": QT_TRANSLATE_NOOP(
        "messages", "All readings were taken rising; the table asks for falling."
    ),
    "static-in-table": QT_TRANSLATE_NOOP(
        "messages",
        "No point of the table lies below the static of {stated}: it may be written with the "
        "static in it. Then say so on the Target page.",
    ),
    "table-narrow": QT_TRANSLATE_NOOP(
        "messages",
        "The rows of the table leave ± {amount}, closer than a bench can tell; a degree either way "
        "is usual.",
    ),
    "decided-by-odds": QT_TRANSLATE_NOOP(
        "messages",
        "The readings alone do not settle it: only that most such units are sound speaks for it.",
    ),
    "capsule-not-read": QT_TRANSLATE_NOOP("messages", "The capsule was not read."),
    "mark-not-proved": QT_TRANSLATE_NOOP(
        "messages", "The mark is in doubt ({chance}): prove it to ¼°."
    ),
    "static-disagrees": QT_TRANSLATE_NOOP(
        "messages",
        "The session’s static is {stated}, the docket’s {wanted}, and the readings show {read} "
        "with no advance.",
    ),
    "static-differs": QT_TRANSLATE_NOOP(
        "messages",
        "The session’s static is {stated}, the docket’s {wanted}, and no reading below the start "
        "of the advance says which.",
    ),
    "stretch-not-read-at": QT_TRANSLATE_NOOP(
        "messages", "The check point at {low} has no readings on both sides."
    ),
    "ceiling-not-read": QT_TRANSLATE_NOOP(
        "messages", "The curve still climbs at the fastest reading, so its ceiling was not read."
    ),
    "base-disagrees": QT_TRANSLATE_NOOP(
        "messages",
        "The session’s static is {stated}, but its readings show {read} with no advance.",
    ),
    "table-looks-crank": QT_TRANSLATE_NOOP(
        "messages",
        "The table goes up to {value}, the mechanism to {most} at the distributor: its figures "
        "look like the crank’s, and are said to be the distributor’s.",
    ),
    "table-looks-distributor": QT_TRANSLATE_NOOP(
        "messages",
        "The table goes up to {value}, the mechanism to {most} at the distributor: its figures "
        "look like the distributor’s, and are said to be the crank’s.",
    ),
    "table-and-figures": QT_TRANSLATE_NOOP(
        "messages", "The measured figures and this table cannot both be right ({chance})."
    ),
    "figures-unsaid": QT_TRANSLATE_NOOP(
        "messages",
        "The figures may be of this unit as it was found, or of a sound one: say which at the top "
        "of the Mechanism page.",
    ),
    "figures-doubted": QT_TRANSLATE_NOOP(
        "messages",
        "By table and readings a figure of the mechanism cannot be right, so the unit is judged as "
        "if none were known.",
    ),
    "sessions-differ": QT_TRANSLATE_NOOP(
        "messages",
        "{session}, of the same state of the unit, read otherwise ({name}; {chance} that something "
        "was done in between). If so, note it under “Alterations made”; if not, one of the two was "
        "misread.",
    ),
    "readings-scatter": QT_TRANSLATE_NOOP(
        "messages", "The readings scatter {factor} times what was stated."
    ),
    "line-disagrees": QT_TRANSLATE_NOOP(
        "messages",
        "Near {value} the readings on their own say something other than the curve as a whole.",
    ),
    "starts-early": QT_TRANSLATE_NOOP(
        "messages", "It starts early: {amount} above mid-band at {speed}."
    ),
    "starts-late": QT_TRANSLATE_NOOP(
        "messages", "It starts late: {amount} below mid-band at {speed}."
    ),
    "knee-high": QT_TRANSLATE_NOOP(
        "messages", "The knee is high: {amount} above mid-band at {speed}."
    ),
    "knee-low": QT_TRANSLATE_NOOP(
        "messages", "The knee is low: {amount} below mid-band at {speed}."
    ),
    "slope-steep": QT_TRANSLATE_NOOP(
        "messages", "It climbs too steeply: {amount} above mid-band at {speed}."
    ),
    "slope-flat": QT_TRANSLATE_NOOP(
        "messages", "It climbs too gently: {amount} below mid-band at {speed}."
    ),
    "stop-far": QT_TRANSLATE_NOOP(
        "messages", "It goes too far: {amount} above mid-band at {speed}."
    ),
    "stop-short": QT_TRANSLATE_NOOP(
        "messages", "It stops short: {amount} below mid-band at {speed}."
    ),
    "all-high": QT_TRANSLATE_NOOP(
        "messages", "Too much advance all along: {amount} above mid-band at {speed}."
    ),
    "all-low": QT_TRANSLATE_NOOP(
        "messages", "Too little advance all along: {amount} below mid-band at {speed}."
    ),
    "over-ceiling": QT_TRANSLATE_NOOP("messages", "It goes {amount} over the ceiling."),
    "falling-lags": QT_TRANSLATE_NOOP(
        "messages", "Falling, it lags by {amount}; more than {usual} is unusual."
    ),
}
