"""Speed as an explicit function of advance, on knots that hold every exact angle.

½ ω² J'(θ) (1 − s f) = U'(θ) + T_drag + s T_stick, with s = +1 rising and −1 falling. Nothing is
solved for: each knot θ gives its speed. Between rest and stop the range is cut into segments at
the angles where a spring is taken up, so that every knot of a segment sees the same springs and
each such angle is evaluated twice, just before and just after; and at the bends of the linkage, so
that speed is smooth inside a segment.
"""

from __future__ import annotations

from functools import cached_property, lru_cache
from typing import NamedTuple

import numpy as np

from bobweight.core.docket.mechanism import Mechanism
from bobweight.core.frozen import frozen
from bobweight.core.latest import Latest
from bobweight.core.mechanics.builds import Array, Builds
from bobweight.core.mechanics.motion import Motion, Swing
from bobweight.core.mechanics.shared import SharedSpring, knots_of_take_ups, shares_geometry
from bobweight.core.mechanics.springs import SpringPath

RPM_PER_RAD_S = 30.0 / np.pi
NMM_PER_G_MM2_RAD_S2 = 1e-6  # g·mm²/s² is 1e-9 J, and a N·mm is 1e-3 J
_RPM, _NONE, _TWICE = map(np.array, (RPM_PER_RAD_S, 0.0, 2.0 / NMM_PER_G_MM2_RAD_S2))
_ONE_ANGLE_RAD = 1e-12  # take-ups closer than this are one; at rest or stop they are none
_BESIDE_RAD = 1e-9  # so far beside an edge is surely on that side of it
_LEAST_STOP_DEG = 1e-3  # a build varied to no travel, or to less than none, stands at rest
_CHUNK_VALUES = 48_000  # values handled at once: about what a core's own cache holds
_KEPT_BYTES = 16 << 20


def _keep_pages() -> None:
    """Have the pages of arrays that are done with kept for the next ones.

    glibc hands the pages of every array of some 128 kB back to the system and fetches them anew,
    which costs as much as the mechanics; once a bigger block has been freed it keeps up to twice
    that (mallopt(3), M_MMAP_THRESHOLD, on its dynamic adjustment). Elsewhere it does nothing.
    """
    np.empty(_KEPT_BYTES, dtype=np.uint8)


_keep_pages()


class Speeds(NamedTuple):
    """Speed of balance at each knot.

    Attributes
    ----------
    theta_rad : array, shape (builds, knots)
        Cam advance, never falling along the knots; take-up angles stand twice.
    rising_rpm, falling_rpm : array, shape (builds, knots)
        Distributor speed at which the weights stand there while speed rises or falls. Infinite
        where no speed holds them.
    """

    theta_rad: np.ndarray
    rising_rpm: np.ndarray
    falling_rpm: np.ndarray


@frozen
class Stations:
    """Places along the advance, which go with rest, take-ups and stop: which two of these each lies
    between, and the share of the way before the place; of shape (builds, places).
    """

    low: np.ndarray
    high: np.ndarray
    share: np.ndarray

    def of(self, rows: np.ndarray) -> Stations:
        """Those of some builds, over and over."""
        return Stations(self.low[rows], self.high[rows], self.share[rows])


class Balance:
    """The balance of weights and springs for one build or many."""

    def __init__(self, builds: Builds):
        self.builds = builds
        self.motion = Motion(builds)
        count = len(builds.mechanism.springs)
        self.paths = [SpringPath(builds, i, self.motion) for i in range(count)]
        self.stop_rad = np.radians(np.maximum(builds.value("stop_deg"), _LEAST_STOP_DEG))
        self.end_rad = self.stop_rad + np.radians(builds.value("stop_give_deg"))
        self.rubber = not builds.zero("stop_rate_nmm_per_deg")
        self._drag = np.asarray(builds.value("heel_drag_nmm"))
        stick, grip = builds.value("stick_nmm"), builds.value("grip")
        dry = not (builds.zero("stick_nmm") and builds.zero("grip"))
        self._friction = [  # rising and falling, or both in one
            (np.asarray(way * stick), np.asarray(1.0 / (1.0 - way * grip)))
            for way in ((1.0, -1.0) if dry else (0.0,))
        ]

    def part(self, start: int, stop: int) -> Balance:
        """That of some of the builds, between the same edges."""
        found = Balance(self.builds.part(start, stop))
        found.edges_rad = self.edges_rad[start:stop]
        return found

    def speed_squared(
        self, theta_rad: np.ndarray, engaged: list[np.ndarray]
    ) -> tuple[np.ndarray, np.ndarray]:
        """Square of the balance speed in (rad/s)², rising and falling.

        Parameters
        ----------
        theta_rad : array, shape (builds, segments, knots)
        engaged : list of boolean arrays, one a spring, broadcastable to ``theta_rad``
            Which springs are taken up.
        """
        flat = self._flat(theta_rad)
        swing = self.motion.at(flat)
        torque = self._drag_nmm(theta_rad.shape)
        for path, on in zip(self.paths, engaged, strict=True):
            if on.any():
                part = path.torque_nmm(flat, swing).reshape(theta_rad.shape)
                torque += part if on.all() else part * on
        squares = self._squares(flat, swing, torque.reshape(flat.shape))
        return squares[0].reshape(theta_rad.shape), squares[-1].reshape(theta_rad.shape)

    def _flat(self, values: np.ndarray) -> np.ndarray:
        """Those of one build without further axes, which numpy handles faster."""
        return values.reshape(-1) if self.builds.count == 1 else values

    def _drag_nmm(self, shape: tuple[int, ...]) -> np.ndarray:
        torque = np.empty(shape)
        torque[...] = self._drag
        return torque

    def _squares(self, theta_rad: np.ndarray, swing: Swing, torque: np.ndarray) -> list[np.ndarray]:
        """Square of speed, rising and falling, or of both in one, where springs and drag hold with
        a torque."""
        if self.rubber:
            pressed_deg = np.degrees(np.maximum(theta_rad - self.stop_rad, 0.0))
            torque = torque + self.builds.value("stop_rate_nmm_per_deg") * pressed_deg
        squares: list[np.ndarray] = []
        with np.errstate(divide="ignore", invalid="ignore"):
            pull = self.motion.inertia_slope(theta_rad, swing)
            per_torque = np.asarray(_TWICE / pull)
            holds = per_torque.min(initial=1.0) > 0
            for stick, gain in self._friction:
                square = (torque + stick) * per_torque
                square *= gain
                np.maximum(square, _NONE, out=square)  # nothing holds back
                # what is finite rising is so falling
                holds = holds and (bool(squares) or square.max(initial=0.0) < np.inf)
                if not holds:  # no speed can hold
                    square[~(per_torque > 0) | ~np.isfinite(square)] = np.inf
                squares.append(square)
        return squares

    def engaged_at(self, theta_rad: np.ndarray) -> list[np.ndarray]:
        """Which springs are taken up at these angles: a boolean array for each spring."""
        flat = self._flat(theta_rad)
        swing = self.motion.at(flat)
        found = [np.asarray(p.length_mm(flat, swing) > p.taken_up_mm) for p in self.paths]
        return [on.reshape(theta_rad.shape) for on in found] if flat.ndim == 1 else found

    def take_ups_rad(self) -> np.ndarray:
        """Every spring's take-up angles, shape (builds, 2 × springs); NaN where there is none."""
        count = self.builds.count
        if not self.paths:
            return np.full((count, 0), np.nan)
        return np.concatenate([p.take_up_rad(count, self.end_rad) for p in self.paths], axis=-1)

    @cached_property
    def _named_edges_rad(self) -> np.ndarray:
        """Rest, every take-up, bend and where a rubber stop is met, the end, each in a column of
        its own; what a build has not lies at the end."""
        count = self.builds.count
        take_ups, bends = self.take_ups_rad(), self.motion.bends_rad
        stop, end = (np.reshape(angle, (-1, 1)) for angle in (self.stop_rad, self.end_rad))
        edges = np.empty((count, take_ups.shape[1] + len(bends) + 3))
        edges[:, :1], edges[:, -2:-1], edges[:, -1:] = 0.0, stop, end
        edges[:, 1 : take_ups.shape[1] + 1] = take_ups
        edges[:, take_ups.shape[1] + 1 : -2] = bends
        inner = edges[:, 1:-1]
        within = (inner > _ONE_ANGLE_RAD) & (inner < end - _ONE_ANGLE_RAD)
        inner[:] = np.where(within, inner, end)
        return edges

    @cached_property
    def edges_rad(self) -> np.ndarray:
        """Edges of the segments, shape (builds, segments + 1): rest, take-ups, bends, where a
        rubber stop is met, the end."""
        edges = np.sort(self._named_edges_rad, axis=-1)
        end = edges[:, -1:]
        apart = np.ones(edges.shape[1], dtype=bool)
        apart[1:] = (np.diff(edges) > _ONE_ANGLE_RAD).any(axis=0)
        edges = edges[:, apart]
        edges[:, -1:] = end
        return edges

    def stations(self, theta_rad: np.ndarray, above: np.ndarray) -> Stations:
        """Where angles lie between the edges, so that they can be found again in builds that
        differ a little.

        Parameters
        ----------
        theta_rad : array, shape (builds, angles)
        above : bool array, shape (builds, angles)
            Of an angle that is an edge, whether what comes after it is meant.
        """
        named = self._named_edges_rad
        order = np.argsort(named, axis=1, kind="stable")
        edges = np.take_along_axis(named, order, axis=1)
        # By name: a spring that just hangs has one more edge in a build right beside.
        order = np.where(edges < edges[:, -1:], order, named.shape[1] - 1)
        meant = theta_rad + np.where(above, _BESIDE_RAD, -_BESIDE_RAD)
        segment = np.sum(edges[:, 1:-1, None] < meant[:, None], axis=1)
        first, last = (np.take_along_axis(order, segment + i, axis=1) for i in (0, 1))
        low, high = (np.take_along_axis(named, edge, axis=1) for edge in (first, last))
        with np.errstate(invalid="ignore", divide="ignore"):
            share = np.where(high > low, (theta_rad - low) / (high - low), 0.0)
        return Stations(first, last, np.clip(share, 0.0, 1.0))

    def engaged_beside(self, stations: Stations) -> list[np.ndarray]:
        """Which springs are taken up between the edges that places lie between, shape (builds,
        places), for each spring."""
        between = _middles(*self._ends_rad(stations))
        engaged = self.engaged_at(between[:, None])
        return [np.broadcast_to(on[:, 0], between.shape) for on in engaged]

    def angles_rad(self, stations: Stations) -> np.ndarray:
        """The cam angles of places, shape (builds, places)."""
        low, high = self._ends_rad(stations)
        return np.asarray(low + stations.share * (high - low))

    def _ends_rad(self, stations: Stations) -> tuple[np.ndarray, np.ndarray]:
        named = self._named_edges_rad
        low, high = (np.take_along_axis(named, e, axis=1) for e in (stations.low, stations.high))
        return low, high

    def at(self, stations: Stations, engaged: list[np.ndarray]) -> tuple[np.ndarray, np.ndarray]:
        """Rising and falling speed of balance at places, each of shape (builds, places)."""
        theta = self.angles_rad(stations)[:, None]
        found = self.speed_squared(theta, [on[:, None] for on in engaged])
        rising, falling = (np.sqrt(square[:, 0]) * RPM_PER_RAD_S for square in found)
        return rising, falling

    @cached_property
    def _segments(self) -> tuple[np.ndarray, list[_TakenUp]]:
        """Low edge and width of the segments of all builds, shape (builds × segments, 2), and the
        springs that are taken up in any."""
        low, high = self.edges_rad[:, :-1], self.edges_rad[:, 1:]
        found = []
        engaged = self.engaged_at(_middles(low, high)[..., None])
        for path, on in zip(self.paths, engaged, strict=True):
            some = np.flatnonzero(on[..., 0].any(axis=0))
            if len(some):
                on = on[:, some[0] : some[-1] + 1]
                found.append(_TakenUp(path, some[0], some[-1] + 1, None if on.all() else on))
        return np.stack([low, high - low], axis=-1).reshape(-1, 2), found

    def fill(self, out: Speeds, each: int) -> None:
        """Evaluate ``each`` knots in every segment, into the arrays of ``out``.

        Parameters
        ----------
        out : Speeds
            Arrays of shape (builds, segments × each) to be written.
        """
        stretches, springs = self._segments
        knots = out.theta_rad.reshape(-1, each)
        np.matmul(stretches, _shares(each), out=knots)
        knots[:, -1] = self.edges_rad[:, 1:].reshape(-1)
        theta = self._flat(out.theta_rad[:, None])
        swing = self.motion.at(theta)
        torque = self._drag_nmm(theta.shape)
        for path, first, end, on in springs:
            seen = slice(first * each, end * each)
            part = path.torque_nmm(theta, swing)[..., seen]
            if on is not None:
                part = (part.reshape(len(on), -1, each) * on).reshape(part.shape)
            torque[..., seen] += part
        squares = self._squares(theta, swing, torque)
        for square, rpm in ((squares[0], out.rising_rpm), (squares[-1], out.falling_rpm)):
            flat = self._flat(rpm[:, None])
            np.sqrt(square, out=flat)
            flat *= _RPM


class _TakenUp(NamedTuple):
    """A spring that is taken up in the segments from ``first`` to before ``end`` of any build, and
    in which of them, shape (builds, segments, 1), if not in all."""

    path: SpringPath
    first: int
    end: int
    on: np.ndarray | None


@lru_cache(maxsize=16)
def _shares(each: int) -> np.ndarray:
    """Knots of a segment, for its low edge and its width."""
    return np.stack([np.ones(each), np.linspace(0.0, 1.0, each)])


def _middles(low_rad: np.ndarray, high_rad: np.ndarray) -> np.ndarray:
    """An angle inside every segment. An empty one (a build with fewer take-ups than others) sees
    what came before it."""
    return np.where(high_rad > low_rad, 0.5 * (low_rad + high_rad), low_rad - _BESIDE_RAD)


_latest: Latest[Balance] = Latest()


def balance_of(mechanism: Mechanism) -> Balance:
    """The balance of one build, made once for the mechanism asked for last: checks, curve, torques
    and drawing ask for that of one mechanism in a row."""
    return _latest.of(mechanism, make=lambda: Balance(Builds(mechanism)))


def _held(torque: np.ndarray, per_torque: Array) -> np.ndarray:
    """The square of speed: zero where nothing holds back, infinite where no speed can hold."""
    square = torque * per_torque
    np.maximum(square, 0.0, out=square)
    lost = ~(per_torque > 0) | ~np.isfinite(square)
    if lost.any():
        square[lost] = np.inf
    found: np.ndarray = square
    return found


def balance_speeds(builds: Builds, knots: int = 200) -> Speeds:
    """Balance speeds of the builds on about ``knots`` knots each, shared between the segments.

    Parameters
    ----------
    knots : int
        Wanted number a build; every segment gets at least 8.
    """
    balance = Balance(builds) if builds.varied else balance_of(builds.mechanism)
    if shares_geometry(builds):
        found = _shared_speeds(balance, knots)
        if found is not None:
            return found
    segments = balance.edges_rad.shape[1] - 1
    each = max(8, -(-knots // segments))
    out = Speeds(*np.empty((3, builds.count, segments * each)))
    size = max(1, _CHUNK_VALUES // (segments * each))  # pieces that fit the processor's cache
    if size >= builds.count:
        balance.fill(out, each)
        return out
    for start in range(0, builds.count, size):
        piece = slice(start, min(start + size, builds.count))
        rows = Speeds(out.theta_rad[piece], out.rising_rpm[piece], out.falling_rpm[piece])
        balance.part(piece.start, piece.stop).fill(rows, each)
    return out


def _shared_speeds(balance: Balance, knots: int) -> Speeds | None:
    """The speeds of builds of one geometry; None where their take-ups differ and the linkage has
    bends besides."""
    builds = balance.builds
    take_ups = balance.take_ups_rad()
    end = float(np.ravel(balance.end_rad)[0])
    inside = (take_ups > _ONE_ANGLE_RAD) & (take_ups < end - _ONE_ANGLE_RAD)
    take_ups = np.where(inside, take_ups, np.nan)
    same = np.ptp(np.where(inside, take_ups, end), axis=0).max(initial=0.0) <= _ONE_ANGLE_RAD
    if same:
        edges = Balance(builds.part(0, 1)).edges_rad
    elif balance.rubber or len(balance.motion.bends_rad):
        return None
    else:
        edges = np.array([[0.0, end]])
    segments = edges.shape[1] - 1
    each = max(8, -(-knots // segments))
    theta = np.linspace(edges[0, :-1], edges[0, 1:], each, axis=1)  # (segments, each)
    springs = _shared_springs(balance, theta, edges, same)
    point = theta.reshape(1, 1, -1)
    swing = balance.motion.at(point)
    with np.errstate(divide="ignore", invalid="ignore"):
        pull = np.asarray(balance.motion.inertia_slope(point, swing))
        per_torque = (2.0 / NMM_PER_G_MM2_RAD_S2) / np.broadcast_to(pull, point.shape)[0]
    always = np.zeros(theta.size)
    if balance.rubber:
        pressed_deg = np.degrees(np.maximum(theta.ravel() - np.ravel(balance.stop_rad)[0], 0.0))
        always += builds.value("stop_rate_nmm_per_deg") * pressed_deg
    out = _shared_fill(balance, springs, per_torque, always)
    if same:
        row = np.broadcast_to(theta.reshape(1, -1), out[0].shape)
        return Speeds(row, *out)
    return _with_own_take_ups(balance, take_ups, theta.ravel(), *out)


def _shared_springs(
    balance: Balance, theta: np.ndarray, edges: np.ndarray, same: bool
) -> list[SharedSpring]:
    count = balance.builds.count
    point = theta.reshape(1, 1, -1)
    swing = balance.motion.at(point)
    middle = 0.5 * (edges[:, :-1, None] + edges[:, 1:, None])
    engaged = balance.engaged_at(middle)
    found = []
    for path, on in zip(balance.paths, engaged, strict=True):
        length = np.broadcast_to(path.length_mm(point, swing), point.shape).ravel()
        lever = np.broadcast_to(path.lever_mm2(point, swing), point.shape).ravel()
        rate, tension, taken = (
            np.broadcast_to(np.reshape(value, (-1, 1)), (count, 1))
            for value in (path.rate_n_per_mm, path.initial_tension_n, path.taken_up_mm)
        )
        slack_of = None
        if same:
            lever = lever * np.repeat(on[0, :, 0], theta.shape[1])
        elif not np.all(length.min() > taken):
            ends = theta.ravel()[[0, -1]] + np.array([_ONE_ANGLE_RAD, -_ONE_ANGLE_RAD])
            inner = np.asarray(path.length_mm(ends, balance.motion.at(ends)))
            # at rest and at the stop what holds just inside counts, as everywhere
            reached = np.concatenate([inner.ravel()[:1], length[1:-1], inner.ravel()[1:]])
            slack_of = (reached, np.array(taken))
        found.append(
            SharedSpring(lever, lever / length, np.array(rate), tension - rate * taken, slack_of)
        )
    return found


def _shared_fill(
    balance: Balance, springs: list[SharedSpring], per_torque: np.ndarray, always: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Rising and falling speeds in rev/min at the shared knots, shape (builds, knots)."""
    count, knots = balance.builds.count, len(always)
    drag, stick, grip = (
        np.broadcast_to(np.reshape(balance.builds.value(key), (-1, 1)), (count, 1))
        for key in ("heel_drag_nmm", "stick_nmm", "grip")
    )
    dry = bool(np.any(stick != 0) or np.any(grip != 0))
    rising, falling = np.empty((count, knots)), np.empty((count, knots))
    size = max(1, _CHUNK_VALUES // knots)
    for start in range(0, count, size):
        piece = slice(start, min(start + size, count))
        torque = np.empty((piece.stop - start, knots))
        scratch = np.empty_like(torque)
        np.add(always, drag[piece], out=torque)
        for spring in springs:
            spring.add_torque(torque, piece, scratch)
        for rpm, way in ((rising, 1.0), (falling, -1.0)):
            if way < 0 and not dry:
                falling[piece] = rising[piece]
                continue
            square = _held(
                torque + way * stick[piece] if dry else torque,
                per_torque / (1.0 - way * grip[piece]) if dry else per_torque,
            )
            np.sqrt(square, out=rpm[piece])
            rpm[piece] *= RPM_PER_RAD_S
    return rising, falling


def _with_own_take_ups(
    balance: Balance, take_ups: np.ndarray, theta: np.ndarray, rising: np.ndarray,
    falling: np.ndarray,
) -> Speeds:  # fmt: skip
    """The speeds with two knots of each build moved to each of its take-ups."""
    at, first, there = knots_of_take_ups(take_ups, theta)
    own = np.empty(rising.shape)
    own[:] = theta
    filled = np.where(there, at, theta[-1])
    bounds = np.concatenate([np.zeros((len(at), 1)), filled, np.full((len(at), 1), theta[-1])], 1)
    middles = 0.5 * (bounds[:, :-1] + bounds[:, 1:])
    for side in (0, 1):  # before the take-up, and after it
        engaged = balance.engaged_at(middles[:, None, side : side + at.shape[1]])
        squares = balance.speed_squared(filled[:, None, :], engaged)
        rows, columns = np.nonzero(there)
        places = first[rows, columns] + side
        own[rows, places] = filled[rows, columns]
        for rpm, square in zip((rising, falling), squares, strict=True):
            rpm[rows, places] = np.sqrt(square[rows, 0, columns]) * RPM_PER_RAD_S
    return Speeds(own, rising, falling)
