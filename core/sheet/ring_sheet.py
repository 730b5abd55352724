"""A degree ring on paper at true size: whole where it fits, else in sectors that are joined."""

from __future__ import annotations

from collections.abc import Iterator
from math import cos, degrees, pi, radians, sin

import numpy as np

from bobweight.core.bench.ring import RingMark, RingSector, RingSpec, ring_sectors
from bobweight.core.figure.description import Content, word
from bobweight.core.figure.numbers import short
from bobweight.core.problems import BobweightError
from bobweight.core.record import is_assumed
from bobweight.core.sheet.description import (
    MM_PER_PT,
    Description,
    Element,
    Line,
    Point,
    Polygon,
    Polyline,
    Ruler,
    Text,
    plain,
)
from bobweight.core.sheet.layout import SMALL_PT
from bobweight.core.sheet.pages import Pages
from bobweight.core.sheet.workshop import Workshop

LEAST_BAND_MM = 8.0
LEAST_MARK_MM = 0.45
"""Marks nearer to each other than that cannot be told apart."""
OVERLAP_MM = 10.0
_ROUND_MM = 5.0  # kept free about a sector for the triangles of its joins
_LINES_MM = {"major": 0.35, "mid": 0.3, "minor": 0.25}
_FIGURE_PT = 9.0
_FIGURE_MM = 0.72 * _FIGURE_PT * MM_PER_PT  # height of a figure
_GAP_MM = 0.8
_DASH = (1.2, 1.0)
_ARROW_MM = 14.0


def ring_sheet(
    spec: RingSpec, paper: str, ruler: Ruler, *, workshop: Workshop | None = None
) -> Description:  # fmt: skip
    """The pages of a degree ring, one sector on each.

    Parameters
    ----------
    paper : str
        Key of :data:`core.sheet.description.PAPERS`.
    workshop : Workshop, optional
        Heads the first page.

    Raises
    ------
    BobweightError
        ``ring-band-too-narrow`` with its width and the least; ``ring-marks-too-close`` with their
        distance and the least; those of :func:`core.bench.ring.ring_sectors`.
    """
    spec.check()
    band = spec.outer_radius_mm - spec.inner_radius_mm
    if band < LEAST_BAND_MM:
        raise BobweightError("ring-band-too-narrow", ("outer_radius_mm",), band_mm=band,
                             least_mm=LEAST_BAND_MM)  # fmt: skip
    edge = spec.outer_radius_mm if spec.edge == "outer" else spec.inner_radius_mm
    apart = radians(spec.steps.minor_deg) * edge
    if apart < LEAST_MARK_MM:
        raise BobweightError("ring-marks-too-close", (f"{spec.edge}_radius_mm",),
                             apart_mm=round(apart, 3), least_mm=LEAST_MARK_MM)  # fmt: skip
    pages = Pages(paper, ruler, word("ring-title"), plain(spec.title), workshop)
    pages.facts(_facts(spec))
    for code in ("tape-how-check", "ring-how-centre"):
        pages.paragraph(word(code, step=short(spec.steps.minor_deg)))
    pages.paragraph(word("rig-cautions"), SMALL_PT)
    width, height = pages.room - 2 * _ROUND_MM, pages.left_mm - 2 * _ROUND_MM - 5.0
    sectors = ring_sectors(spec, width, height, overlap_mm=OVERLAP_MM)
    if len(sectors) > 1:
        pages.paragraph(word("ring-how-join"), gap_mm=0.0)
    for number, sector in enumerate(sectors):
        if number:
            pages.turn()
        drawn = _Sector(spec, sector, pages, len(sectors))
        pages.add(list(drawn.elements()))
    return pages.description()


def _facts(spec: RingSpec) -> list[tuple[Content, Content]]:
    grow = word(f"ring-{spec.numbering_taken}")
    if is_assumed(spec, "numbering"):
        grow = word("ring-assumed", way=grow)
    return [
        (word("ring-outer"), f"{short(spec.outer_radius_mm)} mm"),
        (word("ring-inner"), f"{short(spec.inner_radius_mm)} mm"),
        (word("ring-numbering"), grow),
        (word("ring-pointer"), word(f"ring-{spec.edge}-edge")),
        (word("tape-smallest"), f"{short(spec.steps.minor_deg)}°"),
    ]


class _Sector:
    """One sector on the page at hand, in the middle of its width."""

    def __init__(self, spec: RingSpec, sector: RingSector, pages: Pages, count: int) -> None:
        self.spec, self.sector, self.ruler, self.count = spec, sector, pages.ruler, count
        self.turned = sector.landscape
        across = sector.height_mm if self.turned else sector.width_mm
        self.x = pages.left + (pages.room - across) / 2
        self.y = pages.y + _ROUND_MM
        self.half = (sector.end_deg - sector.start_deg) / 2

    def at(self, paper_deg: float, radius_mm: float) -> Point:
        """Where a point of the ring stands on the page."""
        x, y = self.sector.point_mm(paper_deg, radius_mm)
        if self.turned:
            x, y = self.sector.height_mm - y, x
        return self.x + x, self.y + y

    def turn_deg(self, paper_deg: float) -> float:
        """How far a text at a place of the ring is turned, counter-clockwise."""
        return -(paper_deg - self.sector.middle_deg) - (90.0 if self.turned else 0.0)

    def elements(self) -> Iterator[Element]:
        """Edges, marks, figures, the way they grow, joins and centre."""
        spec, sector = self.spec, self.sector
        for radius in (spec.inner_radius_mm, spec.outer_radius_mm):
            yield self._arc(sector.start_deg, sector.end_deg, radius, 0.2)
        if self.count > 1:
            for edge in (sector.start_deg, sector.end_deg):
                yield self._radial(edge, spec.inner_radius_mm, spec.outer_radius_mm, 0.2)
        stride = self._stride()
        for mark in sector.marks:
            yield self._radial(mark.paper_deg, mark.from_mm, mark.to_mm, _LINES_MM[mark.kind])
            if mark.label and round(mark.angle_deg / spec.steps.figures_deg) % stride == 0:
                yield from self._figure(mark)
        yield from self._growing()
        for index, join in enumerate(sector.joins_deg):
            yield from self._join(join, index)
        yield from self._centre()

    def _radial(self, paper_deg: float, low: float, high: float, wide: float,
                dash: tuple[float, ...] = ()) -> Line:  # fmt: skip
        return Line(*self.at(paper_deg, low), *self.at(paper_deg, high), wide, dash)

    def _arc(self, start: float, end: float, radius: float, wide: float) -> Polyline:
        steps = max(2, int((end - start) / 0.5) + 1)
        points = tuple(self.at(float(a), radius) for a in np.linspace(start, end, steps))
        return Polyline(points, wide)

    def _figures_mm(self) -> float:
        """The radius of the middle of the figures: next to the ends of the long marks."""
        length = 0.5 * (self.spec.outer_radius_mm - self.spec.inner_radius_mm)
        away = length + _GAP_MM + _FIGURE_MM / 2
        outer = self.spec.edge == "outer"
        return self.spec.outer_radius_mm - away if outer else self.spec.inner_radius_mm + away

    def _stride(self) -> int:
        """Every how many labelled marks have room for their figures; it divides the turn."""
        width = self.ruler.width_mm("000", _FIGURE_PT) + 1.0
        count = round(360.0 / self.spec.steps.figures_deg)
        room = 2 * pi * self._figures_mm() / width
        return next(n for n in range(1, count + 1) if count % n == 0 and count / n <= room)

    def _figure(self, mark: RingMark) -> Iterator[Element]:
        radius = self._figures_mm()
        half_deg = degrees(self.ruler.width_mm(mark.label, _FIGURE_PT) / 2 + 0.6) / radius
        away = abs((mark.paper_deg - self.sector.middle_deg + 180.0) % 360.0 - 180.0)
        if self.count > 1 and away + half_deg > self.half:
            return  # cut by the edge of the paper; the neighbour has it whole
        x, y = self.at(mark.paper_deg, radius - _FIGURE_MM / 2)
        yield Text(x, y, mark.label, _FIGURE_PT, align="centre",
                   angle_deg=self.turn_deg(mark.paper_deg))  # fmt: skip

    def _growing(self) -> Iterator[Element]:
        """An arrow along the ring, the way in which the figures grow, where the band has room."""
        low, high = self.spec.inner_radius_mm, self.spec.outer_radius_mm
        outer = self.spec.edge == "outer"
        figures = self._figures_mm() + (-1 if outer else 1) * (_FIGURE_MM / 2 + _GAP_MM)
        free = (low, figures) if outer else (figures, high)
        if free[1] - free[0] < 3.0:
            return
        radius = sum(free) / 2
        reach = degrees(_ARROW_MM / 2 / radius)
        way = 1.0 if self.spec.numbering_taken == "clockwise" else -1.0
        for place in (45.0, 225.0) if self.count == 1 else (self.sector.middle_deg,):
            yield self._arc(place - reach, place + reach, radius, 0.45)
            tip, neck = place + way * (reach + degrees(2.4 / radius)), place + way * reach
            yield Polygon((self.at(tip, radius), self.at(neck, radius - 1.1),
                           self.at(neck, radius + 1.1)), 0.0)  # fmt: skip
            if is_assumed(self.spec, "numbering"):
                wide = self.ruler.width_mm(word("assumed"), SMALL_PT) / 2
                beyond = place - way * (reach + degrees((wide + 1.5) / radius))
                yield Text(*self.at(beyond, radius - 0.9), word("assumed"), SMALL_PT,
                           align="centre", angle_deg=self.turn_deg(beyond))  # fmt: skip

    def _join(self, paper_deg: float, index: int) -> Iterator[Element]:
        low, high = self.spec.inner_radius_mm, self.spec.outer_radius_mm
        figures, half = self._figures_mm(), _FIGURE_MM / 2 + 0.5
        yield self._radial(paper_deg, low, figures - half, 0.2, _DASH)  # clear of the figures
        yield self._radial(paper_deg, figures + half, high, 0.2, _DASH)
        for edge, out in ((low, -1.0), (high, 1.0)):
            wide = degrees(0.9 / edge)
            yield Polygon((self.at(paper_deg, edge), self.at(paper_deg - wide, edge + 1.8 * out),
                           self.at(paper_deg + wide, edge + 1.8 * out)), 0.0)  # fmt: skip
        letter = chr(ord("A") + (self.sector.page + index) % self.count)
        inside = max(low - 5.4, 0.3 * low)
        x, y = self.at(paper_deg, inside)
        yield Text(x, y, letter, SMALL_PT, bold=True, align="centre",
                   angle_deg=self.turn_deg(paper_deg))  # fmt: skip

    def _centre(self) -> Iterator[Element]:
        """A cross at the centre, where it lies on the page and clear of the joins' letters."""
        shown = self.count == 1 or self.sector.centre_mm[1] <= self.sector.height_mm - 3.0
        if not shown or self.spec.inner_radius_mm < 6.0:
            return
        x, y = self.at(0.0, 0.0)
        yield Line(x - 4.0, y, x + 4.0, y, 0.2)
        yield Line(x, y - 4.0, x, y + 4.0, 0.2)
        circle = [(x + 1.5 * cos(a), y + 1.5 * sin(a)) for a in np.linspace(0, 2 * pi, 49)]
        yield Polyline(tuple(circle), 0.2)
