"""What is blank in a docket, taken as usual in the trade: blank is unknown, not missing.

:func:`assume` fills every value that the curve needs, each with how far it may be off. Spring
rates and lengths that are blank are solved for a curve of the usual shape, or of the table's, so
that what is assumed hangs together. All figures are common practice.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field, replace
from functools import lru_cache

import numpy as np

from bobweight.core.arrays import Floats
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.mechanism import (
    COUNT,
    LINKAGE_TABLES,
    Linkage,
    Mechanism,
    Spring,
    Weights,
)
from bobweight.core.docket.setting_up import SettingUp
from bobweight.core.docket.target import Target
from bobweight.core.frozen import frozen
from bobweight.core.judgement.compare import Bands, bands
from bobweight.core.mechanics.assumed import SPREADS
from bobweight.core.mechanics.balance import RPM_PER_RAD_S, Balance, balance_speeds
from bobweight.core.mechanics.branches import curves
from bobweight.core.mechanics.builds import Builds
from bobweight.core.mechanics.checks import figures_in_use, mechanism_problems, table_problems
from bobweight.core.mechanics.linkage import linkage_class
from bobweight.core.mechanics.places import spring_needs
from bobweight.core.mechanics.typical import (
    USUAL_RATES,
    USUAL_RATIO,
    USUAL_ROLES,
    USUAL_STOP_DEG,
    USUAL_WEIGHTS,
    usual_places,
    usual_role,
)
from bobweight.core.problems import Path, required
from bobweight.core.record import get, is_assumed, parameter_at, put, taken_at
from bobweight.core.statistics.robust import median

START_RPM, KNEE_RPM, FULL_RPM, FULL_DEG = 425.0, 700.0, 1700.0, USUAL_STOP_DEG
"""Where a usual curve starts, bends and ends; distributor figures."""
KNEE_SHARE, _U_KNEE_SHARE = 0.42, 0.2
"""Advance at which the secondary takes up, as a share of the whole."""
_KNEES_TRIED = (0.15, 0.22, 0.29, 0.36, KNEE_SHARE, 0.5, 0.6)
_LEAST_ROWS = 3  # of a table that tells where its knee is
_U_LOG_RATE = 0.6  # of the springs of all makes
SPREAD_SHARE, LEAST_HALF_DEG = 0.5, 0.3
"""Standard deviation of a sound unit about the middle of a band, as a share of its half-width
(common practice: makers' bands hold nineteen units in twenty), which is taken as no less."""
_KNOTS, _NO_CURVE = 30, 1e6
UNSTATED_FACTOR = 2.0
"""How much less sure a figure is whose uncertainty nobody stated, against a careful hand's."""
_U_WEIGHTS = {
    "usual": {"mass_g": 0.5, "pivot_radius_mm": 0.2, "cg_mm": 0.25},
    "light": {"mass_g": 0.3, "pivot_radius_mm": 0.2, "cg_mm": 0.25},
    "heavy": {"mass_g": 0.4, "pivot_radius_mm": 0.2, "cg_mm": 0.25},
}
_U_REST_DEG = 15.0
_U_RATIO = 0.25
_U_RADIUS, _U_ANGLE_DEG = 0.03, 2.0
_RADII = np.linspace(0.6, 1.6, 81)  # times the usual ones, of places that a known spring may have
_TURNS_DEG = np.linspace(-40.0, 40.0, 81)
_SLACK_MM, _U_SLACK_MM = 1.0, 0.6
_CLIMBS_DEG = 1.0  # between a table's last two rows, from which it is not level there
_U_STRETCH = 0.5  # share of the stretch at rest
_U_RATE = 0.5
_FRICTION_SHARE = 0.05
_REACH_TRIED = [sign * 0.25 * step for step in range(1, 17) for sign in (1, -1)]
_G_MM2_RAD_S2 = 1e-6


@frozen
class Known:
    """How well a value that nobody stated is known: ``u`` in its unit, or of the logarithm of its
    distance from ``origin``."""

    u: float
    by_share: bool
    origin: float = 0.0


@frozen(eq=False)
class Assumed:
    """A mechanism without blanks.

    Attributes
    ----------
    mechanism : Mechanism
        With what is blank filled in; of the internal linkage kind ``assumed`` where weights or
        linkage are not all known.
    known : mapping of Path to Known
        By path inside the mechanism: the values that were filled in.
    paths : tuple of Path
        Fields of the docket that were blank and are shown as assumed.
    """

    mechanism: Mechanism
    known: Mapping[Path, Known] = field(default_factory=dict)
    paths: tuple[Path, ...] = ()

    @property
    def nothing_known(self) -> bool:
        """Whether not a single spring's rate or place is known: shares of the torque are all that
        can be told."""
        return all(("springs", i, "rate_n_per_mm") in self.known
                   for i in range(len(self.mechanism.springs)))  # fmt: skip


def assume(docket: Docket) -> Assumed:
    """The docket's mechanism with its blanks filled in; of weights that nobody counted as many as
    most units have."""
    stamped = docket.particulars.stamped_maximum_deg
    return _assume(docket.mechanism, docket.target, docket.particulars.ratio_taken,
                   docket.setting_up.static_deg, stamped)  # fmt: skip


@lru_cache(maxsize=16)
def _assume(
    mechanism: Mechanism, target: Target, drive_ratio: float, static_deg: float | None,
    stamped_deg: float | None,
) -> Assumed:  # fmt: skip
    if not is_assumed(mechanism.weights, "count"):
        return _filled(mechanism, target, drive_ratio, static_deg, stamped_deg)
    counted = mechanism.weights.with_changes(count=mechanism.weights.count_taken)
    found = _filled(mechanism.with_changes(weights=counted), target, drive_ratio, static_deg,
                    stamped_deg)  # fmt: skip
    if not (linkage_class(mechanism).weight_needs
            or any(spring.hangs_on_weight for spring in mechanism.springs)):  # fmt: skip
        return found  # nothing hangs on how many there are
    return replace(found, paths=(COUNT, *found.paths))


def _filled(
    mechanism: Mechanism, target: Target, drive_ratio: float, static_deg: float | None,
    stamped_deg: float | None,
) -> Assumed:  # fmt: skip
    missing = [p for p in mechanism_problems(mechanism) if p.grave]
    if len(missing) == 1 and missing[0].code in ROUGH:
        return _within_reach(mechanism)
    if any(p.code not in BLANK for p in missing) or not missing:
        return Assumed(mechanism)
    asked = _asked(target, drive_ratio, static_deg)
    shares = _KNEES_TRIED if len(_middles(asked)[0]) >= _LEAST_ROWS else (KNEE_SHARE,)
    tried = [_Filling(mechanism, asked, stamped_deg, share).result() for share in shares]
    return tried[int(np.argmin(_unlikely(tried, np.array(shares), asked)))]


def _unlikely(tried: list[Assumed], shares: Floats, asked: Bands) -> Floats:
    """How far mechanisms filled in for several knees miss the table's middles, and how unusual the
    knee and what was assumed of the springs are: sums of squares, in spreads."""
    found = np.square((shares - KNEE_SHARE) / _U_KNEE_SHARE)
    values = {
        path: np.array([taken_at(t.mechanism, path) for t in tried])
        for path in (("heel_drag_nmm",), ("stick_nmm",), *_spring_paths(tried[0].mechanism))
    }
    if len(tried) == 1 or all(np.ptp(v) == 0.0 for v in values.values()):
        return found
    for path in set(tried[0].known) & {p for p in values if p[-1] == "rate_n_per_mm"}:
        usual = USUAL_RATES[usual_role(tried[0].mechanism.springs[int(path[1])])]
        found += np.square(np.log(values[path] / usual) / _U_LOG_RATE)
    speed, middle, half = _middles(asked)
    table = curves(balance_speeds(Builds(tried[0].mechanism, values), _KNOTS))
    off = 0.5 * (table.at(speed, "rising") + table.at(speed, "falling")) - middle
    off /= SPREAD_SHARE * np.maximum(half, LEAST_HALF_DEG)
    return np.asarray(found + np.nan_to_num(np.sum(np.square(off), axis=1), nan=_NO_CURVE))


def _within_reach(mechanism: Mechanism) -> Assumed:
    """A mechanism whose linkage, as rough figures have it, ends short of the stop: with that figure
    of it put right that has to move least, in its uncertainty; as it is where more than roughness
    parts them."""
    figures = [
        (place, float(get(mechanism, place)), _u_of(mechanism, place))
        for place in figures_in_use(mechanism)
        if place[0] in ("weights", "linkage") and place != ("weights", "mass_g")
        and parameter_at(mechanism, place).uncertain
    ]  # fmt: skip
    for z in _REACH_TRIED:
        for place, value, u in figures:
            moved = put(mechanism, place, value + z * u)
            if not any(p.grave for p in mechanism_problems(moved)):
                return Assumed(moved, {place: Known(u, False)})
    return Assumed(mechanism)


def _u_of(mechanism: Mechanism, place: Path) -> float:
    parameter = parameter_at(mechanism, place)
    stated = get(mechanism, place[:-1]).u.get(str(place[-1]))
    return float(stated or UNSTATED_FACTOR * (parameter.trade_u or 0.0))


ROUGH = ("linkage-short-of-stop",)
"""What figures measured roughly may contradict each other in, and be judged all the same."""
BLANK = ("missing", "no-springs", "measured-too-few", "not-learned-yet")
"""What is told of figures that are not there; anything else is of figures that cannot be."""


def _asked(target: Target, drive_ratio: float, static_deg: float | None) -> Bands:
    docket = Docket(target=target, setting_up=SettingUp(static_deg=static_deg))
    particulars = docket.particulars.with_changes(drive_ratio=drive_ratio)
    return bands(docket.with_changes(particulars=particulars), 0.0)


@frozen
class Wish:
    """Speeds and advances at which a curve starts, bends and ends; distributor figures."""

    start_rpm: float
    knee_rpm: float
    full_rpm: float
    knee_deg: float
    full_deg: float


def _middles(asked: Bands) -> tuple[Floats, Floats, Floats]:
    """Speed, middle and half-width of the check points with both limits, by rising speed."""
    check = np.array([k == "check" for k in asked.kind], bool)
    both = check & np.isfinite(asked.low_deg) & np.isfinite(asked.high_deg)
    order = np.flatnonzero(both)[np.argsort(asked.where[both], kind="stable")]
    low, high = asked.low_deg[order], asked.high_deg[order]
    return asked.where[order], 0.5 * (low + high), 0.5 * (high - low)


def wished(asked: Bands, stop_deg: float | None, knee_share: float = KNEE_SHARE) -> Wish:
    """The curve that a table's middles draw, or the usual one."""
    speed, middle, _ = _middles(asked)
    middle = np.maximum.accumulate(middle)
    top = float(middle[-1]) if len(middle) and middle[-1] > 1.0 else FULL_DEG
    full_deg = stop_deg or top
    starts = asked.where[[k == "start" for k in asked.kind]]
    if len(speed) < 2 or middle[-1] <= 1.0:  # too little of a curve
        start = float(starts[0]) if len(starts) else START_RPM
        return Wish(start, start * KNEE_RPM / START_RPM, start * FULL_RPM / START_RPM,
                    knee_share * full_deg, full_deg)  # fmt: skip
    rising = np.flatnonzero(middle > 0.5)
    first = int(rising[0])
    if len(starts) and starts[0] < speed[first]:
        start = float(starts[0])
    elif first > 0:
        start = 0.5 * float(speed[first - 1] + speed[first])
    else:
        start = 0.75 * float(speed[0])
    reached = np.flatnonzero(middle >= top - 0.3)
    full = float(speed[int(reached[0])])
    xs = np.concatenate([[start], speed[(speed > start) & (speed <= full)]])
    ys = np.concatenate([[0.0], middle[(speed > start) & (speed <= full)]])
    if _climbs_on(asked) and full_deg > top:  # as it climbed last
        full += (full_deg - top) * float((speed[-1] - speed[-2]) / (middle[-1] - middle[-2]))
        xs, ys = np.append(xs, full), np.append(ys, full_deg)
    knee_deg = knee_share * full_deg
    knee = float(np.interp(knee_deg, np.maximum.accumulate(ys), xs))
    knee = min(max(knee, 1.1 * start), 0.9 * max(full, 1.3 * start))
    return Wish(start, knee, max(full, 1.3 * start, knee / 0.9), knee_deg, full_deg)


def _climbs_on(asked: Bands) -> bool:
    """Whether a table ends before its curve is level, so that the stop lies beyond its last row."""
    _, middle, _ = _middles(asked)
    return len(middle) > 1 and float(middle[-1] - middle[-2]) > _CLIMBS_DEG


_PLACE = ("post_radius_mm", "post_angle_deg", "peg_radius_mm", "peg_angle_deg")
_CHANGED = ("rate_n_per_mm", "free_length_mm", "slack_mm", *_PLACE)


def _spring_paths(m: Mechanism) -> list[Path]:
    """Figures of the springs that are filled in according to the knee, of those they have."""
    return [("springs", i, key) for i, s in enumerate(m.springs) for key in _CHANGED
            if getattr(s, key) is not None]  # fmt: skip


def _place_of(spring: Spring) -> dict[str, float | None]:
    return {key: getattr(spring, key) for key in _PLACE}


def _along(balance: Balance, index: int, theta: Floats) -> tuple[Floats, Floats]:
    """Length of a spring in mm at cam angles of shape (1, 1, angles), and what it grows by for a
    radian, each of shape (builds, angles)."""
    path, step = balance.paths[index], 1e-5
    here, beside = (
        np.asarray(path.length_mm(at, balance.motion.at(at)))[:, 0] for at in (theta, theta + step)
    )
    return here, (beside - here) / step


class _Filling:
    """One mechanism being filled in."""

    def __init__(
        self, mechanism: Mechanism, asked: Bands, stamped_deg: float | None,
        knee_share: float = KNEE_SHARE,
    ):  # fmt: skip
        self.mechanism, self.asked, self.knee_share = mechanism, asked, knee_share
        self.lengths_known = [s.free_length_mm is not None for s in mechanism.springs]
        self.known: dict[Path, Known] = {}
        self.paths: list[Path] = []
        self.stamped_deg = stamped_deg

    def result(self) -> Assumed:
        m = self.mechanism
        has_table = any(k == "check" for k in self.asked.kind)
        stop = m.stop_deg
        self.wish = wished(self.asked, stop or self.stamped_deg, self.knee_share)
        if stop is None:
            climbs = not has_table or _climbs_on(self.asked)
            u = 0.05 if self.stamped_deg else 0.22 if climbs else 0.15
            self._note(("stop_deg",), Known(u, True))
            stop = self.wish.full_deg
        weights, linkage = self._weights(m), self._linkage(m)
        springs = m.springs or tuple(Spring(role=role) for role in USUAL_ROLES)
        blank = [self._blank(i, s) for i, s in enumerate(springs)]
        placed = tuple(self._placed(i, s) for i, s in enumerate(springs))
        m = m.with_changes(weights=weights, linkage=linkage, springs=placed, stop_deg=stop)
        m = self._solved(m, blank)
        return Assumed(self._friction(m), dict(self.known), tuple(self.paths))

    def _note(self, path: Path, known: Known, shown: bool = True) -> None:
        self.known[path] = known
        if shown:
            self.paths.append(("mechanism", *path))

    def _weights(self, m: Mechanism) -> Weights:
        changes: dict[str, float] = {}
        usual = USUAL_WEIGHTS[m.weights.build]
        for key, u in _U_WEIGHTS[m.weights.build].items():
            if getattr(m.weights, key) is None:
                changes[key] = usual[key]
                self._note(("weights", key), Known(u, True))
        if m.weights.rest_angle_deg is None:
            changes["rest_angle_deg"] = usual["rest_angle_deg"]
            self._note(("weights", "rest_angle_deg"), Known(_U_REST_DEG, False))
        return m.weights.with_changes(**changes)

    def _linkage(self, m: Mechanism) -> Linkage:
        kind = linkage_class(m)
        needs = [k for k in kind.needs if getattr(m.linkage, k) is None]
        weights_known = all(getattr(m.weights, k) is not None for k in kind.weight_needs)
        if table_problems(m):
            needs.append(LINKAGE_TABLES[m.linkage.kind])
        if not needs and weights_known:
            return m.linkage
        for key in needs:
            self.paths.append(("mechanism", "linkage", key))
        ratio = m.linkage.ratio if m.linkage.kind == "constant" else None
        if ratio is None:
            self._note(("linkage", "ratio"), Known(_U_RATIO, True), shown=False)
        for index in range(len(SPREADS)):
            self._note(("linkage", f"shape_{index + 1}"), Known(1.0, False), shown=False)
        return Linkage(kind="assumed", ratio=ratio or USUAL_RATIO, u=m.linkage.u)

    def _blank(self, index: int, spring: Spring) -> set[str]:
        """Which of rate and free length are blank."""
        return {k for k in ("rate_n_per_mm", "free_length_mm") if getattr(spring, k) is None}

    def _placed(self, index: int, spring: Spring) -> Spring:
        """The spring with a place; on the cam foot, if its place on a weight is not known."""
        keys = _PLACE
        asked = [k for k in spring_needs(spring) if k not in ("rate_n_per_mm", "free_length_mm")]
        if all(getattr(spring, k) is not None for k in asked):
            return spring
        missing = [k for k in keys if getattr(spring, k) is None]
        changes: dict[str, object] = {}
        if spring.hangs_on_weight or spring.given_by != "polar":
            between = (spring.post_on, spring.peg_on) == ("plate", "cam")  # radii are the same then
            let_be = [k for k in keys if not between or k.endswith("angle_deg")]
            changes = {"post_on": "plate", "peg_on": "cam", "given_by": "polar",
                       **{k: None for k in let_be}}  # fmt: skip
            missing = [k for k in keys if k in missing or k in let_be]
        usual = usual_places(spring.with_changes(**changes), usual_role(spring))
        post = spring.post_angle_deg if "post_angle_deg" not in missing else None
        peg = spring.peg_angle_deg if "peg_angle_deg" not in missing else None
        for key in missing:
            value = usual[key]
            if key == "peg_angle_deg" and post is not None:
                value = post + usual["peg_angle_deg"] - usual["post_angle_deg"]
            if key == "post_angle_deg" and peg is not None:
                value = peg - usual["peg_angle_deg"] + usual["post_angle_deg"]
            changes[key] = value
            radius = key.endswith("radius_mm")
            self._note(
                ("springs", index, key), Known(_U_RADIUS if radius else _U_ANGLE_DEG, radius),
                shown=getattr(spring, key) is None,
            )  # fmt: skip
        return spring.with_changes(**changes)

    def _solved(self, m: Mechanism, blank: list[set[str]]) -> Mechanism:
        """Rates and lengths that are blank, for the curve wished."""
        springs = list(m.springs)
        light = [i for i, s in enumerate(springs) if s.role == "primary"] or [0]
        heavy = [i for i in range(len(springs)) if i not in light]
        w = self.wish
        theta = np.radians([0.0, w.knee_deg, w.full_deg]).reshape(1, 1, -1)
        speed = np.array([w.start_rpm, w.knee_rpm, w.full_rpm]) / RPM_PER_RAD_S
        stand_in = m.with_changes(springs=tuple(
            s.with_changes(rate_n_per_mm=s.rate_n_per_mm or 1.0, free_length_mm=s.free_length_mm
                           or 20.0) for s in springs))  # fmt: skip
        balance = Balance(Builds(stand_in))
        swing = balance.motion.at(theta)
        pull = np.broadcast_to(balance.motion.inertia_slope(theta, swing), theta.shape)[0, 0]
        asked = 0.5 * speed**2 * np.nan_to_num(pull, nan=1e4) * _G_MM2_RAD_S2

        stand_in = self._stretched(stand_in, springs, light, theta, asked)
        balance = Balance(Builds(stand_in))
        springs = [s.with_changes(**_place_of(put)) for s, put in zip(springs, stand_in.springs,
                                                                      strict=True)]  # fmt: skip

        held = np.zeros(3)
        for group, share in ((light, asked), (heavy, None)):
            wanted = share if share is not None else np.maximum(asked - held, 0.02 * asked)
            for i in group:
                length, arm = (each[0] for each in _along(balance, i, theta))
                role = "primary" if group is light else "secondary"
                springs[i] = self._spring(i, springs[i], blank[i], role, length, arm,
                                          wanted / len(group))  # fmt: skip
                s = springs[i]
                stretch = length - required(s.free_length_mm) - s.slack_taken_mm
                pull = s.tension_taken_n + required(s.rate_n_per_mm) * stretch
                force = np.where(stretch > 0, pull, 0.0)
                held = held + force * arm
        self.torque = float(median(asked))
        return m.with_changes(springs=tuple(springs))

    def _stretched(
        self, m: Mechanism, springs: list[Spring], light: list[int], theta: Floats, asked: Floats
    ) -> Mechanism:  # fmt: skip
        """Places that are blank of springs whose length is known: where they are stretched as the
        curve wished asks, a primary at rest, any other so that it is taken up at the knee."""
        for i, known in enumerate(self.lengths_known):
            keys = [k for k in _PLACE if ("springs", i, k) in self.known]
            radii = [k for k in keys if k.endswith("radius_mm")]
            moved = radii or keys[:1]
            if not known or not moved:
                continue
            s = springs[i]
            by = _RADII if radii else _TURNS_DEG
            tried = {k: getattr(s, k) * by if radii else getattr(s, k) + by for k in moved}
            balance = Balance(Builds(m, {("springs", i, k): v for k, v in tried.items()}))
            length, arm = _along(balance, i, theta)
            free, arm = required(s.free_length_mm) + s.slack_taken_mm, np.maximum(arm, 1e-3)
            if i in light:
                force = asked / len(light) / arm
                grown = np.maximum(length[:, 1] - length[:, 0], 0.2)
                rate = s.rate_n_per_mm or np.maximum((force[:, 1] - force[:, 0]) / grown, 0.05)
                stretch = np.maximum((force[:, 0] - s.tension_taken_n) / rate, 0.0)
                off, u_mm = length[:, 0] - free - stretch, _U_STRETCH * np.maximum(stretch, 0.3)
            else:
                off, u_mm = length[:, 1] - free, np.full(len(by), _U_SLACK_MM)
            best = int(np.argmin(np.abs(off) + 1e-3 * np.abs(np.arange(len(by)) - len(by) // 2)))
            slope = np.abs(np.gradient(length[:, 0], np.log(by) if radii else by))[best]
            least, most = (0.002, 0.12) if radii else (0.2, 15.0)
            u = float(np.clip(u_mm[best] / max(slope, 1e-3) / np.sqrt(len(moved)), least, most))
            for k in moved:
                self.known["springs", i, k] = Known(u, bool(radii))
            place = {k: float(v[best]) for k, v in tried.items()}
            m = m.with_changes(springs=tuple(
                put.with_changes(**place) if j == i else put for j, put in enumerate(m.springs)
            ))  # fmt: skip
        return m

    def _spring(
        self, i: int, s: Spring, blank: set[str], role: str, length: np.ndarray, arm: np.ndarray,
        wanted: np.ndarray,
    ) -> Spring:  # fmt: skip
        if not blank:
            return s
        rate, free = s.rate_n_per_mm, s.free_length_mm
        arm = np.where(np.abs(arm) > 1e-3, arm, 1e-3)
        slack = s.slack_taken_mm
        if role == "primary":
            force = wanted / arm
            if rate is None and free is None:
                grown = max(float(length[1] - length[0]), 0.2)
                rate = max(float(force[1] - force[0]) / grown, 0.1 * USUAL_RATES[role])
            elif rate is None:
                rate = float(force[1]) / max(float(length[1]) - required(free) - slack, 0.2)
            rate = float(np.clip(rate, 0.05, 60.0))
            if free is None:
                free = float(length[0]) - slack - float(force[0]) / rate
        else:
            if free is None and s.slack_mm is None:
                slack = _SLACK_MM
                self._note(("springs", i, "slack_mm"), Known(_U_SLACK_MM, False))
            taken_up = float(length[1]) if free is None else free + slack
            if free is None:
                free = taken_up - slack
            if rate is None:
                rate = float(wanted[2] / arm[2]) / max(float(length[2]) - taken_up, 0.3)
            rate = float(np.clip(rate, 0.05, 60.0))
        if "rate_n_per_mm" in blank:
            self._note(("springs", i, "rate_n_per_mm"), Known(_U_RATE, True))
        if "free_length_mm" in blank:
            tight = role == "primary" and float(length[0]) - free > 0.05
            known = Known(_U_STRETCH, True, float(length[0])) if tight else Known(0.2, False)
            self._note(("springs", i, "free_length_mm"), known)
        free = float(np.clip(free, 1.0, 300.0))
        return s.with_changes(rate_n_per_mm=rate, free_length_mm=free, slack_mm=slack)

    def _friction(self, m: Mechanism) -> Mechanism:
        """Drag and stick in proportion to the unit, where nobody stated them."""
        changes = {}
        for key in ("heel_drag_nmm", "stick_nmm"):
            if getattr(m, key) is None:
                changes[key] = _FRICTION_SHARE * self.torque
                self._note((key,), Known(0.6, True))
        return m.with_changes(**changes)
