"""Length, take-up and torque of one spring, whatever its ends stand on.

Either end turns about a centre: the shaft's axis for one on the cam foot, a pivot for one on a
weight; an end on the plate stands. So the square of the length is a sum of cosines,

    L² = A − Σ B cos x(θ),

with one term where one end moves (the usual spring) and up to three where both do; every x goes
in proportion to the cam's turn θ and the swings φ(θ) of the weights. The torque at the cam,
F · dL/dθ, is then ½ Σ B sin x · dx/dθ · F / L.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from bobweight.core.mechanics.builds import Array, Builds
from bobweight.core.mechanics.linkage_kind import Angle, taken
from bobweight.core.mechanics.motion import Motion, Swing, next_weight, own_weight
from bobweight.core.mechanics.places import places

_SCAN = 64  # stretches in which take-ups of a spring with two moving ends are looked for
_HALVINGS = 50


class End(NamedTuple):
    """One end of a spring in the spring's own frame.

    ``centre`` is a complex number; the end stands ``arm`` from it at a polar angle that is
    ``turn_0`` at rest and goes ``way`` times (1 or −1; 0 on the plate) with the swing of a weight,
    or with the cam where there is none.
    """

    centre: Array
    arm: Array
    turn_0: Array
    way: Array = 0.0
    weight: int | None = None

    @property
    def stands(self) -> bool:
        """Whether it is fixed to the plate."""
        return not isinstance(self.way, np.ndarray) and self.way == 0.0

    @property
    def at_rest(self) -> Array:
        """The arm at rest, as a complex number."""
        return self.arm * np.exp(1j * self.turn_0)

    def turned(self, swing: Swing) -> Angle:
        """What it turns with."""
        return swing.cam if self.weight is None else swing.weights[self.weight]

    def slope(self, swing: Swing) -> Array:
        """Slope of that against advance."""
        return 1.0 if self.weight is None else swing.slope[self.weight]

    def place(self, swing: Swing) -> Array:
        """Where it is, as a complex number in the spring's frame."""
        turn = self.turn_0 + self.way * self.turned(swing).rad
        return self.centre + self.arm * np.exp(1j * turn)


class _Term:
    """B cos x, where x is ``turn_0`` plus the turn of an end, less that of another.

    ``half`` is ½ B at the angle ``turn_0``, as a complex number.
    """

    def __init__(self, half: Array, end: End, other: End | None = None):
        # x taken the end's way has the same cosine, and goes as what the end turns with
        self.half, self.end, self.other = np.asarray(taken(half, end.way)), end, other

    def halves(self, swing: Swing) -> tuple[np.ndarray, Array]:
        """Half of B cos x, and half of the slope at which it falls against advance."""
        x, slope = self.half * self.end.turned(swing).unit, self.end.slope(swing)
        if self.other is not None:
            way = -self.end.way * self.other.way
            x = x * taken(self.other.turned(swing).unit, way)
            slope = slope + way * self.other.slope(swing)
        elif self.end.weight is None:
            return x.real, x.imag
        return x.real, x.imag * slope


class SpringPath:
    """One spring of the builds: index into ``mechanism.springs``."""

    def __init__(self, builds: Builds, index: int, motion: Motion):
        self.rate_n_per_mm = builds.value("springs", index, "rate_n_per_mm")
        self.initial_tension_n = builds.value("springs", index, "initial_tension_n")
        self.taken_up_mm = builds.value("springs", index, "free_length_mm") + builds.value(
            "springs", index, "slack_mm"
        )
        self.motion = motion
        self.ends = ends_of(builds, index, motion)
        self.a_mm2, self.terms = _cosines(*self.ends)
        # F / L is the rate, and over the root of half the square of the length this:
        off = self.initial_tension_n - self.rate_n_per_mm * self.taken_up_mm
        self._off, self._rate = np.asarray(off / np.sqrt(2.0)), np.asarray(self.rate_n_per_mm)
        self._half_a_mm2 = np.asarray(0.5 * self.a_mm2)

    def _halves(self, swing: Swing) -> tuple[Array, Array]:
        """Half the square of the length, and its slope against advance: length times its slope."""
        cosine, sine = self.terms[0].halves(swing)
        half, lever = self._half_a_mm2 - cosine, sine
        for term in self.terms[1:]:
            cosine, sine = term.halves(swing)
            half, lever = half - cosine, lever + sine
        return half, lever

    def length_mm(self, theta_rad: Array, swing: Swing) -> Array:
        """Distance from post to peg."""
        return np.sqrt(2.0 * self._halves(swing)[0])

    def lever_mm2(self, theta_rad: Array, swing: Swing) -> Array:
        """Half the slope of the square of the length against advance: length times its slope."""
        return self._halves(swing)[1]

    def torque_nmm(self, theta_rad: Array, swing: Swing) -> np.ndarray:
        """Torque U' against advance while taken up, in N·mm."""
        half, lever = self._halves(swing)
        pull_per_mm: np.ndarray = self._off / np.sqrt(half)
        pull_per_mm += self._rate
        pull_per_mm *= lever
        return pull_per_mm

    def force_n(self, theta_rad: Array, swing: Swing) -> Array:
        """Pull of the spring: zero until it is taken up."""
        stretch = self.length_mm(theta_rad, swing) - self.taken_up_mm
        pull = self.initial_tension_n + self.rate_n_per_mm * stretch
        return np.where(stretch > 0, pull, 0.0)

    def take_up_rad(self, count: int, end_rad: Array) -> np.ndarray:
        """Cam angles at which the spring is taken up or let go, shape (count, 2); NaN if none.

        With one moving end both angles at which the length equals free length + slack; those
        before rest or beyond the linkage's reach are NaN or large, and the caller keeps what lies
        below the stop. With two, the first two between rest and ``end_rad``.
        """
        if len(self.terms) != 1:
            return self._found_take_ups(count, end_rad)
        (term,) = self.terms
        with np.errstate(invalid="ignore", divide="ignore"):
            cosine = (self.a_mm2 - np.square(self.taken_up_mm)) / (2.0 * abs(term.half))
            x, x_0 = np.arccos(cosine), np.angle(term.half)
        angles = np.empty((count, 2))
        for column, candidate in enumerate((x, -x)):
            angle: Array = np.mod(candidate - x_0, 2 * np.pi)  # so much it must turn
            if term.end.weight is not None:
                angle = self.motion.linkages[term.end.weight].cam(angle)
            angles[:, column] = np.reshape(angle, -1)
        return angles

    def _found_take_ups(self, count: int, end_rad: Array) -> np.ndarray:
        found = np.full((count, 2), np.nan)
        end = np.broadcast_to(np.reshape(end_rad, (-1, 1, 1)), (count, 1, 1))

        def beyond(theta: np.ndarray) -> np.ndarray:
            apart = self.length_mm(theta, self.motion.at(theta)) > self.taken_up_mm
            return np.broadcast_to(apart, (count, 1, theta.shape[-1]))[:, 0]

        grid = end * np.linspace(0.0, 1.0, _SCAN + 1)
        signs = beyond(grid)
        turns = signs[:, 1:] != signs[:, :-1]
        for column in range(2):
            has = turns.any(axis=1)
            at = turns.argmax(axis=1)
            turns[np.arange(count), at] = False
            low, high = (np.take_along_axis(grid[:, 0], at[:, None] + k, 1) for k in (0, 1))
            before = np.take_along_axis(signs, at[:, None], 1)
            for _ in range(_HALVINGS):
                middle = 0.5 * (low + high)
                same = beyond(middle[:, None]) == before
                low, high = np.where(same, middle, low), np.where(same, high, middle)
            found[has, column] = high[has, 0]
        return found


def ends_of(builds: Builds, index: int, motion: Motion) -> tuple[End, End]:
    """Post and peg of a spring in its own frame, the tang bent as it stands."""
    spring = builds.mechanism.springs[index]
    own = own_weight(builds.mechanism, spring)
    side = motion.side(own) if spring.hangs_on_weight else 1.0

    def end(body: str, radius: Array, angle: Array) -> End:
        if body == "plate":
            return End(0.0, radius, angle)
        if body == "cam":
            return End(0.0, radius, angle, way=side)
        weight = own
        turned: Array = 0.0
        same_way: Array = 1.0
        if body == "other":
            weight = next_weight(builds.mechanism, own)
            turned = side * (motion.place_rad(weight) - motion.place_rad(own))
            same_way = side * motion.side(weight)
        rest = np.radians(builds.of_a_weight(weight, "rest_angle_deg"))
        pivot = builds.of_a_weight(weight, "pivot_radius_mm") * np.exp(1j * turned)
        turn = turned + same_way * (rest + angle)
        return End(pivot, radius, turn, way=-same_way, weight=weight)

    at = places(builds, index, motion)
    tang = builds.value("springs", index, "tang_mm")
    radius, angle = at.post_radius_mm, at.post_rad
    if spring.tang_way == "outward":
        radius = radius + tang
    else:
        angle = angle + tang / radius
    return (end(spring.post_on, radius, angle), end(spring.peg_on, at.peg_radius_mm, at.peg_rad))


def _cosines(first: End, second: End) -> tuple[Array, tuple[_Term, ...]]:
    """A and the terms B cos x of L² = A − Σ B cos x."""
    apart: Array = _still(second) - _still(first)
    square: Array = np.abs(apart) ** 2
    terms = []
    for end, other in ((first, apart), (second, -apart)):
        if not end.stands:
            square = square + np.square(end.arm)
            terms.append(_Term(np.conj(other) * end.at_rest, end))
    if len(terms) == 2:
        terms.append(_Term(np.conj(first.at_rest) * second.at_rest, second, first))
    return square, tuple(terms) or (_Term(0.0, first),)


def _still(end: End) -> Array:
    """The place of an end that stands; of another, what it turns about."""
    return end.centre + end.at_rest if end.stands else end.centre
