"""Sentences for the tray, the search for springs, tolerances and a mechanism learnt from a run."""

from __future__ import annotations

from bobweight.app.words import QT_TRANSLATE_NOOP

DESIGN_PLACES = {
    "SketchPoint": QT_TRANSLATE_NOOP("messages", "Point {number}"),
    "HangRow": QT_TRANSLATE_NOOP("messages", "Load {number}"),
    "TraySpring": QT_TRANSLATE_NOOP("messages", "Spring {number}"),
    "InertiaKnot": QT_TRANSLATE_NOOP("messages", "Learnt point {number}"),
}

DESIGN_TABLE = {
    "label-twice": QT_TRANSLATE_NOOP(
        "messages", "{place}: “{value}” is also the label of row {row}. Give it a label of its own."
    ),
    "no-spring-to-replace": QT_TRANSLATE_NOOP(
        "messages",
        "The mechanism has no {role} spring whose post and peg are known. Enter one on the "
        "Mechanism page; the rate may be a guess.",
    ),
    "figure-doubted-first": QT_TRANSLATE_NOOP(
        "messages",
        "{place}: this figure, or another that the Verdict page names, cannot be right, so no "
        "spring can be chosen by them. Measure it again first.",
    ),
    "figures-doubted-first": QT_TRANSLATE_NOOP(
        "messages",
        "Figures of the mechanism cannot be right, so no spring can be chosen by them. Measure "
        "again first rates and lengths of the springs, then the weights.",
    ),
    "no-rate-to-compare": QT_TRANSLATE_NOOP(
        "messages",
        "No rate of the present springs is known, so the tray’s cannot be compared with them. Hang "
        "the present ones and type their rates on the Mechanism page.",
    ),
    "stop-not-free": QT_TRANSLATE_NOOP(
        "messages",
        "{argument} says nothing while the stop stays. Add --stop-free, or leave it out.",
    ),
    "tray-empty": QT_TRANSLATE_NOOP(
        "messages",
        "The tray is empty. Put the springs that are at hand in it, each with its rate and free "
        "length.",
    ),
    "tray-too-small": QT_TRANSLATE_NOOP(
        "messages",
        "The tray has too few springs for a pair: {count} with a rate and a free length. Add "
        "another, or say how many there are of each.",
    ),
    # A weight from its outline
    "outline-not-marked": QT_TRANSLATE_NOOP(
        "messages",
        "{count} points of the outline are marked. Mark its edge all round, point after point.",
    ),
    "lines-not-marked": QT_TRANSLATE_NOOP(
        "messages",
        "The two lines along which it hung or balanced are not both marked. Mark two points of "
        "each, far apart.",
    ),
    "line-without-length": QT_TRANSLATE_NOOP(
        "messages", "Both points of a line are one. Mark two points far apart."
    ),
    "pivot-not-marked": QT_TRANSLATE_NOOP(
        "messages", "The pivot is not marked. Mark the centre of its hole."
    ),
    "scale-not-marked": QT_TRANSLATE_NOOP(
        "messages", "The scale is not marked. Mark two points whose distance you know."
    ),
    # A mechanism learnt from a run
    "learn-too-few-readings": QT_TRANSLATE_NOOP(
        "messages",
        "{count} readings lie between rest and the stop; at least {least} are needed to learn "
        "from. Take more between them.",
    ),
    "learn-short-span": QT_TRANSLATE_NOOP(
        "messages",
        "The readings span {share} of the way to the stop; at least {least} of it is needed. Take "
        "some nearer to rest and to the stop.",
    ),
    # The tray's file and table
    "not-a-tray": QT_TRANSLATE_NOOP(
        "messages", "The file is not a tray of springs. Choose another file."
    ),
    "tray-changed-elsewhere": QT_TRANSLATE_NOOP(
        "messages",
        "Another program has changed {file} meanwhile. Read it or keep this tray: neither is lost.",
    ),
}  # fmt: skip
