"""The font of printed pages, and the ruler that measures text in it."""

from __future__ import annotations

import math
from functools import lru_cache

from PySide6.QtGui import QFont, QFontMetricsF

from bobweight.app import typeface
from bobweight.app.paper.words import worded
from bobweight.core.figure.description import Content
from bobweight.core.sheet.description import MM_PER_PT, Text, wrap

FALLBACKS = ("Liberation Sans", "Arial", "Helvetica", "sans-serif")
"""For a viewer of a drawing that lacks the program's typeface."""

FINE_DPI = 1200
"""Dots an inch in which a page is painted: fonts come in sizes of whole dots."""
_DOTS_PER_PT = FINE_DPI / 72
_MEASURED_PX = 200


def page_font(size_pt: float, bold: bool = False, italic: bool = False) -> QFont:
    """The font in points, unhinted so that its widths do not depend on the device."""
    font = QFont(typeface.load())
    font.setStyleHint(QFont.StyleHint.SansSerif)
    font.setHintingPreference(QFont.HintingPreference.PreferNoHinting)
    font.setPointSizeF(size_pt)
    font.setBold(bold)
    font.setItalic(italic)
    return font


class FontRuler:
    """Measures text as the painter sets it; see :class:`core.sheet.description.Ruler`."""

    def width_mm(self, content: Content, size_pt: float, bold: bool = False) -> float:
        """The width of one line in mm."""
        dots = round(size_pt * _DOTS_PER_PT)  # as Qt sets it
        return _em_width(worded(content), bold) * dots / _DOTS_PER_PT * MM_PER_PT

    def lines(self, content: Content, size_pt: float, width_mm: float) -> int:
        """How many lines a paragraph of this width takes."""
        return len(self.broken(content, size_pt, width_mm))

    def broken(self, content: Content, size_pt: float, width_mm: float) -> list[str]:
        """The lines of a paragraph."""
        return wrap(worded(content), width_mm, lambda text: self.width_mm(text, size_pt))

    def fitted(self, text: Text) -> tuple[str, float]:
        """The words of a text and the size to set them in so that they fit their room: smaller
        down to the least size, then shortened with an ellipsis."""
        words = worded(text.text)
        if text.room_mm is None or self.width_mm(words, text.size_pt, text.bold) <= text.room_mm:
            return words, text.size_pt
        needed = text.room_mm / max(_em_width(words, text.bold) * MM_PER_PT, 1e-9)
        needed = math.floor(needed * _DOTS_PER_PT + 1e-6) / _DOTS_PER_PT
        size_pt = min(text.size_pt, max(needed, text.least_pt))
        return self.shortened(words, size_pt, text.bold, text.room_mm), size_pt

    def shortened(self, text: str, size_pt: float, bold: bool, room_mm: float) -> str:
        """The longest beginning of a text that fits, with an ellipsis where it is cut."""
        if self.width_mm(text, size_pt, bold) <= room_mm + 0.05:
            return text
        fits, too_long = 0, len(text)
        while too_long - fits > 1:
            middle = (fits + too_long) // 2
            if self.width_mm(text[:middle].rstrip() + "…", size_pt, bold) <= room_mm:
                fits = middle
            else:
                too_long = middle
        return text[:fits].rstrip() + "…"


@lru_cache(maxsize=4096)
def _em_width(text: str, bold: bool) -> float:
    """The width of a text in multiples of the size of its font."""
    font = page_font(10.0, bold)
    font.setPixelSize(_MEASURED_PX)
    return QFontMetricsF(font).horizontalAdvance(text) / _MEASURED_PX
