"""Length, take-up and torque of one spring, whatever its ends stand on.

Either end turns about a centre: the shaft's axis for one on the cam foot, a pivot for one on a
weight; an end on the plate stands. So the square of the length is a sum of cosines,

    L² = A − Σ B cos x(θ),

with one term where one end moves (the usual spring) and up to three where both do; every x goes
in proportion to the cam's turn θ and the swings φ(θ) of the weights. The torque at the cam,
F · dL/dθ, is then ½ Σ B sin x · dx/dθ · F / L.
"""

from __future__ import annotations

import numpy as np

from bobweight.core.frozen import frozen
from bobweight.core.mechanics.builds import Array, Builds
from bobweight.core.mechanics.linkage_kind import Angle
from bobweight.core.mechanics.motion import Motion, Swing, next_weight, own_weight
from bobweight.core.mechanics.places import places

_SCAN = 64  # stretches in which take-ups of a spring with two moving ends are looked for
_HALVINGS = 50


@frozen
class End:
    """One end of a spring in the spring's own frame.

    ``centre`` is a complex number; the end stands ``arm`` from it at a polar angle that is
    ``turn_0`` at rest and goes with the cam (``with_cam`` times) and with the swing of a weight
    (``with_swing`` times).
    """

    centre: Array
    arm: Array
    turn_0: Array
    with_cam: Array = 0.0
    weight: int | None = None
    with_swing: Array = 0.0

    @property
    def stands(self) -> bool:
        """Whether it is fixed to the plate."""
        return self.weight is None and np.ndim(self.with_cam) == 0 and self.with_cam == 0.0

    def turn(self, theta_rad: Array, swing: Swing) -> Array:
        """Polar angle about the centre."""
        angle = self.turn_0
        if self.weight is not None:
            return angle + self.with_swing * swing.phi_rad[self.weight]
        return angle if self.stands else angle + self.with_cam * theta_rad

    def turned(self, swing: Swing) -> tuple[Angle, Array]:
        """What it turns with, and how many times so much it turns: 1 or −1."""
        if self.weight is not None:
            return swing.weights[self.weight], self.with_swing
        return swing.cam, self.with_cam

    def place(self, theta_rad: Array, swing: Swing) -> Array:
        """Where it is, as a complex number in the spring's frame."""
        return self.centre + self.arm * np.exp(1j * self.turn(theta_rad, swing))


@frozen
class _Term:
    """B cos x with x = x_0 plus the turns of two ends: the second's, less the first's."""

    b_mm2: Array
    x_0: Array
    plus: End | None
    minus: End | None

    def turned(self, swing: Swing) -> Angle:
        """x, by B cos x and B sin x."""
        found = Angle(cosine=self.b_mm2 * np.cos(self.x_0), sine=self.b_mm2 * np.sin(self.x_0))
        for end, sign in ((self.plus, 1.0), (self.minus, -1.0)):
            if end is not None:
                by, way = end.turned(swing)
                found = by.onto(found.cosine, found.sine, sign * way)
        return found

    def slope(self, swing: Swing) -> Array:
        """dx/dθ."""
        total: Array = 0.0
        for end, sign in ((self.plus, 1.0), (self.minus, -1.0)):
            if end is None:
                continue
            if end.weight is not None:
                total = total + (sign * end.with_swing) * swing.slope[end.weight]
            else:
                total = total + sign * end.with_cam
        return total


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

    def length_mm(self, theta_rad: Array, swing: Swing) -> Array:
        """Distance from post to peg."""
        square = self.a_mm2
        for term in self.terms:
            square = square - term.turned(swing).cosine
        return np.sqrt(square)

    def lever_mm2(self, theta_rad: Array, swing: Swing) -> Array:
        """Half the slope of the square of the length against advance: length times its slope."""
        lever: Array = 0.0
        for term in self.terms:
            lever = lever + 0.5 * term.turned(swing).sine * term.slope(swing)
        return lever

    def torque_nmm(self, theta_rad: Array, swing: Swing) -> Array:
        """Torque U' against advance while taken up, in N·mm."""
        length = np.full(np.shape(theta_rad), 0.0) + self.a_mm2
        lever: Array = 0.0
        for term in self.terms:
            x = term.turned(swing)
            length -= x.cosine
            lever = lever + x.sine * (0.5 * term.slope(swing))
        np.sqrt(length, out=length)
        pull_per_mm = (self.initial_tension_n - self.rate_n_per_mm * self.taken_up_mm) / length
        pull_per_mm += self.rate_n_per_mm
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
            cosine = (self.a_mm2 - np.square(self.taken_up_mm)) / term.b_mm2
            x = np.arccos(cosine)
        end = next(e for e in (term.plus, term.minus) if e is not None)
        way = 1.0 if term.plus is end else -1.0
        angles = np.empty((count, 2))
        for column, candidate in enumerate((x, -x)):
            turned = way * (candidate - term.x_0)  # what the end must have turned
            angle: Array
            if end.weight is None:
                angle = np.mod(turned * end.with_cam, 2 * np.pi)  # with_cam is a sign
            else:
                kind = self.motion.linkages[end.weight]
                angle = kind.cam(np.mod(turned * end.with_swing, 2 * np.pi))
            angles[:, column] = np.reshape(angle, -1)
        return angles

    def _found_take_ups(self, count: int, end_rad: Array) -> np.ndarray:
        found = np.full((count, 2), np.nan)
        if not self.terms:
            return found
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
            return End(0.0, radius, angle, with_cam=side)
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
        return End(pivot, radius, turn, weight=weight, with_swing=-same_way)

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
    ends = [
        (end.centre + end.arm * np.exp(1j * end.turn_0), None) if end.stands else (end.centre, end)
        for end in (first, second)
    ]
    (centre_1, one), (centre_2, two) = ends
    apart, way = abs(centre_2 - centre_1), np.angle(centre_2 - centre_1)
    square: Array = apart**2
    terms = []
    if one is not None:
        square = square + one.arm**2
        terms.append(_Term(2.0 * apart * one.arm, one.turn_0 - way, one, None))
    if two is not None:
        square = square + two.arm**2
        terms.append(_Term(2.0 * apart * two.arm, two.turn_0 - way - np.pi, two, None))
    if one is not None and two is not None:
        terms.append(_Term(2.0 * one.arm * two.arm, two.turn_0 - one.turn_0, two, one))
    return square, tuple(terms)
