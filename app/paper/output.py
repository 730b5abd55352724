"""Files and prints of a sheet: PDF, SVG, PNG, CSV, and the printer.

Everything is painted in memory and then put in its file in one step, so that a failure leaves the
old file whole. All functions need a ``QGuiApplication`` (for the fonts), CSV excepted.
"""

from __future__ import annotations

import html
import os
import re
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path as FilePath
from typing import TYPE_CHECKING

from PySide6.QtCore import QMarginsF, QRect, QRectF, QSize
from PySide6.QtGui import QImage, QPageLayout, QPageSize, QPaintDevice, QPainter, QPdfWriter

from bobweight.app import typeface
from bobweight.app.messages import place_text, sentence
from bobweight.app.messages.cautions import paper_cautions
from bobweight.app.paper.painter import MM_PER_INCH, paint_page
from bobweight.app.paper.type import FALLBACKS, FINE_DPI, FontRuler
from bobweight.app.paper.words import worded
from bobweight.app.store.disk import Waits, without_window
from bobweight.app.store.images import byte_buffer, image_bytes
from bobweight.app.words import lower_first, translate
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.file import write_atomically
from bobweight.core.docket.mechanism import Mechanism
from bobweight.core.figure.view import View, view_of
from bobweight.core.judgement.outcome import Outcome, outcome
from bobweight.core.problems import BobweightError
from bobweight.core.sheet.description import Description, PaperPage
from bobweight.core.sheet.docket_sheet import docket_sheet
from bobweight.core.sheet.options import SheetOptions
from bobweight.core.sheet.values import csv_text

if TYPE_CHECKING:
    from PySide6.QtPrintSupport import QPrinter

    from bobweight.core.judgement.answer import Judgement

PNG_DPI = 200
_MOST_NAMES = 3
PAGE_SIZES = {"a4": QPageSize.PageSizeId.A4, "letter": QPageSize.PageSizeId.Letter}


def describe(judged: Outcome, paper: str = "a4", view: View | None = None,
             options: SheetOptions | None = None) -> Description:  # fmt: skip
    """The description of a docket's sheet, laid out with the font it is painted in."""
    view = replace(view or view_of(judged.docket), session=judged.session)
    options = replace(options or SheetOptions(), cautions=paper_cautions(),
                      unpredicted=_unpredicted(judged))  # fmt: skip
    return docket_sheet(judged, paper, view, FontRuler(), options)


def _unpredicted(judged: Outcome) -> str:
    """Why no curve is predicted; empty where one is, or where nothing of a mechanism is entered."""
    if judged.prediction is not None or judged.docket.mechanism == Mechanism():
        return ""
    grave = [p for p in judged.problems_at("mechanism") if p.grave]
    others = [p for p in grave if p.code != "missing"]
    if others:
        why = sentence(others[0], judged.docket)
        return translate("sheet", "No predicted curve. {why}").format(why=why)
    names = [lower_first(place_text(p.path, judged.docket)) for p in grave]
    listed, more = "; ".join(names[:_MOST_NAMES]), len(names) - _MOST_NAMES
    said = translate("sheet", "No predicted curve. Not measured: {names}.")
    if more > 0:
        said = translate("sheet", "No predicted curve. Not measured: {names}; and {count} more.")
    return said.format(names=listed, count=more) if names else ""


def joined(descriptions: Sequence[Description]) -> Description:
    """The pages of several documents on one paper as one document, under the first title."""
    first = descriptions[0]
    return replace(first, pages=tuple(page for d in descriptions for page in d.pages))


def write_sheets(dockets: Sequence[Docket], path: str | os.PathLike[str], paper: str = "a4",
                 options: SheetOptions | None = None,
                 frame: str = "") -> None:  # fmt: skip
    """Write the sheets of several dockets, one after another, in one PDF (one docket: any kind).

    Raises
    ------
    BobweightError
        As :func:`write_outcome` and :func:`write_description`.
    """
    if len(dockets) == 1:
        known = outcome(dockets[0])
        view = view_of(dockets[0], frame)
        write_outcome(known, path, paper, view, with_judgement(known, options, frame))
    else:
        outcomes = [outcome(docket) for docket in dockets]
        made = [
            describe(known, paper, view_of(known.docket, frame),
                     with_judgement(known, options, frame))
            for known in outcomes
        ]  # fmt: skip
        write_description(joined(made), path)


def with_judgement(known: Outcome, options: SheetOptions | None = None,
                   frame: str = "") -> SheetOptions:  # fmt: skip
    """What is asked of a sheet, with the judgement of the session that it shows."""
    from bobweight.core.judgement.decision import decide_docket

    decision = decide_docket(known.docket, known.session, known=known, with_fit=False)
    return judged_options(decision.judgement, options, frame)


def judged_options(judgement: Judgement, options: SheetOptions | None = None,
                   frame: str = "") -> SheetOptions:  # fmt: skip
    """What is asked of a sheet, with a judgement that is at hand, in the frame of the sheet."""
    from bobweight.app.messages.judgement import error_sentences, judgement_sentence

    options = options or SheetOptions()
    if judgement.probability_inside is None:
        return options
    return replace(
        options, judgement=judgement, said=judgement_sentence(judgement, frame),
        errors=tuple(error_sentences(judgement, frame)),
    )  # fmt: skip


def write_outcome(judged: Outcome, path: str | os.PathLike[str], paper: str = "a4",
                  view: View | None = None, options: SheetOptions | None = None,
                  waits: Waits = without_window) -> None:  # fmt: skip
    """Write the sheet of an outcome; the suffix of the path says how: pdf, svg, png or csv.
    ``waits`` for the disk.

    Raises
    ------
    BobweightError
        ``sheet-suffix-unknown``; ``cannot-paint``; those of
        :func:`core.docket.file.write_atomically`.
    """
    if _suffix(path) == "csv":
        if options is not None and options.judgement is not None:
            from bobweight.core.judgement.judged import judged_outcome

            judged = judged_outcome(judged, options.judgement)
        _put_on_disk(path, csv_text(judged).encode("utf-8"), waits)
    else:
        if _suffix(path) != "pdf":  # a picture is of one page, which holds the whole case
            options = replace(options or SheetOptions(), one_page=True)
        write_description(describe(judged, paper, view, options), path, waits)


def write_description(description: Description, path: str | os.PathLike[str],
                      waits: Waits = without_window) -> None:  # fmt: skip
    """Write any page description as pdf, or one of a single page as svg or png.

    Raises
    ------
    BobweightError
        ``sheet-suffix-unknown``; ``several-pages`` where only a PDF holds them; as
        :func:`write`.
    """
    makers = {"pdf": pdf_bytes, "svg": svg_bytes, "png": png_bytes}
    maker = makers.get(_suffix(path))
    if maker is None:
        known = ", ".join((*makers, "csv"))
        raise BobweightError("sheet-suffix-unknown", (), file=os.fspath(path), known=known)
    if len(description.pages) > 1 and maker is not pdf_bytes:
        raise BobweightError("several-pages", (), file=FilePath(path).name,
                             count=len(description.pages))  # fmt: skip
    _put_on_disk(path, maker(description), waits)


def _put_on_disk(path: str | os.PathLike[str], data: bytes, waits: Waits) -> None:
    waits(lambda: write_atomically(path, data), FilePath(path))


def _suffix(path: str | os.PathLike[str]) -> str:
    return FilePath(path).suffix.lower().removeprefix(".")


def pdf_bytes(description: Description) -> bytes:
    """The pages as a PDF: vectors, and text as text."""
    data, buffer = byte_buffer()
    writer = QPdfWriter(buffer)
    writer.setResolution(FINE_DPI)  # before the layout, which is kept in device units
    writer.setPageLayout(_page_layout(description))
    writer.setTitle(worded(description.title))
    writer.setCreator("Bobweight")
    painter = _begun(writer)
    for index, page in enumerate(description.pages):
        if index:
            writer.newPage()
        paint_page(painter, page, FINE_DPI)
    painter.end()
    buffer.close()
    return bytes(data.data())


def svg_bytes(description: Description) -> bytes:
    """The first page as an SVG drawing at true size."""
    from PySide6.QtSvg import QSvgGenerator

    page = description.pages[0]
    data, buffer = byte_buffer()
    generator = QSvgGenerator()
    generator.setOutputDevice(buffer)
    generator.setResolution(FINE_DPI)
    size = QSize(_dots(page.width_mm, FINE_DPI), _dots(page.height_mm, FINE_DPI))
    generator.setSize(size)
    generator.setViewBox(QRect(0, 0, size.width(), size.height()))
    generator.setTitle(worded(description.title))
    painter = _begun(generator)
    painter.fillRect(QRectF(0, 0, size.width(), size.height()), "white")
    paint_page(painter, page, FINE_DPI)
    painter.end()
    buffer.close()
    return _with_widths(bytes(data.data()).decode("utf-8")).encode("utf-8")


_SVG_TEXT = re.compile(
    r'(<text [^>]*font-size="([\d.]+)" font-weight="(\d+)"[^>]*?)\s*>([^<]*)</text>'
)


def _with_widths(svg: str) -> str:
    """Every text of a drawing with the width it was laid out for, so that a viewer that lacks the
    font squeezes its own instead of running one text into the next."""
    ruler = FontRuler()

    def told(match: re.Match[str]) -> str:
        start, size_px, weight, words = match.groups()
        bold = int(weight) >= 600
        size_pt = float(size_px) * 72 / FINE_DPI
        dots = ruler.width_mm(html.unescape(words), size_pt, bold) / MM_PER_INCH * FINE_DPI
        return f'{start} textLength="{dots:.1f}" lengthAdjust="spacingAndGlyphs">{words}</text>'

    named = f'font-family="{typeface.FAMILY}"'
    others = ", ".join(FALLBACKS)
    return _SVG_TEXT.sub(told, svg).replace(named, f'{named[:-1]}, {others}"')


def png_bytes(description: Description) -> bytes:
    """The first page as an image of 200 dots an inch."""
    return image_bytes(page_image(description.pages[0], PNG_DPI))


def page_image(page: PaperPage, dots_per_inch: float) -> QImage:
    """A page as an image, black on white, whatever the theme of the window.

    Raises
    ------
    BobweightError
        ``cannot-paint`` if there is no memory for it.
    """
    image = QImage(
        _dots(page.width_mm, dots_per_inch), _dots(page.height_mm, dots_per_inch),
        QImage.Format.Format_RGB32,
    )  # fmt: skip
    per_metre = round(dots_per_inch * 1000 / MM_PER_INCH)
    image.setDotsPerMeterX(per_metre)
    image.setDotsPerMeterY(per_metre)
    image.fill(0xFFFFFFFF)
    painter = _begun(image)
    paint_page(painter, page, dots_per_inch)
    painter.end()
    return image


def print_docket(judged: Outcome, ask: Callable[[QPrinter], bool], paper: str = "a4",
                 view: View | None = None,
                 options: SheetOptions | None = None) -> bool:  # fmt: skip
    """Print the sheet; False if the user thought better of it.

    Parameters
    ----------
    ask : callable
        Shows the printer's dialog for a ``QPrinter`` and says whether to go on.

    Raises
    ------
    BobweightError
        ``cannot-print`` if the printer refuses.
    """
    return print_description(describe(judged, paper, view, options), ask)


def print_description(description: Description, ask: Callable[[QPrinter], bool]) -> bool:
    """Print any page description; see :func:`print_docket`."""
    from PySide6.QtPrintSupport import QPrinter

    printer = QPrinter(QPrinter.PrinterMode.HighResolution)
    printer.setPageLayout(_page_layout(description))
    printer.setFullPage(True)  # the origin is the corner of the paper, not of what can be printed
    printer.setDocName(worded(description.title))
    if not ask(printer):
        return False
    painter = QPainter()
    if not painter.begin(printer):
        raise BobweightError("cannot-print", (), printer=printer.printerName())
    for index, page in enumerate(description.pages):
        if index:
            printer.newPage()
        paint_page(painter, page, printer.resolution())
    painter.end()
    return True


def _page_layout(description: Description) -> QPageLayout:
    return QPageLayout(
        QPageSize(PAGE_SIZES[description.paper]), QPageLayout.Orientation.Portrait,
        QMarginsF(0, 0, 0, 0), QPageLayout.Unit.Millimeter,
    )  # fmt: skip


def _begun(device: QPaintDevice) -> QPainter:
    painter = QPainter()
    if not painter.begin(device):
        raise BobweightError("cannot-paint")
    return painter


def _dots(length_mm: float, dots_per_inch: float) -> int:
    return round(length_mm * dots_per_inch / MM_PER_INCH)
