"""The painted page: text, size, strokes; files and the printer."""

from __future__ import annotations

import io
import itertools
from dataclasses import replace
from functools import cache
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pypdf
import pytest
from PySide6.QtGui import QFontMetricsF, QImage
from PySide6.QtPrintSupport import QPrinter

import bobweight.app.paper.type
import bobweight.app.paper.words
from bobweight.app import typeface
from bobweight.app.messages.cautions import paper_cautions
from bobweight.app.paper.output import (
    describe,
    page_image,
    pdf_bytes,
    png_bytes,
    print_docket,
    svg_bytes,
    with_judgement,
    write_description,
    write_outcome,
)
from bobweight.app.paper.type import FINE_DPI, FontRuler, page_font
from bobweight.app.paper.words import WORDS, worded
from bobweight.core.bench.findings import judge_findings
from bobweight.core.docket.file import read_docket
from bobweight.core.figure.description import Word
from bobweight.core.figure.view import View
from bobweight.core.judgement.outcome import Outcome, outcome
from bobweight.core.problems import BobweightError
from bobweight.core.sheet.caution_list import with_cautions_named
from bobweight.core.sheet.description import (
    LEAST_LINE_MM,
    LEAST_TEXT_PT,
    PAPERS,
    Description,
    Line,
    PaperPage,
    Paragraph,
    Polyline,
    Rect,
    Text,
)
from bobweight.core.sheet.engine_sheets import lamp_sheet
from bobweight.core.sheet.layout import cautions_overleaf, scale_bar
from bobweight.core.sheet.measuring_card import measuring_card_sheet
from bobweight.core.sheet.options import SheetOptions
from bobweight.core.sheet.pages import Pages
from tests.sheet import dockets
from tests.sheet.measuring import (
    HAS_POPPLER,
    box,
    grey_of_image,
    grey_of_pdf,
    line_widths,
    longest_black_run_mm,
    strokes_mm,
    texts,
)

ROOT = Path(__file__).parents[2]
SAMPLES = [path.stem for path in sorted((ROOT / "sample_curves").glob("*.docket"))]
pytestmark = pytest.mark.usefixtures("qapp")
CASES = [(name, paper) for name in dockets.DOCKETS for paper in PAPERS]


def made(name: str, paper: str = "a4", **view: object) -> Description:
    judged = dockets.judged(name)
    ratio = judged.docket.particulars.ratio_taken
    return describe(judged, paper, View(drive_ratio=ratio, **view))


def one_page(name: str) -> Description:
    return describe(dockets.judged(name), options=SheetOptions(one_page=True))


@pytest.mark.parametrize(("name", "paper"), CASES)
def test_no_text_meets_another_and_all_is_on_the_paper(name: str, paper: str) -> None:
    first, *others = made(name, paper).pages
    assert len(list(texts(first))) > 20
    for page in (first, *others):
        assert_on_the_paper(page)


def assert_on_the_paper(page: PaperPage) -> None:
    found = list(texts(page))
    for words, size, (left, top, right, bottom) in found:
        assert size >= LEAST_TEXT_PT, words
        assert left >= page.margin_mm - 0.3, words
        assert right <= page.width_mm - page.margin_mm + 0.3, words
        assert top >= page.margin_mm - 0.3, words
        assert bottom <= page.height_mm - page.margin_mm + 0.3, words
    assert_apart(page)
    for element in page.elements:
        extent = box(element)
        if extent is not None:
            assert extent[0] >= page.margin_mm - 0.3
            assert extent[2] <= page.width_mm - page.margin_mm + 0.3
            assert extent[1] >= page.margin_mm - 0.3
            assert extent[3] <= page.height_mm - page.margin_mm + 0.3
    assert min(line_widths(page)) >= LEAST_LINE_MM


def assert_apart(page: PaperPage) -> None:
    found = list(texts(page))
    for (one, size, a), (other, _, b) in itertools.combinations(found, 2):
        apart = max(a[0] - b[2], b[0] - a[2], a[1] - b[3], b[1] - a[3])
        assert apart > 0.1, (one, other, apart)
        assert size >= LEAST_TEXT_PT


def test_a_wider_font_and_longer_words_still_keep_apart(monkeypatch) -> None:
    """Translations run up to half as long again as English (common practice)."""
    monkeypatch.setattr(typeface, "load", lambda: "DejaVu Sans")
    bobweight.app.paper.type._em_width.cache_clear()
    longer = {code: text + "~" * (len(text) // 2) for code, text in WORDS.items()}
    try:
        for name in ("usual", "fullest", "retard"):
            assert_apart(made(name).pages[0])
        monkeypatch.setattr(bobweight.app.paper.words, "WORDS", longer)
        for name, paper in itertools.product(("usual", "fullest", "empty", "retard"), PAPERS):
            assert_apart(made(name, paper).pages[0])
    finally:
        bobweight.app.paper.type._em_width.cache_clear()


@pytest.mark.parametrize("paper", PAPERS)
def test_nothing_is_shortened_on_a_usual_sheet(paper: str) -> None:
    for name in ("usual", "no_capsule", "retard", "empty"):
        assert not [words for words, _, _ in texts(made(name, paper).pages[0]) if "…" in words]


@pytest.mark.parametrize("paper", PAPERS)
def test_usual_dockets_are_shown_whole(paper: str) -> None:
    """Only a docket with tables far longer than usual loses rows."""
    invented = {name: dockets.judged(name) for name in dockets.DOCKETS}
    samples = {path.name: outcome(read_docket(path))
               for path in sorted((ROOT / "sample_curves").glob("*.docket"))}  # fmt: skip
    assert len(samples) >= 6
    for name, judged in (invented | samples).items():
        pages = describe(judged, paper).pages
        said = " ".join(words for page in pages for words, _, _ in texts(page))
        assert ("more in the docket" in said) == (name == "fullest"), name


@cache
def judged_sample(name: str) -> tuple[Outcome, SheetOptions]:
    known = outcome(read_docket(ROOT / "sample_curves" / f"{name}.docket"))
    return known, with_judgement(known)


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", SAMPLES)
def test_the_answer_the_curve_and_the_plan_have_their_room(name: str, paper: str) -> None:
    known, options = judged_sample(name)
    pages = describe(known, paper, None, options).pages
    assert len(pages) <= 2
    for page in pages:
        assert_on_the_paper(page)
    first = list(texts(pages[0]))
    for words, _, _ in (text for page in pages for text in texts(page)):
        assert "…" not in words
    head = " ".join(words for words, _, (_, _, _, bottom) in first if bottom < 50.0)
    head = " ".join(head.split())  # a number may be kept with its unit
    assert options.said and " ".join(options.said.split()) in head
    frames = [e for e in pages[0].elements if isinstance(e, Rect) and e.width_mm > 100.0]
    assert max(e.height_mm for e in frames) >= 80.0 - 1e-6
    plates = [
        np.ptp([y for _, y in e.points]) for page in pages for e in page.elements
        if isinstance(e, Polyline) and e.points[0] == pytest.approx(e.points[-1])
    ]  # fmt: skip
    if known.docket.mechanism.springs:
        assert max(plates) + 2 * 5.0 >= 45.0
    cautions = [e for e in pages[0].elements if isinstance(e, Paragraph)
                and isinstance(e.text, Word) and e.text.code == "cautions"]  # fmt: skip
    assert [e.lines for e in cautions] == [3]
    short = " ".join(words for words, _, _ in first)
    for what in ("change 1 to 2° at a time", "piston stop by hand", "under load", "ping"):
        assert what in short


def test_remarks_are_printed_and_workshop_notes_are_not() -> None:
    docket = dockets.usual()
    record = replace(docket.particulars, remarks="Run in gently.", notes="Owes for the cap.")
    pages = describe(outcome(replace(docket, particulars=record))).pages
    said = " ".join(words for page in pages for words, _, _ in texts(page))
    assert "Run in gently." in said
    assert "Owes for the cap." not in said


def test_a_long_title_is_wrapped_and_whole() -> None:
    docket = dockets.usual()
    title = "The spare distributor of the pump engine at the lower lock, with the second cam " * 2
    record = replace(docket.particulars, title=title)
    page = describe(outcome(replace(docket, particulars=record))).pages[0]
    lines = [words for words, _, (_, _, _, bottom) in texts(page) if bottom < 30.0]
    assert title.strip() in " ".join(lines)


def test_every_print_has_a_title() -> None:
    card = pypdf.PdfReader(io.BytesIO(pdf_bytes(measuring_card_sheet("a4", FontRuler()))))
    assert card.metadata.title == worded(Word("measuring-card-title"))
    lamp = lamp_sheet(dockets.judged("usual"), "a4", FontRuler())
    title = pypdf.PdfReader(io.BytesIO(pdf_bytes(lamp))).metadata.title
    assert title == f"{worded(Word('card-title'))}: Marsh lane pump engine"


def test_every_word_has_its_text() -> None:
    views = ({}, {"frame": "crank", "depression_unit": "inHg"})
    for name, view in itertools.product(dockets.DOCKETS, views):
        for element in made(name, **view).pages[0].elements:
            if isinstance(element, Text | Paragraph):
                text = worded(element.text)
                assert text.strip()
                assert "{" not in text


def test_no_text_of_the_table_is_idle() -> None:
    """Every code is named in the core, whole or by its beginning."""
    rooms = (ROOT / "core/sheet", ROOT / "core/figure")
    source = "".join(path.read_text() for room in rooms for path in room.glob("*.py"))
    for code in WORDS:
        stems = [code, *(code.rsplit("-", n)[0] + "-" for n in range(1, code.count("-") + 1))]
        assert any(f'"{stem}' in source for stem in stems), code


def test_pdf_text_is_text_and_gives_the_numbers_of_the_core() -> None:
    judged = dockets.judged("usual")
    reader = pypdf.PdfReader(io.BytesIO(pdf_bytes(describe(judged))))
    assert reader.metadata.title == "Marsh lane pump engine"
    said = "".join(page.extract_text() for page in reader.pages)
    text = " ".join(said.split())  # Qt 6.11 writes spaces as tabs
    for point in judged.comparison.check_points:
        assert f"{point.low_deg:.1f} to {point.high_deg:.1f}" in text
        assert f"{point.estimate_deg:.1f} ± {point.u_deg:.1f}" in text
    assert f"Predicted to start at {judged.prediction.start_rpm:.0f} rev/min." in text
    for words in ("D 4417-B", "Anticlockwise", "required band", "Too much advance destroys",
                  "Constant ratio", "predicted, falling"):  # fmt: skip
        assert words in text


@pytest.mark.parametrize("paper", PAPERS)
def test_pdf_is_all_vectors_with_its_fonts_in_it(paper: str) -> None:
    page = pypdf.PdfReader(io.BytesIO(pdf_bytes(made("usual", paper)))).pages[0]
    assert not list(page.images)
    for font in page["/Resources"]["/Font"].values():
        for inner in font.get_object()["/DescendantFonts"]:
            assert "/FontFile2" in inner.get_object()["/FontDescriptor"].get_object()
    width, height = PAPERS[paper]  # PDF pages are kept in whole points
    assert float(page.mediabox.width) == pytest.approx(width / 25.4 * 72, abs=0.6)
    assert float(page.mediabox.height) == pytest.approx(height / 25.4 * 72, abs=0.6)


@pytest.mark.parametrize("paper", PAPERS)
def test_scale_bar_measures_100_mm_in_the_strokes_of_the_pdf(paper: str) -> None:
    strokes = strokes_mm(pdf_bytes(card(paper)))
    level = np.abs(strokes[:, 1] - strokes[:, 3]) < 1e-3
    lengths = np.abs(strokes[:, 2] - strokes[:, 0])[level]
    low = np.maximum(strokes[:, 1], strokes[:, 3])[level]
    in_the_foot = lengths[(low < 26.0) & (lengths > 80.0) & (lengths < 120.0)]
    assert np.abs(in_the_foot - 100.0).min() < 0.02


@pytest.mark.skipif(not HAS_POPPLER, reason="pdftoppm of Poppler is not installed")
@pytest.mark.parametrize("paper", PAPERS)
def test_scale_bar_measures_100_mm_as_rendered(paper: str, tmp_path: Path) -> None:
    grey = grey_of_pdf(pdf_bytes(card(paper)), 300, tmp_path)
    width, height = PAPERS[paper]
    assert grey.shape[1] / 300 * 25.4 == pytest.approx(width, abs=0.3)
    assert _bar_mm(grey, 300, height) == pytest.approx(100.0, abs=0.2)


def _bar_mm(grey: np.ndarray, dpi: float, height_mm: float) -> float:
    """The bar alone, at the foot of a page with something at true size."""
    return longest_black_run_mm(grey, dpi, height_mm - 16.5, 8.0, 122.5)


def card(paper: str) -> Description:
    """A print at true size, without anything on it."""
    return Pages(paper, FontRuler(), Word("tape-title")).description()


@pytest.mark.parametrize("paper", PAPERS)
def test_png_has_its_size_and_a_true_scale_bar(paper: str) -> None:
    image = QImage.fromData(png_bytes(card(paper)))
    width, height = PAPERS[paper]
    assert image.width() == round(width / 25.4 * 200)
    assert image.height() == round(height / 25.4 * 200)
    assert image.dotsPerMeterX() == pytest.approx(200 / 0.0254, abs=1)
    assert _bar_mm(grey_of_image(image), 200, height) == pytest.approx(100.0, abs=0.2)


@pytest.mark.parametrize("paper", PAPERS)
def test_the_line_of_the_measuring_card_is_named_at_its_middle(paper: str) -> None:
    """The one line to measure: no bar of another length stands beside it."""
    elements = measuring_card_sheet(paper, FontRuler()).pages[0].elements
    texts = [worded(e.text) for e in elements if isinstance(e, Text)]
    assert any("then measure the 150 mm line" in text for text in texts)
    assert not any("bar" in text.split() for text in texts)
    (line,) = [e for e in elements if isinstance(e, Line) and e.x2_mm - e.x1_mm == 150.0]
    (name,) = [e for e in elements if isinstance(e, Text) and e.text == "150 mm"]
    assert name.align == "centre" and name.x_mm == pytest.approx((line.x1_mm + line.x2_mm) / 2)


def test_a_bar_of_another_length_is_measured_as_such() -> None:
    """The measuring itself can tell 99 from 100 mm."""
    page = PaperPage(210.0, 297.0, 12.0, tuple(e for e in scale_bar(20.0, 280.0, 99.0)
                                          if isinstance(e, Line)))  # fmt: skip
    measured = longest_black_run_mm(grey_of_image(page_image(page, 200)), 200, 270.0, 13.0, 130.0)
    assert measured == pytest.approx(99.0, abs=0.2)


def test_black_and_white_only() -> None:
    image = page_image(made("usual").pages[0], 100).convertToFormat(QImage.Format.Format_RGB888)
    rows = np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), image.bytesPerLine())
    pixels = rows[:, : 3 * image.width()].reshape(image.height(), image.width(), 3).astype(int)
    assert np.abs(np.diff(pixels, axis=2)).max() == 0
    assert (pixels < 100).any()


def test_svg_is_a_drawing_of_true_size_with_text() -> None:
    root = ElementTree.fromstring(svg_bytes(one_page("usual")))
    assert float(root.get("width")[:-2]) == pytest.approx(210.0, abs=0.05)
    assert float(root.get("height")[:-2]) == pytest.approx(297.0, abs=0.05)
    left, top, width, height = (float(v) for v in root.get("viewBox").split())
    assert (left, top) == (0.0, 0.0)
    assert width / height == pytest.approx(210 / 297, rel=1e-3)
    space = "{http://www.w3.org/2000/svg}"
    words = " ".join("".join(e.itertext()) for e in root.iter(f"{space}text"))
    assert "Marsh lane pump engine" in words
    assert not list(root.iter(f"{space}image"))
    ruler = FontRuler()
    for element in root.iter(f"{space}text"):
        size_pt = float(element.get("font-size")) * 72 / 1200
        bold = element.get("font-weight") == "700"
        width_mm = ruler.width_mm(element.text, size_pt, bold)
        assert float(element.get("textLength")) * 25.4 / 1200 == pytest.approx(width_mm, abs=0.01)
    assert len(list(root.iter(f"{space}polyline"))) + len(list(root.iter(f"{space}path"))) > 50


@pytest.mark.parametrize("suffix", ["pdf", "svg", "png", "csv"])
def test_write_chooses_by_suffix(suffix: str, tmp_path: Path) -> None:
    path = tmp_path / f"sheet.{suffix.upper()}"
    write_outcome(outcome(dockets.usual()), path, "letter")
    beginnings = {"pdf": b"%PDF-", "svg": b"<?xml", "png": b"\x89PNG", "csv": b"part,"}
    assert path.read_bytes().startswith(beginnings[suffix])


def test_write_refuses_in_codes_and_leaves_the_old_file(tmp_path: Path) -> None:
    old = tmp_path / "sheet.txt"
    old.write_text("old")
    with pytest.raises(BobweightError) as error:
        write_outcome(outcome(dockets.usual()), old)
    assert error.value.problem.code == "sheet-suffix-unknown"
    assert old.read_text() == "old"
    with pytest.raises(BobweightError) as error:
        write_outcome(outcome(dockets.usual()), tmp_path / "nowhere" / "sheet.pdf")
    assert error.value.problem.code == "folder-missing"
    with pytest.raises(BobweightError) as error:
        (tmp_path / "folder.pdf").mkdir()
        write_outcome(outcome(dockets.usual()), tmp_path / "folder.pdf")
    assert error.value.problem.code == "file-is-folder"


def test_several_pages_go_to_one_pdf(tmp_path: Path) -> None:
    one = made("usual")
    write_description(Description("Two", "a4", one.pages * 2), tmp_path / "two.pdf")
    assert len(pypdf.PdfReader(tmp_path / "two.pdf").pages) >= 2


def test_print_goes_through_the_dialog_given(tmp_path: Path) -> None:
    judged = dockets.judged("usual")
    asked: list[QPrinter] = []

    def to_file(printer: QPrinter) -> bool:
        asked.append(printer)
        printer.setOutputFormat(QPrinter.OutputFormat.PdfFormat)
        printer.setOutputFileName(str(tmp_path / "print.pdf"))
        return True

    assert print_docket(judged, to_file, "letter")
    assert len(asked) == 1
    page = pypdf.PdfReader(tmp_path / "print.pdf").pages[0]
    assert float(page.mediabox.width) == pytest.approx(612, abs=0.6)
    assert "Marsh lane pump engine" in " ".join(page.extract_text().split())
    strokes = strokes_mm((tmp_path / "print.pdf").read_bytes())
    lengths = np.abs(strokes[:, 2] - strokes[:, 0])[np.abs(strokes[:, 1] - strokes[:, 3]) < 1e-3]
    assert np.abs(lengths - (215.9 - 2 * 12.0)).min() < 0.05  # the rules, from margin to margin
    assert not print_docket(judged, lambda printer: False)


def test_text_too_long_for_its_room_gets_smaller_then_shorter() -> None:
    ruler = FontRuler()
    words = "a number that goes on and on"
    wide = ruler.width_mm(words, 10.0)
    kept, size = ruler.fitted(Text(0, 0, words, 10.0, room_mm=0.9 * wide))
    assert kept == words
    assert size == pytest.approx(9.0)
    kept, size = ruler.fitted(Text(0, 0, words, 10.0, room_mm=0.5 * wide))
    assert size == LEAST_TEXT_PT
    assert kept.endswith("…")
    assert kept[:-1] == words[: len(kept) - 1]
    assert ruler.width_mm(kept, size) <= 0.5 * wide + 0.05


def test_text_is_as_wide_as_it_is_measured(qapp) -> None:
    """Qt sets type in whole dots: measured in points, a line over the page ran out of its room."""
    words, ruler = "W" * 40, FontRuler()
    for size_pt in (7.03, 9.53, 10.0, 10.05, 14.0):
        dots = 25.4 / FINE_DPI
        font = page_font(size_pt * FINE_DPI / qapp.primaryScreen().logicalDotsPerInch(), bold=True)
        set_mm = QFontMetricsF(font).horizontalAdvance(words) * dots
        assert ruler.width_mm(words, size_pt, bold=True) == pytest.approx(set_mm, rel=3e-4)


def test_a_page_without_the_cautions_names_the_one_that_has_them() -> None:
    here, there = cautions_overleaf(0.0, 0.0, 50.0), Text(0.0, 0.0, Word("cautions-heading", {}))
    for pages, said in (([[], [here], [there]], "see page 3"), ([[], [here]], "see page 1")):
        told = with_cautions_named(pages)[1][0]
        assert isinstance(told, Text) and said in worded(told.text)


def test_words_are_made_of_facts() -> None:
    assert worded(Word("range", {"low": "1.0", "high": "2.0"})) == "1.0 to 2.0"
    assert worded("as it is {x}") == "as it is {x}"


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", SAMPLES)
def test_the_cautions_stand_whole_wherever_there_is_a_second_page(name: str, paper: str) -> None:
    pages = describe(outcome(read_docket(ROOT / f"sample_curves/{name}.docket")), paper).pages
    said = " ".join(words for words, _, _ in texts(pages[-1]))
    for caution in paper_cautions() if len(pages) > 1 else ():
        assert all(word in said for word in caution.split())
    assert len(pages) < 2 or "see page" not in said


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", SAMPLES)
def test_a_second_page_is_begun_only_where_it_is_filled(name: str, paper: str) -> None:
    """To a third at least, above the cautions; rows are set closer on the first before."""
    known, options = judged_sample(name)
    for page in describe(known, paper, None, options).pages[1:]:
        said = [(words, bottom) for words, _, (_, _, _, bottom) in texts(page)]
        cautions = next((y for words, y in said if words == "Cautions"), page.height_mm - 20.0)
        assert max(y for _, y in said if y < cautions - 2.0) > page.height_mm / 3


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", SAMPLES)
def test_the_record_at_length_and_all_else_stand_on_two_pages(name: str, paper: str) -> None:
    """At ordinary lengths, with nothing of the record left out; the cautions are on the first page
    in three lines where the second has no room for them at length."""
    known = outcome(read_docket(ROOT / f"sample_curves/{name}.docket"))
    pages = describe(known, paper, None, SheetOptions(pages=2)).pages
    assert len(pages) == 2
    said = [words for words, _, _ in texts(pages[1])]
    assert not any("in the docket" in words for words in said), "a table is cut"
    states = ("pass", "borderline", "fail", "shown, not judged")
    judged = [row for row in judge_findings(known.docket).rows if row.state.value != "not measured"]
    assert sum(words in states for words in said) == len(judged)


def test_long_particulars_and_how_it_was_read_are_not_shortened() -> None:
    docket = dockets.usual()
    long_name = "The society for the keeping of old engines of the upper valley and its friends"
    record = replace(docket.particulars, owner=long_name * 2, fitted_to=long_name)
    session = replace(docket.sessions[0], title=f"As found by {long_name}")
    docket = replace(docket, particulars=record, sessions=(session, *docket.sessions[1:]))
    for paper in PAPERS:
        said = [words for words, _, _ in texts(describe(outcome(docket), paper).pages[0])]
        assert not [words for words in said if "…" in words]
        assert long_name in " ".join(said)
