"""Sentences for measuring off a picture."""

from __future__ import annotations

from bobweight.app.words import QT_TRANSLATE_NOOP

PICTURE_TABLE = {
    "not-a-picture": QT_TRANSLATE_NOOP(
        "messages", "{file} is not a picture that can be read. Choose a PNG, JPEG or TIFF file."
    ),
    "picture-damaged": QT_TRANSLATE_NOOP(
        "messages", "{file} is damaged or cut short. Take or copy the picture once more."
    ),
    "picture-too-large": QT_TRANSLATE_NOOP(
        "messages",
        "{file} has {width} × {height} pixels, more than {most_million} million in all. Save it "
        "smaller; nothing is gained above that.",
    ),
    "picture-far-too-large": QT_TRANSLATE_NOOP(
        "messages",
        "{file} has far more than {most_million} million pixels. Save it smaller; nothing is "
        "gained above that.",
    ),
    "picture-too-small": QT_TRANSLATE_NOOP(
        "messages",
        "The picture has {width} × {height} pixels; nothing can be measured below {least} a side. "
        "Use the picture as the camera saved it.",
    ),
    "picture-moves": QT_TRANSLATE_NOOP(
        "messages", "{file} is a moving picture. Choose a single photograph."
    ),
    "no-card": QT_TRANSLATE_NOOP(
        "messages",
        "The measuring card was not found: {seen} things look like its marks, five are needed. "
        "Click the marks one by one, or give the scale in another way.",
    ),
    "too-few-marks": QT_TRANSLATE_NOOP(
        "messages",
        "Marks of the measuring card known: {given}; {needed} are needed. Click the marks one by "
        "one, or give the scale in another way.",
    ),
    "marks-do-not-fit": QT_TRANSLATE_NOOP(
        "messages",
        "The marks do not lie as on the card. Was one mistaken for another, or is the card bent? "
        "Look at each and click it again.",
    ),
    "scale-not-given": QT_TRANSLATE_NOOP(
        "messages",
        "The scale is not known yet. Find the card, click two points and type their distance, or "
        "type the resolution of the scan.",
    ),
    "resolution-unusable": QT_TRANSLATE_NOOP(
        "messages", "A resolution of {value} dots per inch cannot be right. Type the scanner’s own."
    ),
    "level-not-there": QT_TRANSLATE_NOOP(
        "messages", "There is no level {value} in the table of heights. Add it, or choose another."
    ),
    "not-clicked": QT_TRANSLATE_NOOP(
        "messages", "Not everything needed is clicked yet. Go on with what is marked in the list."
    ),
    "heights-blank": QT_TRANSLATE_NOOP(
        "messages",
        "Heights not typed yet: {levels}. Usual ones are taken, and most of the uncertainty comes "
        "from that. Type them below.",
    ),
    "rotation-assumed": QT_TRANSLATE_NOOP(
        "messages",
        "Which way the unit turns was not entered (Particulars). Clockwise is assumed: if it turns "
        "the other way, the angles measured here are wrong.",
    ),
    "no-outline": QT_TRANSLATE_NOOP(
        "messages",
        "No weight’s outline is clicked, so its centre of gravity is not measured. Click round a "
        "weight, or type it.",
    ),
    "weights-differ": QT_TRANSLATE_NOOP(
        "messages",
        "Weight {weight} differs from weight 1 by {difference} ± {u} here, more than the clicks "
        "explain. See that both lie fully in, and that they are a pair.",
    ),
    "no-picture-at-rest": QT_TRANSLATE_NOOP(
        "messages",
        "Measure a picture with the weights in first; this one shows how far they have moved.",
    ),
}
