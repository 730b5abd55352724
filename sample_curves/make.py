"""Makes the sample dockets: ``python -m bobweight.sample_curves.make`` writes them here.

Every unit here is invented. Each has a mechanism that was tuned to give a plausible table of
check points, and readings drawn from a *true* unit that may differ from the mechanism written
down: that difference is the story of the docket. The seeds are fixed, so the files come out the
same each time.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from bobweight.core.docket.docket import Docket, new_docket
from bobweight.core.docket.file import write_docket
from bobweight.core.docket.mechanism import Linkage, Mechanism, Spring, SwingPoint, Weights
from bobweight.core.docket.particulars import Particulars
from bobweight.core.docket.readings import Instrument, Reading, Session
from bobweight.core.docket.reassembly import Reassembly
from bobweight.core.docket.setting_up import SettingUp
from bobweight.core.docket.target import CheckPoint, Target, VacuumPoint
from bobweight.core.docket.vacuum import Capsule
from bobweight.core.mechanics.capsule import capsule_advance_deg, plate_advance_deg
from bobweight.core.mechanics.predict import predict
from bobweight.core.record import put
from bobweight.sample_curves.bench_figures import with_bench

HERE = Path(__file__).parent
INVENTED = "Invented for the examples of this program; no such unit exists."


@dataclass
class Story:
    """One sample: the unit as written down, the truth, and how it was read."""

    file: str
    seed: int
    particulars: Particulars
    mechanism: Mechanism
    check_rpm: tuple[float, ...]  # distributor rev/min of the check points
    capsule: Capsule
    static_deg: float
    instrument: Instrument
    target: Target
    band_deg: float
    read_rpm: tuple[float, float]  # distributor rev/min, from and to
    truth: tuple[tuple[tuple, float], ...] = ()  # factors on values of the mechanism
    vacuum_read_kpa: tuple[float, ...] = ()
    slips: tuple[tuple[int, float], ...] = ()  # row, degrees as shown


def readings(story: Story, truth: Mechanism) -> tuple[Reading, ...]:
    """Readings of the true unit as the instruments would show them, with noise and slips."""
    rng = np.random.default_rng(story.seed)
    curve, instrument = predict(truth), story.instrument
    ratio = story.particulars.ratio_taken if instrument.kind == "lamp" else 1.0
    rows = []
    for direction, count in (("rising", 14), ("falling", 9)):
        for speed in np.linspace(*story.read_rpm, count)[:: 1 if direction == "rising" else -1]:
            speed = speed + rng.uniform(-0.01, 0.01) * story.read_rpm[1]
            true = speed + rng.normal(0.0, instrument.u_speed_taken_rpm / ratio)
            advance = float(curve.advance_deg(true, direction))
            rows.append(_shown(rng, instrument, ratio, speed, advance, direction, None))
    speed = 1.15 * curve.full_rpm
    for depression in story.vacuum_read_kpa:
        vacuum = float(plate_advance_deg((story.capsule,), depression))
        advance = float(curve.advance_deg(speed)) + vacuum
        rows.append(_shown(rng, instrument, ratio, speed, advance, "unknown", depression))
    for row, slip in story.slips:
        shown = rows[row].angle_deg + slip
        rows[row] = rows[row].with_changes(angle_deg=round(shown, 1))
    return tuple(rows)


def _shown(
    rng: np.random.Generator,
    instrument: Instrument,
    ratio: float,
    speed_rpm: float,
    advance_deg: float,
    direction: str,
    depression_kpa: float | None,
) -> Reading:
    angle = (
        instrument.static_taken_deg
        + ratio * advance_deg
        + rng.normal(0.0, instrument.u_angle_taken_deg)
    )
    return Reading(
        speed_rpm=float(10.0 * round(ratio * speed_rpm / 10.0)),
        angle_deg=float(round(2 * angle) / 2),
        direction=direction,
        depression_kpa=depression_kpa,
    )


def docket(story: Story) -> Docket:
    """The whole docket of a story."""
    mechanism = story.mechanism
    curve = predict(mechanism)
    ratio = story.particulars.ratio_taken
    crank = story.target.frame_taken != "distributor"
    factor, static = (ratio if crank else 1.0), 0.0
    if story.target.frame_taken == "crank-static":
        static = story.static_deg
    points = []
    for speed in story.check_rpm:
        middle = factor * float(curve.advance_deg(speed)) + static
        least = round(2 * (middle - factor * story.band_deg)) / 2
        most = round(2 * (middle + factor * story.band_deg)) / 2
        points.append(CheckPoint(speed_rpm=factor * speed, least_deg=least, most_deg=most))
    target = story.target.with_changes(points=tuple(points), source=INVENTED)
    if story.vacuum_read_kpa:
        v_factor = ratio if target.vacuum_frame_taken == "crank" else 1.0
        triple = story.capsule
        places = [
            triple.start_kpa + s * (triple.full_kpa - triple.start_kpa) for s in (0.35, 0.7, 1.15)
        ]
        rows = []
        for place in places:
            place = round(place / 3.386389) * 3.386389
            middle = v_factor * abs(float(capsule_advance_deg(triple, place)))
            sign = -1.0 if triple.acts == "retard" else 1.0
            ends = sorted(sign * (middle + d * v_factor) for d in (-1.0, 1.0))
            rows.append(
                VacuumPoint(
                    depression_kpa=round(place, 4),
                    least_deg=round(2 * ends[0]) / 2,
                    most_deg=round(2 * ends[1]) / 2,
                )
            )
        target = target.with_changes(vacuum_points=tuple(rows))
    truth = mechanism
    for path, amount in story.truth:
        here = truth
        for step in path:
            here = here[step] if isinstance(step, int) else getattr(here, step)
        truth = put(truth, path, here * amount if here else amount)
    particulars = story.particulars.with_changes(
        notes=f"{INVENTED} {story.particulars.notes}".strip(),
        drive_ratio=ratio,
        backlash_deg=story.particulars.backlash_taken_deg,
    )
    return new_docket().with_changes(
        particulars=particulars,
        mechanism=mechanism.with_changes(measured_off="sound"),
        capsules=(story.capsule,),
        target=target,
        sessions=(
            Session(
                title="As found",
                date="2026-03-14",
                instrument=story.instrument,
                readings=readings(story, truth),
            ),
        ),
        setting_up=SettingUp(
            static_deg=story.static_deg,
            states=new_docket().setting_up.states,
            altitude_m=0.0,
            pulley_rotation="clockwise",
        ),
        reassembly=Reassembly(drive="offset-dog"),
    )


def on_cam(
    role: str,
    rate: float,
    free: float,
    slack: float = 0.0,
    tension: float = 0.0,
    *,
    post: float = 24.0,
    angle: float = -75.0,
    peg: float = 12.5,
) -> Spring:
    """A spring from the base plate to the cam foot; the secondary on the opposite side."""
    turn = 180.0 if role == "secondary" else 0.0
    return Spring(
        role=role,
        peg_on="cam",
        rate_n_per_mm=rate,
        free_length_mm=round(free, 2),
        slack_mm=slack,
        initial_tension_n=tension,
        post_radius_mm=post,
        post_angle_deg=angle + turn,
        peg_radius_mm=peg,
        peg_angle_deg=turn,
    )


def on_weight(
    role: str, rate: float, free: float, slack: float = 0.0, weight: int = 1, **places: float
) -> Spring:
    """A spring from the base plate to a weight."""
    return Spring(
        role=role,
        peg_on="weight",
        rate_n_per_mm=rate,
        free_length_mm=round(free, 2),
        slack_mm=slack,
        weight=weight,
        **places,
    )


def reach(post: float, peg: float, angle_deg: float) -> float:
    """Distance from post to peg at rest."""
    return float(np.sqrt(post**2 + peg**2 - 2 * post * peg * np.cos(np.radians(angle_deg))))


def _stated(record, **u):
    return record.with_changes(u=u)


def stories() -> list[Story]:
    """The invented units."""
    lamp = Instrument(
        kind="lamp", static_deg=8.0, mark_error_deg=0.0, u_speed_rpm=20.0, u_angle_deg=0.6
    )
    lamp = _stated(lamp, static_deg=0.3, mark_error_deg=0.3)
    slot = Linkage(kind="slot", pin_radius_mm=8.0, pin_angle_deg=52.0)
    four_weights = _stated(
        Weights(count=2, mass_g=24.0, pivot_radius_mm=17.0, cg_mm=10.0, rest_angle_deg=125.0),
        mass_g=0.2,
        pivot_radius_mm=0.1,
        cg_mm=0.3,
        rest_angle_deg=1.5,
    )
    length = reach(24.0, 12.5, 75.0)
    small = Mechanism(
        weights=four_weights,
        linkage=slot,
        stop_deg=12.0,
        stick_nmm=2.0,
        grip=0.015,
        heel_drag_nmm=5.0,
        springs=(
            on_cam("primary", 2.6, length - 0.25, tension=0.3),
            on_cam("secondary", 11.0, length - 0.2, 1.5, tension=1.0),
        ),
    )
    small_capsule = Capsule(given_as="triple", start_kpa=13.5, full_kpa=44.0, full_deg=7.0)
    small_target = Target(
        frame="distributor",
        vacuum_frame="distributor",
        no_advance_below_rpm=400.0,
        ceiling_deg=13.0,
    )
    checks = (600.0, 750.0, 1000.0, 1250.0, 1600.0)
    read = (350.0, 1750.0)
    six_length = reach(26.0, 14.0, 70.0)
    eight_length = reach(28.0, 15.0, 72.0)
    return [
        Story(
            "weak_primary",
            11,
            Particulars(
                title="Harbour launch, four cylinders",
                unit_number="HL 40117",
                fitted_to="Auxiliary engine of the launch Periwinkle, 1.5 litres",
                owner="Tidewater Boat Club",
                job_number="26-031",
                received="2026-03-09",
                restorer="Bench two",
                lobes=4,
                rotation="clockwise",
                stamped_maximum_deg=12.0,
                notes="Pinks when pulling away; was sent back once already.",
            ),
            small,
            checks,
            small_capsule,
            8.0,
            lamp,
            small_target,
            1.0,
            read,
            truth=((("springs", 0, "rate_n_per_mm"), 0.7),),
            vacuum_read_kpa=(10.0, 17.0, 24.0, 30.0, 37.0, 44.0, 51.0),
            slips=((8, -5.0),),
        ),
        Story(
            "small_four",
            12,
            Particulars(
                title="Market van, four cylinders",
                unit_number="MV 2208",
                fitted_to="Grocer's van, 1.1 litres",
                job_number="26-018",
                lobes=4,
                rotation="anticlockwise",
                stamped_maximum_deg=12.0,
                notes="A sound unit: only cleaned.",
            ),
            small.with_changes(heel_drag_nmm=4.0),
            checks,
            small_capsule,
            6.0,
            lamp.with_changes(static_deg=6.0, u=lamp.u),
            small_target.with_changes(
                frame="crank-static",
                no_advance_below_rpm=800.0,
                ceiling_deg=32.0,
                vacuum_frame="crank",
            ),
            1.0,
            read,
            vacuum_read_kpa=(10.0, 20.0, 30.0, 40.0, 50.0),
            slips=((4, 3.5),),
        ),
        Story(
            "straight_six",
            13,
            Particulars(
                title="Touring saloon, six cylinders",
                unit_number="TS 66-905",
                fitted_to="Saloon, 2.4 litres",
                job_number="26-022",
                lobes=6,
                rotation="clockwise",
                stamped_maximum_deg=14.0,
                notes="The loop of the heavy spring has worn.",
            ),
            Mechanism(
                weights=Weights(
                    count=2, mass_g=30.0, pivot_radius_mm=18.0, cg_mm=10.5, rest_angle_deg=120.0
                ),
                linkage=Linkage(kind="constant", ratio=0.62),
                stop_deg=14.0,
                stick_nmm=2.5,
                grip=0.02,
                heel_drag_nmm=6.0,
                springs=(
                    on_cam("primary", 2.6, six_length - 0.5, post=26.0, angle=-70.0, peg=14.0),
                    on_cam(
                        "secondary",
                        14.0,
                        six_length - 0.3,
                        1.5,
                        1.5,
                        post=26.0,
                        angle=-70.0,
                        peg=14.0,
                    ),
                ),
            ),
            (500.0, 650.0, 900.0, 1250.0, 1750.0),
            Capsule(given_as="triple", start_kpa=17.0, full_kpa=47.0, full_deg=9.0),
            10.0,
            lamp.with_changes(static_deg=10.0, u=lamp.u),
            Target(
                frame="crank", no_advance_below_rpm=700.0, ceiling_deg=30.0, vacuum_frame="crank"
            ),
            1.0,
            (300.0, 1850.0),
            truth=((("springs", 1, "slack_mm"), 1.7),),
            vacuum_read_kpa=(14.0, 24.0, 34.0, 44.0, 54.0),
        ),
        Story(
            "vee_eight",
            14,
            Particulars(
                title="Delivery lorry, eight cylinders",
                unit_number="DL 8-1410",
                fitted_to="Lorry, 5.2 litres",
                job_number="26-027",
                lobes=8,
                rotation="clockwise",
                stamped_maximum_deg=11.0,
                notes="Gummed up after twenty years in a shed.",
            ),
            Mechanism(
                weights=Weights(
                    count=2, mass_g=38.0, pivot_radius_mm=19.0, cg_mm=11.0, rest_angle_deg=116.0
                ),
                linkage=Linkage(
                    kind="measured",
                    points=tuple(
                        SwingPoint(cam_deg=c, swing_deg=s)
                        for c, s in (
                            (0.0, 0.0),
                            (2.0, 3.1),
                            (4.0, 6.3),
                            (6.0, 9.7),
                            (8.0, 13.3),
                            (10.0, 17.1),
                            (12.0, 21.2),
                        )
                    ),
                ),
                stop_deg=11.0,
                stick_nmm=4.0,
                grip=0.02,
                heel_drag_nmm=10.0,
                springs=(
                    on_cam("primary", 4.5, eight_length - 0.5, post=28.0, angle=-72.0, peg=15.0),
                    on_cam(
                        "secondary", 22.0, eight_length - 0.2, 1.3, post=28.0, angle=-72.0, peg=15.0
                    ),
                ),
            ),
            (550.0, 650.0, 900.0, 1200.0, 1600.0),
            Capsule(given_as="triple", start_kpa=20.0, full_kpa=54.0, full_deg=8.0),
            6.0,
            lamp.with_changes(static_deg=6.0, u=lamp.u),
            Target(
                frame="crank", no_advance_below_rpm=800.0, ceiling_deg=24.0, vacuum_frame="crank"
            ),
            1.0,
            (350.0, 1750.0),
            truth=((("stick_nmm",), 8.0),),
            vacuum_read_kpa=(17.0, 27.0, 37.0, 47.0, 57.0),
            slips=((6, -4.0),),
        ),
        Story(
            "tractor_four",
            15,
            Particulars(
                title="Orchard tractor, four cylinders",
                unit_number="OT 3310",
                fitted_to="Tractor, 2 litres, paraffin",
                job_number="26-040",
                lobes=4,
                rotation="clockwise",
                stamped_maximum_deg=15.0,
                notes="No vacuum capsule. One pair of like springs.",
            ),
            Mechanism(
                weights=Weights(
                    count=2, mass_g=42.0, pivot_radius_mm=19.0, cg_mm=11.5, rest_angle_deg=118.0
                ),
                linkage=Linkage(kind="constant", ratio=0.75),
                stop_deg=15.0,
                stick_nmm=3.0,
                grip=0.02,
                heel_drag_nmm=6.0,
                springs=tuple(
                    on_weight(
                        "primary",
                        3.0,
                        14.3,
                        post_radius_mm=14.0,
                        post_angle_deg=90.0,
                        peg_radius_mm=11.0,
                        peg_angle_deg=-3.0,
                        weight=weight,
                    )
                    for weight in (1, 2)
                ),
            ),
            (550.0, 700.0, 900.0, 1250.0),
            Capsule(),
            0.0,
            lamp.with_changes(static_deg=0.0, u=lamp.u),
            Target(frame="crank", no_advance_below_rpm=860.0, ceiling_deg=33.0),
            1.5,
            (350.0, 1300.0),
            slips=((3, 4.0),),
        ),
        Story(
            "motorcycle_twin",
            16,
            Particulars(
                title="Parallel twin, crank-speed unit",
                unit_number="PT 077",
                fitted_to="Motorcycle, 500 cc",
                job_number="26-044",
                lobes=1,
                rotation="anticlockwise",
                drive_ratio=1.0,
                stamped_maximum_deg=22.0,
                notes="Turns at crank speed: one degree here is one degree at the crank.",
            ),
            Mechanism(
                weights=Weights(
                    count=2, mass_g=16.0, pivot_radius_mm=14.0, cg_mm=8.0, rest_angle_deg=120.0
                ),
                linkage=Linkage(kind="constant", ratio=0.85),
                stop_deg=22.0,
                stick_nmm=1.5,
                grip=0.015,
                heel_drag_nmm=3.0,
                springs=tuple(
                    on_weight(
                        "primary",
                        4.0,
                        12.4,
                        post_radius_mm=10.2,
                        post_angle_deg=101.0,
                        peg_radius_mm=8.0,
                        peg_angle_deg=-3.0,
                        weight=weight,
                    )
                    for weight in (1, 2)
                ),
            ),
            (1000.0, 1500.0, 2000.0, 2700.0),
            Capsule(),
            6.0,
            _stated(
                Instrument(
                    kind="rig",
                    static_deg=0.0,
                    mark_error_deg=0.0,
                    u_speed_rpm=20.0,
                    u_angle_deg=0.5,
                ),
                static_deg=0.2,
                mark_error_deg=0.2,
            ),
            Target(frame="distributor", no_advance_below_rpm=640.0, ceiling_deg=23.5),
            1.5,
            (500.0, 2900.0),
        ),
        Story(
            "retard_capsule",
            17,
            Particulars(
                title="Hill-climb coupé, retard capsule",
                unit_number="HC 512",
                fitted_to="Coupé, 1.7 litres",
                job_number="26-051",
                lobes=4,
                rotation="anticlockwise",
                stamped_maximum_deg=12.0,
                notes="The capsule takes advance away at idle.",
            ),
            small.with_changes(stick_nmm=3.0),
            checks,
            Capsule(given_as="triple", acts="retard", start_kpa=24.0, full_kpa=40.0, full_deg=5.0),
            10.0,
            lamp.with_changes(static_deg=10.0, u=lamp.u),
            small_target,
            1.0,
            read,
            truth=((("stop_deg",), 1.15),),
            vacuum_read_kpa=(20.0, 27.0, 34.0, 41.0, 48.0),
        ),
    ]


def sample(story: Story) -> Docket:
    """The docket of a story as it comes with the program."""
    made = docket(story)
    return with_bench(made) if story.file == "weak_primary" else made


if __name__ == "__main__":
    for story in stories():
        made = sample(story)
        write_docket(made, HERE / f"{story.file}.docket")
        curve = predict(made.mechanism)
        springs = [(s.rate_n_per_mm, s.free_length_mm, s.slack_mm) for s in made.mechanism.springs]
        print(story.file, round(curve.start_rpm), round(curve.full_rpm), curve.full_deg, springs)
