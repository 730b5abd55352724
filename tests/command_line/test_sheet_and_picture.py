"""``sheet`` and ``picture``: real files, and nothing left behind where they cannot be made."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from pypdf import PdfReader
from PySide6.QtGui import QColor, QImage

from bobweight.__main__ import main
from bobweight.app.pages import PAGES
from bobweight.core.docket.docket import new_docket
from bobweight.core.docket.file import read_docket, write_docket
from tests.command_line.test_predict_and_verdict import DEMO, QUICK, process, told

A4_POINTS, LETTER_POINTS = (595, 842), (612, 792)  # ISO 216 and ANSI Y14.1, in 1/72 inch


@pytest.mark.parametrize(("paper", "points"), [("a4", A4_POINTS), ("letter", LETTER_POINTS)])
def test_a_sheet_as_pdf_is_of_the_paper(paper: str, points, tmp_path: Path, qapp):
    out = tmp_path / "sheet.PDF"
    assert main(["sheet", str(DEMO), "-o", str(out), "--paper", paper]) == 0
    pages = PdfReader(out).pages
    assert 1 <= len(pages) <= 2
    assert (float(pages[0].mediabox.width), float(pages[0].mediabox.height)) == pytest.approx(
        points, abs=1
    )
    assert read_docket(DEMO).particulars.title in " ".join(pages[0].extract_text().split())


@pytest.mark.parametrize(
    ("name", "starts"), [("s.svg", b"<?xml"), ("s.png", b"\x89PNG\r\n"), ("s.csv", b"")]
)
def test_a_sheet_in_other_forms(name: str, starts: bytes, tmp_path: Path, qapp):
    out = tmp_path / name
    assert main(["sheet", str(DEMO), "-o", str(out)]) == 0
    data = out.read_bytes()
    assert data.startswith(starts) and len(data) > 200
    assert os.listdir(tmp_path) == [name]


def test_a_sheet_of_an_empty_docket(tmp_path: Path, qapp):
    write_docket(new_docket(), tmp_path / "empty.docket")
    out = tmp_path / "sheet.pdf"
    assert main(["sheet", str(tmp_path / "empty.docket"), "-o", str(out)]) == 0
    assert len(PdfReader(out).pages) == 1


def test_a_result_that_cannot_be_written_is_told(tmp_path: Path, capsys, qapp):
    assert main(["sheet", str(DEMO), "-o", str(tmp_path / "gone" / "s.pdf")]) == 1
    told(capsys)
    (tmp_path / "s.png").mkdir()
    assert main(["sheet", str(DEMO), "-o", str(tmp_path / "s.png")]) == 2
    told(capsys)


def test_a_sheet_is_made_without_a_screen(tmp_path: Path):
    out = tmp_path / "sheet.pdf"
    result = process("sheet", str(QUICK), "-o", str(out))
    assert (result.returncode, result.stdout, result.stderr) == (0, "", "")
    assert out.read_bytes().startswith(b"%PDF-")


def lightness(path: Path) -> float:
    small = QImage(str(path)).scaled(40, 40)
    colours = [QColor(small.pixel(x, y)).lightnessF() for x in range(40) for y in range(40)]
    return sum(colours) / len(colours)


def test_a_picture_of_the_window_at_a_scale(tmp_path: Path, own_home: Path):
    out = tmp_path / "window.png"
    result = process("picture", str(QUICK), "--page", "readings", "--size", "1366x768",
                     "--scale", "2", "-o", str(out))  # fmt: skip
    assert (result.returncode, result.stdout, result.stderr) == (0, "", "")
    image = QImage(str(out))
    assert (image.width(), image.height()) == (2732, 1536)
    assert list(own_home.iterdir()) == []  # the user's settings are not touched
    assert [path.name for path in tmp_path.iterdir()] == ["window.png"]


def test_pictures_differ_by_theme_and_page(tmp_path: Path, qapp):
    taken = {}
    for theme, page in (("light", "target"), ("dark", "target"), ("light", "mechanism")):
        out = tmp_path / f"{theme}-{page}.png"
        assert main(["picture", str(DEMO), "--page", page, "--theme", theme, "--size", "1366x768",
                     "-o", str(out)]) == 0  # fmt: skip
        taken[theme, page] = out
    assert lightness(taken["light", "target"]) > 0.7
    assert lightness(taken["dark", "target"]) < 0.4
    assert QImage(str(taken["light", "target"])) != QImage(str(taken["light", "mechanism"]))
    assert QImage(str(taken["light", "target"])).size().width() == 1366


def test_a_page_that_is_not_there_is_told_with_those_that_are(tmp_path: Path, capsys, qapp):
    out = tmp_path / "window.png"
    assert main(["picture", str(DEMO), "--page", "cellar", "-o", str(out)]) == 2
    line = told(capsys)
    assert "cellar" in line
    assert all(page.key in line for page in PAGES)
    assert not out.exists()
