"""The manual: a chapter for every page, pictures that are there, search, print."""

from __future__ import annotations

import re
import unicodedata

import pypdf
import pytest
from PIL import Image
from PySide6.QtWidgets import QLabel

from bobweight.app.command_line.manual import fewer_colours
from bobweight.app.manual import CHAPTERS, chapter_text, chapter_title, found_in, picture
from bobweight.app.manual.view import ManualWindow, write_manual
from bobweight.app.pages import PAGES


def test_every_page_has_its_chapter():
    assert {page.key for page in PAGES} <= set(CHAPTERS)
    titles = [chapter_title(key) for key in CHAPTERS]
    assert len(set(titles)) == len(titles)


@pytest.mark.parametrize("key", CHAPTERS)
def test_every_picture_of_a_chapter_is_there(key: str):
    for name in re.findall(r"\]\((\w+\.png)\)", chapter_text(key)):
        found = picture(name)
        assert found is not None, name
        assert len(found) > 10_000


def test_a_word_finds_its_chapters():
    assert {"setting_up", "words", "computed"} <= set(found_in("dwell"))
    assert found_in("photograph")[0] == "photograph"  # in its title
    assert "findings" in found_in("diaphragm")
    assert found_in("zebra") == []


def test_the_window_shows_searches_and_says_where_nothing_is(qtbot):
    manual = ManualWindow()
    qtbot.addWidget(manual)
    manual.show()
    manual.show_chapter("verdict")
    assert "Ratio of torques" in manual.text.toPlainText()
    manual.search.setText("piston stop")
    assert manual.chapters.count() < len(CHAPTERS)
    assert "piston stop" in manual.text.toPlainText()
    manual.search.setText("zebra")
    assert manual.chapters.count() == 0
    assert any(label.isVisible() for label in manual.findChildren(QLabel))
    manual.show_chapter("keys")
    assert manual.chapters.count() == len(CHAPTERS)


def test_it_prints_whole(qtbot, tmp_path):
    path = tmp_path / "manual.pdf"
    write_manual(path)
    reader = pypdf.PdfReader(path)
    for page, key in zip(reader.pages, CHAPTERS, strict=True):
        text = " ".join(
            unicodedata.normalize("NFKC", page.extract_text()).split()
        )  # ligatures apart
        assert text.startswith(chapter_title(key))
    assert "manual" in reader.metadata.title


def test_a_picture_of_fewer_colours_keeps_those_of_few_pixels(tmp_path):
    """The words at a curve are told apart by their colour: magenta became brown once."""
    made = Image.effect_noise((640, 360), 60).convert("RGB")  # many colours of many pixels
    ground = (241, 239, 233)  # and what is most of it
    made.paste(ground, (0, 40, 640, 300))
    rare = [(0x99, 0x1F, 0x7A), (0xA8, 0x35, 0x0B), (0x7A, 0x55, 0x00), (0x00, 0x5D, 0xA8)]
    for number, colour in enumerate(rare):
        made.paste(colour, (40 * number, 10, 40 * number + 6, 16))
    made.save(tmp_path / "window.png")
    fewer_colours(tmp_path / "window.png")
    with Image.open(tmp_path / "window.png") as opened:
        kept = opened.convert("RGB")
    assert kept.getpixel((300, 200)) == ground
    for number, colour in enumerate(rare):
        there = kept.getpixel((40 * number + 3, 13))
        assert max(abs(a - b) for a, b in zip(there, colour, strict=True)) < 24
