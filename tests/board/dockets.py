"""An invented docket for the board's tests: a mechanism with a take-up, a target, readings."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from bobweight.app.board.figure_plot import FigurePlot
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.mechanism import Linkage, Mechanism, Spring, Weights
from bobweight.core.docket.particulars import Particulars
from bobweight.core.docket.readings import Instrument, Reading, Session
from bobweight.core.docket.setting_up import USUAL_STATES, SettingUp
from bobweight.core.docket.target import CheckPoint, Target, VacuumPoint
from bobweight.core.docket.vacuum import Capsule
from bobweight.core.mechanics.predict import predict

STATIC_DEG = 10.0


def mechanism() -> Mechanism:
    """Two weights with pins in slots; the secondary takes up part of the way."""
    primary = Spring(
        role="primary", rate_n_per_mm=2.0, free_length_mm=19.0, post_radius_mm=22.8,
        post_angle_deg=8.8, peg_radius_mm=11.0, peg_angle_deg=70.0,
    )  # fmt: skip
    secondary = Spring(
        role="secondary", rate_n_per_mm=12.0, free_length_mm=19.9, slack_mm=1.0,
        initial_tension_n=1.5, post_radius_mm=22.8, post_angle_deg=188.8, peg_radius_mm=11.0,
        peg_angle_deg=250.0,
    )  # fmt: skip
    return Mechanism(
        weights=Weights(count=2, mass_g=18.0, pivot_radius_mm=17.0, cg_mm=9.5, rest_angle_deg=95.0),
        linkage=Linkage(kind="slot", pin_radius_mm=7.0, pin_angle_deg=75.0),
        springs=(primary, secondary),
        stop_deg=10.5,
        stick_nmm=4.0,
    )


@lru_cache
def docket(noise_deg: float = 0.0) -> Docket:
    """The whole: readings of the mechanism itself by a lamp, with noise of so many degrees."""
    made = mechanism()
    prediction = predict(made)
    random = np.random.default_rng(7)
    readings = []
    for speed in np.linspace(300.0, 1400.0, 8):
        for direction in ("rising", "falling"):
            advance = float(prediction.advance_deg(speed, direction))
            shown = STATIC_DEG + 2 * advance + random.normal(0.0, noise_deg or 1e-12)
            readings.append(Reading(speed_rpm=2 * speed, angle_deg=shown, direction=direction))
    readings.append(Reading(speed_rpm=2400.0, angle_deg=14.0, left_out=True))
    readings.append(Reading(speed_rpm=800.0, angle_deg=16.0, depression_kpa=25.0))
    points = tuple(
        CheckPoint(speed_rpm=speed, least_deg=low, most_deg=low + 2.0)
        for speed, low in ((600.0, 2.0), (900.0, 5.0), (1300.0, 9.5))
    )
    return Docket(
        particulars=Particulars(title="Invented", rotation="clockwise"),
        mechanism=made,
        capsules=(Capsule(
            given_as="triple", start_kpa=12.0, full_kpa=38.0, full_deg=7.0, area_mm2=1000.0,
            friction_n=1.0,
        ),),
        target=Target(
            points=points,
            no_advance_below_rpm=480.0,
            ceiling_deg=11.5,
            vacuum_points=(VacuumPoint(depression_kpa=25.0, least_deg=2.5, most_deg=4.5),),
        ),
        sessions=(
            Session(
                title="As found",
                instrument=Instrument(static_deg=STATIC_DEG, u_angle_deg=0.7),
                readings=tuple(readings),
            ),
        ),
        setting_up=SettingUp(static_deg=8.0, states=USUAL_STATES),
    )  # fmt: skip


def words_on(plot: FigurePlot) -> list[str]:
    """The words that stand on a plot, in the lines that they have there."""
    scale = plot.main.scale()
    return [] if scale is None else [plot._texts[key] for key in plot.label_places(scale)]
