"""Speed as an explicit function of advance, on knots that hold every exact angle.

½ ω² J'(θ) (1 − s f) = U'(θ) + T_drag + s T_stick, with s = +1 rising and −1 falling. Nothing is
solved for: each knot θ gives its speed. Between rest and stop the range is cut into segments at
the angles where a spring is taken up, so that every knot of a segment sees the same springs and
each such angle is evaluated twice, just before and just after; and at the bends of the linkage, so
that speed is smooth inside a segment.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bobweight.core.mechanics.builds import Builds
from bobweight.core.mechanics.motion import Motion
from bobweight.core.mechanics.springs import SpringPath

RPM_PER_RAD_S = 30.0 / np.pi
_NMM_PER_G_MM2_RAD_S2 = 1e-6  # g·mm²/s² is 1e-9 J, and a N·mm is 1e-3 J
_ONE_ANGLE_RAD = 1e-12  # take-ups closer than this are one; at rest or stop they are none
_LEAST_STOP_DEG = 1e-3  # a build varied to no travel, or to less than none, stands at rest
_CHUNK_VALUES = 24_000  # values handled at once: about what a core's own cache holds


@dataclass(frozen=True)
class Speeds:
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


class Balance:
    """The balance of weights and springs for one build or many."""

    def __init__(self, builds: Builds):
        self.builds = builds
        self.motion = Motion(builds)
        count = len(builds.mechanism.springs)
        self.paths = [SpringPath(builds, i, self.motion) for i in range(count)]
        self.stop_rad = np.radians(np.maximum(builds.value("stop_deg"), _LEAST_STOP_DEG))
        self.end_rad = self.stop_rad + np.radians(builds.value("stop_give_deg"))
        self.rubber = np.any(np.asarray(builds.value("stop_rate_nmm_per_deg")) > 0)

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
        builds = self.builds
        swing = self.motion.at(theta_rad)
        torque = np.full(theta_rad.shape, 0.0)
        torque += builds.value("heel_drag_nmm")
        for path, on in zip(self.paths, engaged, strict=True):
            if on.any():
                part = path.torque_nmm(theta_rad, swing)
                if not on.all():
                    part *= on
                torque += part
        if self.rubber:
            pressed_deg = np.degrees(np.maximum(theta_rad - self.stop_rad, 0.0))
            torque += builds.value("stop_rate_nmm_per_deg") * pressed_deg
        pull = self.motion.inertia_slope(theta_rad, swing)
        with np.errstate(divide="ignore", invalid="ignore"):
            per_torque = (2.0 / _NMM_PER_G_MM2_RAD_S2) / pull
        stick, grip = builds.value("stick_nmm"), builds.value("grip")
        if np.ndim(stick) == 0 and stick == 0 and np.ndim(grip) == 0 and grip == 0:
            square = _held(torque, per_torque)
            return square, square
        rising = _held(torque + stick, per_torque / (1.0 - grip))
        falling = _held(torque - stick, per_torque / (1.0 + grip))
        return rising, falling

    def engaged_at(self, theta_rad: np.ndarray) -> list[np.ndarray]:
        """Which springs are taken up at these angles: a boolean array for each spring."""
        swing = self.motion.at(theta_rad)
        return [path.length_mm(theta_rad, swing) > path.taken_up_mm for path in self.paths]

    def take_ups_rad(self) -> np.ndarray:
        """Every spring's take-up angles, shape (builds, 2 × springs); NaN where there is none."""
        count = self.builds.count
        if not self.paths:
            return np.full((count, 0), np.nan)
        return np.concatenate([p.take_up_rad(count, self.end_rad) for p in self.paths], axis=-1)

    def edges_rad(self) -> np.ndarray:
        """Edges of the segments, shape (builds, segments + 1): rest, take-ups, bends, where a
        rubber stop is met, the end."""
        count = self.builds.count
        stop, end = (
            np.broadcast_to(np.reshape(angle, (-1, 1)), (count, 1))
            for angle in (self.stop_rad, self.end_rad)
        )
        bends = np.broadcast_to(self.motion.bends_rad, (count, len(self.motion.bends_rad)))
        inner = np.concatenate([self.take_ups_rad(), bends, stop], axis=-1)
        inner = np.where((inner > _ONE_ANGLE_RAD) & (inner < end - _ONE_ANGLE_RAD), inner, end)
        edges = np.concatenate([np.zeros((count, 1)), np.sort(inner, axis=-1), end], axis=-1)
        apart = np.ones(edges.shape[1], dtype=bool)
        apart[1:] = (np.diff(edges) > _ONE_ANGLE_RAD).any(axis=0)
        edges = edges[:, apart]
        edges[:, -1:] = end
        return edges

    def fill(self, edges_rad: np.ndarray, out: Speeds, each: int) -> None:
        """Evaluate ``each`` knots in every segment between the edges, into the arrays of ``out``.

        Parameters
        ----------
        edges_rad : array, shape (builds, segments + 1)
        out : Speeds
            Arrays of shape (builds, segments × each) to be written.
        """
        low, high = edges_rad[:, :-1, None], edges_rad[:, 1:, None]
        shape = (len(edges_rad), edges_rad.shape[1] - 1, each)
        theta = out.theta_rad.reshape(shape)
        np.multiply(high - low, np.linspace(0.0, 1.0, each), out=theta)
        theta += low
        theta[:, :, -1] = edges_rad[:, 1:]
        # An empty segment (a build with fewer take-ups than others) sees what came before it.
        middle = np.where(high > low, 0.5 * (low + high), low - 1e-9)
        rising, falling = self.speed_squared(theta, self.engaged_at(middle))
        for square, rpm in ((rising, out.rising_rpm), (falling, out.falling_rpm)):
            rpm = rpm.reshape(shape)
            np.sqrt(square, out=rpm)
            rpm *= RPM_PER_RAD_S


def _held(torque: np.ndarray, per_torque: np.ndarray) -> np.ndarray:
    """The square of speed: zero where nothing holds back, infinite where no speed can hold."""
    square = torque * per_torque
    np.maximum(square, 0.0, out=square)
    lost = ~(per_torque > 0) | ~np.isfinite(square)
    if lost.any():
        square[lost] = np.inf
    return square


def balance_speeds(builds: Builds, knots: int = 200) -> Speeds:
    """Balance speeds of the builds on about ``knots`` knots each, shared between the segments.

    Parameters
    ----------
    knots : int
        Wanted number a build; every segment gets at least 8.
    """
    balance = Balance(builds)
    edges = balance.edges_rad()
    segments = edges.shape[1] - 1
    each = max(8, -(-knots // segments))
    out = Speeds(*(np.empty((builds.count, segments * each)) for _ in range(3)))
    size = max(1, _CHUNK_VALUES // (segments * each))  # pieces that fit the processor's cache
    for start in range(0, builds.count, size):
        piece = slice(start, min(start + size, builds.count))
        part = balance
        if size < builds.count:
            part = Balance(builds.part(piece.start, piece.stop))
        rows = Speeds(out.theta_rad[piece], out.rising_rpm[piece], out.falling_rpm[piece])
        part.fill(edges[piece], rows, each)
    return out
