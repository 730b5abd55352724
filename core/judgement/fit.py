"""The most probable values of a docket, given a session's readings and what was known before."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike

from bobweight.core.arrays import Floats
from bobweight.core.docket.docket import Docket
from bobweight.core.frozen import frozen
from bobweight.core.judgement.assume import assume
from bobweight.core.judgement.fit_values import FreeValue, Suspicion, by_triples
from bobweight.core.judgement.objective import Objective, weights
from bobweight.core.judgement.reduce import Reduced, reduce_session
from bobweight.core.mechanics.checks import mechanism_problems
from bobweight.core.problems import BobweightError, Path, Problem
from bobweight.core.record import put, taken_at
from bobweight.core.statistics.least_squares import Cancelled, Minimum, minimise

DETERMINED_BELOW = 0.7
"""A value is determined by the readings if they bring its standard uncertainty below this share of
what it was before (they then hold at least as much as was known before)."""
ALIKE_ABOVE = 0.98
"""Two values whose effects on the readings agree in shape by more than this (cosine) cannot be told
apart by them; only what was known before parts them."""
FELT_ABOVE = 0.5
"""... if the readings feel either at all: its standard uncertainty moves them by this much."""
MOST_ALIKE = 6
FEWEST_READINGS = 4
_STARTS, _FEW_STARTS = 8, 2
_SEED = 20
_TOLERANCE = 1e-6
_HOPELESS = 60.0


@frozen
class Estimate:
    """One fitted value, in its stored unit.

    Attributes
    ----------
    value, u : float
        Estimate and standard uncertainty after the readings.
    state : {'determined', 'not-determined', 'at-limit'}
    before, u_before : float
        What was known without the readings.
    source : {'stated', 'trade', 'range', 'suspected'}
        Where ``u_before`` comes from.
    """

    path: Path
    value: float
    u: float
    unit: str
    state: str
    before: float
    u_before: float
    source: str


@frozen
class FittedReading:
    """How one reading fares: its row in the session, its distance from the fitted curve in units
    of its uncertainty, and the probability that it is a slip."""

    row: int
    distance: float
    slip_probability: float

    @property
    def is_slip(self) -> bool:
        """More likely a slip than not."""
        return self.slip_probability > 0.5


@frozen
class Alike:
    """Two values that the readings cannot tell apart, and the correlation they would have if only
    the readings spoke: near −1 if both act the same way, near +1 if against each other."""

    first: Path
    second: Path
    correlation: float


@frozen(eq=False)
class Fit:
    """A docket fitted to one session of readings.

    Attributes
    ----------
    docket : Docket
        The docket with the fitted values in place.
    """

    docket: Docket
    estimates: tuple[Estimate, ...]
    readings: tuple[FittedReading, ...]
    alike: tuple[Alike, ...]


class FitCancelled(Exception):
    """The caller asked to stop; ``best`` is the best fit so far, or None."""

    def __init__(self, best: Fit | None):
        super().__init__("cancelled")
        self.best = best


def reading_problems(docket: Docket, session: int, reduced: Reduced) -> list[Problem]:
    """What keeps a session from being judged, grave problems first; what is merely blank of the
    mechanism does not."""
    place: Path = ("sessions", session, "readings")
    found = [p.at("mechanism") for p in mechanism_problems(docket.mechanism) if p.grave]
    if assume(docket).known:
        found = []
    used = reduced.used()
    count = int(used.sum())
    if count < FEWEST_READINGS:
        found.append(
            Problem("too-few-readings", place, {"given": count, "needed": FEWEST_READINGS})
        )
    else:
        speed, u_speed = reduced.speed_rpm[used], reduced.u_speed_rpm[used]
        if np.ptp(speed) < 4 * u_speed.max():
            facts = {"low": float(speed.min()), "high": float(speed.max()), "unit": "rev/min"}
            found.append(Problem("readings-all-one-speed", place, facts))
    return found


def reading_advice(session: int, reduced: Reduced, start_rpm: float) -> list[Problem]:
    """What makes readings say little: no advance in any, or advance that falls with speed."""
    place: Path = ("sessions", session, "readings")
    used = reduced.used()
    speed, advance = reduced.speed_rpm[used], reduced.advance_deg[used]
    u = reduced.u_advance_deg[used]
    found = []
    if speed.max(initial=0.0) < start_rpm:
        facts = {"value": float(speed.max()), "limit": start_rpm, "unit": "rev/min"}
        found.append(Problem("readings-all-below-start", place, facts, grave=False))
    if len(speed) >= FEWEST_READINGS:
        slope = np.polyfit(speed - speed.mean(), advance, 1, w=1 / u, cov="unscaled")
        if slope[0][0] < -3.0 * np.sqrt(slope[1][0, 0]):
            found.append(Problem("advance-falls-with-speed", place, {}, grave=False))
    return found


def fit_session(
    docket: Docket,
    session: int = -1,
    reduced: Reduced | None = None,
    *,
    suspicions: tuple[Suspicion, ...] = (),
    near: Docket | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> Fit:
    """The docket's values fitted to a session of readings, with their uncertainties.

    Parameters
    ----------
    session : int
        Index into ``docket.sessions``; −1 is the last.
    reduced : Reduced, optional
        That session, if it is at hand.
    suspicions : tuple of Suspicion
        Values that a likely fault concerns; see :mod:`core.judgement.diagnose`.
    near : Docket, optional
        Values where the readings are known to be met well, as a place to begin at.
    cancelled : callable, optional
        Polled before every batch of residuals.

    Raises
    ------
    BobweightError
        The first of :func:`reading_problems`.
    FitCancelled
        With the best fit so far.
    """
    if not docket.sessions:
        raise BobweightError("no-session", ("sessions",))
    session = session % len(docket.sessions)
    reduced = reduced or reduce_session(docket.sessions[session], docket.particulars)
    for problem in mechanism_problems(docket.mechanism):
        if problem.grave:
            raise BobweightError.of(problem.at("mechanism"))
    for problem in reading_problems(docket, session, reduced):
        raise BobweightError.of(problem)
    objective = Objective(docket, session, reduced, suspicions)
    try:
        starts = _starts(objective, _STARTS if near is None else _FEW_STARTS)
        if near is not None:
            there = [f.of(float(taken_at(near, f.path))) for f in objective.free]
            starts = np.vstack([starts, there])
        found = most_probable(objective, starts, cancelled, _TOLERANCE)
        return fit_at(objective, found.x[0])
    except Cancelled as stop:
        best = stop.best
        raise FitCancelled(None if best is None else fit_at(objective, best.x[best.best])) from None


def most_probable(
    objective: Objective, starts: ArrayLike, cancelled: Callable[[], bool] | None = None,
    tolerance: float = 1e-9,
) -> Minimum:  # fmt: skip
    """The best of several starts, shape (starts, values), roughly at first and then to the end."""
    found = minimise(
        objective.residuals, starts, *objective.bounds, cancelled=cancelled, tolerance=1e-4,
        most_steps=25, hopeless=_HOPELESS,
    )  # fmt: skip
    return minimise(
        objective.residuals, found.x[found.best], *objective.bounds, cancelled=cancelled,
        tolerance=tolerance,
    )  # fmt: skip


def fit_at(objective: Objective, z: Floats) -> Fit:
    """The report of a fit that came to rest at ``z``."""
    slopes = objective.jacobian(z)
    covariance = objective.covariance(z, slopes)
    estimates = tuple(
        _estimate(f, float(z[i]), float(np.sqrt(covariance[i, i])))
        for i, f in enumerate(objective.free)
    )
    distances = objective.distances(z[None])[0]
    slips = objective.slips(z)
    rows = objective.simulator.rows
    readings = tuple(
        FittedReading(int(rows[i]), float(distances[i]), float(slips[i])) for i in range(len(rows))
    )
    return Fit(
        docket=fitted_docket(objective.simulator.docket, estimates),
        estimates=estimates,
        readings=readings,
        alike=_alike(objective, z, slopes),
    )


def fitted_docket(docket: Docket, estimates: tuple[Estimate, ...]) -> Docket:
    """The docket with the estimates in place of its own values."""
    if any(e.path[0] == "capsules" for e in estimates):
        docket = by_triples(docket)
    for e in estimates:
        if e.value != taken_at(docket, e.path):
            docket = put(docket, e.path, e.value)
    return docket


def _starts(objective: Objective, starts: int) -> Floats:
    """The docket's own values, and points spread about them: one in each slice of every value
    (a Latin hypercube, McKay, Beckman and Conover 1979). By numpy alone: to load ``scipy.stats``
    takes longer than the fit."""
    count, random = starts - 1, np.random.default_rng(_SEED)
    slices = random.permuted(np.tile(np.arange(count), (objective.size, 1)), axis=1).T
    drawn = (slices + random.random(slices.shape)) / count
    from statistics import NormalDist  # late: a verdict in words needs no fit

    normal = NormalDist().inv_cdf
    spread = [[normal(min(max(p, 1e-3), 1 - 1e-3)) for p in row] for row in drawn.tolist()]
    return np.vstack([np.zeros(objective.size), np.reshape(spread, drawn.shape)])


def _estimate(f: FreeValue, z: float, u_z: float) -> Estimate:
    low, high = f.bounds
    at_limit = (z <= low or z >= high) and not f.by_share
    state = "determined" if u_z < DETERMINED_BELOW else "not-determined"
    return Estimate(
        path=f.path,
        value=float(f.at(np.array(z))),
        u=float(u_z * f.slope(np.array(z))),
        unit=f.unit,
        state="at-limit" if at_limit and state == "determined" else state,
        before=f.value,
        u_before=f.u_before,
        source=f.source,
    )


def _is_main(path: Path) -> bool:
    """Whether a value is one that the restorer decides by."""
    if path[0] == "sessions":
        return path[-1] in ("mark_error_deg", "tachometer_scale", "lag_ms")
    if path[0] == "capsules":
        return path[-1] != "friction_n"
    return path[-1] in ("rate_n_per_mm", "slack_mm", "stop_deg", "stick_nmm", "mass_g")


def _alike(objective: Objective, z: Floats, slopes: Floats) -> tuple[Alike, ...]:
    """Pairs whose effects on the readings are the same but for their size, with at least one value
    that the restorer decides by; pairs of such values first, then those that matter most."""
    w = weights(objective.distances(z[None])[0])
    effect = np.sqrt(w)[:, None] * slopes
    size = np.linalg.norm(effect, axis=0)
    felt = np.flatnonzero(size > FELT_ABOVE)
    cosine = (effect[:, felt].T @ effect[:, felt]) / np.outer(size[felt], size[felt])
    main = np.array([_is_main(objective.free[i].path) for i in felt], dtype=bool)
    wanted = (np.abs(np.triu(cosine, 1)) >= ALIKE_ABOVE) & (main[:, None] | main)
    pairs = sorted(
        ((felt[a], felt[b], -cosine[a, b], main[a] & main[b]) for a, b in np.argwhere(wanted)),
        key=lambda p: (not p[3], -size[p[0]] * size[p[1]]),
    )
    path = [f.path for f in objective.free]
    return tuple(Alike(path[i], path[j], float(r)) for i, j, r, _ in pairs[:MOST_ALIKE])
