"""The findings record judged: each row against its limits, and what wear costs at the crank.

A row is pass, borderline, fail or not measured by :func:`core.bench.limits.judged`. What a hand
sets (gap, dwell, contact spring, end float) is judged by the unit's own figures, nominal ±
tolerance or a range; where only the usual range is known it is shown beside it and not judged.
Side play and uneven lobes are turned into scatter of the spark by :mod:`core.bench.play`.
"""

from __future__ import annotations

from dataclasses import replace
from math import inf

import numpy as np

from bobweight.core.bench.leakdown import leak_down
from bobweight.core.bench.limits import State, judged
from bobweight.core.bench.play import Scatter, combined, lobe_spacing, side_play_scatter
from bobweight.core.bench.points import ContactCam, calibrated
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.findings import FindingLimits, Findings
from bobweight.core.docket.points import Points
from bobweight.core.frozen import frozen
from bobweight.core.problems import BobweightError, Path, Problem
from bobweight.core.record import is_assumed, parameters, standard_uncertainty
from bobweight.core.statistics.robust import median

SCATTER_GOOD_DEG = 1.0
SCATTER_REJECT_DEG = 3.0
"""Timing scatter at the crank, ± degrees: good up to the first, to be rejected above the second
(common practice)."""

_DWELL_DEG = {1: (150.0, 200.0), 4: (45.0, 63.0), 6: (33.0, 42.0), 8: (26.0, 32.0)}
_DWELL_SHARE = (0.50, 0.70)  # of the sector, for other numbers of lobes
_GAP_MM = (0.25, 0.65)
"""Usual ranges (common practice); nothing is judged by them."""

_LIMITS: dict[str, tuple[str | None, str | None]] = {
    "side_play_mm": (None, "side_play_most_mm"),
    "end_float_mm": ("end_float_least_mm", "end_float_most_mm"),
    "gap_mm": ("gap_least_mm", "gap_most_mm"),
    "dwell_deg": ("dwell_least_deg", "dwell_most_deg"),
    "dwell_change_deg": (None, "dwell_change_most_deg"),
    "dwell_vacuum_change_deg": (None, "dwell_vacuum_change_most_deg"),
    "spring_n": ("spring_least_n", "spring_most_n"),
    "condenser_uf": ("condenser_least_uf", "condenser_most_uf"),
    "insulation_mohm": ("insulation_least_mohm", None),
    "earth_drop_v": (None, "earth_drop_most_v"),
    "rotor_kohm": ("rotor_least_kohm", "rotor_most_kohm"),
    "weight_difference_g": (None, "weight_difference_most_g"),
    "pivot_clearance_mm": (None, "pivot_clearance_most_mm"),
}
_NOMINAL = {
    "gap_mm": ("gap_nominal_mm", "gap_tolerance_mm"),
    "dwell_deg": ("dwell_nominal_deg", "dwell_tolerance_deg"),
}
_SETTINGS = ("gap_mm", "dwell_deg", "spring_n", "end_float_mm")
_CONDITIONS = {
    "unseen": State.NOT_MEASURED, "sound": State.PASS, "doubtful": State.BORDERLINE,
    "faulty": State.FAIL,
}  # fmt: skip

GROUPS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("shaft", ("side_play_mm", "end_float_mm", "lobes_deg")),
    (
        "contacts",
        ("gap_mm", "dwell_deg", "dwell_change_deg", "dwell_vacuum_change_deg", "spring_n"),
    ),
    ("electrical", ("condenser_uf", "insulation_mohm", "earth_drop_v", "earth_lead")),
    ("rotor", ("rotor_kohm", "rotor", "cap")),
    ("weights", ("weight_difference_g", "pivot_clearance_mm", "weights_free")),
    ("capsule", ("plate", "leak")),
)
"""The rows in the order in which the hands meet the parts."""


@frozen
class JudgedFinding:
    """One finding, judged.

    Parameters
    ----------
    key : str
        Field of the findings record.
    value, u : float or None
        In the stored unit; for ``lobes_deg`` the largest error of a lobe in distributor degrees,
        for ``leak`` the loss in kPa over the test time. None for a condition.
    low, high : float or None
        Limits in the same unit.
    u_stated : bool
        False where ``u`` is the trade's, since the docket states none.
    usual : bool
        True where both limits are common practice, False where the docket has its own.
    state : State
        ``SHOWN`` where the unit's own figures are not known: the usual range is no limit.
    probability : float or None
        That the true value lies within the limits.
    scatter : Scatter or None
        What it costs in spread of the spark.
    problem : Problem or None
        Why the figures cannot be judged.
    lobes : int or None
        How many lobes its usual range or its scatter is for, where nobody entered how many.
    """

    key: str
    state: State = State.NOT_MEASURED
    value: float | None = None
    u: float | None = None
    low: float | None = None
    high: float | None = None
    usual: bool = True
    probability: float | None = None
    scatter: Scatter | None = None
    problem: Problem | None = None
    u_stated: bool = True
    lobes: int | None = None

    @property
    def is_range(self) -> bool:
        """The limits are a usual range of something set, by which nothing is judged."""
        return self.usual and self.key in _SETTINGS

    @property
    def unusual(self) -> bool:
        """Shown only, and outside the usual range."""
        if self.state is not State.SHOWN or self.value is None:
            return False
        low, high = (
            (-inf if self.low is None else self.low),
            (inf if self.high is None else self.high),
        )
        return not low <= self.value <= high


@frozen
class FindingsRecord:
    """All rows, the spread of the spark they add up to, and how many stand in each state.

    ``scatter_state`` is not measured where the spread would pass but leaves out a side play that
    was measured, since the cam is not known.
    """

    rows: tuple[JudgedFinding, ...]
    scatter: Scatter | None
    scatter_state: State

    @property
    def lobes(self) -> int | None:
        """How many lobes the spread is for, where nobody entered how many."""
        return next((row.lobes for row in self.rows if row.scatter and row.lobes), None)

    def row(self, key: str) -> JudgedFinding:
        """The row of a field."""
        return next(row for row in self.rows if row.key == key)

    def count(self, state: State) -> int:
        """How many rows stand in a state."""
        return sum(row.state is state for row in self.rows)


def usual_dwell_deg(lobes: int) -> tuple[float, float]:
    """Least and most usual dwell in distributor degrees for 1 to 12 lobes (common practice).

    One, four, six and eight lobes as the trade has them; for other numbers 50 to 70 % of the
    sector. The unit's own figure may lie anywhere in it, so nothing is judged by this.
    """
    if lobes in _DWELL_DEG:
        return _DWELL_DEG[lobes]
    sector = 360.0 / lobes
    return _DWELL_SHARE[0] * sector, _DWELL_SHARE[1] * sector


def limits_of(docket: Docket, key: str) -> tuple[float | None, float | None, bool]:
    """Least and most of a field in its stored unit, and whether both are common practice."""
    limits = docket.findings.limits
    if key in _NOMINAL:
        nominal, tolerance = (getattr(limits, k) for k in _NOMINAL[key])
        if nominal is None and key == "gap_mm":
            nominal = docket.points.set_gap_mm
        if nominal is not None:
            return nominal - tolerance, nominal + tolerance, False
    low_key, high_key = _LIMITS[key]
    low, high = (getattr(limits, k) if k else None for k in (low_key, high_key))
    described = parameters(FindingLimits)
    usual = all(getattr(limits, k) == described[k].default for k in (low_key, high_key) if k)
    if usual and key == "gap_mm":
        low, high = _GAP_MM
    if usual and key == "dwell_deg":
        low, high = usual_dwell_deg(docket.particulars.lobes_taken)
    return low, high, usual


def only_shown(key: str, low: float | None, high: float | None, usual: bool) -> bool:
    """Whether a finding has no limit of its own unit to be judged by."""
    return (low is None and high is None) or (usual and key in _SETTINGS)


def limit_keys(key: str) -> tuple[str, ...]:
    """The fields of the limits record that a finding is held against."""
    if key == "lobes_deg":
        return ("lobe_error_most_deg",)
    if key == "leak":
        return ("leak_test_s", "leak_loss_most_kpa")
    return (*_NOMINAL.get(key, ()), *(k for k in _LIMITS.get(key, ()) if k))


def contact_cam(points: Points, lobes: int) -> ContactCam:
    """The breaker cam that the docket's figures describe.

    Two of the three sizes with a known pair of gap and dwell give the third; all three stand on
    their own.

    Raises
    ------
    BobweightError
        ``points-sizes-needed`` where neither is complete, and as
        :func:`core.bench.points.calibrated`; places lie in the points record.
    """
    sizes = {key: getattr(points, key) for key in ("flat_mm", "lobe_mm", "lever_ratio")}
    given = [key for key, size in sizes.items() if size is not None]
    if len(given) == 3:
        return ContactCam(lobes, **sizes)
    if len(given) < 2 or points.known_gap_mm is None or points.known_dwell_deg is None:
        raise BobweightError("points-sizes-needed", (_first_missing(points, given),))
    return calibrated(lobes, points.known_gap_mm, points.known_dwell_deg, **sizes)


def _first_missing(points: Points, given: list[str]) -> str:
    if "flat_mm" not in given:
        return "flat_mm"
    if len(given) < 2:
        return "lever_ratio"
    return "known_gap_mm" if points.known_gap_mm is None else "known_dwell_deg"


def judge_findings(docket: Docket) -> FindingsRecord:
    """Every row of the findings of a docket, judged; never raises for a docket that loads."""
    findings = docket.findings
    rows = tuple(_row(docket, findings, key) for _, keys in GROUPS for key in keys)
    scatters = [row.scatter for row in rows if row.scatter is not None]
    if not scatters:
        return FindingsRecord(rows, None, State.NOT_MEASURED)
    together = combined(scatters)
    state = scatter_state(together.crank_plus_minus_deg)
    play = next(row for row in rows if row.key == "side_play_mm")
    if state is State.PASS and play.value is not None and play.scatter is None:
        state = State.NOT_MEASURED
    return FindingsRecord(rows, together, state)


def scatter_state(plus_minus_deg: float) -> State:
    """The state of a timing scatter of ± crank degrees: within 1 good, to 3 tolerable, above it
    to be rejected (common practice)."""
    if plus_minus_deg <= SCATTER_GOOD_DEG:
        return State.PASS
    return State.BORDERLINE if plus_minus_deg <= SCATTER_REJECT_DEG else State.FAIL


def _row(docket: Docket, findings: Findings, key: str) -> JudgedFinding:
    if parameters(Findings)[key].kind == "choice":
        return JudgedFinding(key, _CONDITIONS[getattr(findings, key)])
    try:
        if key == "lobes_deg":
            return _lobes(docket, findings)
        if key == "leak":
            return _leak(findings)
        return _measured(docket, findings, key)
    except BobweightError as error:
        return JudgedFinding(key, problem=_placed(error, key))


def _placed(error: BobweightError, key: str) -> Problem:
    problem = error.problem
    place: Path = ("findings", key)
    if key == "lobes_deg" and problem.path[1:]:
        place = ("findings", key, problem.path[1], "firing_deg")
    return Problem(problem.code, place, problem.facts, problem.grave)


def _measured(docket: Docket, findings: Findings, key: str) -> JudgedFinding:
    value = getattr(findings, key)
    low, high, usual = limits_of(docket, key)
    row = JudgedFinding(key, low=low, high=high, usual=usual)
    assumed = docket.particulars.lobes_taken if is_assumed(docket.particulars, "lobes") else None
    if usual and key == "dwell_deg":
        row = replace(row, lobes=assumed)
    if value is None:
        return row
    u = standard_uncertainty(findings, key)
    row = replace(row, value=value, u=u, u_stated=key in findings.u)
    if only_shown(key, low, high, usual):
        return replace(row, state=State.SHOWN)
    scatter = play_scatter(docket, value, u) if key == "side_play_mm" else None
    return _held_to_limits(row if scatter is None else replace(row, lobes=assumed), scatter)


def _held_to_limits(row: JudgedFinding, scatter: Scatter | None = None) -> JudgedFinding:
    found = judged(row.value, row.u, row.low, row.high, setting=row.key in _SETTINGS)
    return replace(row, state=found.state, probability=found.probability, scatter=scatter)


def play_scatter(docket: Docket, play_mm: float, u_mm: float | None) -> Scatter | None:
    """What side play costs, by the docket's cam at its gap; None while the cam is not known."""
    gap = docket.findings.gap_mm or docket.points.set_gap_mm or docket.points.known_gap_mm
    try:
        cam = contact_cam(docket.points, docket.particulars.lobes_taken)
        if gap is None:
            return None
        return side_play_scatter(
            cam, gap, play_mm, u_play_mm=u_mm, drive_ratio=docket.particulars.ratio_taken
        )
    except BobweightError:
        return None  # the page of the points says what is wrong with them


def _lobes(docket: Docket, findings: Findings) -> JudgedFinding:
    high = findings.limits.lobe_error_most_deg
    usual = high == parameters(FindingLimits)["lobe_error_most_deg"].default
    angles = [lobe.firing_deg for lobe in findings.lobes_deg if lobe.firing_deg is not None]
    row = JudgedFinding("lobes_deg", high=high, usual=usual)
    if not findings.lobes_deg:
        return row
    lobes = docket.particulars.lobes
    if lobes is None:
        if not len(angles) == len(findings.lobes_deg) == _told_by(angles):
            raise BobweightError("lobes-unknown", ("lobes_deg",), given=len(angles))
    elif not len(angles) == len(findings.lobes_deg) == lobes:
        raise BobweightError("lobes-missing", ("lobes_deg",), given=len(angles), needed=lobes)
    u = findings.u_lobe_deg
    spacing = lobe_spacing(angles, u_firing_deg=u, drive_ratio=docket.particulars.ratio_taken)
    return _held_to_limits(
        replace(row, value=spacing.worst_deg, u=spacing.u_error_deg), spacing.scatter
    )


def _told_by(angles_deg: list[float]) -> int:
    """How many lobes a cam has by how far apart they fire; 0 where that is not to be told."""
    apart = float(median(np.diff(angles_deg))) if len(angles_deg) > 1 else 0.0
    return round(360.0 / apart) if apart > 0 else 0


def _leak(findings: Findings) -> JudgedFinding:
    limits = findings.limits
    high = limits.leak_loss_most_kpa
    usual = high == parameters(FindingLimits)["leak_loss_most_kpa"].default
    pairs = [
        (r.time_s, r.depression_kpa)
        for r in findings.leak
        if r.time_s is not None and r.depression_kpa is not None
    ]
    row = JudgedFinding("leak", high=high, usual=usual)
    if not pairs:
        return row
    leak = leak_down(*zip(*pairs, strict=True), u_kpa=findings.u_leak_kpa)
    loss = leak.loss_kpa(leak.start_kpa, limits.leak_test_s)
    u = leak.u_own_loss_kpa(limits.leak_test_s)
    u = u if u else None  # readings exactly on a line tell nothing of their scatter
    return _held_to_limits(replace(row, value=loss, u=u))
