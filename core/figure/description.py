"""The parts of a figure. Every place is in the units shown along the figure's axes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field, fields, is_dataclass

import numpy as np
from numpy.typing import NDArray

from bobweight.core.frozen import frozen

Array = NDArray[np.float64]
Point = tuple[float, float]


@frozen
class Word:
    """Fixed words, named by a code; ``facts`` are the numbers, strings and other words they speak
    of."""

    code: str
    facts: Mapping[str, object] = field(default_factory=dict)


Content = str | Word


def word(code: str, **facts: object) -> Word:
    """A :class:`Word` with its facts."""
    return Word(code, facts)


@frozen(eq=False)
class Trace:
    """A line through points, both arrays of shape (points,); ``role`` says what it is, and each
    painter has a style for every role."""

    role: str
    x: Array
    y: Array

    def at_share(self, share: float) -> Point:
        """The first point at which so large a share of the last height is reached."""
        high = np.abs(self.y)
        i = min(int(np.searchsorted(high, share * high[-1])), len(self.x) - 1)
        return float(self.x[i]), float(self.y[i])


@frozen(eq=False)
class Zone:
    """An area from ``low`` to ``high`` along x; all arrays of shape (points,)."""

    role: str
    x: Array
    low: Array
    high: Array


@frozen
class CheckSpan:
    """A check point: from least to most at a place on the axis.

    Either end may be infinite: the table gives no limit there. ``verdict`` is what is told of it
    (``PointResult.told``); ``predicted`` is where the curve passes, None without one.
    """

    index: int
    x: float
    low: float
    high: float
    verdict: str
    predicted: float | None = None


@frozen(eq=False)
class Dots:
    """Marks of one role, told apart by ``kind`` (the direction of a reading); arrays of shape
    (marks,).

    ``row`` is the place in the list that they come from. ``u_x`` and ``u_y`` are standard
    uncertainties, zero where nothing is to be drawn. ``mistaken`` are more likely misread than not.
    ``count`` is how many readings are pooled in a mark, ``scatter`` the standard deviation of the
    single ones about it (NaN for one).
    """

    role: str
    x: Array
    y: Array
    u_x: Array
    u_y: Array
    kind: NDArray[np.object_]
    row: NDArray[np.int_]
    left_out: NDArray[np.bool_]
    mistaken: NDArray[np.bool_]
    count: NDArray[np.int_]
    scatter: Array

    def __len__(self) -> int:
        return len(self.x)

    @property
    def used(self) -> NDArray[np.bool_]:
        """Which of them count and have a place."""
        return ~self.left_out & np.isfinite(self.y)


def dots(role: str, x: Array, y: Array, kind: str | NDArray[np.object_] = "unknown",
         u_x: Array | None = None, u_y: Array | None = None,
         row: NDArray[np.int_] | None = None, left_out: NDArray[np.bool_] | None = None,
         mistaken: NDArray[np.bool_] | None = None, count: NDArray[np.int_] | None = None,
         scatter: Array | None = None) -> Dots:  # fmt: skip
    """Marks, with nothing known of them but what is given."""
    x, y = np.atleast_1d(np.asarray(x, float)), np.atleast_1d(np.asarray(y, float))
    none, no = np.zeros(len(x)), np.zeros(len(x), dtype=bool)
    return Dots(
        role, x, y, none if u_x is None else u_x, none if u_y is None else u_y,
        np.full(len(x), kind, dtype=object) if isinstance(kind, str) else kind,
        np.arange(len(x)) if row is None else row,
        no if left_out is None else left_out, no if mistaken is None else mistaken,
        np.ones(len(x), dtype=int) if count is None else count,
        np.full(len(x), np.nan) if scatter is None else scatter,
    )  # fmt: skip


@frozen
class Event:
    """Something on a curve that is told in words: ``jump``, ``plateau`` or ``take-up``."""

    kind: str
    x: float
    y: float
    x_to: float
    y_to: float
    direction: str = "rising"


@frozen
class Bound:
    """A limit: ``ceiling``, at a height; ``start``, a speed below which there is to be no advance
    and which is drawn from ``foot`` up; ``stop``, an advance beyond which nothing moves."""

    kind: str
    at: float
    foot: float = 0.0


START_SHARE = 0.28
"""How tall the line of a ``start`` stands, as a share of the figure's height."""


@frozen
class NextMark:
    """Where the next reading is to be taken: a place on the axis, and the name and height of what
    each of two explanations expects there."""

    x: float
    direction: str
    expected: tuple[tuple[str, float], ...]

    @property
    def middle(self) -> float:
        """Half way between the expectations."""
        heights = [y for _, y in self.expected]
        return 0.5 * (min(heights) + max(heights))


@frozen
class Label:
    """Words that speak of a point, or of whichever of several points leaves them most room.

    ``role`` is that of the thing named; ``toward`` is the direction (right, up) preferred, (0, 0)
    for none. One that is not a ``must`` is left out where no place is free; one that is ``close``
    has nothing between itself and its point, as where many lines of a kind each have a name.
    """

    key: str
    words: Content
    spots: tuple[Point, ...]
    role: str = "ink"
    toward: tuple[float, float] = (0.0, 0.0)
    must: bool = True
    close: bool = False


@frozen(eq=False)
class Surface:
    """Heights over a grid, shape (x, y), shown as contours at ``levels``; what lies above the
    ``ceiling`` is forbidden."""

    x: Array
    y: Array
    height: Array
    levels: tuple[float, ...]
    ceiling: float | None = None


@frozen
class Axis:
    """The words at an axis, and the range that it shows."""

    title: Content
    low: float
    high: float


@frozen(eq=False)
class Figure:
    """A whole picture. Parts are drawn in the order of the fields, each in its own order."""

    x: Axis
    y: Axis
    zones: tuple[Zone, ...] = ()
    gates: tuple[CheckSpan, ...] = ()
    bounds: tuple[Bound, ...] = ()
    traces: tuple[Trace, ...] = ()
    dots: tuple[Dots, ...] = ()
    events: tuple[Event, ...] = ()
    next: NextMark | None = None
    labels: tuple[Label, ...] = ()
    surface: Surface | None = None

    def trace(self, role: str) -> Trace | None:
        """The first line of a role; None if there is none."""
        return next((trace for trace in self.traces if trace.role == role), None)

    def marks(self, role: str = "reading") -> Dots:
        """The marks of a role; none of them if there are none."""
        empty = np.zeros(0)
        return next((d for d in self.dots if d.role == role), dots(role, empty, empty))

    @property
    def bare(self) -> bool:
        """True if there is neither a curve nor a target nor a reading."""
        return not self.traces and not self.gates and not any(len(d) for d in self.dots)


def alike(one: object, other: object) -> bool:
    """True if two figures, or two parts of figures, would be painted alike: equal all through."""
    if one is other:
        return True
    if type(one) is not type(other):
        return False
    if isinstance(one, np.ndarray) and isinstance(other, np.ndarray):
        return np.array_equal(one, other, equal_nan=one.dtype.kind == "f")
    if isinstance(one, tuple) and isinstance(other, tuple):
        return len(one) == len(other) and all(map(alike, one, other))
    if is_dataclass(one):
        return all(alike(getattr(one, f.name), getattr(other, f.name)) for f in fields(one))
    return one == other
