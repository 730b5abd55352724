"""The fixed words of the printed tray; see :mod:`app.paper.words`."""

from __future__ import annotations


def QT_TRANSLATE_NOOP(_context: str, text: str) -> str:
    """The text itself; translators' tools find it by this name."""
    return text


TRAY_WORDS: dict[str, str] = {
    "tray": QT_TRANSLATE_NOOP("sheet", "Springs in the tray"),
    "tray-counts": QT_TRANSLATE_NOOP(
        "sheet",
        "Springs: {springs}, kinds: {kinds}. ± is one standard uncertainty; empty: not stated.",
    ),
    "tray-label": QT_TRANSLATE_NOOP("sheet", "Label"),
    "tray-count": QT_TRANSLATE_NOOP("sheet", "Count"),
    "tray-note": QT_TRANSLATE_NOOP("sheet", "Note"),
    "number-short": QT_TRANSLATE_NOOP("sheet", "No."),
    "plus-minus": QT_TRANSLATE_NOOP("sheet", "±"),
    "known-from": QT_TRANSLATE_NOOP("sheet", "Known from"),
    "label-strips": QT_TRANSLATE_NOOP("sheet", "Labels"),
    "cut-here": QT_TRANSLATE_NOOP("sheet", "Cut along the dashed lines."),
    "spring-number": QT_TRANSLATE_NOOP("sheet", "Spring {number}"),
    "times": QT_TRANSLATE_NOOP("sheet", "× {count}"),
    "strip-line": QT_TRANSLATE_NOOP("sheet", "tension {tension} N, free {length} mm"),
    "strip-length": QT_TRANSLATE_NOOP("sheet", "free {length} mm"),
    "page-of": QT_TRANSLATE_NOOP("sheet", "Page {number} of {count}"),
}
