"""Geometry of a timing tape for a pulley, without drawing.

The tape lies flat, printed side up, its lower edge the one that goes to the front of the engine.
Seen from the front, a pulley that turns clockwise carries its top to the right; the marks for
*before* top dead centre pass the pointer first, so they lie ahead of the zero, to the right.
On an engine that turns anticlockwise they lie to the left. One degree is π D / 360 mm.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from math import ceil, pi

from bobweight.core.bench._checks import positive, within
from bobweight.core.bench.scale import Steps, label
from bobweight.core.bench.setting import shown_reach_deg
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.particulars import ROTATIONS
from bobweight.core.frozen import frozen
from bobweight.core.problems import BobweightError
from bobweight.core.record import (
    Record,
    checked,
    choice,
    flag,
    number,
    one,
    stored,
    taken,
    text,
    whole,
)
from bobweight.core.units import ANGLE, LENGTH, parse

SIDES = {
    "before": "Before top dead centre",
    "after": "After top dead centre",
    "both": "Both sides",
}
_TOUCH_MM = 1e-9


@stored
class TapeSpec(Record):
    """What the tape is for."""

    diameter_mm: float | None = number(
        "Diameter of the rim", LENGTH, hard=(1.0, 10_000.0), usual=(90.0, 250.0),
        help="Where the tape is laid: measure round it and divide by 3.1416.",
    )  # fmt: skip
    rotation: str | None = choice(
        "Engine turns", ROTATIONS, None, assumed="clockwise",
        help="As seen from the front of the engine.",
    )  # fmt: skip
    side: str = choice("Marked", SIDES, "before", help="Which side of dead centre.")
    span_deg: float = number(
        "Degrees marked", ANGLE, 40.0, hard=(1.0, 360.0), frame="crank", step=5.0,
        help="On each side that is marked.",
    )  # fmt: skip
    cylinders: int = whole(
        "Cylinders marked", 1, (1, 24),
        help="Each with its own zero and scale; 1 marks the first cylinder alone.",
    )  # fmt: skip
    order: str = text(
        "Firing order", help="Such as 1-3-4-2: names the cylinders at their dead centres."
    )
    firing: str = text(
        "Uneven firing",
        help="Such as 0; 405: crank degrees from the first cylinder’s dead centre to each one’s. "
        "Empty: evenly through the cycle.",
    )
    two_stroke: bool = flag("Two-stroke", help="A cycle of one turn instead of two.")
    steps: Steps = one("Marks", Steps)
    width_mm: float = number("Width of the tape", LENGTH, 14.0, hard=(10.0, 40.0), step=1.0)
    thickness_mm: float = number(
        "Thickness of the paper", LENGTH, 0.1, hard=(0.0, 3.0), step=0.05,
        help="With glue and cover. Its middle, which keeps its length, lies half of that outside "
        "the rim.",
    )  # fmt: skip
    end_mm: float = number(
        "Bare at each end", LENGTH, 10.0, hard=(0.0, 200.0), step=1.0,
        help="Beyond the last mark.",
    )  # fmt: skip
    title: str = text("Title", help="What it is for, in the heading.")

    def check(self) -> None:
        """Refuse what cannot be a tape.

        Raises
        ------
        BobweightError
            ``missing`` without a diameter; ``unequal-columns``, ``first-firing-not-zero``,
            ``firing-order-length`` for firing that does not fit the cylinders; those of the
            limits and of :meth:`Steps.check`.
        """
        if self.diameter_mm is None:
            raise BobweightError("missing", ("diameter_mm",))
        checked(self)
        self.steps.check()
        firing = self.firing_deg
        within("firing", firing, 0, self.cycle_deg, "°")
        if firing and len(firing) != self.cylinders:
            raise BobweightError(
                "unequal-columns", ("firing",), first=len(firing), other=self.cylinders
            )
        if firing and firing[0] != 0:
            raise BobweightError("first-firing-not-zero", ("firing",))
        for given in (len(self.names), len(set(self.names))):
            if self.names and given != self.cylinders:
                raise BobweightError(
                    "firing-order-length", ("order",), given=given, needed=self.cylinders
                )

    @property
    def cycle_deg(self) -> int:
        """Crank degrees of a cycle."""
        return 360 if self.two_stroke else 720

    @property
    def rotation_taken(self) -> str:
        """Which way the engine turns; where that was not entered as most do."""
        return str(taken(self, "rotation"))

    @property
    def names(self) -> tuple[str, ...]:
        """The cylinders' own numbers in the firing order; empty if not given."""
        return tuple(part for part in re.split(r"[\s–,;/-]+", self.order) if part)

    @property
    def firing_deg(self) -> tuple[float, ...]:
        """Crank degrees from the first dead centre to each; empty for even firing.

        Raises
        ------
        BobweightError
            As :func:`core.units.parse`.
        """
        pieces = re.split(";" if ";" in self.firing else r"[,\s]+", self.firing.strip())
        try:
            return tuple(parse(piece, ANGLE) for piece in pieces if piece.strip())
        except BobweightError as error:
            raise BobweightError.of(error.problem.at("firing")) from None

    @property
    def mm_per_deg(self) -> float:
        """Length of one crank degree on the tape, mm."""
        return mm_per_degree(self.diameter_mm or math.nan, self.thickness_mm)

    @property
    def before_deg(self) -> float:
        """Crank degrees marked before each top dead centre."""
        return self.span_deg if self.side != "after" else 0.0

    @property
    def after_deg(self) -> float:
        """Crank degrees marked after each top dead centre."""
        return self.span_deg if self.side != "before" else 0.0


@frozen
class TapeMark:
    """One mark: mm from the left end; crank degrees before (positive) or after (negative) its own
    top dead centre; ``major``, ``mid`` or ``minor``; the figure at it (empty unless major); and at
    a zero, the cylinders (by place in the firing order, from 1) that have theirs there."""

    position_mm: float
    angle_deg: float
    kind: str
    label: str
    cylinders: tuple[int, ...] = ()


@frozen
class Tape:
    """The tape laid flat: its length with bare ends, mm, and its marks from left to right."""

    length_mm: float
    mm_per_deg: float
    marks: tuple[TapeMark, ...]


@frozen
class Strip:
    """A piece of the tape that fits the printable width.

    ``start_mm`` is where the strip begins on the tape; positions of ``marks`` and of the
    registration marks ``joins_mm`` are from the strip's left end. A join stands in the middle of
    an overlap and is printed on both strips: they are cut there, or laid so that the two coincide.
    """

    start_mm: float
    length_mm: float
    marks: tuple[TapeMark, ...]
    joins_mm: tuple[float, ...]


def mm_per_degree(diameter_mm: float, thickness_mm: float = 0.0) -> float:
    """Length of one degree in mm on a rim of a diameter, under paper of a thickness."""
    diameter = float(positive("diameter_mm", diameter_mm, "mm"))
    return pi * (diameter + float(within("thickness_mm", thickness_mm, 0, unit="mm"))) / 360.0


def tape_for(docket: Docket) -> TapeSpec:
    """The tape for a docket's pulley, as far as its size is known, with figures as far as the lamp
    can show; on both sides where that begins after dead centre."""
    setting, usual = docket.setting_up, TapeSpec()
    least, most = shown_reach_deg(docket) or (0.0, 0.0)
    every = usual.steps.figures_deg
    reach = every * ceil(max(most, -least) / every - _TOUCH_MM)
    return TapeSpec(
        diameter_mm=setting.pulley_mm, rotation=setting.pulley_rotation,
        side="both" if least < 0.0 else usual.side, span_deg=max(reach, usual.span_deg),
        title=docket.particulars.title or docket.particulars.unit_number,
    )  # fmt: skip


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
    for place, angle in enumerate(firing, start=1):
        places.setdefault(angle % 360, []).append(place)
    return tuple((float(angle), tuple(places[angle])) for angle in sorted(places))


def timing_tape(spec: TapeSpec) -> Tape:
    """The tape's marks, in mm from its left end.

    Raises
    ------
    BobweightError
        ``scales-overlap`` with the span and the limit, where the scale of one cylinder would run
        into the next one's; those of :meth:`TapeSpec.check`.
    """
    spec.check()
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
    sign = 1.0 if spec.rotation_taken == "clockwise" else -1.0
    per_deg = spec.mm_per_deg
    left = min(sign * degrees for degrees, _ in ahead)
    right = max(sign * degrees for degrees, _ in ahead)
    marks = sorted(
        (replace(m, position_mm=spec.end_mm + (sign * d - left) * per_deg) for d, m in ahead),
        key=lambda mark: mark.position_mm,
    )
    return Tape((right - left) * per_deg + 2 * spec.end_mm, per_deg, tuple(marks))


def split(tape: Tape, printable_mm: float, *, overlap_mm: float = 15.0) -> tuple[Strip, ...]:
    """The tape in strips no longer than the printable width, each overlapping the next.

    Parameters
    ----------
    printable_mm : float
        Printable width.
    overlap_mm : float
        Length common to two neighbouring strips, 0 to half the width.
    """
    width, length = printable_mm, tape.length_mm
    step = width - overlap_mm
    count = max(1, ceil((length - overlap_mm) / step - _TOUCH_MM)) if length > width else 1
    joins = [k * step + overlap_mm / 2 for k in range(1, count)]
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
        strips.append(Strip(start, end - start, marks, own))
    return tuple(strips)
