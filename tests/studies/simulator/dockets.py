"""What is written down of a sound unit: carefully measured, with calipers, or not at all."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.random import Generator

from bobweight.core.docket.docket import Docket
from bobweight.core.docket.mechanism import Mechanism, Spring
from bobweight.core.docket.particulars import Particulars
from bobweight.core.docket.readings import Session
from bobweight.core.docket.setting_up import SettingUp
from bobweight.core.docket.vacuum import Capsule
from bobweight.core.record import Record
from tests.studies.simulator.units import Unit

KINDS = ("careful", "caliper", "blank")
_CAREFUL = {
    "mass_g": 0.2, "pivot_radius_mm": 0.1, "cg_mm": 0.15, "rest_angle_deg": 0.7, "ratio": 0.012,
    "pin_radius_mm": 0.08, "pin_angle_deg": 0.7, "rate": 0.03, "free_length_mm": 0.08,
    "slack_mm": 0.08, "initial_tension_n": 0.05, "post_radius_mm": 0.08, "post_angle_deg": 0.4,
    "peg_radius_mm": 0.08, "peg_angle_deg": 0.4, "stop_deg": 0.15, "heel_drag_nmm": 1.0,
    "stick_nmm": 1.5, "capsule": 0.03,
}  # fmt: skip
_CALIPER = {
    "mass_g": 0.8, "pivot_radius_mm": 0.25, "cg_mm": 1.0, "rest_angle_deg": 2.5, "ratio": 0.05,
    "pin_radius_mm": 0.25, "pin_angle_deg": 2.5, "rate": 0.25, "free_length_mm": 0.2,
    "slack_mm": 0.5, "initial_tension_n": 0.2, "post_radius_mm": 0.25, "post_angle_deg": 1.5,
    "peg_radius_mm": 0.25, "peg_angle_deg": 1.5, "stop_deg": 0.4, "capsule": 0.08,
}  # fmt: skip
"""Standard uncertainties; ``rate`` and ``capsule`` relative. What is not named is not measured."""


def _measured(rng: Generator, record: Record, u: dict[str, float], stated: bool) -> Record:
    """The record as measured: every named number off by its uncertainty, which may be stated."""
    changes, known = {}, {}
    for key, size in u.items():
        value = getattr(record, key, None)
        if not isinstance(value, float) or (key == "initial_tension_n" and value == 0.0):
            continue
        least = 0.0 if value >= 0.0 else -np.inf
        changes[key] = float(np.round(max(value + rng.normal(0, size), least), 3))
        known[key] = size
    if hasattr(record, "rate_n_per_mm"):
        changes["rate_n_per_mm"] = record.rate_n_per_mm * float(np.exp(rng.normal(0, u["rate"])))
        known["rate_n_per_mm"] = u["rate"] * changes["rate_n_per_mm"]
    if getattr(record, "slack_mm", None) == 0.0:
        changes.pop("slack_mm", None)
    return replace(record, **changes, u=known if stated else {})


def as_measured(rng: Generator, spring: Spring, kind: str, stated: bool) -> Spring:
    """A spring as it is written down in a kind of docket."""
    return _measured(rng, spring, _CAREFUL if kind == "careful" else _CALIPER, stated)


def _mechanism(rng: Generator, sound: Mechanism, kind: str) -> Mechanism:
    if kind == "blank":
        return Mechanism()
    u = _CAREFUL if kind == "careful" else _CALIPER
    stated = kind == "careful" or rng.random() < 0.5
    part = replace(
        sound, weights=_measured(rng, sound.weights, u, stated),
        linkage=_measured(rng, sound.linkage, u, stated),
        springs=tuple(_measured(rng, s, u, stated) for s in sound.springs),
    )  # fmt: skip
    if kind == "caliper":  # nobody measures friction with calipers
        part = replace(part, heel_drag_nmm=None, stick_nmm=None, grip=None)
    return _measured(rng, part, u, stated)


def _capsule(rng: Generator, c: Capsule, kind: str) -> Capsule:
    if c.given_as == "none" or kind == "blank":
        return Capsule()
    share = (_CAREFUL if kind == "careful" else _CALIPER)["capsule"]
    values = {
        key: getattr(c, key) * float(np.exp(rng.normal(0, share)))
        for key in ("start_kpa", "full_kpa", "full_deg")
    }
    return Capsule(
        given_as="triple", area_mm2=c.area_mm2, lever_mm=c.lever_mm, **values,
        u={key: share * v for key, v in values.items()},
    )  # fmt: skip


def docket_of(rng: Generator, unit: Unit, kind: str) -> Docket:
    """The docket of a unit, without readings."""
    return Docket(
        particulars=Particulars(title="Invented", lobes=4),
        mechanism=_mechanism(rng, unit.sound, kind),
        capsules=(_capsule(rng, unit.capsule, kind),),
        target=unit.target if kind != "blank" else replace(unit.target, vacuum_points=()),
        sessions=(Session(title="As found"),),
        setting_up=SettingUp(static_deg=unit.static_deg),
    )
