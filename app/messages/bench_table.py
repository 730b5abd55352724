"""Sentences for springs, outlines, points, the lamp and true-scale prints."""

from __future__ import annotations

from bobweight.app.words import QT_TRANSLATE_NOOP

BENCH_TABLE = {
    # Any figures
    "not-positive": QT_TRANSLATE_NOOP(
        "messages", "{place} is {value}; it must be more than zero. Correct it."
    ),
    "negative": QT_TRANSLATE_NOOP(
        "messages", "{place} is {value}; it cannot be less than zero. Correct it."
    ),
    "unequal-columns": QT_TRANSLATE_NOOP(
        "messages", "The columns are of different length ({first} and {other}). Fill the gaps."
    ),
    "too-few-points": QT_TRANSLATE_NOOP(
        "messages", "{given} points are too few; at least {needed} are needed. Add points."
    ),
    "all-same-x": QT_TRANSLATE_NOOP(
        "messages", "All rows are at the same place, so no line shows. Measure at another."
    ),
    "line-level": QT_TRANSLATE_NOOP(
        "messages", "The line is level, so it cannot be read backwards. Measure further apart."
    ),
    "line-not-found": QT_TRANSLATE_NOOP(
        "messages", "No line fits these rows. Check them for figures in the wrong column."
    ),
    "uncertainty-negative": QT_TRANSLATE_NOOP(
        "messages", "An uncertainty cannot be less than zero. Correct it."
    ),
    "limit-missing": QT_TRANSLATE_NOOP(
        "messages", "Neither least nor most is given. Type at least one of them."
    ),
    # Springs
    "load-negative": QT_TRANSLATE_NOOP(
        "messages", "{place}: a load cannot be less than zero. Correct it."
    ),
    "all-same-load": QT_TRANSLATE_NOOP(
        "messages", "All loads are the same, so no rate shows. Hang another load on."
    ),
    "length-not-positive": QT_TRANSLATE_NOOP(
        "messages", "{place}: a length must be more than zero. Correct it."
    ),
    "length-does-not-change": QT_TRANSLATE_NOOP(
        "messages", "The length is {length_mm} at every load. Hang on more, until the coils part."
    ),
    "length-falls-with-load": QT_TRANSLATE_NOOP(
        "messages", "The spring gets shorter under load. Check the order of the columns and rows."
    ),
    "columns-swapped": QT_TRANSLATE_NOOP(
        "messages", "Load and length look swapped. Put the loads in the load column."
    ),
    "outlying-reading": QT_TRANSLATE_NOOP(
        "messages", "{place}: the reading at {load_n} lies off the line. Read it again."
    ),
    "stiffens-at-end": QT_TRANSLATE_NOOP(
        "messages",
        "From {load_n} on the spring is stiffer, as if bound; {count} readings were left out.",
    ),
    "softens-at-end": QT_TRANSLATE_NOOP(
        "messages",
        "From {load_n} on the spring gives more, as if it took a set; {count} readings were left "
        "out. Do not load it so far.",
    ),
    "tension-not-separated": QT_TRANSLATE_NOOP(
        "messages",
        "No reading lies below the load at which the coils part, so the initial tension is known "
        "only as at most {most_n}. Read with a smaller load.",
    ),
    "free-length-from-one-reading": QT_TRANSLATE_NOOP(
        "messages", "The free length rests on the one reading at {load_n}. Read another near it."
    ),
    "line-from-two-readings": QT_TRANSLATE_NOOP(
        "messages", "The rate rests on two readings, so a misreading would not show. Take a third."
    ),
    "no-scatter": QT_TRANSLATE_NOOP(
        "messages",
        "The readings lie on the line without any scatter, so its uncertainty cannot be told. "
        "State how well load and length are read.",
    ),
    "rate-uncertain": QT_TRANSLATE_NOOP(
        "messages", "The rate is known poorly. Hang on more different loads."
    ),
    "unloaded-length-too-short": QT_TRANSLATE_NOOP(
        "messages",
        "{place}: unloaded the spring measures {length_mm}, but the line begins at {line_mm}. "
        "Measure the unloaded length again, between the insides of the hooks.",
    ),
    "unknown-material": QT_TRANSLATE_NOOP(
        "messages", "{place}: “{value}” is not a wire known here. Choose one of the list."
    ),
    "index-too-small": QT_TRANSLATE_NOOP(
        "messages",
        "The coil is {value} wires across, too tight to wind. Take thinner wire or a wider coil.",
    ),
    "radius-too-small": QT_TRANSLATE_NOOP(
        "messages", "{place}: the hook’s radius of {value} mm is less than the wire allows."
    ),
    "length-below-free": QT_TRANSLATE_NOOP(
        "messages",
        "The longest length, {longest_mm}, is less than the free length, {free_length_mm}.",
    ),
    # Outlines of weights
    "same-point": QT_TRANSLATE_NOOP(
        "messages", "Both ends of the scale are at one point. Mark two points apart."
    ),
    "outline-without-area": QT_TRANSLATE_NOOP(
        "messages", "The outline encloses nothing. Mark the points round the edge."
    ),
    "outline-crosses-itself": QT_TRANSLATE_NOOP(
        "messages", "Sides {first} and {second} of the outline cross. Put the points in order."
    ),
    "hole-outside": QT_TRANSLATE_NOOP(
        "messages", "{place} lies outside the outline. Mark it inside."
    ),
    "holes-overlap": QT_TRANSLATE_NOOP(
        "messages", "Holes {first} and {second} overlap. Mark them as one."
    ),
    # Points and coil
    "points-sizes-needed": QT_TRANSLATE_NOOP(
        "messages",
        "{place} is still needed: two of flat, lobe and contact movement per heel lift with a "
        "known pair of gap and dwell, or all three sizes.",
    ),
    "lobe-beyond-corner": QT_TRANSLATE_NOOP(
        "messages", "{place}: the lobe is higher than a ground corner can be. Measure it again."
    ),
    "lobe-not-above-flat": QT_TRANSLATE_NOOP(
        "messages", "The lobe, {lobe_mm}, is not higher than the flat, {flat_mm}. Measure both."
    ),
    "contacts-never-close": QT_TRANSLATE_NOOP(
        "messages", "With a gap of {gap_mm} the contacts never close; the widest is {limit_mm}."
    ),
    "contacts-never-open": QT_TRANSLATE_NOOP(
        "messages", "With a dwell of {dwell_deg} the contacts never open; the most is {limit_deg}."
    ),
    "dwell-out-of-sector": QT_TRANSLATE_NOOP(
        "messages",
        "A dwell of {dwell_deg} does not fit: with {lobes} lobes it is less than {limit_deg}.",
    ),
    "pair-not-possible": QT_TRANSLATE_NOOP(
        "messages", "A gap of {gap_mm} and a dwell of {dwell_deg} do not go together on this cam."
    ),
    "current-never-reached": QT_TRANSLATE_NOOP(
        "messages", "{wanted_a} A is never reached; the coil draws {final_a} A at most."
    ),
    "depression-never-available": QT_TRANSLATE_NOOP(
        "messages", "{wanted_kpa} is more than there is at sea level, {sea_level_kpa}."
    ),
    "lobes-out-of-order": QT_TRANSLATE_NOOP(
        "messages", "{place}: {value}° is nowhere near {expected}°. Write the lobes in order."
    ),
    "lobes-unknown": QT_TRANSLATE_NOOP(
        "messages",
        "How many lobes the cam has was not entered (Particulars), and the angles typed do not "
        "tell it. Type one for each lobe.",
    ),
    "lobes-missing": QT_TRANSLATE_NOOP(
        "messages", "{given} of {needed} firing angles are there. Type one for each lobe."
    ),
    # Reassembly and photographs
    "not-a-dog": QT_TRANSLATE_NOOP(
        "messages", "This unit has no dog, so there is no plan to draw. Check the drive."
    ),
    "dog-beyond-shaft": QT_TRANSLATE_NOOP(
        "messages",
        "With an offset of {value_mm} the blade of the dog passes the shaft’s edge at {limit_mm}. "
        "Measure offset, width and diameter again.",
    ),
    "photograph-not-a-picture": QT_TRANSLATE_NOOP(
        "messages", "“{file}” is not a picture known here. Use one of {known}."
    ),
    "photograph-too-large": QT_TRANSLATE_NOOP(
        "messages", "“{file}” has {size} MB; the most is {most} MB. Make a smaller copy of it."
    ),
    "photograph-not-copied": QT_TRANSLATE_NOOP(
        "messages",
        "“{file}” could not be copied ({reason}). Check folder and disk, then save again.",
    ),
    # The lamp
    "speeds-equal": QT_TRANSLATE_NOOP(
        "messages", "Both readings are at {value} rev/min. Take one at another speed."
    ),
    "lag-negative": QT_TRANSLATE_NOOP(
        "messages", "The readings give a delay of {lag_ms}, less than none. Read both again."
    ),
    # True-scale prints
    "ring-inside-out": QT_TRANSLATE_NOOP(
        "messages", "The outer radius, {outer_mm}, is not more than the inner, {inner_mm}."
    ),
    "ring-too-large": QT_TRANSLATE_NOOP(
        "messages", "A ring of {value} mm needs more than {most} sheets. Make it smaller."
    ),
    "steps-not-multiple": QT_TRANSLATE_NOOP(
        "messages", "{place}: {value}° does not divide evenly by {of}°. Choose another step."
    ),
    "tape-marks-too-close": QT_TRANSLATE_NOOP(
        "messages",
        "Marks {apart_mm} apart cannot be read; {least_mm} is the least. Take a larger rim or "
        "a larger step.",
    ),
    "ring-marks-too-close": QT_TRANSLATE_NOOP(
        "messages",
        "Marks {apart_mm} apart cannot be read; {least_mm} is the least. Take a larger radius or "
        "a larger step.",
    ),
    "tape-too-long": QT_TRANSLATE_NOOP(
        "messages",
        "The tape would be {length_mm} long; {most_mm} is the most. Mark fewer degrees or fewer "
        "cylinders.",
    ),
    "firing-order-length": QT_TRANSLATE_NOOP(
        "messages",
        "The firing order names {given} cylinders, not {needed}. Write every number once.",
    ),
    "ring-band-too-narrow": QT_TRANSLATE_NOOP(
        "messages",
        "Between its edges the ring is {band_mm} wide; figures need {least_mm}. Make the inner "
        "radius smaller.",
    ),
    "curve-needed": QT_TRANSLATE_NOOP(
        "messages", "This needs a predicted curve, and the mechanism’s figures do not give one yet."
    ),
    "several-pages": QT_TRANSLATE_NOOP(
        "messages",
        "This has {count} pages, and “{file}” holds only one. Save it as PDF.",
    ),
    "scales-overlap": QT_TRANSLATE_NOOP(
        "messages", "{value}° a mark is too wide; the next one begins after {limit}°."
    ),
    "first-firing-not-zero": QT_TRANSLATE_NOOP(
        "messages", "The first cylinder fires at 0°. Count the others from it."
    ),
}  # fmt: skip
