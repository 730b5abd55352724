"""Invented dockets for the tests of the sheet, from empty to the fullest."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np

from bobweight.core.docket.docket import Docket, new_docket
from bobweight.core.docket.mechanism import Linkage, Mechanism, Spring, Weights
from bobweight.core.docket.particulars import Particulars
from bobweight.core.docket.readings import Instrument, Reading, Session
from bobweight.core.docket.setting_up import USUAL_STATES, SettingUp
from bobweight.core.docket.target import CheckPoint, Target, VacuumPoint
from bobweight.core.docket.vacuum import Capsule
from bobweight.core.judgement.outcome import Outcome, outcome
from bobweight.core.mechanics.capsule import capsule_advance_deg
from bobweight.core.mechanics.predict import predict

MECHANISM = Mechanism(
    weights=Weights(count=2, mass_g=28.0, pivot_radius_mm=22.0, cg_mm=9.0, rest_angle_deg=60.0),
    linkage=Linkage(kind="constant", ratio=0.55),
    springs=(
        Spring(role="primary", rate_n_per_mm=1.1, free_length_mm=25.9, post_radius_mm=28.0,
               post_angle_deg=0.0, peg_radius_mm=10.0, peg_angle_deg=70.0, tang_mm=0.4,
               u={"rate_n_per_mm": 0.04}),
        Spring(role="secondary", rate_n_per_mm=5.5, free_length_mm=26.0, slack_mm=0.9,
               initial_tension_n=0.4, post_radius_mm=28.0, post_angle_deg=180.0,
               peg_radius_mm=10.0, peg_angle_deg=250.0),
    ),
    stop_deg=12.0,
    heel_drag_nmm=8.0,
    stick_nmm=4.0,
    grip=0.02,
)  # fmt: skip
CAPSULE = Capsule(given_as="triple", start_kpa=13.5, full_kpa=44.0, full_deg=8.0, friction_n=0.6)
PARTICULARS = Particulars(
    title="Marsh lane pump engine", unit_number="D 4417-B", date_code="31 58",
    fitted_to="Stationary four, 1.6 litre", owner="R. Hollis", job_number="2024-031",
    received="2024-03-04", restorer="A. Tern", lobes=4, rotation="anticlockwise",
    stamped_maximum_deg=12.0,
)  # fmt: skip


def target(mechanism: Mechanism = MECHANISM, count: int = 6, half_deg: float = 1.0,
           source: str = "Data sheet of the unit") -> Target:  # fmt: skip
    prediction = predict(mechanism)
    speeds = np.round(np.linspace(prediction.start_rpm * 1.2, prediction.full_rpm * 1.1, count), -1)
    middle = prediction.advance_deg(speeds)
    points = tuple(
        CheckPoint(speed_rpm=float(s), least_deg=round(float(m) - half_deg, 1),
                   most_deg=round(float(m) + half_deg, 1))
        for s, m in zip(speeds, middle, strict=True)
    )  # fmt: skip
    kpa = np.array([15.0, 25.0, 35.0, 45.0])
    vacuum = tuple(
        VacuumPoint(depression_kpa=float(p), least_deg=round(float(d) - 1, 1),
                    most_deg=round(float(d) + 1, 1))
        for p, d in zip(kpa, capsule_advance_deg(CAPSULE, kpa), strict=True)
    )  # fmt: skip
    return Target(source=source, points=points, vacuum_points=vacuum, ceiling_deg=13.0,
                  no_advance_below_rpm=float(round(0.9 * prediction.start_rpm, -1)))  # fmt: skip


def session(mechanism: Mechanism = MECHANISM, count: int = 11, static_deg: float = 8.0,
            vacuum: bool = True, seed: int = 4, shift_deg: float = 0.0) -> Session:  # fmt: skip
    """Readings with a lamp at the crank, up and down, with noise."""
    chance = np.random.default_rng(seed)
    prediction = predict(mechanism)
    speeds = np.linspace(0.6 * prediction.start_rpm, 1.2 * prediction.full_rpm, count)
    made = []
    for way, row in (("rising", speeds), ("falling", speeds[::-1])):
        for speed, advance_deg in zip(row, prediction.advance_deg(row, way), strict=True):
            shown = 2 * speed + chance.normal(0, 25)
            angle = static_deg + 2 * (float(advance_deg) + shift_deg)
            made.append(Reading(speed_rpm=round(shown), direction=way,
                                angle_deg=round(angle + chance.normal(0, 0.7), 1)))  # fmt: skip
    made[4] = replace(made[4], left_out=True, note="lamp on the wrong lead")
    if vacuum:
        top = float(prediction.advance_deg(speeds[-1]))
        for kpa in (10.0, 20.0, 30.0, 40.0, 50.0):
            advance = top + float(capsule_advance_deg(CAPSULE, kpa))
            angle = static_deg + 2 * advance + chance.normal(0, 0.7)
            made.append(Reading(speed_rpm=round(2 * speeds[-1]), angle_deg=round(angle, 1),
                                depression_kpa=kpa, direction="rising"))  # fmt: skip
    return Session(title="As found", date="2024-03-06", readings=tuple(made),
                   instrument=Instrument(static_deg=static_deg, u_angle_deg=0.8))  # fmt: skip


def usual() -> Docket:
    return Docket(
        particulars=PARTICULARS, mechanism=MECHANISM, capsules=(CAPSULE,), target=target(),
        sessions=(session(),), setting_up=SettingUp(static_deg=8.0, states=USUAL_STATES),
    )  # fmt: skip


def empty() -> Docket:
    return new_docket()


def fullest() -> Docket:
    """Every list long, every text long."""
    docket = usual()
    long = "Wherever the number on the body could not be read it was taken from the drawing. " * 12
    springs = tuple(
        replace(s, label=f"tin {n}, third from the left", u=dict.fromkeys(
            ("rate_n_per_mm", "free_length_mm", "slack_mm", "initial_tension_n"), 0.125))
        for n in range(5) for s in MECHANISM.springs
    )  # fmt: skip
    weights = replace(MECHANISM.weights, u=dict.fromkeys(
        ("mass_g", "pivot_radius_mm", "cg_mm", "rest_angle_deg"), 0.25))  # fmt: skip
    return replace(
        docket,
        particulars=replace(PARTICULARS, remarks=long, title="The long name of an engine " * 6,
                            fitted_to="Stationary four in the shed behind the mill, 1.6 litre",
                            owner="The society for the care of old engines of the valley"),
        mechanism=replace(MECHANISM, springs=springs, weights=weights),
        target=replace(target(count=30, source="Data sheet of the unit, page 14, second table"),
                       read_as="falling",
                       vacuum_points=tuple(
                           VacuumPoint(depression_kpa=10.0 + 2.5 * n, least_deg=0.1 * n,
                                       most_deg=8.0) for n in range(16))),
        sessions=(session(count=60), session(count=40, seed=9)),
    )  # fmt: skip


def target_only() -> Docket:
    return Docket(particulars=Particulars(title="Only the figures"), target=target())


def no_capsule() -> Docket:
    docket = usual()
    bare = replace(docket.target, vacuum_points=())
    return replace(docket, capsules=(Capsule(),), target=bare, sessions=(session(vacuum=False),))


def mechanism_only() -> Docket:
    return Docket(particulars=Particulars(unit_number="D 22"), mechanism=MECHANISM)


def capsule_only() -> Docket:
    return Docket(particulars=Particulars(title="Capsule off the shelf"), capsules=(CAPSULE,))


def retard() -> Docket:
    """A retard capsule and a unit at crank speed."""
    docket = usual()
    capsule = replace(CAPSULE, acts="retard", full_deg=6.0)
    points = tuple(
        VacuumPoint(depression_kpa=p.depression_kpa, least_deg=-p.most_deg, most_deg=-p.least_deg)
        for p in docket.target.vacuum_points
    )
    return replace(docket, capsules=(capsule,), particulars=replace(PARTICULARS, drive_ratio=1.0),
                   target=replace(docket.target, vacuum_points=points), sessions=())  # fmt: skip


def wild() -> Docket:
    """Readings that are far off, and a shift of the whole curve."""
    docket = usual()
    off = session(shift_deg=2.0)
    slip = (Reading(speed_rpm=9000.0, angle_deg=85.0), Reading(speed_rpm=1500.0, angle_deg=70.0))
    return replace(docket, sessions=(replace(off, readings=(*off.readings, *slip)),))


def jumping() -> Docket:
    """A soft, much stretched spring against weights whose moment grows: it jumps both ways."""
    primary = replace(MECHANISM.springs[0], rate_n_per_mm=0.2, free_length_mm=15.0, u={})
    mechanism = replace(
        MECHANISM, weights=replace(MECHANISM.weights, rest_angle_deg=150.0), stick_nmm=14.0,
        springs=(primary, MECHANISM.springs[1]),
    )  # fmt: skip
    return replace(usual(), mechanism=mechanism)


DOCKETS = {
    made.__name__: made
    for made in (usual, empty, fullest, target_only, no_capsule, mechanism_only, capsule_only,
                 retard, wild, jumping)
}  # fmt: skip


@cache
def judged(name: str) -> Outcome:
    """The outcome of one of the dockets, computed once."""
    return outcome(DOCKETS[name]())
