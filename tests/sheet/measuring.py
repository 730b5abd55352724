"""Measures pages: boxes of elements, strokes of a PDF, black pixels of an image."""

from __future__ import annotations

import io
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pypdf
from PySide6.QtGui import QFontMetricsF, QImage

from bobweight.app.paper.type import FINE_DPI, FontRuler, page_font
from bobweight.core.sheet.description import (
    MM_PER_PT,
    Element,
    Line,
    Marks,
    PaperPage,
    Paragraph,
    Polygon,
    Polyline,
    Rect,
    Text,
)

Box = tuple[float, float, float, float]
"""Left, top, right, bottom in mm."""

_PX = 400


def ink_box(words: str, size_pt: float, bold: bool) -> Box:
    """The ink of a text about the start of its baseline, by Qt's own metrics; Qt sets type in
    whole dots."""
    font = page_font(10.0, bold)
    font.setPixelSize(_PX)
    ink = QFontMetricsF(font).tightBoundingRect(words)
    mm = round(size_pt * FINE_DPI / 72) * 25.4 / FINE_DPI / _PX
    return ink.left() * mm, ink.top() * mm, ink.right() * mm, ink.bottom() * mm


def texts(page: PaperPage) -> Iterator[tuple[str, float, Box]]:
    """Every line of text of a page as painted: words, size in points, box of its ink."""
    ruler = FontRuler()
    for element in page.elements:
        if isinstance(element, Text):
            words, size = ruler.fitted(element)
            left, top, right, bottom = ink_box(words, size, element.bold)
            width = ruler.width_mm(words, size, element.bold)
            shift = -width * {"left": 0.0, "centre": 0.5, "right": 1.0}[element.align]
            left, right = left + shift, right + shift
            if element.angle_deg == 90.0:
                left, top, right, bottom = top, -right, bottom, -left
            x, y = element.x_mm, element.y_mm
            yield words, size, (x + left, y + top, x + right, y + bottom)
        elif isinstance(element, Paragraph):
            lines = ruler.broken(element.text, element.size_pt, element.width_mm)
            for number, words in enumerate(lines[: element.lines]):
                left, top, right, bottom = ink_box(words, element.size_pt, False)
                y = element.y_mm + number * element.leading_mm
                x = element.x_mm
                yield words, element.size_pt, (x + left, y + top, x + right, y + bottom)


def box(element: Element) -> Box | None:
    """The extent of a drawn element, its stroke included; None for text."""
    if isinstance(element, Line):
        points, reach = [(element.x1_mm, element.y1_mm), (element.x2_mm, element.y2_mm)], 0.0
    elif isinstance(element, Polyline | Polygon):
        points, reach = element.points, element.width_mm / 2
    elif isinstance(element, Marks):
        points, reach = element.points, 0.55 * element.size_mm
    elif isinstance(element, Rect):
        points = [(element.x_mm, element.y_mm),
                  (element.x_mm + element.width_mm, element.y_mm + element.height_mm)]  # fmt: skip
        reach = element.line_mm / 2
    else:
        return None
    x, y = zip(*points, strict=True)
    return min(x) - reach, min(y) - reach, max(x) + reach, max(y) + reach


def line_widths(page: PaperPage) -> list[float]:
    """The widths of all strokes in mm."""
    found = []
    for element in page.elements:
        if isinstance(element, Line | Polyline):
            found.append(element.width_mm)
        elif isinstance(element, Rect | Marks):
            found.append(element.line_mm)
        elif isinstance(element, Polygon) and element.width_mm:
            found.append(element.width_mm)
    return found


def strokes_mm(pdf: bytes) -> np.ndarray:
    """The straight strokes of the first page of a PDF: x1, y1, x2, y2 in mm from its corner."""
    page = pypdf.PdfReader(io.BytesIO(pdf)).pages[0]
    found: list[tuple[float, ...]] = []
    last: list[tuple[float, float]] = []

    def seen(operator: bytes, operands: list, matrix: list, _text: list) -> None:
        if operator in (b"m", b"l"):
            x, y = float(operands[0]), float(operands[1])
            a, b, c, d, e, f = matrix
            at = (a * x + c * y + e, b * x + d * y + f)
            if operator == b"l" and last:
                found.append((*last[-1], *at))
            last.append(at)

    page.extract_text(visitor_operand_before=seen)
    return np.array(found) * MM_PER_PT


def grey_of_pdf(pdf: bytes, dpi: int, folder: Path) -> np.ndarray:
    """The first page as grey values, painted by Poppler."""
    (folder / "page.pdf").write_bytes(pdf)
    command = ["pdftoppm", "-r", str(dpi), "-gray", "-singlefile", "page.pdf", "page"]
    subprocess.run(command, cwd=folder, check=True, timeout=60)
    data = (folder / "page.pgm").read_bytes()
    kind, width, height, most = data.split(maxsplit=4)[:4]
    assert (kind, most) == (b"P5", b"255")
    count = int(width) * int(height)
    return np.frombuffer(data[-count:], np.uint8).reshape(int(height), int(width))


def grey_of_image(image: QImage) -> np.ndarray:
    """An image as grey values."""
    image = image.convertToFormat(QImage.Format.Format_Grayscale8)
    rows = np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), image.bytesPerLine())
    return rows[:, : image.width()]


def longest_black_run_mm(grey: np.ndarray, dpi: float, top_mm: float, left_mm: float,
                         right_mm: float) -> float:  # fmt: skip
    """The length of the longest unbroken dark stretch of a row, below ``top_mm`` and between
    ``left_mm`` and ``right_mm``; half-dark pixels at its ends count by their darkness."""
    per_mm = dpi / 25.4
    part = grey[round(top_mm * per_mm) :, round(left_mm * per_mm) : round(right_mm * per_mm)]
    best = 0.0
    for row in 1.0 - part / 255.0:
        edges = np.flatnonzero(np.diff(np.concatenate([[0], row > 0.05, [0]]).astype(int)))
        for start, end in edges.reshape(-1, 2):
            best = max(best, float(row[start:end].sum()) / max(float(row[start:end].max()), 0.5))
    return best / per_mm


HAS_POPPLER = shutil.which("pdftoppm") is not None
