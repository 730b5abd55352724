"""Sentences for readings that cannot be judged, and for explanations, checks, alterations."""

from __future__ import annotations

from PySide6.QtCore import QT_TRANSLATE_NOOP

DECISION_TABLE = {
    "no-session": QT_TRANSLATE_NOOP("messages", "There are no readings yet. Take some first."),
    "no-free-values": QT_TRANSLATE_NOOP(
        "messages", "Nothing is left open, so there is nothing to fit. Leave a value uncertain."
    ),
    "not-determined": QT_TRANSLATE_NOOP(
        "messages", "The points do not determine every value. Measure at other places."
    ),
    "too-few-readings": QT_TRANSLATE_NOOP(
        "messages",
        "{given} readings with the pipe off are too few to judge by; {needed} are the least, and "
        "twenty do well. Take more.",
    ),
    "too-many-readings": QT_TRANSLATE_NOOP(
        "messages",
        "{given} readings are more than can be judged at once; {limit} are the most. "
        "Leave some out.",
    ),
    "readings-all-one-speed": QT_TRANSLATE_NOOP(
        "messages",
        "All readings lie at one speed ({low} to {high}), so no curve shows. Read at other speeds.",
    ),
    "readings-all-below-start": QT_TRANSLATE_NOOP(
        "messages",
        "All readings were taken below {limit}, where the advance begins (fastest {value}). "
        "Read at higher speeds.",
    ),
    "advance-falls-with-speed": QT_TRANSLATE_NOOP(
        "messages",
        "The advance falls as the speed rises, which no centrifugal advance does. Check the "
        "columns, the sign of the angles, and the lamp's leads.",
    ),
    "no-check-points": QT_TRANSLATE_NOOP(
        "messages", "The target has no check points, so no alteration can be sought. Add some."
    ),
}

EXPLANATIONS = {
    "nothing_wrong": QT_TRANSLATE_NOOP("explanations", "Nothing wrong"),
    "none_of_these": QT_TRANSLATE_NOOP("explanations", "None of these"),
    "primary_weak": QT_TRANSLATE_NOOP("explanations", "Primary spring weak"),
    "primary_strong": QT_TRANSLATE_NOOP("explanations", "Primary spring strong"),
    "primary_missing": QT_TRANSLATE_NOOP("explanations", "Primary spring missing or unhooked"),
    "primary_stretched": QT_TRANSLATE_NOOP("explanations", "Primary spring stretched"),
    "secondary_weak": QT_TRANSLATE_NOOP("explanations", "Secondary spring weak"),
    "secondary_strong": QT_TRANSLATE_NOOP("explanations", "Secondary spring strong"),
    "secondary_missing": QT_TRANSLATE_NOOP("explanations", "Secondary spring missing or unhooked"),
    "secondary_late": QT_TRANSLATE_NOOP("explanations", "Secondary spring taken up late"),
    "secondary_early": QT_TRANSLATE_NOOP("explanations", "Secondary spring taken up early"),
    "pegs_worn": QT_TRANSLATE_NOOP("explanations", "Pegs or loops worn"),
    "stop_high": QT_TRANSLATE_NOOP("explanations", "Stop too far out"),
    "stop_low": QT_TRANSLATE_NOOP("explanations", "Stop too near"),
    "sticking": QT_TRANSLATE_NOOP("explanations", "Weights or cam sticking"),
    "weights_light": QT_TRANSLATE_NOOP("explanations", "Weights too light"),
    "weights_heavy": QT_TRANSLATE_NOOP("explanations", "Weights too heavy"),
    "mark_offset": QT_TRANSLATE_NOOP("explanations", "Timing mark out of place"),
    "tachometer_scale": QT_TRANSLATE_NOOP("explanations", "Tachometer wrong"),
    "lamp_lag": QT_TRANSLATE_NOOP("explanations", "Lamp fires late"),
    "pipe_left_on": QT_TRANSLATE_NOOP("explanations", "Vacuum pipe left on"),
    "capsule_weak": QT_TRANSLATE_NOOP("explanations", "Capsule spring weak"),
    "capsule_leaking": QT_TRANSLATE_NOOP("explanations", "Capsule leaking"),
    "plate_stiff": QT_TRANSLATE_NOOP("explanations", "Breaker plate stiff"),
}
"""What each explanation is called."""

SIZES = {
    "amount": QT_TRANSLATE_NOOP(
        "explanations", "{what}, about {size} out: {value} ± {u} instead of {nominal}."
    ),
    "from": QT_TRANSLATE_NOOP(
        "explanations", "{what}: the plate's advance is in the readings above about {size}."
    ),
    "none": QT_TRANSLATE_NOOP("explanations", "{what}."),
    "nothing_wrong": QT_TRANSLATE_NOOP(
        "explanations",
        "Nothing wrong: unit and instruments do what the docket says, within their scatter.",
    ),
    "none_of_these": QT_TRANSLATE_NOOP(
        "explanations",
        "None of these: no single fault considered here makes such readings. Repeat the readings "
        "before anything is touched.",
    ),
    "alike": QT_TRANSLATE_NOOP("explanations", "These readings cannot tell it from: {others}."),
}

CHECKS = {
    "hang-primary": QT_TRANSLATE_NOOP(
        "explanations", "Hang weights on the primary spring and measure its rate."
    ),
    "hang-secondary": QT_TRANSLATE_NOOP(
        "explanations", "Hang weights on the secondary spring and measure its rate."
    ),
    "look-at-springs": QT_TRANSLATE_NOOP(
        "explanations", "Look whether every spring is there and hooked on at both ends."
    ),
    "length-primary": QT_TRANSLATE_NOOP(
        "explanations", "Measure the free length of the primary spring between its hooks."
    ),
    "loop-and-post": QT_TRANSLATE_NOOP(
        "explanations", "Look at the loop of the secondary spring and at its post for wear."
    ),
    "pegs-and-pivots": QT_TRANSLATE_NOOP(
        "explanations", "Look at pegs, loops and pivots for wear."
    ),
    "stop": QT_TRANSLATE_NOOP("explanations", "Measure the cam's travel to its stop by hand."),
    "clean-and-oil": QT_TRANSLATE_NOOP(
        "explanations",
        "Turn the cam by hand: it must go out and come back freely. Clean and oil it.",
    ),
    "weigh-weights": QT_TRANSLATE_NOOP("explanations", "Weigh the weights."),
    "prove-mark": QT_TRANSLATE_NOOP(
        "explanations", "Prove top dead centre with a piston stop from both sides, by hand."
    ),
    "check-tachometer": QT_TRANSLATE_NOOP(
        "explanations", "Check the tachometer against another, and its setting."
    ),
    "other-lamp": QT_TRANSLATE_NOOP("explanations", "Repeat a fast reading with another lamp."),
    "pipe-off": QT_TRANSLATE_NOOP(
        "explanations", "See that the pipe is off and plugged, and read again."
    ),
    "capsule-pump": QT_TRANSLATE_NOOP(
        "explanations", "Pump the capsule by hand and note where it starts and ends."
    ),
    "capsule-holds": QT_TRANSLATE_NOOP(
        "explanations", "Pump the capsule by hand and see whether it holds for a minute."
    ),
    "plate-free": QT_TRANSLATE_NOOP(
        "explanations", "Move the breaker plate by hand: it must move freely and return."
    ),
}
"""What a hand checks first, by code."""

ACTIONS = {
    "leave-alone": QT_TRANSLATE_NOOP("explanations", "The unit lies inside its band. Leave it."),
    "alter": QT_TRANSLATE_NOOP("explanations", "An alteration is worth making."),
    "measure-first": QT_TRANSLATE_NOOP(
        "explanations",
        "A fault of measurement is likelier than one of the unit. Mend that and read again before "
        "the unit is taken apart.",
    ),
    "read-more": QT_TRANSLATE_NOOP(
        "explanations", "The readings do not say yet whether anything need be done. Read more."
    ),
    "nothing-helps": QT_TRANSLATE_NOOP(
        "explanations", "No one or two alterations bring this unit into its band. Look for wear."
    ),
    "no-target": QT_TRANSLATE_NOOP("explanations", "There is no target to judge by. Add one."),
    "not-judged": QT_TRANSLATE_NOOP("explanations", "This cannot be judged yet."),
}
"""What to do now, by code."""

ALTERATIONS = {
    "clean": QT_TRANSLATE_NOOP("explanations", "Clean and oil weights, pivots and cam."),
    "stop": QT_TRANSLATE_NOOP("explanations", "Set the stop by {amount} (distributor degrees)."),
    "tang": QT_TRANSLATE_NOOP("explanations", "Bend the tang of the {spring} by {amount}."),
    "loop": QT_TRANSLATE_NOOP(
        "explanations", "Change the slack of the {spring} by {amount}: close or open its loop."
    ),
    "swap": QT_TRANSLATE_NOOP("explanations", "Fit a {spring} to the docket's figures."),
    "mass": QT_TRANSLATE_NOOP(
        "explanations",
        "Change each weight by {amount}, all alike; filing cannot be undone.",
    ),
    "static": QT_TRANSLATE_NOOP("explanations", "Change the static timing by {amount}."),
    "capsule_start": QT_TRANSLATE_NOOP("explanations", "Change the capsule's start by {amount}."),
    "capsule_travel": QT_TRANSLATE_NOOP("explanations", "Change the capsule's travel by {amount}."),
}
"""What to alter, by key."""

NEXT = {
    "take": QT_TRANSLATE_NOOP(
        "explanations",
        "Read next at {speed}, {direction}{pipe}: it tells “{first}” from “{second}” best.",
    ),
    "enough": QT_TRANSLATE_NOOP(
        "explanations", "Another reading is not likely to change what is thought most probable."
    ),
    "pipe": QT_TRANSLATE_NOOP("explanations", ", with {depression} on the capsule"),
}

STATES = {
    "determined": QT_TRANSLATE_NOOP("explanations", "determined by these readings"),
    "not-determined": QT_TRANSLATE_NOOP("explanations", "not determined by these readings"),
    "at-limit": QT_TRANSLATE_NOOP("explanations", "at its limit"),
}
"""How well a fitted value is known, by code."""
