"""Advance from depression: each capsule from its dimensions or its three trade figures.

x = clip((A Δp − F₀ ∓ F_f) / k, 0, x_max) and θ = asin(x / r − sin ε) + ε, with A in mm² and Δp in
MPa the force is in N. Two capsules on one plate add what each moves it.
"""

from __future__ import annotations

import numpy as np

from bobweight.core.docket.vacuum import Capsule
from bobweight.core.frozen import frozen
from bobweight.core.problems import BobweightError, Problem, required
from bobweight.core.record import value_problems

_MPA_PER_KPA = 1e-3
_SLOPE_KPA = 0.5
TRIPLE = ("start_kpa", "full_kpa", "full_deg")
DIMENSIONS = ("area_mm2", "spring_rate_n_per_mm", "preload_n", "travel_mm")


@frozen
class CapsuleCurve:
    """Advance against depression; all arrays of shape (points,), signed distributor degrees."""

    depression_kpa: np.ndarray
    rising_deg: np.ndarray
    falling_deg: np.ndarray


def capsule_problems(capsule: Capsule) -> list[Problem]:
    """What keeps the capsule from being computed, grave problems first. None for no capsule."""
    if capsule.given_as == "none":
        return []
    beyond = value_problems(capsule)
    found = [problem for problem in beyond if problem.grave]
    needed = TRIPLE if capsule.given_as == "triple" else DIMENSIONS
    found += [Problem("missing", (key,)) for key in needed if getattr(capsule, key) is None]
    if not found and capsule.given_as == "triple":
        start, full = required(capsule.start_kpa), required(capsule.full_kpa)
        if start >= full:
            facts = {"value": full, "limit": start, "unit": "kPa"}
            found.append(Problem("capsule-full-before-start", ("full_kpa",), facts))
    if not found and not _reaches(capsule):
        found.append(Problem("capsule-beyond-lever", ("lever_mm",), {"value": capsule.lever_mm}))
    return found + [problem for problem in beyond if not problem.grave]


def usable(capsules: tuple[Capsule, ...]) -> tuple[Capsule, ...]:
    """Those capsules that are there and can be computed."""
    return tuple(
        capsule
        for capsule in capsules
        if capsule.given_as != "none" and not any(p.grave for p in capsule_problems(capsule))
    )


def felt_kpa(
    capsule: Capsule, depression_kpa: np.ndarray | float, throttle_shut: np.ndarray | bool
) -> np.ndarray:
    """What of the manifold's depression a capsule feels, in kPa: none where it is fed from the edge
    of the throttle and that is shut."""
    depression = np.asarray(depression_kpa, dtype=float)
    return np.where(throttle_shut, 0.0, depression) if capsule.fed_from == "edge" else depression


def plate_advance_deg(
    capsules: tuple[Capsule, ...],
    depression_kpa: np.ndarray | float,
    direction: str | None = None,
    throttle_shut: np.ndarray | bool = False,
) -> np.ndarray:
    """Movement of the breaker plate by all its usable capsules, in distributor degrees.

    Parameters
    ----------
    depression_kpa : array_like
        In the manifold.
    direction : {'rising', 'falling', None}
        As :func:`capsule_advance_deg`.
    throttle_shut : bool or bool array
        As :func:`felt_kpa`.
    """
    total = np.zeros(np.broadcast_shapes(np.shape(depression_kpa), np.shape(throttle_shut)))
    for capsule in usable(capsules):
        felt = felt_kpa(capsule, depression_kpa, throttle_shut)
        total = total + capsule_advance_deg(capsule, felt, direction)
    return total


def full_travel_kpa(capsules: tuple[Capsule, ...]) -> float | None:
    """Depression in kPa at which every capsule is at full travel; None without one."""
    full = [as_triple(capsule).full_kpa for capsule in usable(capsules)]
    return max((kpa for kpa in full if kpa is not None), default=None)


def _reaches(capsule: Capsule) -> bool:
    offset = np.radians(capsule.offset_taken_deg)
    if capsule.given_as == "dimensions":
        return bool(
            abs(required(capsule.travel_mm) / capsule.lever_taken_mm - np.sin(offset)) <= 1.0
        )
    return bool(np.radians(required(capsule.full_deg)) - offset <= np.pi / 2)


def capsule_advance_deg(
    capsule: Capsule, depression_kpa: np.ndarray | float, direction: str | None = None
) -> np.ndarray:
    """Movement of the breaker plate in distributor degrees, negative for a retard capsule.

    Parameters
    ----------
    depression_kpa : array_like
    direction : {'rising', 'falling', None}
        With the plate's friction on the way up or down; None is without it.
    """
    depression = np.asarray(depression_kpa, dtype=float)
    if capsule.given_as == "none":
        return np.zeros_like(depression)
    capsule = _with_dimensions(capsule)
    friction = {"rising": 1.0, "falling": -1.0, None: 0.0}[direction] * capsule.friction_taken_n
    preload, rate = required(capsule.preload_n), required(capsule.spring_rate_n_per_mm)
    force = required(capsule.area_mm2) * depression * _MPA_PER_KPA - preload - friction
    travel = np.clip(force / rate, 0.0, required(capsule.travel_mm))
    sign = -1.0 if capsule.acts == "retard" else 1.0
    return sign * degrees_from_travel(travel, capsule.lever_taken_mm, capsule.offset_taken_deg)


def plate_slope(capsules: tuple[Capsule, ...], depression_kpa: np.ndarray) -> np.ndarray:
    """Degrees of movement of the plate per kPa, without friction."""
    high = plate_advance_deg(capsules, depression_kpa + _SLOPE_KPA)
    low = plate_advance_deg(capsules, np.maximum(depression_kpa - _SLOPE_KPA, 0.0))
    found: np.ndarray = (high - low) / (2 * _SLOPE_KPA)
    return found


def degrees_from_travel(
    travel_mm: np.ndarray | float, lever_mm: float, offset_deg: float
) -> np.ndarray:
    """Turn of the plate in degrees for a travel of the pull-rod."""
    offset = np.radians(offset_deg)
    found: np.ndarray = np.degrees(
        np.arcsin(np.asarray(travel_mm) / lever_mm - np.sin(offset)) + offset
    )
    return found


def travel_from_degrees(
    angle_deg: np.ndarray | float, lever_mm: float, offset_deg: float
) -> np.ndarray:
    """Travel of the pull-rod in mm for a turn of the plate."""
    offset = np.radians(offset_deg)
    found: np.ndarray = lever_mm * (np.sin(np.radians(angle_deg) - offset) + np.sin(offset))
    return found


def dimensions_from_triple(capsule: Capsule, area_mm2: float = 1000.0) -> Capsule:
    """The capsule by dimensions: preload, rate and travel from its triple and an area.

    Only ratios to the area show in the curve, so any area gives the same one.

    Raises
    ------
    BobweightError
        The first grave problem of the triple.
    """
    triple = capsule.with_changes(given_as="triple")
    _refuse(triple)
    start, full = required(capsule.start_kpa), required(capsule.full_kpa)
    full_deg, lever = required(capsule.full_deg), capsule.lever_taken_mm
    travel = float(travel_from_degrees(full_deg, lever, capsule.offset_taken_deg))
    preload = area_mm2 * start * _MPA_PER_KPA
    rate = area_mm2 * (full - start) * _MPA_PER_KPA / travel
    return capsule.with_changes(
        given_as="dimensions", area_mm2=area_mm2, preload_n=preload, spring_rate_n_per_mm=rate,
        travel_mm=travel,
    )  # fmt: skip


def triple_from_dimensions(capsule: Capsule) -> Capsule:
    """The capsule by its triple: start, full and degrees from its dimensions.

    Raises
    ------
    BobweightError
        The first grave problem of the dimensions.
    """
    _refuse(capsule.with_changes(given_as="dimensions"))
    per_kpa = required(capsule.area_mm2) * _MPA_PER_KPA
    travel, preload = required(capsule.travel_mm), required(capsule.preload_n)
    full_deg = degrees_from_travel(travel, capsule.lever_taken_mm, capsule.offset_taken_deg)
    stretch = required(capsule.spring_rate_n_per_mm) * travel
    return capsule.with_changes(
        given_as="triple",
        start_kpa=preload / per_kpa,
        full_kpa=(preload + stretch) / per_kpa,
        full_deg=float(full_deg),
    )


def as_triple(capsule: Capsule) -> Capsule:
    """The capsule by start, full and degrees, with uncertainties stated for its dimensions left
    behind (the trade's usual ones serve)."""
    return triple_from_dimensions(capsule) if capsule.given_as == "dimensions" else capsule


def plate_curve(capsules: tuple[Capsule, ...]) -> CapsuleCurve | None:
    """The movement of the plate from no depression to well beyond full travel, the throttle open;
    None without a usable capsule."""
    there = usable(capsules)
    full = full_travel_kpa(there)
    if full is None:
        return None
    bends: list[float] = []
    for capsule in there:
        triple = as_triple(capsule)
        area_mm2 = required(_with_dimensions(capsule).area_mm2)
        friction_kpa = capsule.friction_taken_n / (area_mm2 * _MPA_PER_KPA)
        bends += [
            max(bend + sense * friction_kpa, 0.0)
            for bend in (required(triple.start_kpa), required(triple.full_kpa))
            for sense in (-1.0, 0.0, 1.0)
        ]
    end = max(1.25 * full, full + 5.0)
    depression = np.sort(np.concatenate([np.linspace(0.0, end, 121), bends]))
    return CapsuleCurve(
        depression,
        plate_advance_deg(there, depression, "rising"),
        plate_advance_deg(there, depression, "falling"),
    )


def _with_dimensions(capsule: Capsule) -> Capsule:
    if capsule.given_as == "dimensions":
        return capsule
    return dimensions_from_triple(capsule, capsule.area_mm2 or 1000.0)


def _refuse(capsule: Capsule) -> None:
    for problem in capsule_problems(capsule):
        if problem.grave:
            raise BobweightError.of(problem)
