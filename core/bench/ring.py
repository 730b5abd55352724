"""Geometry of a degree ring for a test rig, without drawing.

Paper angles are clockwise from twelve o'clock, as the ring lies on the page; lengths in mm.
"""

from __future__ import annotations

from math import cos, degrees, radians, sin

from bobweight.core.bench.scale import Steps, label
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.particulars import ROTATIONS
from bobweight.core.frozen import frozen
from bobweight.core.problems import BobweightError
from bobweight.core.record import Record, checked, choice, number, one, stored, taken, text
from bobweight.core.units import LENGTH

EDGES = {"outer": "The outer edge", "inner": "The inner edge"}
_LENGTH_SHARE = {"major": 0.50, "mid": 0.35, "minor": 0.22}
_MOST_SECTORS = 36
_TOUCH_DEG = 1e-9


@stored
class RingSpec(Record):
    """What the ring is for."""

    outer_radius_mm: float = number(
        "Outer radius", LENGTH, 85.0, hard=(5.0, 10_000.0), step=1.0
    )  # fmt: skip
    inner_radius_mm: float = number(
        "Inner radius", LENGTH, 55.0, hard=(1.0, 10_000.0), step=1.0
    )  # fmt: skip
    numbering: str | None = choice(
        "Figures grow", ROTATIONS, None, assumed="clockwise",
        help="As printed; the way the distributor turns.",
    )  # fmt: skip
    edge: str = choice(
        "Pointer runs at", EDGES, "outer", help="The edge at which the marks begin."
    )  # fmt: skip
    steps: Steps = one("Marks", Steps)
    title: str = text("Title", help="What it is for, in the heading.")

    @property
    def numbering_taken(self) -> str:
        """Which way the figures grow; where that was not entered as most units turn."""
        return str(taken(self, "numbering"))

    def check(self) -> None:
        """Refuse what cannot be a ring.

        Raises
        ------
        BobweightError
            ``ring-inside-out``; ``steps-not-multiple`` where the labelled step does not divide
            the turn; those of the limits and of :meth:`Steps.check`.
        """
        checked(self)
        if self.outer_radius_mm <= self.inner_radius_mm:
            raise BobweightError(
                "ring-inside-out", ("outer_radius_mm",), inner_mm=self.inner_radius_mm,
                outer_mm=self.outer_radius_mm,
            )  # fmt: skip
        self.steps.check()
        turns = 360.0 / self.steps.figures_deg
        if abs(turns - round(turns)) > _TOUCH_DEG:
            raise BobweightError(
                "steps-not-multiple", ("steps", "major_deg"), value=360.0, of=self.steps.figures_deg
            )


def ring_for(docket: Docket) -> RingSpec:
    """A ring numbered the way a docket's distributor turns."""
    return RingSpec(
        numbering=docket.particulars.rotation,
        title=docket.particulars.title or docket.particulars.unit_number,
    )


@frozen
class RingMark:
    """One radial mark: the degrees it stands for, where it lies on the paper (clockwise from
    twelve), from which radius to which, ``major``, ``mid`` or ``minor``, and its figure."""

    angle_deg: float
    paper_deg: float
    from_mm: float
    to_mm: float
    kind: str
    label: str


@frozen
class RingSector:
    """A piece of the ring that fits the page.

    It runs from ``start_deg`` to ``end_deg`` (paper angles of the whole ring, overlaps included)
    and is printed turned by ``-middle_deg``, its middle at the top. ``width_mm`` and ``height_mm``
    are its box; the ring's centre lies at ``centre_mm`` (x right, y down, from the box's top left
    corner; it may lie below the page). ``joins_deg`` are the paper angles of the registration
    lines, each printed on both neighbours. ``landscape`` tells that the page is to be turned.
    """

    page: int
    start_deg: float
    end_deg: float
    middle_deg: float
    width_mm: float
    height_mm: float
    centre_mm: tuple[float, float]
    landscape: bool
    marks: tuple[RingMark, ...]
    joins_deg: tuple[float, ...]

    def point_mm(self, paper_deg: float, radius_mm: float) -> tuple[float, float]:
        """Where a point of the ring lies in the sector's box, mm right and down."""
        turned = radians(paper_deg - self.middle_deg)
        x, y = self.centre_mm
        return x + radius_mm * sin(turned), y - radius_mm * cos(turned)


def ring_marks(spec: RingSpec) -> tuple[RingMark, ...]:
    """Every mark of the ring once, from 0 up to but not including 360 degrees.

    Raises
    ------
    BobweightError
        Those of :meth:`RingSpec.check`.
    """
    spec.check()
    sign = 1.0 if spec.numbering_taken == "clockwise" else -1.0
    width = spec.outer_radius_mm - spec.inner_radius_mm
    marks = []
    for angle, kind in spec.steps.marks(0.0, 360.0 - spec.steps.minor_deg / 2):
        length = width * _LENGTH_SHARE[kind]
        if spec.edge == "outer":
            ends = spec.outer_radius_mm - length, spec.outer_radius_mm
        else:
            ends = spec.inner_radius_mm, spec.inner_radius_mm + length
        figure = label(angle) if kind == "major" else ""
        marks.append(RingMark(angle, sign * angle % 360.0, *ends, kind, figure))
    return tuple(marks)


def ring_sectors(
    spec: RingSpec, page_width_mm: float, page_height_mm: float, *, overlap_mm: float = 10.0
) -> tuple[RingSector, ...]:
    """The ring in the fewest like sectors that fit the printable page, upright or turned.

    Parameters
    ----------
    page_width_mm, page_height_mm : float
        Printable size.
    overlap_mm : float
        Length along the outer edge that is common to two neighbours.

    Raises
    ------
    BobweightError
        ``ring-too-large`` where 36 sectors would not do.
    """
    page = (page_width_mm, page_height_mm)
    over_deg = degrees(overlap_mm / spec.outer_radius_mm)
    for count in range(1, _MOST_SECTORS + 1):
        half = 180.0 if count == 1 else 180.0 / count + over_deg / 2
        if half > 180.0:
            continue
        box = _box(spec, half)
        for landscape in (False, True):
            across, up = page[::-1] if landscape else page
            if box[0] <= across and box[1] <= up:
                return _sectors(spec, count, half, box, landscape)
    raise BobweightError(
        "ring-too-large", ("outer_radius_mm",), value=spec.outer_radius_mm, most=_MOST_SECTORS
    )


def _box(spec: RingSpec, half_deg: float) -> tuple[float, float]:
    """Width and height of a sector that reaches so far to either side of twelve o'clock."""
    half = radians(half_deg)
    lowest = spec.inner_radius_mm if half_deg <= 90 else spec.outer_radius_mm
    width = 2 * spec.outer_radius_mm * (sin(half) if half_deg < 90 else 1.0)
    return width, spec.outer_radius_mm - lowest * cos(half)


def _sectors(
    spec: RingSpec, count: int, half_deg: float, box: tuple[float, float], landscape: bool
) -> tuple[RingSector, ...]:
    every = ring_marks(spec)
    share = 360.0 / count
    sectors = []
    for k in range(count):
        middle = 0.0 if count == 1 else (k + 0.5) * share
        marks = tuple(m for m in every if _apart(m.paper_deg, middle) <= half_deg + _TOUCH_DEG)
        joins = () if count == 1 else (k * share, (k + 1) * share % 360.0)
        centre = (box[0] / 2, spec.outer_radius_mm)
        sectors.append(
            RingSector(
                k, middle - half_deg, middle + half_deg, middle, *box, centre, landscape, marks,
                joins,
            )
        )  # fmt: skip
    return tuple(sectors)


def _apart(first_deg: float, other_deg: float) -> float:
    return abs((first_deg - other_deg + 180.0) % 360.0 - 180.0)
