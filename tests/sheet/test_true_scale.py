"""Tape and ring measured on the painted page, against π D / 360 and the circle itself.

Poppler paints the PDF; the marks are found in the pixels. Nothing here reads the description.
"""

from __future__ import annotations

import itertools
import math
from pathlib import Path

import numpy as np
import pytest

from bobweight.app.paper.output import pdf_bytes, write_description
from bobweight.app.paper.type import FontRuler
from bobweight.core.bench.ring import RingSpec
from bobweight.core.bench.tape import TapeSpec
from bobweight.core.problems import BobweightError
from bobweight.core.sheet.description import PAPERS, Description, Text
from bobweight.core.sheet.ring_sheet import ring_sheet
from bobweight.core.sheet.tape_sheet import OVERLAP_MM, tape_sheet
from tests.sheet.measuring import HAS_POPPLER, box, grey_of_pdf, longest_black_run_mm, texts

pytestmark = pytest.mark.usefixtures("qapp")
poppler = pytest.mark.skipif(not HAS_POPPLER, reason="pdftoppm of Poppler is not installed")
DPI = 400
PER_MM = DPI / 25.4


def tape_of(diameter_mm: float, **more: object) -> TapeSpec:
    """A tape on paper of no thickness, so that the sums are those of the rim."""
    return TapeSpec(diameter_mm=diameter_mm, **{"thickness_mm": 0.0, **more})


def ring_of(inner_mm: float, outer_mm: float, **more: object) -> RingSpec:
    return RingSpec(inner_radius_mm=inner_mm, outer_radius_mm=outer_mm, **more)


def page_pdf(description: Description, number: int = 0) -> bytes:
    return pdf_bytes(Description("", description.paper, (description.pages[number],)))


def strip_tops(grey: np.ndarray) -> list[int]:
    """Rows where the outline of a strip has its lower edge: long dark lines 14 mm below one."""
    rows = np.flatnonzero([longest_run(row < 128) > 60 * PER_MM for row in grey])
    edges = [int(group.mean()) for group in np.split(rows, np.flatnonzero(np.diff(rows) > 3) + 1)
             if len(group)]  # fmt: skip
    apart = round(14.0 * PER_MM)
    return [b for a, b in itertools.combinations(edges, 2) if abs(b - a - apart) <= 2]


def longest_run(dark: np.ndarray) -> int:
    """The longest unbroken stretch of a row of pixels."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], dark, [0]]).astype(int))).reshape(-1, 2)
    return int((edges[:, 1] - edges[:, 0]).max(initial=0))


def dark_centres(line: np.ndarray) -> np.ndarray:
    """Middles in mm of the dark stretches of a row of pixels, weighed by darkness."""
    ink = 1.0 - line / 255.0
    edges = np.flatnonzero(np.diff(np.concatenate([[0], ink > 0.08, [0]]).astype(int)))
    return np.array([
        np.average(np.arange(a, b) + 0.5, weights=ink[a:b]) / PER_MM
        for a, b in edges.reshape(-1, 2)
    ])  # fmt: skip


@poppler
@pytest.mark.parametrize("paper", PAPERS)
def test_tape_is_true_over_its_whole_length(paper: str, tmp_path: Path) -> None:
    """126 marks over 164 mm on one strip: each within 0.2 mm of π D / 360 a degree."""
    diameter = 150.0
    spec = tape_of(diameter, span_deg=125.0, end_mm=5.0)
    description = tape_sheet(spec, paper, FontRuler())
    grey = grey_of_pdf(page_pdf(description), DPI, tmp_path)
    lower = strip_tops(grey)[0]
    found = dark_centres(grey[lower - round(1.5 * PER_MM)])[1:-1]  # without the outline's sides
    assert len(found) == 126
    expected = math.pi * diameter / 360 * np.arange(126)
    assert np.abs(found - found[0] - expected).max() < 0.2
    assert expected[-1] > 160


@poppler
@pytest.mark.parametrize("paper", PAPERS)
def test_strips_laid_on_their_joins_make_one_true_tape(paper: str, tmp_path: Path) -> None:
    """Over the joins too: 300 mm from the first mark, within 0.2 mm for each 200 mm."""
    diameter = 240.0
    spec = tape_of(diameter, span_deg=150.0, end_mm=5.0)
    description = tape_sheet(spec, paper, FontRuler())
    grey = grey_of_pdf(page_pdf(description), DPI, tmp_path)
    lowers = strip_tops(grey)
    assert len(lowers) == 2
    printable = PAPERS[paper][0] - 24.0
    pieces = [dark_centres(grey[lower - round(1.5 * PER_MM)]) for lower in lowers]
    first = pieces[0][1:-1]
    second = pieces[1][1:-1] + printable - OVERLAP_MM  # laid so that the joins coincide
    both = np.concatenate([first, second[second > first[-1] + 0.5 * spec.mm_per_deg]])
    shared = [m for m in second if first[0] < m < first[-1] - 1]
    assert len(shared) >= 5
    for mark in shared:
        assert np.abs(first - mark).min() < 0.2
    step = math.pi * diameter / 360
    number = np.round((both - both[0]) / step)
    assert number[-1] == 150
    assert np.abs(both - both[0] - number * step).max() < 0.3


@poppler
@pytest.mark.parametrize("paper", PAPERS)
def test_every_page_has_a_true_bar(paper: str, tmp_path: Path) -> None:
    made = [
        tape_sheet(tape_of(420.0, side="both", cylinders=6), paper, FontRuler()),
        ring_sheet(ring_of(120.0, 150.0), paper, FontRuler()),
    ]
    assert all(len(description.pages) > 1 for description in made)
    for description in made:
        for number in range(len(description.pages)):
            grey = grey_of_pdf(page_pdf(description, number), DPI, tmp_path)
            height = PAPERS[paper][1]
            bar = longest_black_run_mm(grey, DPI, height - 14.0, 11.0, 125.0)
            assert bar == pytest.approx(100.0, abs=0.1)


@poppler
@pytest.mark.parametrize("paper", PAPERS)
def test_ring_is_round_and_its_marks_stand_true(paper: str, tmp_path: Path) -> None:
    """The edge is a circle of the radius asked for, and each degree mark lies on its ray."""
    spec = ring_of(60.0, 88.0)
    grey = grey_of_pdf(page_pdf(ring_sheet(spec, paper, FontRuler())), DPI, tmp_path)
    ink = grey < 128
    middle = PAPERS[paper][0] / 2 * PER_MM
    column = np.flatnonzero(ink[:, round(middle) + round(0.6 * PER_MM)])
    column = column / PER_MM
    # words above and the bar below lie in the column too: the edge is the pair with ink all round
    middles = [
        (a + b) / 2 for a, b in itertools.combinations(column, 2) if abs(b - a - 176.0) < 0.3
    ]
    assert middles, "the outer edge is 176 mm across, up and down"
    turn = np.radians(np.arange(0, 360, 0.5))
    reach = 88.0 * PER_MM
    across = np.round(middle + reach * np.sin(turn) - 0.5).astype(int)

    def ink_round(at: float) -> float:
        down = np.round(at * PER_MM - reach * np.cos(turn) - 0.5).astype(int)
        return float(np.mean(grey[down, across] < 200))

    best = max(map(ink_round, middles))
    centre_y = np.mean([at for at in middles if ink_round(at) > 0.9 * best]) * PER_MM
    y, x = np.nonzero(ink)
    radius = np.hypot(x + 0.5 - middle, y + 0.5 - centre_y) / PER_MM
    near = radius[(radius > 87.0) & (radius < 88.5)]
    assert near.max() < 88.2
    row = np.flatnonzero(ink[round(centre_y) + round(0.8 * PER_MM)]) / PER_MM
    assert row.max() - row.min() == pytest.approx(176.0, abs=0.2)
    # marks along a circle 1.5 mm inside the edge: one each degree
    turn = np.radians(np.arange(0, 360, 0.02))
    at = 86.5 * PER_MM
    ring = grey[
        np.round(centre_y - at * np.cos(turn) - 0.5).astype(int),
        np.round(middle + at * np.sin(turn) - 0.5).astype(int),
    ]
    dark = np.roll(ring < 128, 25)  # so that no mark is cut by the start
    edges = np.flatnonzero(np.diff(np.concatenate([[0], dark, [0]]).astype(int))).reshape(-1, 2)
    angles = edges.mean(axis=1) * 0.02 - 0.5
    assert len(angles) == 360
    away_mm = np.radians(np.abs(angles - np.arange(360))) * 86.5
    assert away_mm.max() < 0.2


@poppler
def test_the_measuring_tells_a_rim_that_is_half_a_percent_larger(tmp_path: Path) -> None:
    spec = tape_of(150.75, span_deg=125.0, end_mm=5.0)
    grey = grey_of_pdf(page_pdf(tape_sheet(spec, "a4", FontRuler())), DPI, tmp_path)
    found = dark_centres(grey[strip_tops(grey)[0] - round(1.5 * PER_MM)])[1:-1]
    expected = math.pi * 150.0 / 360 * np.arange(len(found))
    assert np.abs(found - found[0] - expected).max() > 0.6


CASES = {
    "short": lambda p, r: tape_sheet(tape_of(110.0, title="Marsh lane pump engine"), p, r),
    "both": lambda p, r: tape_sheet(tape_of(165.0, rotation="anticlockwise", side="both",
                                            cylinders=4, order="1-3-4-2"), p, r),
    "eight": lambda p, r: tape_sheet(tape_of(180.0, side="both", span_deg=30.0, cylinders=8), p, r),
    "large": lambda p, r: tape_sheet(tape_of(420.0, side="both", span_deg=30, cylinders=6), p, r),
}  # fmt: skip


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", CASES)
def test_words_on_a_tape_keep_apart_and_inside(name: str, paper: str) -> None:
    for page in CASES[name](paper, FontRuler()).pages:
        found = list(texts(page))
        for (one, _, a), (other, _, b) in itertools.combinations(found, 2):
            apart = max(a[0] - b[2], b[0] - a[2], a[1] - b[3], b[1] - a[3])
            assert apart > 0.1, (one, other)
        boxes = [extent for _, _, extent in found]
        boxes += [extent for extent in map(box, page.elements) if extent is not None]
        for left, top, right, bottom in boxes:
            assert left >= page.margin_mm - 0.3 and right <= page.width_mm - page.margin_mm + 0.3
            assert top >= page.margin_mm - 0.3 and bottom <= page.height_mm - page.margin_mm + 0.3
        assert not [words for words, _, _ in found if "…" in words]


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("radii", [(60.0, 88.0), (120.0, 150.0), (200.0, 230.0), (28.0, 50.0)])
def test_a_ring_stays_inside_the_printable_page(radii: tuple[float, float], paper: str) -> None:
    for page in ring_sheet(ring_of(*radii), paper, FontRuler()).pages:
        for extent in filter(None, map(box, page.elements)):
            assert extent[0] >= page.margin_mm - 0.3
            assert extent[2] <= page.width_mm - page.margin_mm + 0.3
            assert extent[1] >= page.margin_mm - 0.3
            assert extent[3] <= page.height_mm - page.margin_mm + 0.3


def _figures(description: Description) -> list[Text]:
    return [e for page in description.pages for e in page.elements
            if isinstance(e, Text) and isinstance(e.text, str) and e.text.isdigit()]  # fmt: skip


def test_figures_before_dead_centre_lie_on_the_side_that_passes_the_pointer_first() -> None:
    """A pulley that turns clockwise carries its top to the right: 10° before lies right of 0."""
    for rotation, sign in (("clockwise", 1), ("anticlockwise", -1)):
        at = {e.text: e.x_mm for e in _figures(tape_sheet(tape_of(150.0, rotation=rotation), "a4",
                                                          FontRuler()))}  # fmt: skip
        assert sign * (at["20"] - at["10"]) == pytest.approx(math.pi * 150 / 36, abs=1e-6)


def test_every_figure_of_a_ring_stands_once_or_on_both_sides_of_a_join() -> None:
    whole = [e.text for e in _figures(ring_sheet(ring_of(60.0, 88.0), "a4", FontRuler()))]
    assert sorted(whole, key=int) == [str(n) for n in range(0, 360, 10)]
    parts = {e.text for e in _figures(ring_sheet(ring_of(200.0, 230.0), "a4", FontRuler()))}
    assert parts == set(whole)


def refused(code: str, made: object) -> None:
    with pytest.raises(BobweightError) as error:
        made()
    assert error.value.problem.code == code


def test_what_cannot_be_printed_is_refused_in_codes(tmp_path: Path) -> None:
    r = FontRuler()
    refused("tape-marks-too-close", lambda: tape_sheet(tape_of(40.0), "a4", r))
    refused("tape-too-long", lambda: tape_sheet(tape_of(6000.0, span_deg=300.0), "a4", r))
    refused("above-limit", lambda: tape_sheet(tape_of(150.0, width_mm=60.0), "a4", r))
    four = tape_of(150.0, cylinders=4, order="1-2")
    refused("firing-order-length", lambda: tape_sheet(four, "a4", r))
    refused("ring-band-too-narrow", lambda: ring_sheet(ring_of(60.0, 64.0), "a4", r))
    refused("ring-marks-too-close", lambda: ring_sheet(ring_of(15.0, 40.0, edge="inner"), "a4", r))
    refused("ring-too-large", lambda: ring_sheet(ring_of(1900.0, 2000.0), "a4", r))
    several = ring_sheet(ring_of(120.0, 150.0), "a4", r)
    for suffix in ("svg", "png"):
        path = tmp_path / f"ring.{suffix}"
        refused("several-pages", lambda path=path: write_description(several, path))
        assert not path.exists()
