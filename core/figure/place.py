"""Where the words of a figure stand: beside what they speak of, off the lines and one another.

Lengths are in units of the height of a line of text, from the top left corner of the plot and
down, so that the same rule serves screen and paper. Whoever paints says how large the plot is in
that unit and how wide words are.

Words never stand over other words, over a leader, over the edge of a band, over a check point or
beyond the plot; what finds no such place is left out. Lines and marks are kept free as far as can
be, by leaders too, and words of two things stand apart, or they read as one sentence. What is in
the way is drawn into a coarse raster once, whose sums answer for any rectangle.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from itertools import accumulate

import numpy as np
from numpy.typing import NDArray

from bobweight.core.figure.description import (
    START_SHARE,
    Array,
    Event,
    Figure,
    Label,
    Point,
)
from bobweight.core.frozen import frozen

Measure = Callable[[Label], tuple[float, float]]
"""Width and height of the words of a label, in heights of a line of text."""

Stretch = tuple[Point, Point]
Box = tuple[float, float, float, float]
"""Left, top, right and bottom, in heights of a line from the top left corner of the plot."""
Counts = NDArray[np.int64]
CELL = 0.25
"""Side of a cell of the raster."""
STAY = 1.5
"""Words keep their place while no other is better by this much, so that they do not flicker."""
LEADER_FROM = 0.9
"""Words further than this from their point have a leader."""
_ANGLES = np.radians(np.arange(0, 360, 30))
_RINGS = (0.75, 1.6, 2.6, 3.8, 5.8, 9.0)
_WAYS = np.tile([np.cos(_ANGLES), -np.sin(_ANGLES)], len(_RINGS))  # y is down
_AWAY = np.repeat(_RINGS, len(_ANGLES))
# What a cell of a line, of a mark, of a band and of a hatched area costs:
_LINE, _MARK, _SHADE, _HATCHED = 48, 64, 1, 24
_TOUCHED = 2 * _LINE  # more than that under words strikes them through, and costs thrice
_COUNTED = 16.0  # in whole numbers of this share: they are summed much faster than fractions
_SHUT = 1 << 24  # more than all that lies under any words can cost
_FAR, _TURNED = 1.3, 2.5  # what it costs to be far, and elsewhere than preferred
_LATER_SPOT = 0.6
_AT_A_MARK = 6.0  # a line named where a mark stands on it: the words seem to be of the mark
_MARK_HALF = 0.25
_LEVEL = 1e-6  # a plateau right at a level is no contour
_HATCH = 0.35  # of a limit: words right beside its line are clear of it
_AROUND = np.stack(np.meshgrid((-2, -1, 0, 1, 2), (-2, -1, 0, 1, 2)), -1).reshape(-1, 2)  # cells
_BREATH = 0.15  # kept free about words
_ABOUT, _CROWDED = 3, 0.06  # lines so many cells about words count a little: words seem to
# be of the nearest line
_BESIDE = 0.5  # between words side by side, or they read as one
_APART = 0.45  # likewise between words one above the other, where there is room
_NEAR, _TAKEN = 1.1, 8.0  # words so near to what others alone speak of seem to speak of it
_MARGINS = np.array((0.4, 0.1))  # kept free beside an axis, and over and under
_SHORT = 0.25  # of its words a leader ends
_FROM, _STEP = 0.6, 0.24  # along a leader, from the end that is at its own line
_LOOKED_AT = 60  # places of what need not be said, the cheapest by themselves
_FORBIDDEN = 1e6
_SMALL = 200.0  # squares as high as a line: a smaller plot has fewer words rather than far ones
_WORTH = 12.0  # what need not be said is not said where its place costs more


@frozen
class Asking:
    """Words that want a place: their size, and the points that they may speak of (the best first).

    ``toward`` is the direction (right, down) preferred, (0, 0) for none; for ``close`` see
    :class:`Label`.
    """

    key: str
    size: tuple[float, float]
    spots: Array
    toward: tuple[float, float] = (0.0, 0.0)
    must: bool = True
    close: bool = False


@frozen
class Placed:
    """Words at their place: top left corner, size, and the leader from point to words if there is
    one. ``choice`` numbers the place among those looked at."""

    x: float
    y: float
    width: float
    height: float
    leader: Stretch | None
    choice: int

    @cached_property
    def _reach(self) -> tuple[float, float, float, float]:
        """Left, top, right and bottom of the words with their leader."""
        ends = (self.x, self.y), (self.x + self.width, self.y + self.height), *(self.leader or ())
        x, y = zip(*ends, strict=True)
        return min(x), min(y), max(x), max(y)

    def disturbs(self, other: Placed) -> bool:
        """True if two words overlap, or the leader of one runs over the other or its leader."""
        left, top, right, bottom = self._reach
        other_left, other_top, other_right, other_bottom = other._reach
        if (
            left > other_right + _BESIDE or other_left > right + _BESIDE
            or top > other_bottom or other_top > bottom
        ):  # fmt: skip
            return False
        return (
            self.covered(other.x, other.y, other.width, other.height)
            or other._crossed(self.leader) or self._crossed(other.leader)
            or _cut(self.leader, other.leader)
        )  # fmt: skip

    def covered(self, x: float, y: float, width: float, height: float, apart: float = 0.0) -> bool:
        """True if words there would stand over these, or too near beside, over or under them."""
        return (
            x <= self.x + self.width + _BESIDE and self.x <= x + width + _BESIDE
            and y <= self.y + self.height + apart and self.y <= y + height + apart
        )  # fmt: skip

    def _crossed(self, line: Stretch | None) -> bool:
        """True if a stretch of line runs over the words (Liang and Barsky's rule, from memory)."""
        if line is None:
            return False
        (x0, y0), (x1, y1) = line
        enter, leave = 0.0, 1.0
        across = x0, x1 - x0, self.x - _BREATH, self.x + self.width + _BREATH
        for start, way, low, high in (across, (y0, y1 - y0, self.y, self.y + self.height)):
            if way == 0.0:
                if not low < start < high:
                    return False
                continue
            first, last = sorted(((low - start) / way, (high - start) / way))
            enter, leave = max(enter, first), min(leave, last)
        return enter < leave


def place_labels(figure: Figure, width: float, height: float, measure: Measure,
                 kept: dict[str, int] | None = None,
                 taken: Iterable[Box] = ()) -> dict[str, Placed]:  # fmt: skip
    """A place for each label that finds one, by its key; the first label chooses first.

    Parameters
    ----------
    width, height : float
        Of the plot, in heights of a line of text.
    kept : dict, optional
        The choice made last time by key; updated.
    taken : iterable of Box
        What is painted there besides the figure, such as signs over check points.
    """
    plot = _InHeights(figure, width, height)
    spots = plot.at([spot for label in figure.labels for spot in label.spots])
    of_each = _parts(spots, [len(label.spots) for label in figure.labels])
    roomy = width * height > _SMALL
    wanted = [
        Asking(label.key, measure(label), places, (label.toward[0], -label.toward[1]),
               label.must and roomy, label.close)
        for label, places in zip(figure.labels, of_each, strict=True)
    ]  # fmt: skip
    besides = np.concatenate([plot.at([]), *map(_filled, taken)])
    lines, marks, edges = plot.lines(), plot.marks(besides), plot.edges(besides)
    ground = Ground(width, height, lines, marks, edges, plot.shaded, rings=plot.rings(spots))
    return place_words(wanted, ground, kept)


def named_events(figure: Figure, places: Mapping[str, Placed]) -> tuple[Event, ...]:
    """The events of a figure, but where a spring takes up only what its words tell: a ring alone
    would say nothing."""
    told = {spot for label in figure.labels if label.key in places for spot in label.spots}
    return tuple(event for event in figure.events
                 if event.kind != "take-up" or (event.x, event.y) in told)  # fmt: skip


def place_words(wanted: Sequence[Asking], field: Ground,
                kept: dict[str, int] | None = None) -> dict[str, Placed]:  # fmt: skip
    """A place for each of the words that find one, by its key; what must be seen chooses first,
    of that what can speak of one point only, and then whoever stands first. ``kept`` as for
    :func:`place_labels`."""
    kept = {} if kept is None else kept
    order = sorted(wanted, key=lambda words: (not words.must, len(words.spots) > 1))
    offers = list(zip(order, *_offers(order, field), strict=True))
    found = _one_by_one(offers, field, kept)
    short = {words.key for words in order if words.must and words.key not in found}
    if short:  # others took their room, and may find more elsewhere
        first = sorted(offers, key=lambda offer: offer[0].key not in short)
        again = _one_by_one(first, field, kept)
        if sum(words.must and words.key not in again for words in order) < len(short):
            return again
    return found


def _one_by_one(offers: Iterable[tuple[Asking, Array, Array]], field: Ground,
                kept: dict[str, int]) -> dict[str, Placed]:  # fmt: skip
    """A place for each in turn, off those that have one."""
    found: dict[str, Placed] = {}
    for words, corners, cost in offers:
        placed = _placed(words, corners, cost, kept.get(words.key), found.values(), field)
        if placed is not None:
            kept[words.key] = placed.choice
            found[words.key] = placed
    return found


def _offers(wanted: Sequence[Asking], field: Ground) -> tuple[list[Array], list[Array]]:
    """The top left corners of the places looked at for each of the words, and what each costs."""
    if not wanted:
        return [], []
    count = [len(words.spots) for words in wanted]
    spots = np.concatenate([words.spots for words in wanted]).T
    size, toward = (
        np.repeat(np.array(each, dtype=float).T, count, axis=1)[..., None]
        for each in ([words.size for words in wanted], [words.toward for words in wanted])
    )
    inside = ((spots >= -1e-6) & (field.size + 1e-6 >= spots.T).T).all(axis=0)
    # The edge of the words, not their middle, is at the ring's distance.
    ways = _WAYS[:, None]
    corners = spots[..., None] + ways * (_AWAY + 0.5 * size) - 0.5 * size
    later = _LATER_SPOT * np.concatenate([np.arange(n) for n in count])
    alone = np.repeat(count, count) == 1
    later += np.where(inside, _AT_A_MARK * (field.marked(spots.T) & ~alone), _FORBIDDEN)
    cost = _AWAY * _FAR + later[:, None]
    long = np.hypot(*toward)
    same = (toward[0] * ways[0] + toward[1] * ways[1]) / np.maximum(long, 1e-9)
    cost += _TURNED * (long > 0.0) * (1.0 - same)
    cost += field.cost(corners, size)
    said = np.flatnonzero(alone)
    points = np.concatenate([spots.T[said], field.rings]).T[..., None, None]
    left, top = points - _NEAR - size[:, None]
    right, bottom = points + _NEAR
    beside = (corners[0] > left) & (corners[0] < right)
    beside &= (corners[1] > top) & (corners[1] < bottom)
    beside[np.arange(len(said)), said] = False
    cost += _TAKEN * beside.sum(axis=0)
    return _parts(np.moveaxis(corners, 0, -1), count), _parts(cost, count)


def _parts(whole: Array, counts: Sequence[int]) -> list[Array]:
    """Rows of an array, so many at a time."""
    return [whole[end - n : end] for end, n in zip(accumulate(counts), counts, strict=True)]


def _placed(words: Asking, corners: Array, cost: Array, last: int | None,
            others: Collection[Placed], field: Ground) -> Placed | None:  # fmt: skip
    corners, cost = corners.reshape(-1, 2), cost.flatten()
    limit = _FORBIDDEN if words.must else _WORTH
    if last is not None and last < len(cost) and cost[last] < limit:
        cost[last] -= STAY
    order = np.flatnonzero(cost < limit)
    order = order[np.argsort(cost[order], kind="stable")][: None if words.must else _LOOKED_AT]
    for apart in (_APART, 0.0) if words.must else (_APART,):
        found = _first(words, corners, cost, order, others, field, apart)
        if found is not None:
            return found
    return None


def _first(words: Asking, corners: Array, cost: Array, order: NDArray[np.intp],
           others: Collection[Placed], field: Ground, apart: float) -> Placed | None:  # fmt: skip
    """The best place that disturbs no other words, what its leader runs over counted in."""
    best, least = None, math.inf
    for choice, total in zip(order.tolist(), cost[order].tolist(), strict=True):
        if total >= least:
            break
        x, y = corners[choice].tolist()
        if any(other.covered(x, y, *words.size, apart) for other in others):
            continue
        leader = _leader(words.spots[choice // len(_AWAY)].tolist(), x, y, *words.size)
        if leader is not None:
            passed = field.passed(leader, least - total)
            total += passed
            if total >= least or (words.close and passed >= 1.0):
                continue
            leader = _shortened(leader)
        placed = Placed(x, y, *words.size, leader, choice)
        if not any(placed.disturbs(other) for other in others):
            best, least = placed, total
    return best


def _leader(spot: Sequence[float], x: float, y: float, width: float,
            height: float) -> Stretch | None:  # fmt: skip
    """The line from a point to its words; None if they are close by."""
    edge = min(max(spot[0], x), x + width), min(max(spot[1], y), y + height)
    away = math.hypot(edge[0] - spot[0], edge[1] - spot[1])
    return ((spot[0], spot[1]), edge) if away > LEADER_FROM else None


def _shortened(leader: Stretch) -> Stretch:
    """A leader that ends short of its words, or it would seem part of their first letter."""
    (x, y), (end_x, end_y) = leader
    share = 1.0 - _SHORT / math.hypot(end_x - x, end_y - y)
    return (x, y), (x + share * (end_x - x), y + share * (end_y - y))


def _cut(one: Stretch | None, other: Stretch | None) -> bool:
    """True if two stretches of line cross each other."""
    if one is None or other is None:
        return False

    def side(a: Point, b: Point, c: Point) -> float:
        return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])

    apart = side(*one, other[0]) * side(*one, other[1])
    return apart < 0 and side(*other, one[0]) * side(*other, one[1]) < 0


class _InHeights:
    """A figure in heights of a line of text."""

    def __init__(self, figure: Figure, width: float, height: float) -> None:
        self.figure = figure
        self.size = np.array([width, height])
        x, y = figure.x, figure.y
        self._per = np.array([width / (x.high - x.low), -height / (y.high - y.low)])
        self._zero = np.array([x.low, y.high])  # of the top left corner

    def at(self, spots: Sequence[Point]) -> Array:
        """Shown values as places of the plot, shape (spots, 2)."""
        return self._scaled(np.array(spots, dtype=float).reshape(-1, 2))

    def _across(self, lines: Iterable[Array]) -> Array:
        """Lines in shown values as lines on the plot, joined."""
        return self._scaled(_joined(lines))

    def _scaled(self, points: Array) -> Array:
        points[np.isinf(points)] = np.nan
        return np.asarray((points - self._zero) * self._per)

    def lines(self) -> Array:
        """Everything that words should not stand on."""
        return self._across(self._lines())

    def _lines(self) -> Iterator[Array]:
        figure = self.figure
        if figure.y.low < 0.0 < figure.y.high:
            yield np.array([(figure.x.low, 0.0), (figure.x.high, 0.0)])
        for trace in figure.traces:
            yield np.column_stack([trace.x, trace.y])
        for event in figure.events:
            yield np.array([(event.x, event.y), (event.x_to, event.y_to)])
        if figure.next is not None:
            x, top = figure.next.x, max(y for _, y in figure.next.expected)
            yield np.array([(x, figure.y.low), (x, top)])
        for marks in figure.dots:
            if marks.u_y.any():
                parted = np.full(len(marks), np.nan)
                bars = np.stack([marks.y - marks.u_y, marks.y + marks.u_y, parted], axis=1)
                yield np.column_stack([np.repeat(marks.x, 3), bars.ravel()])

    def marks(self, besides: Array) -> Array:
        """Points about every mark, along check points and on what is there besides: a leader that
        ends on one of those seems to speak of it."""
        around = np.array([(0, 0), (1, 0), (-1, 0), (0, 1), (0, -1)]) * _MARK_HALF
        found = [self._beside_gates(), dense(besides)]
        for marks in self.figure.dots:
            points = self._scaled(np.column_stack([marks.x, marks.y]))
            rings = points[marks.mistaken]
            found += [(points[:, None, :] + around).reshape(-1, 2),
                      (rings[:, None, :] + 1.8 * around).reshape(-1, 2)]  # fmt: skip
        return np.concatenate(found)

    def _beside_gates(self) -> Array:
        found = dense(self._across(self._bars()))
        aside = np.array([_MARK_HALF, 0.0])
        return np.concatenate([found - aside, found + aside])

    def _bars(self) -> Iterator[Array]:
        """Each check point from least to most, as far as it is on the plot."""
        bottom, top = self.figure.y.low, self.figure.y.high
        for gate in self.figure.gates:
            yield np.array([(gate.x, max(gate.low, bottom)), (gate.x, min(gate.high, top))])

    def rings(self, named: Array) -> Array:
        """Where readings are ringed that no words speak of."""
        found = [self.at([])]
        for marks in self.figure.dots:
            if marks.mistaken.any():
                ringed = np.column_stack([marks.x, marks.y])[marks.mistaken]
                found.append(self._scaled(ringed))
        points = np.concatenate(found)
        away = np.abs(points[:, None] - named).sum(axis=-1)
        return points[~(away < 1e-6).any(axis=1)] if len(named) else points

    def edges(self, besides: Array) -> Array:
        """The edges of bands, check points and limits, and what is taken besides: no words may
        stand there."""
        return np.concatenate([self._across(self._edges()), besides, *self._limits()])

    def _edges(self) -> Iterator[Array]:
        figure, gates = self.figure, self.figure.gates
        for end in ("low", "high"):
            yield np.array([(gate.x, getattr(gate, end)) for gate in gates]).reshape(-1, 2)
        yield from self._bars()
        for trace in figure.traces:
            if trace.role == "stem":
                yield np.column_stack([trace.x, trace.y])
        for zone in figure.zones:
            x, y = (zone.x, zone.x[::-1], zone.x[:1]), (zone.low, zone.high[::-1], zone.low[:1])
            yield np.column_stack([np.concatenate(x), np.concatenate(y)])

    def _limits(self) -> Iterator[Array]:
        """Each limit with its hatch."""
        wide, high = self.size.tolist()
        for bound in self.figure.bounds:
            ((x, y),) = self.at([(bound.at, bound.foot)]).tolist()
            if bound.kind == "ceiling":
                ((_, y),) = self.at([(0.0, bound.at)]).tolist()
                yield _filled((0.0, y - _HATCH, wide, y))
            elif bound.kind == "stop":
                yield _filled((x, 0.0, x + _HATCH, high))
            else:
                yield _filled((x - _HATCH, y - START_SHARE * high, x, y))

    def shaded(self, columns: Array, rows: Array) -> Counts | int:
        """What areas cost: the target's band, and a map."""
        return self._band(columns, rows) + self._map(columns, rows)

    def _map(self, columns: Array, rows: Array) -> Counts | int:
        """A map's contours are lines, and what is forbidden there is hatched."""
        surface = self.figure.surface
        if surface is None:
            return 0
        x, y = self.figure.x.low + columns / self._per[0], self.figure.y.high + rows / self._per[1]
        height = _between(surface.y, _between(surface.x, surface.height, x).T, y)
        step = np.searchsorted(np.array(surface.levels) + _LEVEL, height)
        found = np.zeros(height.shape, dtype=np.int64)
        if surface.ceiling is not None:
            above = height > surface.ceiling
            step += above
            found[above] = _HATCHED
        found[:, 1:][step[:, 1:] != step[:, :-1]] = _LINE
        found[1:][step[1:] != step[:-1]] = _LINE
        return found

    def _band(self, columns: Array, rows: Array) -> Counts | int:
        """Words stand on the target's band rather than on a line, and beside it rather than on."""
        gates, axis = self.figure.gates, self.figure.y
        if len(gates) < 2:
            return 0
        edges = [self.at([(g.x, max(g.low, axis.low)) for g in gates]),
                 self.at([(g.x, min(g.high, axis.high)) for g in gates])]  # fmt: skip
        over = slice(*np.searchsorted(columns, edges[0][[0, -1], 0]))
        low, high = (np.interp(columns[over], *edge.T) for edge in edges)
        found = np.zeros((len(rows), len(columns)), dtype=np.int64)
        found[:, over] = (rows[:, None] < low) & (rows[:, None] > high)
        return _SHADE * found


class Ground:
    """The room that words have: what each place costs, and where none may stand.

    Parameters
    ----------
    width, height : float
        In heights of a line of text.
    lines, marks : array, shape (points, 2)
        What words should not stand on; a point that is no number parts two lines.
    edges : array, shape (points, 2)
        Lines on which no words may stand.
    shaded : callable, optional
        What cells cost besides, for the middles of the columns and of the rows of the raster.
    passing : float
        How much it matters what leaders run over: in a drawing they run over all its parts.
    rings : array, shape (points, 2), optional
        Points that are marked so that words right beside them seem to speak of them.
    unseen : array, optional
        Lines on which words may stand, but along which no leader would be seen.
    """

    def __init__(
        self, width: float, height: float, lines: Array, marks: Array, edges: Array,
        shaded: Callable[[Array, Array], Counts | int] | None = None, passing: float = 1.0,
        unseen: Array | None = None, rings: Array | None = None,
    ) -> None:  # fmt: skip
        self._passing, self.rings = passing, np.zeros((0, 2)) if rings is None else rings
        self.size = np.array([width, height])
        self.shape = int(np.ceil(height / CELL)) + 1, int(np.ceil(width / CELL)) + 1
        cost = np.zeros((self.shape[0] + 1, self.shape[1] + 1), dtype=np.int64)
        cost[self._cells(dense(lines))] = _LINE
        cost[self._cells(marks)] += _MARK
        if shaded is not None:
            columns, rows = (np.arange(0.5, n) * CELL for n in self.shape[::-1])
            cost[1:, 1:] += shaded(columns, rows)
        self._costs = cost.copy()
        if unseen is not None:
            self._costs[self._cells(dense(unseen))] = _MARK
        self._quick = self._costs.data
        cost[self._cells(dense(edges))] = _SHUT
        self._sums = _summed(cost)

    def cost(self, corners: Array, size: Array) -> Array:
        """What words cost at each of many places; corners, and sizes to suit, of shape (2, …)."""
        left, top = corners
        right, bottom = corners + size
        wide, high = (self.size - _MARGINS).tolist()
        never = (left < _MARGINS[0]) | (top < _MARGINS[1]) | (right > wide) | (bottom > high)
        first = [self._cell(end - _BREATH, n) for end, n in ((left, 1), (top, 0))]
        last = [self._cell(end + (_BREATH + CELL), n) for end, n in ((right, 1), (bottom, 0))]
        under = self._within(*first, *last)
        first = [np.maximum(end - _ABOUT, 0) for end in first]
        last = [
            np.minimum(end + _ABOUT, self.shape[n]) for end, n in zip(last, (1, 0), strict=True)
        ]
        about = self._within(*first, *last)
        struck = under + 2 * np.maximum(under - _TOUCHED, 0)
        costs = np.where(never | (under >= _SHUT), _FORBIDDEN, struck / _COUNTED)
        return np.asarray(costs + _CROWDED / _COUNTED * (about % _SHUT))

    def _cell(self, places: Array, axis: int) -> NDArray[np.intp]:
        """The corner of the raster before each place."""
        return np.minimum(np.maximum(places * (1.0 / CELL), 0.0), self.shape[axis]).astype(int)

    def _within(self, left: NDArray[np.intp], top: NDArray[np.intp], right: NDArray[np.intp],
                bottom: NDArray[np.intp]) -> Counts:  # fmt: skip
        """What lies between corners of the raster."""
        s, high = self._sums.ravel(), self.shape[0] + 1
        left, right = left * high, right * high
        mixed = s.take(right + top) + s.take(left + bottom)
        return np.asarray(s.take(right + bottom) + s.take(left + top) - mixed)

    def passed(self, leader: Stretch, most: float = math.inf) -> float:
        """What a leader costs by what it runs over; any more than the most is not counted."""
        (x, y), (end_x, end_y) = leader
        long = math.hypot(end_x - x, end_y - y)
        across, down = (end_x - x) / (long * CELL), (end_y - y) / (long * CELL)
        x, y, cells, found = x / CELL + 1.0, y / CELL + 1.0, self._quick, 0
        at, most = _FROM, most * _COUNTED / max(self._passing, 1e-9)
        while at < long and found < most:
            found += cells[int(y + at * down), int(x + at * across)]
            at += _STEP
        return found * self._passing / _COUNTED

    def marked(self, points: Array) -> NDArray[np.bool_]:
        """At which points a mark stands, or nearly."""
        cells = np.nan_to_num(points / CELL).astype(int)[:, None] + _AROUND
        column, row = np.minimum(np.maximum(cells, 0), np.array(self.shape[::-1]) - 1).T + 1
        return np.asarray((self._costs[row, column] >= _MARK).any(axis=0))

    def _cells(self, points: Array) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """Rows and columns, counted from 1, of the cells that points fall into."""
        x, y = (points / CELL).T
        there = (x >= 0) & (y >= 0) & (x < self.shape[1]) & (y < self.shape[0])
        return y[there].astype(int) + 1, x[there].astype(int) + 1


def _between(known: Array, values: Array, at: Array) -> Array:
    """Rows of a table of values, at places between those where they are known."""
    last = np.clip(np.searchsorted(known, at), 1, len(known) - 1)
    share = np.clip((at - known[last - 1]) / (known[last] - known[last - 1]), 0.0, 1.0)[:, None]
    return np.asarray((1.0 - share) * values[last - 1] + share * values[last])


def _summed(raster: Counts) -> Counts:
    """Sums over all cells above and left of each corner, by column and row: sums along the rows in
    memory are the fast ones."""
    along = np.cumsum(raster, axis=1, dtype=np.int64)
    return np.cumsum(np.ascontiguousarray(along.T), axis=1, dtype=np.int64)


def dense(points: Array, gap: float = 0.9 * CELL) -> Array:
    """Points along lines at most a gap apart; a point that is no place parts two lines."""
    steps = points[1:] - points[:-1]
    count = np.hypot(*steps.T) / gap
    count = np.where(np.isfinite(count), np.minimum(count, 4000.0) + 1.0, 0.0).astype(int)
    start = np.repeat(np.cumsum(count) - count, count)
    share = (np.arange(len(start)) - start) / np.repeat(count, count)
    whole = np.repeat(points[:-1], count, axis=0) + share[:, None] * np.repeat(steps, count, axis=0)
    return np.concatenate([whole, points])


def _filled(box: Box) -> Array:
    """Lines all over a box."""
    left, top, right, bottom = box
    rows = np.append(np.arange(top, bottom, CELL), bottom)
    return _joined(np.array([(left, y), (right, y)]) for y in rows)


def _joined(lines: Iterable[Array]) -> Array:
    """Several lines as one array of points, parted by points that are no place."""
    gap = np.full((1, 2), np.nan)
    return np.concatenate([part for line in lines for part in (line, gap)] or [gap])
