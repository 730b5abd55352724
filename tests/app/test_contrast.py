"""Words and lines can be seen in both themes, and curves of different meaning told apart.

Contrast as in the Web Content Accessibility Guidelines 2.2 (W3C, 2023): relative luminance,
1.4.3 (4.5 for words) and 1.4.11 (3 for what is not words). Lightness and hue differ as measured in
OKLab (Björn Ottosson, "A perceptual color space for image processing", 2020; matrices from the
article, typed from memory and checked by white and grey below).
"""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from PySide6.QtGui import QColor, QImage, QPainter

from bobweight.app.board.inks import HATCH_PX, Inks
from bobweight.app.theme import DARK, HIGH, LIGHT, Theme

THEMES = pytest.mark.parametrize(
    "theme", [LIGHT, DARK, *HIGH.values()], ids=["light", "dark", "light, high", "dark, high"]
)
WORDS, LINES = 4.5, 3.0
HIGH_WORDS = 7.0
"""As 1.4.6 of the guidelines asks of enhanced contrast."""


def linear(colour: str) -> np.ndarray:
    parts = np.array([int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)])
    return np.where(parts <= 0.04045, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4)


def contrast(one: str, other: str) -> float:
    low, high = sorted(float(linear(c) @ (0.2126, 0.7152, 0.0722)) for c in (one, other))
    return (high + 0.05) / (low + 0.05)


def oklab(colour: str) -> np.ndarray:
    cone = np.array([
        (0.4122214708, 0.5363325363, 0.0514459929),
        (0.2119034982, 0.6806995451, 0.1073969566),
        (0.0883024619, 0.2817188376, 0.6299787005),
    ]) @ linear(colour)  # fmt: skip
    return np.array([
        (0.2104542553, 0.7936177850, -0.0040720468),
        (1.9779984951, -2.4285922050, 0.4505937099),
        (0.0259040371, 0.7827717662, -0.8086757660),
    ]) @ np.cbrt(cone)  # fmt: skip


def test_the_measures_themselves():
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)  # WCAG's usual example
    assert oklab("#ffffff") == pytest.approx([1.0, 0.0, 0.0], abs=1e-4)
    assert oklab("#808080")[1:] == pytest.approx([0.0, 0.0], abs=1e-4)


def word_pairs() -> list[tuple[str, str]]:
    """Names of the colours of words, each with a ground on which such words stand."""
    everywhere = ("ink", "faint", "wrong", "advice", "good", "accent")
    pairs = [(word, ground) for word in everywhere for ground in ("desk", "paper", "raised")]
    on_plots = ("ink", "faint", "rising", "falling", "ghost", "jump", "target", "wrong", "advice")
    pairs += [(word, ground) for word in on_plots for ground in ("paper", "band")]
    pairs += [("ink", "base_plate"), ("ink", "grid"), ("on_accent", "accent")]
    return pairs + [(f"spring_{role}", "paper") for role in ("primary", "secondary", "further")]


def line_pairs() -> list[tuple[str, str]]:
    """The same of lines and borders."""
    pairs = [("line", ground) for ground in ("desk", "paper", "raised")]
    drawn = ("rising", "falling", "ghost", "jump", "target", "reading", "reading_left_out",
             "pointer", "ink", "capsule")  # fmt: skip
    pairs += [(line, ground) for line in drawn for ground in ("paper", "band")]
    springs = ("spring_primary", "spring_secondary", "spring_further")
    over_parts = (*springs, "stop", "pin", "ink", "faint", "accent", "wrong")
    parts = ("base_plate", "weight", "foot", "cam")  # springs, dimensions and leaders run over all
    pairs += [(line, part) for line in over_parts for part in parts]
    return pairs + [(spring, "paper") for spring in springs]


@THEMES
def test_words_can_be_read_wherever_they_stand(theme: Theme):
    faint = {p: round(contrast(getattr(theme, p[0]), getattr(theme, p[1])), 2)
             for p in word_pairs()}  # fmt: skip
    assert {p: c for p, c in faint.items() if c < WORDS} == {}


@pytest.mark.parametrize("theme", HIGH.values(), ids=HIGH)
def test_words_of_high_contrast_stand_out(theme: Theme):
    everywhere = ("ink", "faint", "wrong", "advice", "good", "accent", "line")
    pairs = [(word, ground) for word in everywhere for ground in ("desk", "paper", "raised")]
    faint = {p: round(contrast(getattr(theme, p[0]), getattr(theme, p[1])), 2) for p in pairs}
    assert {p: c for p, c in faint.items() if c < HIGH_WORDS} == {}


@THEMES
def test_lines_and_borders_can_be_seen(theme: Theme):
    faint = {p: round(contrast(getattr(theme, p[0]), getattr(theme, p[1])), 2)
             for p in line_pairs()}  # fmt: skip
    assert {p: c for p, c in faint.items() if c < LINES} == {}


@THEMES
@pytest.mark.parametrize("ratio", [1.0, 1.5, 2.0])
def test_the_hatch_of_a_limit_can_be_seen_on_screens_of_any_fineness(theme: Theme, ratio, qapp):
    screen = QImage(8, 8, QImage.Format.Format_RGB32)
    screen.setDevicePixelRatio(ratio)
    painter = QPainter(screen)
    brush = Inks(theme, qapp.font()).hatched(painter)
    painter.end()
    tile = brush.textureImage()
    assert tile.width() * brush.transform().m11() == pytest.approx(HATCH_PX, abs=0.5)
    seen = QImage(tile.size(), QImage.Format.Format_RGB32)
    seen.fill(QColor(theme.paper))
    painter = QPainter(seen)
    painter.drawImage(0, 0, tile)
    painter.end()
    middle = [seen.pixelColor(x, seen.height() // 2).name() for x in range(seen.width())]
    assert max(contrast(colour, theme.paper) for colour in middle) >= LINES


@THEMES
def test_curves_that_mean_different_things_are_not_nearly_one_colour(theme: Theme):
    """Rising, falling, held before, fitted, after the alteration (ink), the target."""
    curves = ("rising", "falling", "ghost", "jump", "ink", "target")
    apart = {
        pair: round(float(np.linalg.norm(oklab(getattr(theme, pair[0]))
                                         - oklab(getattr(theme, pair[1])))), 3)
        for pair in combinations(curves, 2)
    }  # fmt: skip
    assert {pair: d for pair, d in apart.items() if d < 0.1} == {}
