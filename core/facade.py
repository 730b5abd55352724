"""The core for notebooks and other programs: a docket in, plain values out.

Every function is also found in :mod:`bobweight.core` itself::

    from bobweight.core import changed, judge, open_docket, predict

Speeds are distributor rev/min, angles distributor degrees, depressions kPa below ambient, other
values as the name of the field says. Tables are dicts of columns of one length, which a data
frame takes as it is (``pandas.DataFrame(answer["curve"])``); :func:`records` turns one into a list
of rows. What is wrong is a :class:`core.problems.BobweightError` with a code, a place and numbers.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike

from bobweight.core.design.asks import SearchAsk
from bobweight.core.design.tray import Tray
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.file import read_docket
from bobweight.core.docket.target import WAYS
from bobweight.core.judgement.compare import PointResult
from bobweight.core.judgement.outcome import Outcome, outcome
from bobweight.core.mechanics.balance import balance_speeds
from bobweight.core.mechanics.branches import curves
from bobweight.core.mechanics.builds import Builds
from bobweight.core.mechanics.checks import mechanism_problems
from bobweight.core.problems import BobweightError, Path, path_text
from bobweight.core.record import check_number_path, check_path, put

if TYPE_CHECKING:  # what is only predicted need not load what judges readings
    from bobweight.core.judgement.answer import Judgement, PointJudgement
    from bobweight.core.judgement.decision import Decision

CANNOT_BE_TOLD, ALONE = "cannot be told", ("inside", "outside")
Place = str | Path
Table = dict[str, list[Any]]
_STEP = re.compile(r"\[(-?\d+)\]|\.?([^.\[\]]+)")


def open_docket(path: str | os.PathLike[str]) -> Docket:
    """The docket in a file.

    Raises
    ------
    BobweightError
        As :func:`core.docket.file.read_docket`.
    """
    return read_docket(path)


def path_of(place: Place) -> Path:
    """A place such as ``"mechanism.springs[0].rate_n_per_mm"`` as a path; a path as it is."""
    if not isinstance(place, str):
        return tuple(place)
    steps = (number or name for number, name in _STEP.findall(place))
    return tuple(int(step) if step.isdigit() else step for step in steps)


def changed(docket: Docket, values: Mapping[Place, Any]) -> Docket:
    """A copy of the docket with other values.

    Parameters
    ----------
    docket : Docket
    values : mapping of place to value
        In stored units: ``{"mechanism.springs[0].rate_n_per_mm": 1.8}``.

    Raises
    ------
    BobweightError
        ``no-such-value`` for a place that the docket does not have; those of
        :func:`core.record.put` for a value beyond its limits or of another kind.
    """
    for place, value in values.items():
        path = path_of(place)
        check_path(docket, path)
        docket = put(docket, path, value)
    return docket


def predict(
    docket: Docket,
    varied: Mapping[Place, ArrayLike] | None = None,
    *,
    at_rpm: Sequence[float] | None = None,
    knots: int = 200,
) -> dict[str, Table]:
    """The curve of the mechanism, or of many builds of it.

    Parameters
    ----------
    docket : Docket
    varied : mapping of place to array, shape (builds,), optional
        Numbers of the mechanism that differ between the builds, in stored units; arrays of one
        length, or of length 1.
    at_rpm : sequence of float, optional
        Speeds at which the advance is wanted; without them the knots of the curve are given.
    knots : int
        Knots between rest and stop.

    Returns
    -------
    dict
        ``builds``: a row for each build with the values varied, ``start_rpm``, ``full_rpm`` and
        ``full_deg``. ``curve``: a row for each build, direction and speed, with ``build``,
        ``direction``, ``speed_rpm`` and ``advance_deg``.

    Raises
    ------
    BobweightError
        ``no-such-number`` for a place that is no number of the mechanism; ``unequal-columns``;
        the first grave problem of the docket's mechanism.
    """
    for problem in mechanism_problems(docket.mechanism):
        if problem.grave:
            raise BobweightError.of(problem.at("mechanism"))
    columns = {path_of(place): np.atleast_1d(a) for place, a in (varied or {}).items()}
    for path in columns:
        check_number_path(docket, path)
        if path[0] != "mechanism":
            raise BobweightError("no-such-number", path, value=path_text(path))
    builds = Builds(docket.mechanism, {path[1:]: values for path, values in columns.items()})
    table = curves(balance_speeds(builds, knots))
    count = builds.count
    made: Table = {"build": list(range(count))}
    for place in varied or {}:
        name = place if isinstance(place, str) else path_text(path_of(place))
        made[name] = _full(columns[path_of(place)], count)
    made |= {
        "start_rpm": table.rising_rpm[:, 0].tolist(),
        "full_rpm": table.rising_rpm[:, -1].tolist(),
        "full_deg": table.advance_deg[:, -1].tolist(),
    }
    if at_rpm is None:
        parts = {way: (getattr(table, f"{way}_rpm"), table.advance_deg) for way in WAYS}
    else:
        speeds = np.asarray(at_rpm, dtype=float)
        shown = np.broadcast_to(speeds, (count, speeds.size))
        parts = {way: (shown, table.at(speeds, way)) for way in WAYS}
    return {"builds": made, "curve": _curve(parts, count)}


def _full(values: np.ndarray, count: int) -> list[Any]:
    found: list[Any] = np.broadcast_to(values, (count,)).tolist()
    return found


def _curve(parts: Mapping[str, tuple[np.ndarray, np.ndarray]], count: int) -> Table:
    found: Table = {"build": [], "direction": [], "speed_rpm": [], "advance_deg": []}
    for way, (speed, advance) in parts.items():
        each = speed.shape[1]
        found["build"] += np.repeat(np.arange(count), each).tolist()
        found["direction"] += [way] * (count * each)
        found["speed_rpm"] += speed.ravel().tolist()
        found["advance_deg"] += np.broadcast_to(advance, speed.shape).ravel().tolist()
    return found


def judge(docket: Docket, session: int = -1) -> dict[str, Any]:
    """What one session of readings says.

    Parameters
    ----------
    docket : Docket
    session : int
        Index of the session; −1 is the last.

    Returns
    -------
    dict
        ``check_points``: a row for each check point. The rest as
        :meth:`core.judgement.decision.Decision.as_fields`: ``action``, ``fit``,
        ``explanations``, ``next_reading``, ``alterations``, ``judgement``.

    Raises
    ------
    BobweightError
        ``no-such-session``; the first grave problem of the target.
    """
    from bobweight.core.judgement.decision import decide_docket

    judged = judged_session(docket, session)
    decision = decide_docket(docket, session, known=judged)
    points = columns(check_points(judged, decision.judgement))
    return {"check_points": points, **decision.as_fields()}


def judged_session(docket: Docket, session: int = -1) -> Outcome:
    """The outcome of one session of readings.

    Raises
    ------
    BobweightError
        As :func:`judge`.
    """
    count = len(docket.sessions)
    if session != -1 and not 0 <= session < count:
        raise BobweightError("no-such-session", ("sessions",), value=session + 1, count=count)
    judged = outcome(docket, session)
    for problem in judged.problems_at("target"):
        if problem.grave:
            raise BobweightError.of(problem)
    return judged


def check_points(judged: Outcome, judgement: Judgement) -> list[dict[str, Any]]:
    """The check points of an outcome, a row each: by everything that is known where the unit was
    judged, else by the readings alone, whose opinion stands beside it."""
    return _point_rows(judged.comparison.check_points, judgement)


def other_points(judged: Outcome, judgement: Judgement) -> list[dict[str, Any]]:
    """What else the target asks, likewise, each with its ``kind``: ``start`` (no advance below a
    speed), ``ceiling``, and ``vacuum`` at its ``depression_kpa``."""
    points = [p for p in judged.comparison.all_points if p.kind != "check"]
    places = ({"kind": p.kind, "depression_kpa": _number(p.depression_kpa)} for p in points)
    return [p | row for p, row in zip(places, _point_rows(points, judgement), strict=True)]


def _point_rows(points: Iterable[PointResult], judgement: Judgement) -> list[dict[str, Any]]:
    known = {(p.kind, p.index): p for p in judgement.check_points}
    return [_point_row(p, known.get((p.kind, p.index))) for p in points]


def _point_row(point: PointResult, known: PointJudgement | None) -> dict[str, Any]:
    keys = ("speed_rpm", "low_deg", "high_deg", "estimate_deg", "u_deg", "probability_inside")
    found: dict[str, Any] = {key: _number(getattr(point, key)) for key in keys}
    verdict = point.verdict.value
    alone = verdict if verdict in ALONE else CANNOT_BE_TOLD
    found |= {"verdict": verdict, "decision": alone, "branch": None}
    found |= {"readings_deg": found["estimate_deg"], "u_readings_deg": found["u_deg"]}
    found["read_around"] = point.estimate_deg is not None
    if known is not None and known.advance_deg is not None:
        found |= {
            "estimate_deg": _number(known.advance_deg),
            "u_deg": _number(known.u_deg),
            "probability_inside": _number(known.probability_inside),
            "verdict": known.verdict.value,
            "decision": known.decision,
            "branch": known.branch,
            "read_around": known.read_around,
        }
    return found


def search(
    docket: Docket, tray: Tray, asked: SearchAsk | None = None, decision: Decision | None = None
) -> Table:
    """The springs in a tray that meet the target, what a hand would do first at the head; a spring
    that stays is None.

    Parameters
    ----------
    docket : Docket
    tray : Tray
        As :func:`core.design.tray_file.read_tray` reads it.
    asked : SearchAsk, optional
        How far a hand may go, and how many pairs are wanted.

    decision : Decision, optional
        Of the docket, if it is at hand: nothing is chosen by figures of which one is doubted.

    Raises
    ------
    BobweightError
        As :func:`core.design.rough.search_of`.
    """
    from bobweight.core.design.rough import search_of
    from bobweight.core.judgement.decision import decide_docket

    def name(row: int | None) -> str | None:
        if row is None:
            return None
        return tray.springs[row].label.strip() or f"#{row + 1}"

    keys = (
        "primary_post_mm", "secondary_post_mm", "secondary_slack_mm", "stop_deg", "margin_deg",
        "probability_inside",
    )  # fmt: skip
    made = search_of(docket, tray, asked, decision, lambda: decide_docket(docket, with_fit=False))
    found = made.run().candidates
    return {
        "work": [candidate.work for candidate in found],
        "primary": [name(candidate.primary) for candidate in found],
        "secondary": [name(candidate.secondary) for candidate in found],
        **{key: [_number(getattr(c, key)) for c in found] for key in keys},
    }


def sheet_rows(docket: Docket, session: int = -1) -> Table:
    """The figures of the docket's sheet: check points, as :func:`judge` has them, predicted curve,
    capsule, readings; what does not apply to a row is None. Columns:
    :data:`core.sheet.values.COLUMNS`."""
    from bobweight.core.judgement.judged import judged
    from bobweight.core.sheet.values import COLUMNS, rows

    found = list(rows(judged(docket, session)))
    return {key: [row.get(key) for row in found] for key in COLUMNS}


def records(table: Mapping[str, Sequence[Any]]) -> list[dict[str, Any]]:
    """A table of columns as a list of rows."""
    return [dict(zip(table, row, strict=True)) for row in zip(*table.values(), strict=True)]


def columns(rows: Sequence[Mapping[str, Any]]) -> Table:
    """Rows with the same keys as a table of columns."""
    return {key: [row[key] for row in rows] for key in (rows[0] if rows else ())}


def _number(value: float | None) -> float | None:
    """A plain float; None for what is no number."""
    return None if value is None or not np.isfinite(value) else float(value)
