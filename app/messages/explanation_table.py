"""Texts of the explanations by their stable keys: titles, what is said, what is checked first."""

from __future__ import annotations

from bobweight.app.words import QT_TRANSLATE_NOOP

SIDES = {
    "unit": QT_TRANSLATE_NOOP("explanations", "fault of the unit"),
    "measurement": QT_TRANSLATE_NOOP("explanations", "fault of measurement"),
    "both": QT_TRANSLATE_NOOP("explanations", "unit and measurement"),
}

TITLES = {
    "nothing_wrong": QT_TRANSLATE_NOOP("explanations", "Nothing wrong"),
    "none_of_these": QT_TRANSLATE_NOOP("explanations", "None of these"),
    "primary_weak": QT_TRANSLATE_NOOP("explanations", "Primary spring weak"),
    "primary_strong": QT_TRANSLATE_NOOP("explanations", "Primary spring strong"),
    "primary_missing": QT_TRANSLATE_NOOP("explanations", "Primary spring missing"),
    "primary_stretched": QT_TRANSLATE_NOOP("explanations", "Primary spring stretched"),
    "secondary_weak": QT_TRANSLATE_NOOP("explanations", "Secondary spring weak"),
    "secondary_strong": QT_TRANSLATE_NOOP("explanations", "Secondary spring strong"),
    "secondary_missing": QT_TRANSLATE_NOOP("explanations", "Secondary spring missing"),
    "secondary_late": QT_TRANSLATE_NOOP("explanations", "Secondary taken up late"),
    "secondary_early": QT_TRANSLATE_NOOP("explanations", "Secondary taken up early"),
    "pegs_worn": QT_TRANSLATE_NOOP("explanations", "Pegs or pivots worn"),
    "stop_high": QT_TRANSLATE_NOOP("explanations", "Stop too far out"),
    "stop_low": QT_TRANSLATE_NOOP("explanations", "Stop too far in"),
    "sticking": QT_TRANSLATE_NOOP("explanations", "Weights or cam sticking"),
    "weights_light": QT_TRANSLATE_NOOP("explanations", "Weights too light"),
    "weights_unequal": QT_TRANSLATE_NOOP("explanations", "Weights do not match"),
    "weights_heavy": QT_TRANSLATE_NOOP("explanations", "Weights too heavy"),
    "mark_offset": QT_TRANSLATE_NOOP("explanations", "Static or mark off"),
    "tachometer_scale": QT_TRANSLATE_NOOP("explanations", "Tachometer out"),
    "lamp_lag": QT_TRANSLATE_NOOP("explanations", "Lamp delay"),
    "pipe_left_on": QT_TRANSLATE_NOOP("explanations", "Vacuum pipe left on"),
    "capsule_weak": QT_TRANSLATE_NOOP("explanations", "Capsule weak"),
    "capsule_leaking": QT_TRANSLATE_NOOP("explanations", "Capsule leaking"),
    "capsule_travel": QT_TRANSLATE_NOOP("explanations", "Capsule travel wrong"),
    "plate_stiff": QT_TRANSLATE_NOOP("explanations", "Breaker plate stiff"),
    "springs_swapped": QT_TRANSLATE_NOOP("explanations", "Springs on each other’s posts"),
    "springs_other": QT_TRANSLATE_NOOP("explanations", "Springs of another set"),
    "advance_seized": QT_TRANSLATE_NOOP("explanations", "Advance seized"),
    "cam_not_returning": QT_TRANSLATE_NOOP("explanations", "Cam does not come back to rest"),
    "direction_mistaken": QT_TRANSLATE_NOOP("explanations", "Rising and falling mixed up"),
    "tape_wrong": QT_TRANSLATE_NOOP("explanations", "Timing tape or dial of another size"),
    "lamp_doubles": QT_TRANSLATE_NOOP("explanations", "Lamp counts each spark twice"),
    "static_drifts": QT_TRANSLATE_NOOP("explanations", "Unit crept round while it was read"),
    "wrong_frame": QT_TRANSLATE_NOOP("explanations", "Crank and distributor figures mixed up"),
    "drive_backlash": QT_TRANSLATE_NOOP("explanations", "Slack in the drive"),
    "other_table": QT_TRANSLATE_NOOP("explanations", "Table of another unit"),
}

EXPLANATIONS = {
    "nothing_wrong": QT_TRANSLATE_NOOP(
        "explanations", "The readings are those of a sound unit, as the docket describes it"
    ),
    "none_of_these": QT_TRANSLATE_NOOP(
        "explanations",
        "The readings follow no curve that a fault listed here would give: check the docket’s "
        "figures on the bench, then read again",
    ),
    "primary_weak": QT_TRANSLATE_NOOP(
        "explanations", "{springs} about {percent} weak, rate {fitted} instead of {nominal}"
    ),
    "primary_strong": QT_TRANSLATE_NOOP(
        "explanations", "{springs} about {percent} strong, rate {fitted} instead of {nominal}"
    ),
    "primary_missing": QT_TRANSLATE_NOOP("explanations", "{springs} missing, broken or unhooked"),
    "primary_stretched": QT_TRANSLATE_NOOP(
        "explanations", "{springs} stretched by {amount}, free length {fitted} instead of {nominal}"
    ),
    "secondary_weak": QT_TRANSLATE_NOOP(
        "explanations", "{springs} about {percent} weak, rate {fitted} instead of {nominal}"
    ),
    "secondary_strong": QT_TRANSLATE_NOOP(
        "explanations", "{springs} about {percent} strong, rate {fitted} instead of {nominal}"
    ),
    "secondary_missing": QT_TRANSLATE_NOOP("explanations", "{springs} missing, broken or unhooked"),
    "secondary_late": QT_TRANSLATE_NOOP(
        "explanations", "{springs} taken up {amount} late, slack {fitted} instead of {nominal}"
    ),
    "secondary_early": QT_TRANSLATE_NOOP(
        "explanations", "{springs} taken up {amount} early, slack {fitted} instead of {nominal}"
    ),
    "pegs_worn": QT_TRANSLATE_NOOP(
        "explanations", "Pegs or pivots worn, {amount} of lost motion before the springs pull"
    ),
    "stop_high": QT_TRANSLATE_NOOP(
        "explanations",
        "Stop {amount} too far out, {fitted} instead of {nominal} at the distributor",
    ),
    "stop_low": QT_TRANSLATE_NOOP(
        "explanations",
        "Stop {amount} too far in, {fitted} instead of {nominal} at the distributor",
    ),
    "sticking": QT_TRANSLATE_NOOP(
        "explanations", "Weights or cam sticking, friction {fitted} instead of {nominal}"
    ),
    "weights_light": QT_TRANSLATE_NOOP(
        "explanations", "Weights about {percent} too light, {fitted} each instead of {nominal}"
    ),
    "weights_unequal": QT_TRANSLATE_NOOP(
        "explanations", "One weight is lighter than the other, both together by {percent}"
    ),
    "weights_heavy": QT_TRANSLATE_NOOP(
        "explanations", "Weights about {percent} too heavy, {fitted} each instead of {nominal}"
    ),
    "mark_offset": QT_TRANSLATE_NOOP(
        "explanations", "Static or timing mark off, so that every angle reads {amount} too much"
    ),
    "tachometer_scale": QT_TRANSLATE_NOOP(
        "explanations", "Tachometer reads too low, and the true speed is {percent} higher"
    ),
    "lamp_lag": QT_TRANSLATE_NOOP(
        "explanations", "Lamp flashes {amount} late, which reads as retard that grows with speed"
    ),
    "pipe_left_on": QT_TRANSLATE_NOOP(
        "explanations",
        "Vacuum pipe left on, the capsule adds its movement from {amount} at the distributor",
    ),
    "capsule_weak": QT_TRANSLATE_NOOP(
        "explanations", "Capsule about {percent} weak, full at {fitted} instead of {nominal}"
    ),
    "capsule_leaking": QT_TRANSLATE_NOOP(
        "explanations", "Capsule leaking, full only at {fitted} instead of {nominal}"
    ),
    "capsule_travel": QT_TRANSLATE_NOOP(
        "explanations",
        "Capsule moves the plate too far, by {percent}, {fitted} at the distributor instead of "
        "{nominal}",
    ),
    "plate_stiff": QT_TRANSLATE_NOOP(
        "explanations", "Breaker plate stiff, friction {fitted} instead of {nominal} at the rod"
    ),
    "advance_seized": QT_TRANSLATE_NOOP(
        "explanations", "The advance is seized: the cam does not move on its shaft"
    ),
    "springs_other": QT_TRANSLATE_NOOP(
        "explanations", "Springs of another set, all of them about {percent} strong"
    ),
    "springs_swapped": QT_TRANSLATE_NOOP(
        "explanations", "Primary and secondary spring are on each other’s posts"
    ),
    "cam_not_returning": QT_TRANSLATE_NOOP(
        "explanations", "The cam stays {amount} short of its rest at the distributor"
    ),
    "direction_mistaken": QT_TRANSLATE_NOOP(
        "explanations", "The readings noted as rising were taken falling, or the other way about"
    ),
    "tape_wrong": QT_TRANSLATE_NOOP(
        "explanations",
        "Timing tape or dial is for a smaller pulley, so that every angle reads {percent} too much",
    ),
    "lamp_doubles": QT_TRANSLATE_NOOP(
        "explanations", "The lamp counts each spark twice and shows double the angle"
    ),
    "static_drifts": QT_TRANSLATE_NOOP(
        "explanations",
        "The unit has crept round in its clamp, the last angle reads {amount} more than the first "
        "would",
    ),
    "wrong_frame": QT_TRANSLATE_NOOP(
        "explanations",
        "Distributor figures were noted as crank figures or the other way about, or the drive "
        "ratio is wrong",
    ),
    "drive_backlash": QT_TRANSLATE_NOOP(
        "explanations",
        "Slack of chain, gear or dog in the drive shows as {amount} more when falling, at the "
        "distributor",
    ),
    "other_table": QT_TRANSLATE_NOOP(
        "explanations",
        "The measured figures and this table cannot both be right, and the readings side with the "
        "figures",
    ),
}
"""What each fault says; ``{amount}``, ``{fitted}`` and ``{nominal}`` come with their units."""

RING = (
    QT_TRANSLATE_NOOP(
        "explanations", "Zero of the degree ring off, so that every angle reads {amount} too much"
    ),
    QT_TRANSLATE_NOOP(
        "explanations", "Zero of the degree ring off, so that every angle reads {amount} too little"
    ),
)
"""The same as "mark_offset", and its opposite, where a rig was read."""
SLIGHT = (
    QT_TRANSLATE_NOOP(
        "explanations", "Static or timing mark off, but by too little to show here ({amount})"
    ),
    QT_TRANSLATE_NOOP(
        "explanations", "Zero of the degree ring off, but by too little to show here ({amount})"
    ),
)
"""The same of less than its uncertainty, by lamp and on a rig: too much or too little, nobody can
tell."""
UNTOLD = QT_TRANSLATE_NOOP(
    "explanations", "The readings are those of a sound unit, as is usual in the trade"
)
"""The same as "nothing_wrong" where there is neither table nor mechanism."""
DEAD_CAPSULE = QT_TRANSLATE_NOOP(
    "explanations", "Capsule leaking, it hardly moves at any depression"
)
"""The same as "capsule_leaking" where it is full at no depression there is."""

RELATIVE = {
    "nothing_wrong": QT_TRANSLATE_NOOP(
        "explanations", "The readings are those of a sound unit, as the table has it"
    ),
    "primary_weak": QT_TRANSLATE_NOOP("explanations", "{springs} about {percent} weak"),
    "primary_strong": QT_TRANSLATE_NOOP("explanations", "{springs} about {percent} strong"),
    "primary_stretched": QT_TRANSLATE_NOOP("explanations", "{springs} stretched by {amount}"),
    "secondary_weak": QT_TRANSLATE_NOOP("explanations", "{springs} about {percent} weak"),
    "secondary_strong": QT_TRANSLATE_NOOP("explanations", "{springs} about {percent} strong"),
    "secondary_late": QT_TRANSLATE_NOOP("explanations", "{springs} taken up {amount} late"),
    "secondary_early": QT_TRANSLATE_NOOP("explanations", "{springs} taken up {amount} early"),
    "stop_high": QT_TRANSLATE_NOOP("explanations", "Stop {amount} too far out at the distributor"),
    "stop_low": QT_TRANSLATE_NOOP("explanations", "Stop {amount} too far in at the distributor"),
    "sticking": QT_TRANSLATE_NOOP("explanations", "Weights or cam sticking"),
    "weights_light": QT_TRANSLATE_NOOP("explanations", "Weights about {percent} too light"),
    "weights_heavy": QT_TRANSLATE_NOOP("explanations", "Weights about {percent} too heavy"),
}
"""The same of a value that nobody measured: by how much, and never what it is."""

NOT_ENTERED = {
    "secondary_late": QT_TRANSLATE_NOOP(
        "explanations", "{springs} taken up {amount} late, slack {fitted}, none entered"
    ),
    "sticking": QT_TRANSLATE_NOOP(
        "explanations", "Weights or cam sticking, friction {fitted}, none entered"
    ),
    "plate_stiff": QT_TRANSLATE_NOOP(
        "explanations", "Breaker plate stiff, friction {fitted} at the rod, none entered"
    ),
}
"""The same where a sound part’s figure is nought because nobody entered one."""

OPPOSITES = {
    "springs_other": QT_TRANSLATE_NOOP(
        "explanations", "Springs of another set, all of them about {percent} weak"
    ),
    "capsule_travel": QT_TRANSLATE_NOOP(
        "explanations",
        "Capsule moves the plate too little, by {percent}, {fitted} at the distributor instead of "
        "{nominal}",
    ),
    "tape_wrong": QT_TRANSLATE_NOOP(
        "explanations",
        "Timing tape or dial is for a larger pulley, so that every angle reads {percent} too "
        "little",
    ),
    "static_drifts": QT_TRANSLATE_NOOP(
        "explanations",
        "The unit has crept round in its clamp, the last angle reads {amount} less than the first "
        "would",
    ),
    "mark_offset": QT_TRANSLATE_NOOP(
        "explanations", "Static or timing mark off, so that every angle reads {amount} too little"
    ),
    "tachometer_scale": QT_TRANSLATE_NOOP(
        "explanations", "Tachometer reads too high, and the true speed is {percent} lower"
    ),
}
"""The same where the amount is negative."""

CHECKS = {
    "hang-springs": QT_TRANSLATE_NOOP(
        "explanations", "hang a known load on each spring and measure it"
    ),
    "hang-primary": QT_TRANSLATE_NOOP(
        "explanations", "hang a known load on the primary and measure it"
    ),
    "hang-secondary": QT_TRANSLATE_NOOP(
        "explanations", "hang a known load on the secondary and measure it"
    ),
    "length-primary": QT_TRANSLATE_NOOP("explanations", "measure the free length of the primary"),
    "look-at-springs": QT_TRANSLATE_NOOP("explanations", "look at both ends of each spring"),
    "loop-and-post": QT_TRANSLATE_NOOP(
        "explanations",
        "measure the slack of the secondary’s loop and see whether its post is bent",
    ),
    "pegs-and-pivots": QT_TRANSLATE_NOOP("explanations", "feel pegs and pivots for lost motion"),
    "stop": QT_TRANSLATE_NOOP(
        "explanations", "look at the stop: wear, filing, dirt, a buffer lost or too thick"
    ),
    "clean-and-oil": QT_TRANSLATE_NOOP(
        "explanations", "clean and oil cam and pivots, then read again"
    ),
    "weigh-weights": QT_TRANSLATE_NOOP("explanations", "weigh the weights"),
    "prove-mark": QT_TRANSLATE_NOOP(
        "explanations",
        "see what the static was set to, and prove top dead centre with a piston stop, by hand "
        "only",
    ),
    "ring-zero": QT_TRANSLATE_NOOP(
        "explanations", "see what the ring shows before the advance begins"
    ),
    "check-tachometer": QT_TRANSLATE_NOOP("explanations", "check the tachometer against another"),
    "other-lamp": QT_TRANSLATE_NOOP("explanations", "read again with another lamp"),
    "pipe-off": QT_TRANSLATE_NOOP("explanations", "see that the pipe is off and plugged"),
    "capsule-pump": QT_TRANSLATE_NOOP(
        "explanations", "pump the capsule and note where it starts and is full"
    ),
    "capsule-number": QT_TRANSLATE_NOOP(
        "explanations",
        "see whether the number on the capsule is this unit’s, and pump it and note how far the "
        "plate goes",
    ),
    "capsule-holds": QT_TRANSLATE_NOOP("explanations", "see whether the capsule holds"),
    "plate-free": QT_TRANSLATE_NOOP("explanations", "see whether the plate swings freely"),
    "free-the-cam": QT_TRANSLATE_NOOP(
        "explanations",
        "turn the cam by hand against its springs; if it does not go to the stop, free, clean and "
        "oil cam and pivots",
    ),
    "cam-returns": QT_TRANSLATE_NOOP(
        "explanations", "turn the cam by hand and see whether the springs bring it back"
    ),
    "note-direction": QT_TRANSLATE_NOOP(
        "explanations", "take a few readings again and note which way the speed was going"
    ),
    "check-tape": QT_TRANSLATE_NOOP(
        "explanations", "measure the pulley that the tape or the dial was made for"
    ),
    "clamp-tight": QT_TRANSLATE_NOOP(
        "explanations", "tighten the clamp, set the static again and repeat the first readings"
    ),
    "check-frame": QT_TRANSLATE_NOOP(
        "explanations", "see whether the figures are the crank’s or the distributor’s"
    ),
    "turn-drive": QT_TRANSLATE_NOOP(
        "explanations", "rock the rotor by hand and feel for slack in the drive"
    ),
    "check-table": QT_TRANSLATE_NOOP(
        "explanations", "see whether the table is the one for the number on the body"
    ),
}
"""What a hand checks first, by code."""

ACTIONS = {
    "leave-alone": QT_TRANSLATE_NOOP("explanations", "Nothing need be done."),
    "alter": QT_TRANSLATE_NOOP("explanations", "Alter it."),
    "measure-first": QT_TRANSLATE_NOOP(
        "explanations", "Prove the measurement before a spanner is taken to the unit."
    ),
    "free-first": QT_TRANSLATE_NOOP(
        "explanations",
        "Turn the cam by hand against its springs: if it does not go to the stop and back, free, "
        "clean and oil it, then read again.",
    ),
    "read-more": QT_TRANSLATE_NOOP("explanations", "Read more before anything is altered."),
    "nothing-helps": QT_TRANSLATE_NOOP(
        "explanations", "Altering one or two things is not sure to bring it inside."
    ),
    "no-target": QT_TRANSLATE_NOOP(
        "explanations", "There is no target to judge by. Enter check points on the Target page."
    ),
    "read-first": QT_TRANSLATE_NOOP("explanations", "Not read yet."),
    "not-judged": QT_TRANSLATE_NOOP(
        "explanations", "What lies behind the readings cannot be worked out yet."
    ),
}
"""What to do now, by code."""

CAPSULE_FIRST = {
    "capsule_leaking": QT_TRANSLATE_NOOP(
        "explanations",
        "See first whether the capsule holds: one that leaks is renewed. If it holds, "
        "{steps}: inside with {chance}.",
    ),
    "capsule_travel": QT_TRANSLATE_NOOP(
        "explanations",
        "See first whether the capsule is of this unit’s number: another one is exchanged. "
        "If it is, {steps}: inside with {chance}.",
    ),
}
"""What is seen to before a capsule is altered, by the fault that leads."""

DECISIONS = {
    "inside": QT_TRANSLATE_NOOP("explanations", "Inside its band ({chance})."),
    "looks inside": QT_TRANSLATE_NOOP("explanations", "Looks inside its band ({chance})."),
    "cannot be told": QT_TRANSLATE_NOOP(
        "explanations", "Cannot be told yet (inside everywhere: {chance})."
    ),
    "looks outside": QT_TRANSLATE_NOOP(
        "explanations", "Looks outside{where} (inside everywhere: {chance})."
    ),
    "outside": QT_TRANSLATE_NOOP("explanations", "Outside{where} (inside everywhere: {chance})."),
}
"""The word of decision as it begins the one sentence of a judgement."""

HELPS = {
    "read": QT_TRANSLATE_NOOP("explanations", "Read at {where}"),
    "read-stretch": QT_TRANSLATE_NOOP(
        "explanations",
        "Read at {where}, where nothing was read yet: until then it cannot be called inside",
    ),
    "read-way": QT_TRANSLATE_NOOP(
        "explanations", "Read at {where}: that way nothing was read yet, and the table asks for it"
    ),
    "read-again": QT_TRANSLATE_NOOP(
        "explanations", "Read several times more at {where}, where it stands near its limit"
    ),
    "prove-mark": QT_TRANSLATE_NOOP("explanations", "Prove the mark to ±\u00a0{u}"),
    "check-tachometer": QT_TRANSLATE_NOOP("explanations", "Check the tachometer to ±\u00a0{u}"),
    "measure": QT_TRANSLATE_NOOP("explanations", "Measure “{what}” to ±\u00a0{u}"),
    "enter-table": QT_TRANSLATE_NOOP(
        "explanations",
        "Enter the table for the unit’s number: without that table nothing can be called inside",
    ),
}
"""What would help the decision, by code."""
