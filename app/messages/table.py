"""The sentence for each code. ``{place}`` is the field in words, the rest are facts with units."""

from __future__ import annotations

from PySide6.QtCore import QT_TRANSLATE_NOOP

PLACES = {
    "Spring": QT_TRANSLATE_NOOP("messages", "Spring {number}"),
    "SwingPoint": QT_TRANSLATE_NOOP("messages", "Measured point {number}"),
    "CheckPoint": QT_TRANSLATE_NOOP("messages", "Check point {number}"),
    "VacuumPoint": QT_TRANSLATE_NOOP("messages", "Vacuum check point {number}"),
    "Reading": QT_TRANSLATE_NOOP("messages", "Reading {number}"),
    "Session": QT_TRANSLATE_NOOP("messages", "Session {number}"),
    "DrivingState": QT_TRANSLATE_NOOP("messages", "Driving state {number}"),
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
    "unknown-unit": QT_TRANSLATE_NOOP(
        "messages", "{place}: “{value}” is not a unit known here. Use one of {known}."
    ),
    "comma-ambiguous": QT_TRANSLATE_NOOP(
        "messages",
        "{place}: “{value}” could mean {whole} or {broken}. Type it without the comma.",
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
        "messages", "{place}: {value} is unusual; {low} to {high} is common practice. Check it."
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
}
