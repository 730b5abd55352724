"""Geometry of a timing tape for a pulley, without drawing.

The tape lies flat, printed side up, its lower edge the one that goes to the front of the engine.
Seen from the front, a pulley that turns clockwise carries its top to the right; the marks for
*before* top dead centre pass the pointer first, so they lie ahead of the zero, to the right.
On an engine that turns anticlockwise they lie to the left. One degree is π D / 360 mm.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import pairwise
from math import ceil, pi

from bobweight.core.bench._checks import finite, one_of, positive, whole, within
from bobweight.core.bench.scale import Steps, label, page_size
from bobweight.core.problems import BobweightError

ROTATIONS = ("clockwise", "anticlockwise")
SIDES = ("before", "after", "both")
_MOST_CYLINDERS = 24
_TOUCH_MM = 1e-9


@dataclass(frozen=True)
class TapeSpec:
    """What the tape is for.

    Parameters
    ----------
    diameter_mm : float
        Of the rim that it goes round, above 0.
    rotation : str
        ``clockwise`` or ``anticlockwise``, of the engine, seen from the front.
    side : str
        ``before``, ``after`` or ``both``: which side of top dead centre is marked.
    span_deg : float
        Crank degrees marked on each such side, above 0.
    cylinders : int
        How many fire evenly within a cycle, each with its own zero and scale; 1 marks one alone.
    cycle_deg : int
        Crank degrees of a cycle: 720, or 360 for two-strokes.
    firing_deg : tuple of float
        Uneven firing: crank degrees from the first cylinder's top dead centre to each one's, the
        first being 0. Empty means even.
    steps : Steps
        Degrees between marks.
    end_mm : float
        Bare tape beyond the last mark at each end, 0 or more.
    thickness_mm : float
        Of the paper: its middle, which keeps its length, lies half of that above the rim.
    """

    diameter_mm: float
    rotation: str = "clockwise"
    side: str = "before"
    span_deg: float = 40.0
    cylinders: int = 1
    cycle_deg: int = 720
    firing_deg: tuple[float, ...] = ()
    steps: Steps = field(default_factory=Steps)
    end_mm: float = 10.0
    thickness_mm: float = 0.0

    def __post_init__(self) -> None:
        positive("diameter_mm", self.diameter_mm, "mm")
        one_of("rotation", self.rotation, ROTATIONS)
        one_of("side", self.side, SIDES)
        positive("span_deg", self.span_deg, "°")
        whole("cylinders", self.cylinders, 1, _MOST_CYLINDERS)
        if self.cycle_deg not in (360, 720):
            raise BobweightError(
                "not-an-option", ("cycle_deg",), value=str(self.cycle_deg), known="360, 720"
            )
        within("firing_deg", self.firing_deg, 0, self.cycle_deg, "°")
        if self.firing_deg and len(self.firing_deg) != self.cylinders:
            raise BobweightError(
                "unequal-columns", ("firing_deg",), first=len(self.firing_deg),
                other=self.cylinders,
            )  # fmt: skip
        if self.firing_deg and self.firing_deg[0] != 0:
            raise BobweightError("first-firing-not-zero", ("firing_deg", 0))
        within("end_mm", self.end_mm, 0, unit="mm")
        within("thickness_mm", self.thickness_mm, 0, unit="mm")

    @property
    def mm_per_deg(self) -> float:
        """Length of one crank degree on the tape, mm."""
        return mm_per_degree(self.diameter_mm, self.thickness_mm)

    @property
    def before_deg(self) -> float:
        """Crank degrees marked before each top dead centre."""
        return self.span_deg if self.side != "after" else 0.0

    @property
    def after_deg(self) -> float:
        """Crank degrees marked after each top dead centre."""
        return self.span_deg if self.side != "before" else 0.0


@dataclass(frozen=True)
class TapeMark:
    """One mark: mm from the left end; crank degrees before (positive) or after (negative) its own
    top dead centre; ``major``, ``mid`` or ``minor``; the figure at it (empty unless major); and at
    a zero, the cylinders (by place in the firing order, from 1) that have theirs there."""

    position_mm: float
    angle_deg: float
    kind: str
    label: str
    cylinders: tuple[int, ...] = ()


@dataclass(frozen=True)
class Tape:
    """The tape laid flat: its length with bare ends, mm, and its marks from left to right."""

    length_mm: float
    mm_per_deg: float
    marks: tuple[TapeMark, ...]


@dataclass(frozen=True)
class Strip:
    """A piece of the tape that fits the printable width.

    ``page`` and ``row`` count from 0; ``start_mm`` is where the strip begins on the tape;
    positions of ``marks`` and of the registration marks ``joins_mm`` are from the strip's left
    end. A join stands in the middle of an overlap and is printed on both strips: they are cut
    there, or laid so that the two coincide.
    """

    page: int
    row: int
    start_mm: float
    length_mm: float
    marks: tuple[TapeMark, ...]
    joins_mm: tuple[float, ...]


def mm_per_degree(diameter_mm: float, thickness_mm: float = 0.0) -> float:
    """Length of one degree in mm on a rim of a diameter, under paper of a thickness."""
    diameter = float(positive("diameter_mm", diameter_mm, "mm"))
    return pi * (diameter + float(within("thickness_mm", thickness_mm, 0, unit="mm"))) / 360.0


def dead_centres(spec: TapeSpec) -> tuple[tuple[float, tuple[int, ...]], ...]:
    """The different places of top dead centre on the pulley: crank degrees behind the first
    cylinder's (0 to 360), and the cylinders that share it, by place in the firing order from 1.

    Six cylinders of a four-stroke share three places, five have five.
    """
    firing: Sequence[Fraction] = (
        [Fraction(angle).limit_denominator(10_000) for angle in spec.firing_deg]
        if spec.firing_deg
        else [Fraction(spec.cycle_deg * k, spec.cylinders) for k in range(spec.cylinders)]
    )
    places: dict[Fraction, list[int]] = {}
    for number, angle in enumerate(firing, start=1):
        places.setdefault(angle % 360, []).append(number)
    return tuple((float(angle), tuple(places[angle])) for angle in sorted(places))


def timing_tape(spec: TapeSpec) -> Tape:
    """The tape's marks, in mm from its left end.

    Raises
    ------
    BobweightError
        ``scales-overlap`` with the span and the limit, where the scale of one cylinder would run
        into the next one's.
    """
    places = dead_centres(spec)
    turns = [angle for angle, _ in places]
    nearest = min(b - a for a, b in pairwise([*turns, 360.0]))
    if spec.before_deg + spec.after_deg >= nearest:
        raise BobweightError(
            "scales-overlap", ("span_deg",), value=spec.before_deg + spec.after_deg, limit=nearest
        )
    ahead = []  # degrees ahead of the first zero, in the direction of rotation
    for behind, cylinders in places:
        for angle, kind in spec.steps.marks(-spec.after_deg, spec.before_deg):
            mark = TapeMark(
                0.0, angle, kind, label(angle) if kind == "major" else "",
                cylinders if angle == 0 else (),
            )  # fmt: skip
            ahead.append((angle - behind, mark))
    sign = 1.0 if spec.rotation == "clockwise" else -1.0
    per_deg = spec.mm_per_deg
    left = min(sign * degrees for degrees, _ in ahead)
    right = max(sign * degrees for degrees, _ in ahead)
    marks = sorted(
        (replace(m, position_mm=spec.end_mm + (sign * d - left) * per_deg) for d, m in ahead),
        key=lambda mark: mark.position_mm,
    )
    return Tape((right - left) * per_deg + 2 * spec.end_mm, per_deg, tuple(marks))


def split(
    tape: Tape, printable_mm: float, *, overlap_mm: float = 15.0, strips_per_page: int = 1
) -> tuple[Strip, ...]:
    """The tape in strips no longer than the printable width, each overlapping the next.

    Parameters
    ----------
    printable_mm : float
        Printable width, at least the 100 mm of the check bar.
    overlap_mm : float
        Length common to two neighbouring strips, 0 to half the width.
    strips_per_page : int
        How many are printed under each other on one page, 1 to 50.

    Raises
    ------
    BobweightError
        ``page-too-small``; limits as told.
    """
    width = page_size("printable_mm", printable_mm)
    overlap = float(within("overlap_mm", overlap_mm, 0, width / 2, "mm"))
    rows = whole("strips_per_page", strips_per_page, 1, 50)
    length = float(finite("length_mm", tape.length_mm))
    step = width - overlap
    count = max(1, ceil((length - overlap) / step - _TOUCH_MM)) if length > width else 1
    joins = [k * step + overlap / 2 for k in range(1, count)]
    strips = []
    for k in range(count):
        start = k * step
        end = min(start + width, length)
        marks = tuple(
            replace(mark, position_mm=mark.position_mm - start)
            for mark in tape.marks
            if start - _TOUCH_MM <= mark.position_mm <= end + _TOUCH_MM
        )
        own = tuple(join - start for join in joins[max(k - 1, 0) : k + 1])
        strips.append(Strip(k // rows, k % rows, start, end - start, marks, own))
    return tuple(strips)
