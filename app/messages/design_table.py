"""Sentences for the tray, the search for springs, tolerances and a mechanism learnt from a run."""

from __future__ import annotations

from PySide6.QtCore import QT_TRANSLATE_NOOP

DESIGN_PLACES = {
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
        "Mechanism page, the rate may be a guess.",
    ),
    "tray-too-small": QT_TRANSLATE_NOOP(
        "messages",
        "The tray does not hold springs enough for a pair: {count} with a rate and a free length. "
        "Put in another, or state how many there are of each.",
    ),
}  # fmt: skip
