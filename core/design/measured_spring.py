"""What a hang test or dimensions say of a spring of the tray."""

from __future__ import annotations

import math
from dataclasses import replace

from bobweight.core.design.hang_test import HangTest, Separation, hang_test
from bobweight.core.design.tray import TraySpring
from bobweight.core.design.wire import (
    ExtensionSpring,
    HookRule,
    Stresses,
    preferred_initial_stress_mpa,
    rate_uncertainty,
    stresses_at_length,
    tension_from_stress_n,
)
from bobweight.core.docket.mechanism import Mechanism
from bobweight.core.docket.spring_source import CoilRecord, HangRow, HangTestRecord
from bobweight.core.frozen import frozen
from bobweight.core.mechanics.pose import pose
from bobweight.core.problems import BobweightError, Problem, required
from bobweight.core.record import standard_uncertainty, value_problems


@frozen(eq=False)
class HangView:
    """A hang test worked out, or why it cannot be.

    Attributes
    ----------
    rows : tuple of int
        Which rows of the record were used, in the order of the result's arrays.
    problem : Problem or None
        Placed in the record: ``("rows", 2, "load_n")``.
    problems : tuple of Problem
        Advice, likewise placed.
    """

    rows: tuple[int, ...]
    result: HangTest | None
    problem: Problem | None
    problems: tuple[Problem, ...]


def hang_view(record: HangTestRecord) -> HangView:
    """The hang test of a record, from the rows that are complete and not left out."""
    rows = tuple(
        index
        for index, row in enumerate(record.rows)
        if row.load_n is not None and row.length_mm is not None and not row.left_out
    )
    used = [record.rows[index] for index in rows]
    stated = bool(used) and all("length_mm" in row.u for row in used)
    try:
        result = hang_test(
            [required(row.load_n) for row in used], [required(row.length_mm) for row in used],
            [row.u["length_mm"] for row in used] if stated else None,
            [row.u.get("load_n", 0.0) for row in used] if stated else 0.0,
            open_wound=record.open_wound,
        )  # fmt: skip
    except BobweightError as error:
        return HangView(rows, None, _placed(error.problem, rows), ())
    return HangView(rows, result, None, tuple(_placed(p, rows) for p in result.problems))


def _placed(problem: Problem, rows: tuple[int, ...]) -> Problem:
    """The core counts the rows it was given; the table shows all."""
    path = problem.path
    row = path[1] if len(path) == 2 else None
    if isinstance(row, int) and path[0] in ("load_n", "length_mm"):
        path = ("rows", rows[row], path[0])
    elif isinstance(row, int) and path[0] == "readings":
        path = ("rows", rows[row])
    return Problem(problem.code, path, problem.facts, problem.grave)


def with_reading_u(
    rows: tuple[HangRow, ...], u_load_n: float | None, u_length_mm: float | None
) -> tuple[HangRow, ...]:
    """The rows, each with how well its load and its length were read."""
    stated = {"load_n": u_load_n, "length_mm": u_length_mm}
    u = {key: value for key, value in stated.items() if value is not None}
    return tuple(replace(row, u=u) for row in rows)


def reading_u(rows: tuple[HangRow, ...], key: str) -> float | None:
    """How well a column was read, if that is one figure for all rows."""
    found = {row.u.get(key) for row in rows}
    return found.pop() if len(found) == 1 else None


def taken_from_hang(spring: TraySpring, result: HangTest) -> TraySpring:
    """The spring with the figures of its hang test, and how sure they are.

    Where tension and free length could not be told apart, a free length known otherwise gives
    the tension, F_i = k·L_f − offset (uncertainties propagated to first order, GUM 5.1 and 5.2).

    Raises
    ------
    BobweightError
        If a figure is beyond what a spring can have.
    """
    u: dict[str, float | None] = {**spring.u}
    u["rate_n_per_mm"] = result.u_rate_n_per_mm
    figures: dict[str, float] = {"rate_n_per_mm": result.rate_n_per_mm}
    if result.separation is Separation.NOT_SEPARATED:
        if spring.free_length_mm is not None:
            tension, u_tension = _tension_at(spring, result)
            figures["initial_tension_n"], u["initial_tension_n"] = max(tension, 0.0), u_tension
    else:
        figures |= {"initial_tension_n": result.initial_tension_n or 0.0,
                    "free_length_mm": result.free_length_mm or 0.0}  # fmt: skip
        u["initial_tension_n"] = result.u_initial_tension_n
        u["free_length_mm"] = result.u_free_length_mm
    return _made(spring, "hang", figures, u)


def _tension_at(spring: TraySpring, result: HangTest) -> tuple[float, float]:
    length = spring.free_length_mm or 0.0
    force, u_force = result.force_at(length)
    u_length = standard_uncertainty(spring, "free_length_mm") or 0.0
    return float(force), math.hypot(float(u_force), result.rate_n_per_mm * u_length)


@frozen
class CoilView:
    """What the dimensions of a spring say.

    Attributes
    ----------
    tension_range_n : (float, float)
        What winders hold well.
    stresses : Stresses or None
        At the working length, if one is given.
    """

    coil: ExtensionSpring
    rate_n_per_mm: float
    u_rate_n_per_mm: float
    tension_range_n: tuple[float, float]
    stresses: Stresses | None


def coil_view(spring: TraySpring, working_mm: float | None = None) -> CoilView:
    """Rate, range of initial tension and stresses of a spring from its dimensions.

    Parameters
    ----------
    spring : TraySpring
        Its ``source.coil``, and its own initial tension and free length for the stresses.
    working_mm : float or None
        Longest length it is stretched to, between the insides of the hooks.

    Raises
    ------
    BobweightError
        ``missing`` at the first dimension not known; those of
        :class:`~bobweight.core.design.wire.ExtensionSpring`.
    """
    record = spring.source.coil
    coil = _coil(record, spring.tension_taken_n)
    u_coils = math.hypot(
        standard_uncertainty(record, "body_coils") or 0.0,
        (standard_uncertainty(record, "hook_coils") or 0.0) if record.hook_rule == "stated" else 0,
    )
    u_g = record.u.get("shear_modulus_mpa")
    typed = record.shear_modulus_mpa
    u_rate = rate_uncertainty(
        coil,
        standard_uncertainty(record, "wire_mm") or 0.0,
        standard_uncertainty(record, "mean_diameter_mm") or 0.0,
        u_coils,
        u_g / typed if u_g is not None and typed else None,
        outside=True,  # the help says to measure outside and take one wire off
    )
    middle, half = preferred_initial_stress_mpa(coil.index)
    size = coil.wire_mm, coil.mean_diameter_mm
    low, high = (float(tension_from_stress_n(s, *size)) for s in (middle - half, middle + half))
    free = spring.free_length_mm or coil.free_length_mm
    at_work = None
    if working_mm is not None and working_mm > 0:
        at_work = stresses_at_length(coil, max(working_mm, free), free)
    return CoilView(coil, coil.rate_n_per_mm, u_rate, (max(low, 0.0), high), at_work)


def _coil(record: CoilRecord, initial_tension_n: float) -> ExtensionSpring:
    return ExtensionSpring(
        required(record.wire_mm, "coil", "wire_mm"),
        required(record.mean_diameter_mm, "coil", "mean_diameter_mm"),
        required(record.body_coils, "coil", "body_coils"), record.material,
        HookRule(record.hook_rule), record.hook_coils, initial_tension_n,
        g_mpa=record.shear_modulus_mpa,
    )  # fmt: skip


def taken_from_coil(spring: TraySpring, view: CoilView, middle_tension: bool = False) -> TraySpring:
    """The spring with the rate of its dimensions; with the free length of its body and two plain
    loops if none is known; and, if asked, the middle of the range of initial tension (even
    chances over the range: half its width over √3 as the standard uncertainty, GUM 4.3.7).

    Raises
    ------
    BobweightError
        If a figure is beyond what a spring can have.
    """
    u: dict[str, float | None] = {**spring.u, "rate_n_per_mm": view.u_rate_n_per_mm}
    figures: dict[str, float] = {"rate_n_per_mm": view.rate_n_per_mm}
    if spring.free_length_mm is None:
        figures["free_length_mm"] = view.coil.free_length_mm
        u["free_length_mm"] = None
    if middle_tension:
        low, high = view.tension_range_n
        figures["initial_tension_n"] = 0.5 * (low + high)
        u["initial_tension_n"] = 0.5 * (high - low) / math.sqrt(3) or None
    return _made(spring, "dimensions", figures, u)


def _made(
    spring: TraySpring, known_from: str, figures: dict[str, float], u: dict[str, float | None]
) -> TraySpring:
    source = spring.source.with_changes(known_from=known_from)
    stated = {key: value for key, value in u.items() if value is not None and value > 0}
    made = spring.with_changes(**figures, source=source, u=stated)
    for problem in value_problems(made):
        if problem.grave:
            raise BobweightError.of(problem)
    return made


def longest_mm(mechanism: Mechanism, role: str) -> float | None:
    """The longest length in mm, inside the hooks, that a mechanism without grave problems gives
    its springs of a role: at the stop. None if it has no such spring."""
    stood = pose(mechanism, required(mechanism.stop_deg, "stop_deg"))
    found = [
        stood.springs[index].length_mm - spring.slack_taken_mm
        for index, spring in enumerate(mechanism.springs)
        if spring.role == role
    ]
    return max(found, default=None)


def with_spring(
    rows: tuple[TraySpring, ...], row: int, spring: TraySpring
) -> tuple[TraySpring, ...]:
    """The springs with another in a row."""
    return (*rows[:row], spring, *rows[row + 1 :])
