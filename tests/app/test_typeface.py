"""The program's typeface holds all that the program writes, and columns stand under each other."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from functools import cache
from importlib import resources
from pathlib import Path

import pytest
from PySide6.QtGui import QFont, QFontInfo, QFontMetricsF, QRawFont

from bobweight.app import typeface
from bobweight.app.paper.type import page_font
from bobweight.app.theme import STATE_SIGNS, VERDICT_SIGNS, apply_theme

ROOT = Path(__file__).resolve().parents[2]
MANUAL = "app/manual/text/*.md"
ONLY_READ = set("＋－＝＠˚⋅")
"""Signs of other scripts, and look-alikes, understood where they are typed and never written."""


def texts(patterns: tuple[str, ...] = (MANUAL, "sample_curves/*.docket")) -> Iterator[str]:
    """All texts of the code but its docstrings, and of other files: the manual, the examples."""
    for folder in ("app", "core"):
        for path in sorted((ROOT / folder).rglob("*.py")):
            tree = ast.parse(path.read_text("utf-8"))
            spoken = {
                id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)
            }  # docstrings are expressions that are a text
            for node in ast.walk(tree):
                told = isinstance(node, ast.Constant) and id(node) not in spoken
                if told and isinstance(node.value, str):
                    yield node.value
    for pattern in patterns:
        for path in sorted(ROOT.glob(pattern)):
            yield path.read_text("utf-8")


@cache
def written() -> set[str]:
    """Every sign that the program may write."""
    signs = {c for c in set().union(*texts()) if c.isprintable() or c == "\u2009"}
    return signs | set("".join([*VERDICT_SIGNS.values(), *STATE_SIGNS.values()]))


@pytest.mark.parametrize("style", typeface.STYLES)
def test_every_character_of_the_program_has_a_glyph(qapp, style: str) -> None:
    file = resources.files(typeface) / f"BobweightSans-{style}.ttf"
    with resources.as_file(file) as path:
        font = QRawFont(str(path), 20.0)
    assert font.familyName() == typeface.FAMILY
    lacking = {c for c in written() - ONLY_READ if not font.supportsCharacter(ord(c))}
    assert lacking == set()


def test_figures_and_signs_are_of_one_width(qapp) -> None:
    for bold in (False, True):
        font = QFontMetricsF(page_font(12.0, bold))
        widths = {round(font.horizontalAdvance(sign), 3) for sign in "0123456789−±+"}
        assert len(widths) == 1, (bold, widths)


def test_screen_and_paper_are_set_in_it(qapp) -> None:
    apply_theme(qapp, "light")
    for font in (qapp.font(), page_font(9.0), page_font(9.0, bold=True), QFont(typeface.FAMILY)):
        assert QFontInfo(font).family() == typeface.FAMILY


def test_its_licence_comes_with_it() -> None:
    text = (resources.files(typeface) / "FONT-LICENCE.txt").read_text("utf-8")
    assert "SIL OPEN FONT LICENSE Version 1.1" in text


def test_quotation_marks_and_apostrophes_are_typographic() -> None:
    """Of whatever may be read: “ ” and ’, never the straight ones; lines of code in the manual
    and patterns stay as they are."""
    straight = re.compile(r"[a-z]'[a-z]|s' [a-z]|(?:^|[\s(])\"\w[^\"=\n]*[\w.]\"(?=[\s.,;:)]|$)")
    code = re.compile(r"```.*?```|`[^`]*`", re.DOTALL)
    told = [code.sub("", text) for text in texts((MANUAL,)) if "\\d" not in text]
    wrong = [found.group() for text in told for found in straight.finditer(text)]
    assert wrong == []
