"""A mechanism learnt from one run with known springs: no drawing of the weights needed.

At every reading the balance gives how hard the weights pull, J'(θ) = 2 (U' + T_drag + s T_stick) /
(ω² (1 − s f)). log J' is taken as a smooth curve: a cubic spline through a few knots whose bending
is held back by as much as the readings say (marginal likelihood, integrated over). A reading's
distance from the curve is the orthogonal one, in units of its uncertainties, so that plateaux and
ends count rightly. What all readings share, and what is uncertain of the springs and of friction,
is carried as further unknowns with their own standard uncertainties.
"""

from __future__ import annotations

import numpy as np
import scipy

from bobweight.core.arrays import Floats, Indices
from bobweight.core.design.spread import Uncertain, own_spread
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.mechanism import LEARNED_SHAPES, InertiaKnot, Linkage, Mechanism
from bobweight.core.frozen import frozen
from bobweight.core.judgement.reduce import Reduced, reduce_session
from bobweight.core.mechanics.balance import balance_speeds
from bobweight.core.mechanics.builds import Builds
from bobweight.core.mechanics.checks import mechanism_problems
from bobweight.core.mechanics.learned import PARTS, SHAPES
from bobweight.core.problems import BobweightError, Path, required
from bobweight.core.record import Record, standard_uncertainty, taken

KNOTS = 8
FEWEST_READINGS = 5
LEAST_SPAN = 0.4
"""Of the way to the stop, between the readings of least and of most advance."""
_BEYOND_STOP = 1.15
_CURVE_KNOTS = 160
_FLAT_G_MM2 = 1e4  # the pull that stands in for the unknown one while torques are worked out
_STEP = 0.25  # of a standard uncertainty, for slopes
_BENDING = np.geomspace(0.4, 80.0, 14)  # root mean square of (log J')'' per rad², tried values
_BENDING_USUAL, _BENDING_FACTOR = 6.0, 4.0  # usual size and spread of the same (common practice)
_DIRECTIONS = {"rising": 1.0, "falling": -1.0, "unknown": 0.0}


@frozen
class LearntRun:
    """What a run has taught.

    Attributes
    ----------
    mechanism : Mechanism
        The docket's, with the learnt linkage, and the stick that the run shows.
    relative_u : array, shape (knots,)
        Relative standard uncertainty of J' at each knot of the linkage.
    readings : int array
        Rows of the session that were used.
    distances : array
        Each reading's distance from the curve, in its standard uncertainties.
    scatter : float
        √(χ²/degrees of freedom): about 1 where the readings are as sure as stated.
    """

    mechanism: Mechanism
    relative_u: np.ndarray
    readings: np.ndarray
    distances: np.ndarray
    scatter: float
    stick_nmm: float
    u_stick_nmm: float


def learn(docket: Docket, session: int = -1) -> LearntRun:
    """The mechanism that a session with known springs shows, with its uncertainty.

    Parameters
    ----------
    docket : Docket
        Springs, posts, pegs and stop as they were in the run; weights and linkage are not used.
    session : int
        Which session of readings.

    Raises
    ------
    BobweightError
        ``learned-spring-on-weight``; ``missing`` for a spring's value or the stop;
        ``no-session``; ``learn-too-few-readings``; ``learn-short-span``; ``nothing-holds-back``.
    """
    if not docket.sessions:
        raise BobweightError("no-session", ("sessions",))
    reduced = reduce_session(docket.sessions[session], docket.particulars)
    flat = _flat(docket.mechanism)
    for problem in mechanism_problems(flat):
        if problem.grave:
            raise BobweightError.of(problem.at("mechanism"))
    readings = _Readings(reduced, required(flat.stop_deg, "stop_deg"))
    run = _Run(flat, readings)
    return run.result(docket.mechanism)


def _flat(mechanism: Mechanism) -> Mechanism:
    """The mechanism with an even pull, to work out what the springs do."""
    far = 90.0
    knots = tuple(
        InertiaKnot(cam_deg=d, inertia_slope_g_mm2=_FLAT_G_MM2) for d in (0.0, far / 2, far)
    )
    return mechanism.with_changes(linkage=Linkage(kind="learned", learned=knots))


class _Readings:
    """The readings that are used, scaled by their uncertainties."""

    def __init__(self, reduced: Reduced, stop_deg: float):
        use = reduced.used() & (reduced.speed_rpm > 0)
        self.index = reduced.index[use]
        self.speed, self.advance = reduced.speed_rpm[use], reduced.advance_deg[use]
        self.u_speed, self.u_advance = reduced.u_speed_rpm[use], reduced.u_advance_deg[use]
        self.u_common, self.u_scale = reduced.u_common_deg[use], reduced.u_scale
        self.sense = np.array([_DIRECTIONS[d] for d in reduced.direction[use]])
        sure = 2.0 * self.u_advance
        moving = (self.advance > sure) & (self.advance < stop_deg - sure)
        if moving.sum() < FEWEST_READINGS:
            raise BobweightError("learn-too-few-readings", ("sessions",),
                                 count=int(moving.sum()), least=FEWEST_READINGS)  # fmt: skip
        span = float(np.ptp(self.advance[moving])) / stop_deg
        if span < LEAST_SPAN:
            raise BobweightError("learn-short-span", ("sessions",), share=span, least=LEAST_SPAN)


class _Run:
    """The run's unknowns and how the distances of the readings depend on them.

    Unknowns: log J' at the knots, then what is uncertain besides, in standard uncertainties.
    """

    def __init__(self, flat: Mechanism, readings: _Readings):
        self.flat, self.readings = flat, readings
        self.doubts = (*own_spread(flat, range(len(flat.springs))), *_friction(flat))
        count = len(self.doubts)
        self.stick = next(
            k for k, doubt in enumerate(self.doubts) if doubt.paths[0] == ("stick_nmm",)
        )
        z = np.concatenate([np.zeros((1, count)), _STEP * np.eye(count), -_STEP * np.eye(count)])
        self.curves = [self._curve(sense, z) for sense in (1.0, 0.0, -1.0)]
        self.at_deg = np.linspace(0.0, required(flat.end_deg, "stop_deg") * _BEYOND_STOP, KNOTS)
        self.unknowns = KNOTS + count + 2
        basis = scipy.interpolate.CubicSpline(np.radians(self.at_deg), np.eye(KNOTS))
        fine = np.radians(np.linspace(0.0, self.at_deg[-1], 200))
        bent = basis(fine, 2)
        self.basis, self.bending = basis, bent.T @ bent / len(fine)

    def _curve(self, sense: float, z: Floats) -> tuple[Floats, Floats, Floats, Floats]:
        """Angles and squares of speed under the flat pull, with their slopes in each doubt.

        ``sense`` +1 rising, −1 falling; 0 without friction, for readings of unknown direction.
        """
        varied = {}
        for column, doubt in enumerate(self.doubts):
            values = doubt.value + doubt.u * z[:, column]
            if doubt.paths[0][-1] in ("stick_nmm", "grip"):
                values = values * abs(sense)
            elif doubt.paths[0][-1] in ("slack_mm",):
                values = np.maximum(values, 0.0)
            varied.update({path: values for path in doubt.paths})
        speeds = balance_speeds(Builds(self.flat, varied), _CURVE_KNOTS)
        rpm = speeds.falling_rpm if sense < 0 else speeds.rising_rpm
        theta, square = speeds.theta_rad, rpm**2
        if not square[0].max() > 0:
            raise BobweightError("nothing-holds-back", ("mechanism", "springs"))
        count = len(self.doubts)

        def slopes(values: np.ndarray) -> np.ndarray:
            found: np.ndarray = (values[1 : count + 1] - values[count + 1 :]) / (2 * _STEP)
            return found

        return theta[0], square[0], slopes(theta), slopes(square)

    def polyline(self, sense_index: int, x: Floats) -> tuple[Floats, Floats, Floats, Floats]:
        """Speed and advance of the curve with slopes in every unknown; monotone as a tester sees
        it. Shapes (points,), (points,), (unknowns, points) twice."""
        theta_0, square_0, theta_z, square_z = self.curves[sense_index]
        doubts = slice(KNOTS, KNOTS + len(self.doubts))
        theta = theta_0 + x[doubts] @ theta_z
        at = self.basis(theta)
        square = np.maximum(square_0 + x[doubts] @ square_z, 0.0)
        speed = np.sqrt(square * _FLAT_G_MM2 * np.exp(-(at @ x[:KNOTS])))
        d_speed, d_theta = (
            np.zeros((self.unknowns, len(theta))),
            np.zeros((self.unknowns, len(theta))),
        )
        d_speed[:KNOTS] = -0.5 * speed * at.T
        with np.errstate(divide="ignore", invalid="ignore"):
            share = np.where(square > 0, square_z / (2 * square), 0.0)
        bend = self.basis(theta, 1) @ x[:KNOTS]
        d_speed[doubts] = speed * (share - 0.5 * bend * theta_z)
        d_theta[doubts] = theta_z
        if sense_index == 2:
            source = _last_lowest(speed)
        else:
            source = _first_highest(speed)
        speed, d_speed = speed[source], d_speed[:, source]
        far = max(2.0 * speed[-1], 1.5 * self.readings.speed.max())
        ends = np.zeros((self.unknowns, 1))
        return (
            np.concatenate([[-far], speed, [far]]),
            np.degrees(np.concatenate([theta[:1], theta, theta[-1:]])),
            np.concatenate([ends, d_speed, ends], axis=1),
            np.degrees(np.concatenate([d_theta[:, :1], d_theta, d_theta[:, -1:]], axis=1)),
        )

    def distances(self, x: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Signed distances of the readings, shape (readings,), and slopes (readings, unknowns)."""
        r = self.readings
        distance = np.empty(len(r.speed))
        slope = np.zeros((len(r.speed), self.unknowns))
        scale, common = x[-1], x[-2]
        for index, sense in enumerate((1.0, 0.0, -1.0)):
            rows = np.flatnonzero(r.sense == sense)
            if not len(rows):
                continue
            speed, theta, d_speed, d_theta = self.polyline(index, x)
            across = (r.speed * (1 + r.u_scale * scale))[rows] / r.u_speed[rows]
            up = (r.advance + r.u_common * common)[rows] / r.u_advance[rows]
            px = speed[None] / r.u_speed[rows, None]
            py = theta[None] / r.u_advance[rows, None]
            a, b = (px[:, :-1], py[:, :-1]), (px[:, 1:], py[:, 1:])
            dx, dy = b[0] - a[0], b[1] - a[1]
            length2 = dx**2 + dy**2
            with np.errstate(divide="ignore", invalid="ignore"):
                share = ((across[:, None] - a[0]) * dx + (up[:, None] - a[1]) * dy) / length2
            share = np.where(length2 > 0, np.clip(share, 0.0, 1.0), 0.0)
            off_x = across[:, None] - a[0] - share * dx
            off_y = up[:, None] - a[1] - share * dy
            nearest = (off_x**2 + off_y**2).argmin(axis=1)
            pick = np.arange(len(rows)), nearest
            off_x, off_y, share = off_x[pick], off_y[pick], share[pick]
            size = np.hypot(off_x, off_y)
            length = np.sqrt(np.maximum(length2[pick], 1e-300))
            normal_x, normal_y = -dy[pick] / length, dx[pick] / length
            sign = np.where(off_x * normal_x + off_y * normal_y >= 0, 1.0, -1.0)
            with np.errstate(divide="ignore", invalid="ignore"):  # round corners, by the ray itself
                normal_x = np.where(size > 1e-9, off_x / size * sign, normal_x)
                normal_y = np.where(size > 1e-9, off_y / size * sign, normal_y)
            distance[rows] = sign * size

            def moved(d: Floats, nearest: Indices = nearest, share: Floats = share) -> Floats:
                found: np.ndarray = d[:, nearest] * (1 - share) + d[:, nearest + 1] * share
                return found

            part = -(normal_x / r.u_speed[rows]) * moved(d_speed)
            part -= (normal_y / r.u_advance[rows]) * moved(d_theta)
            slope[rows] = part.T
            slope[rows, -2] += normal_y * r.u_common[rows] / r.u_advance[rows]
            slope[rows, -1] += normal_x * r.speed[rows] * r.u_scale / r.u_speed[rows]
        return distance, slope

    def first_guess(self) -> np.ndarray:
        """log J' even over the whole travel, by the readings that move."""
        r = self.readings
        theta, square, *_ = self.curves[1]
        at = np.interp(np.radians(r.advance), theta, square)
        good = (at > 0) & (r.advance > 0) & (np.radians(r.advance) < theta[-1])
        level = np.median(np.log(at[good] * _FLAT_G_MM2 / r.speed[good] ** 2))
        x = np.zeros(self.unknowns)
        x[:KNOTS] = level
        return x

    def fit(self, x: np.ndarray, bending: float) -> tuple[np.ndarray, np.ndarray, float]:
        """The likeliest unknowns for an allowed bending, their covariance, and the logarithm of
        the marginal likelihood (Laplace) less a constant."""
        held = np.zeros((self.unknowns, self.unknowns))
        held[:KNOTS, :KNOTS] = (KNOTS - 2) * self.bending / bending**2
        held[KNOTS:, KNOTS:] = np.eye(self.unknowns - KNOTS)
        damping = 1e-3
        distance, slope = self.distances(x)
        worth = distance @ distance + x @ held @ x
        for _ in range(40):
            normal = slope.T @ slope + held
            step = np.linalg.solve(
                normal + damping * np.diag(np.diag(normal) + 1e-9), -(slope.T @ distance + held @ x)
            )
            tried = x + step
            tried_distance, tried_slope = self.distances(tried)
            tried_worth = tried_distance @ tried_distance + tried @ held @ tried
            if tried_worth <= worth:
                done = worth - tried_worth < 1e-7 * (1 + worth)
                x, distance, slope, worth = tried, tried_distance, tried_slope, tried_worth
                damping = max(damping / 5, 1e-9)
                if done:
                    break
            else:
                damping *= 8
                if damping > 1e6:
                    break
        normal = slope.T @ slope + held
        # the bending matrix has rank knots − 2: its determinant goes with bending to that power
        evidence = -0.5 * worth - 0.5 * np.linalg.slogdet(normal)[1] - (KNOTS - 2) * np.log(bending)
        return x, np.linalg.inv(normal), float(evidence)

    def result(self, mechanism: Mechanism) -> LearntRun:
        """The fit averaged over how much log J' may bend."""
        x, fits = self.first_guess(), []
        for bending in _BENDING:
            x, covariance, evidence = self.fit(x, bending)
            fits.append((x, covariance, evidence))
        usual = np.log(_BENDING / _BENDING_USUAL) / np.log(_BENDING_FACTOR)
        weight = np.array([evidence for *_, evidence in fits]) - 0.5 * usual**2
        weight = np.exp(weight - weight.max())
        weight /= weight.sum()
        mean = sum(w * x for w, (x, *_) in zip(weight, fits, strict=True))
        covariance = sum(
            w * (c + np.outer(x - mean, x - mean))
            for w, (x, c, _) in zip(weight, fits, strict=True)
        )
        distance, _ = self.distances(mean)
        free = len(distance) - KNOTS
        scatter = float(np.sqrt(distance @ distance / free)) if free > 0 else float("nan")
        covariance *= max(1.0, scatter**2) if np.isfinite(scatter) else 1.0
        doubt = self.doubts[self.stick]
        k = KNOTS + self.stick
        stick = float(max(doubt.value + doubt.u * mean[k], 0.0))
        u_stick = float(doubt.u * np.sqrt(covariance[k, k]))
        of_pull = covariance[:KNOTS, :KNOTS]
        return LearntRun(
            mechanism=_taught(mechanism, self.at_deg, mean[:KNOTS], of_pull, stick, u_stick),
            relative_u=np.sqrt(np.diag(of_pull)),
            readings=self.readings.index,
            distances=distance,
            scatter=scatter,
            stick_nmm=stick,
            u_stick_nmm=u_stick,
        )


def _friction(mechanism: Mechanism) -> tuple[Uncertain, ...]:
    """Slack of the springs, drag, stick and grip as the docket has them."""
    places: list[tuple[Path, Record, str]] = [
        (("springs", i), s, "slack_mm")
        for i, s in enumerate(mechanism.springs)
        if s.slack_taken_mm > 0
    ]
    places += [((), mechanism, key) for key in ("heel_drag_nmm", "stick_nmm", "grip")]
    found = []
    for place, owner, key in places:
        value, u = taken(owner, key), standard_uncertainty(owner, key)
        if u is not None and (key in owner.u or value > 0 or key == "stick_nmm"):
            # a drag or grip of zero that nobody has doubted is left at zero
            found.append(Uncertain(((*place, key),), value, u, 0.0, np.inf, "trade"))
    return tuple(found)


def _taught(
    mechanism: Mechanism,
    at_deg: np.ndarray,
    logarithm: np.ndarray,
    covariance: np.ndarray,
    stick: float,
    u_stick: float,
) -> Mechanism:
    """The mechanism with the learnt linkage; the covariance as independent parts."""
    size, ways = np.linalg.eigh(covariance)
    parts = ways[:, ::-1] * np.sqrt(np.maximum(size[::-1], 0.0))
    knots = tuple(
        InertiaKnot(
            cam_deg=float(at),
            inertia_slope_g_mm2=float(np.exp(value)),
            **{key: float(row[k]) for k, key in enumerate(PARTS[:LEARNED_SHAPES])},
        )
        for at, value, row in zip(at_deg, logarithm, parts, strict=True)
    )
    linkage = mechanism.linkage.with_changes(
        kind="learned", learned=knots, **dict.fromkeys(SHAPES, 0.0)
    )
    u = {**mechanism.u, "stick_nmm": max(u_stick, 1e-6)}
    return mechanism.with_changes(linkage=linkage, stick_nmm=stick, u=u)


def _first_highest(speed: np.ndarray) -> np.ndarray:
    """For each point the one before it, or itself, whose speed is the running maximum."""
    highest = np.maximum.accumulate(speed)
    index = np.where(speed >= highest, np.arange(len(speed)), 0)
    return np.maximum.accumulate(index)


def _last_lowest(speed: np.ndarray) -> np.ndarray:
    """For each point the one after it, or itself, whose speed is the running minimum."""
    return (len(speed) - 1 - _first_highest(-speed[::-1]))[::-1]
