"""The sentence for each code. ``{place}`` is the field in words, the rest are facts with units."""

from __future__ import annotations

from bobweight.app.words import QT_TRANSLATE_NOOP

PLACES = {
    "Spring": QT_TRANSLATE_NOOP("messages", "Spring {number}"),
    "Capsule": QT_TRANSLATE_NOOP("messages", "Capsule {number}"),
    "OwnWeight": QT_TRANSLATE_NOOP("messages", "Weight {number}"),
    "OutlinePoint": QT_TRANSLATE_NOOP("messages", "Point {number} of the outline"),
    "SwingPoint": QT_TRANSLATE_NOOP("messages", "Measured point {number}"),
    "CheckPoint": QT_TRANSLATE_NOOP("messages", "Check point {number}"),
    "VacuumPoint": QT_TRANSLATE_NOOP("messages", "Vacuum check point {number}"),
    "Reading": QT_TRANSLATE_NOOP("messages", "Reading {number}"),
    "Session": QT_TRANSLATE_NOOP("messages", "Session {number}"),
    "DrivingState": QT_TRANSLATE_NOOP("messages", "Driving state {number}"),
    "LampSpeed": QT_TRANSLATE_NOOP("messages", "Line {number} of the card"),
    "LobeAngle": QT_TRANSLATE_NOOP("messages", "Lobe {number}"),
    "LeakReading": QT_TRANSLATE_NOOP("messages", "Leak reading {number}"),
    "Photograph": QT_TRANSLATE_NOOP("messages", "Photograph {number}"),
    "Alteration": QT_TRANSLATE_NOOP("messages", "Alteration {number}"),
}

TABLE = {
    "unheard-of": QT_TRANSLATE_NOOP(
        "messages", "{place}: this cannot be used as it stands ({code}). Check it against the part."
    ),
    # One value
    "missing": QT_TRANSLATE_NOOP("messages", "{place} is not known yet. Type a value."),
    "not-a-number": QT_TRANSLATE_NOOP(
        "messages", "{place}: “{value}” is not a number. Type a number, with or without a unit."
    ),
    "uncertainty-not-kept": QT_TRANSLATE_NOOP(
        "messages", "{place}: “{value}” has a ±, and none is kept here. Type the number alone."
    ),
    "no-unit-here": QT_TRANSLATE_NOOP(
        "messages",
        "{place}: “{value}” is not understood, since this figure has no unit. Type the number "
        "alone.",
    ),
    "unknown-unit": QT_TRANSLATE_NOOP(
        "messages", "{place}: “{value}” is not a unit known here. Use one of {known}."
    ),
    "comma-ambiguous": QT_TRANSLATE_NOOP(
        "messages",
        "{place}: “{value}” could mean {whole} or {broken}. Type the one that is meant.",
    ),
    "fraction-unclear": QT_TRANSLATE_NOOP(
        "messages",
        "{place}: “{value}” could be a fraction, a band, or a whole number with a fraction behind "
        "it. Type 6 1/2 with a blank, or a decimal number.",
    ),
    "whose-unit": QT_TRANSLATE_NOOP(
        "messages",
        "{place}: “{value}” does not say whether {unit} is the unit of both. Type a unit behind "
        "each.",
    ),
    "not-finite": QT_TRANSLATE_NOOP(
        "messages", "{place}: “{value}” is not a number that can be used. Type an ordinary number."
    ),
    "not-whole": QT_TRANSLATE_NOOP(
        "messages", "{place}: {value} is not a whole number. Type a whole number."
    ),
    "below-limit": QT_TRANSLATE_NOOP(
        "messages",
        "{place} cannot be {value}: the least is {limit}. Check the figure and its unit.",
    ),
    "above-limit": QT_TRANSLATE_NOOP(
        "messages",
        "{place} cannot be {value}: the most is {limit}. Check the figure and its unit.",
    ),
    "unusual": QT_TRANSLATE_NOOP(
        "messages",
        "{place}: {value} is unusual; {low} to {high} is common practice. Check\u00a0it.",
    ),
    "not-text": QT_TRANSLATE_NOOP("messages", "{place}: “{value}” is not text. Type it as text."),
    "not-yes-or-no": QT_TRANSLATE_NOOP(
        "messages", "{place}: “{value}” is neither yes nor no. Choose one."
    ),
    "not-an-option": QT_TRANSLATE_NOOP(
        "messages", "{place}: “{value}” is not one of the choices ({known}). Choose one of them."
    ),
    "uncertainty-not-positive": QT_TRANSLATE_NOOP(
        "messages",
        "{place}: an uncertainty must be more than zero. Leave it empty if it is not known.",
    ),
    "uncertainty-above-limit": QT_TRANSLATE_NOOP(
        "messages",
        "{place}: an uncertainty of {value} is too wide to mean anything; the most is {limit}. "
        "Check the figure, or leave it empty if it is not known.",
    ),
    "uncertainty-below-limit": QT_TRANSLATE_NOOP(
        "messages",
        "{place}: nothing can be measured to an uncertainty of {value}; the least is {limit}. "
        "Check the figure and its unit.",
    ),
    "text-too-long": QT_TRANSLATE_NOOP(
        "messages", "{place}: {value} characters are too many; the most is {limit}. Shorten it."
    ),
    "not-computed": QT_TRANSLATE_NOOP(
        "messages",
        "This docket cannot be computed ({reason}): a fault of the program, not of yours. What "
        "was entered is kept and can be saved. Undo the last edit to go on.",
    ),
    # Mechanism
    "no-springs": QT_TRANSLATE_NOOP(
        "messages", "There is no spring yet. Add the primary spring to see a curve."
    ),
    "measured-too-few": QT_TRANSLATE_NOOP(
        "messages",
        "The measured linkage has {count} points; at least {least} are needed. Add points.",
    ),
    "measured-not-from-rest": QT_TRANSLATE_NOOP(
        "messages", "{place}: the first row must be the rest position, with zeros. Put it first."
    ),
    "measured-not-rising": QT_TRANSLATE_NOOP(
        "messages",
        "{place}: {value} is not more than {before} in the row before. Each row must be further "
        "out; put the rows in order or correct the figure.",
    ),
    "radius-impossible": QT_TRANSLATE_NOOP(
        "messages",
        "{place}: with this pivot and centre of gravity the radius cannot be {value} mm; it lies "
        "between {least} and {most} mm. Measure again, or correct the weight’s figures.",
    ),
    "linkage-short-of-stop": QT_TRANSLATE_NOOP(
        "messages",
        "{place} is {value}, but the linkage reaches only {limit}. Lower the stop or correct the "
        "linkage’s figures.",
    ),
    "weights-not-outward": QT_TRANSLATE_NOOP(
        "messages",
        "{place} is {value}, but from {limit} on the weights no longer move outward. Lower the "
        "stop or correct the angle at rest.",
    ),
    "link-does-not-reach": QT_TRANSLATE_NOOP(
        "messages",
        "{place}: the link does not reach from the weight’s pin to the cam’s. Check its length "
        "and where the pins are.",
    ),
    "link-in-line": QT_TRANSLATE_NOOP(
        "messages",
        "{place}: the link comes into line with the pins on the way to the stop and would lock. "
        "Check its length and where the pins are.",
    ),
    "post-on-peg": QT_TRANSLATE_NOOP(
        "messages",
        "{place}: the post meets the peg on the way to the stop. Check radius and angle of both.",
    ),
    "post-on-shaft": QT_TRANSLATE_NOOP(
        "messages", "{place}: bent so far in, the post is at the shaft. Bend it less."
    ),
    "spring-never-taken-up": QT_TRANSLATE_NOOP(
        "messages",
        "{place} is not taken up before the stop, so it does nothing. Check its free length and "
        "slack, and the places of post and peg.",
    ),
    "nothing-holds-back": QT_TRANSLATE_NOOP(
        "messages",
        "No spring is stretched anywhere before the stop, so nothing holds the weights back. "
        "Check free lengths, slack, and the places of posts and pegs.",
    ),
    "may-not-return": QT_TRANSLATE_NOOP(
        "messages",
        "With so much fixed friction the springs cannot bring the cam back to rest. Look for gum "
        "and dry pivots, or for a spring without preload.",
    ),
    "not-learned-yet": QT_TRANSLATE_NOOP(
        "messages",
        "The linkage is not learnt yet ({count} of {least} points). Learn it from one run with "
        "known springs.",
    ),
    "learned-spring-on-weight": QT_TRANSLATE_NOOP(
        "messages",
        "{place}: a learnt linkage knows no weights, so every peg must be on the cam foot. Choose "
        "it, or another linkage.",
    ),
    "spring-ends-together": QT_TRANSLATE_NOOP(
        "messages",
        "{place}: both ends move together, so this spring never pulls. Put one end on another "
        "part.",
    ),
    "no-next-weight": QT_TRANSLATE_NOOP(
        "messages", "{place}: there is only one weight. Choose another part, or enter two weights."
    ),
    "no-such-weight": QT_TRANSLATE_NOOP(
        "messages", "{place} is {value}, but there are {limit} weights. Enter one of them."
    ),
    "more-rows-than-weights": QT_TRANSLATE_NOOP(
        "messages",
        "{place}: figures for {value} weights, but there are {limit}. Take out what is too much, "
        "or correct the number of weights.",
    ),
    "stop-without-stiffness": QT_TRANSLATE_NOOP(
        "messages",
        "{place} is not known, but the stop gives way. Enter it, or a give of zero for a stop of "
        "metal.",
    ),
    "spring-pulls-forward": QT_TRANSLATE_NOOP(
        "messages",
        "{place}: this spring would pull the cam forward. Mirror it: the peg lies on the other "
        "side of the post.",
    ),
    "lines-parallel": QT_TRANSLATE_NOOP(
        "messages",
        "The two lines cross at too flat an angle to tell where. Hang it from another hole, or "
        "balance it the other way.",
    ),
    "distances-in-line": QT_TRANSLATE_NOOP(
        "messages",
        "{place}: the axis and both points lie in one line, so no angle follows from the "
        "distance. Measure to another point.",
    ),
    "distances-no-triangle": QT_TRANSLATE_NOOP(
        "messages",
        "{place} is {value}: with the other two distances it must lie between {least} and {most}. "
        "Measure the three again.",
    ),
    "stop-distance-off": QT_TRANSLATE_NOOP(
        "messages",
        "{place} is {value}, but {follows} follows from the other figures. Look at the stop, the "
        "linkage and which side the peg lies.",
    ),
    # Vacuum
    "capsule-full-before-start": QT_TRANSLATE_NOOP(
        "messages",
        "{place}: {value} is not more than where it starts, {limit}. Correct one of them.",
    ),
    "capsule-beyond-lever": QT_TRANSLATE_NOOP(
        "messages",
        "{place}: {value} mm is too short for this travel and offset. Check lever, travel and "
        "offset.",
    ),
    # Target
    "static-needed": QT_TRANSLATE_NOOP(
        "messages",
        "{place} with static, but the static timing is not known. Type it, or choose figures "
        "without static.",
    ),
    "limits-crossed": QT_TRANSLATE_NOOP(
        "messages", "{place}: the least, {low}, is more than the most, {high}. Swap them."
    ),
    "no-check-points": QT_TRANSLATE_NOOP(
        "messages", "The target has no check points yet. Type them on the Target page."
    ),
    "same-place-twice": QT_TRANSLATE_NOOP(
        "messages", "{place}: {value} is already in row {row}. Delete one of the two."
    ),
    # Readings
    "reading-incomplete": QT_TRANSLATE_NOOP(
        "messages", "{place}: missing, so the reading is not used yet. Type it."
    ),
    "no-session": QT_TRANSLATE_NOOP(
        "messages", "There is no session of readings. Add one on the Readings page."
    ),
    "readings-all-one-speed": QT_TRANSLATE_NOOP(
        "messages", "All readings are at one speed, so no curve shows. Take some at other speeds."
    ),
    "readings-all-below-start": QT_TRANSLATE_NOOP(
        "messages",
        "All readings are below the speed at which advance begins. Take some at higher speeds.",
    ),
    "advance-falls-with-speed": QT_TRANSLATE_NOOP(
        "messages",
        "The readings show less advance at higher speed. Check that speed and angle are in the "
        "right columns, and the way the lamp counts.",
    ),
    # Pasted rows
    "wrong-count": QT_TRANSLATE_NOOP(
        "messages", "There are {value} cells; {needed} belong in a row."
    ),
    # Pictures
    "unknown-page": QT_TRANSLATE_NOOP(
        "messages", "“{value}” is not a page. The pages are {known}."
    ),
    "cannot-paint": QT_TRANSLATE_NOOP(
        "messages", "There is not enough memory for so large an image. Ask for a smaller one."
    ),
}
