"""Slopes by the feet of readings, against central differences of finely divided curves."""

import numpy as np
import pytest

from bobweight.core.docket.docket import Docket
from bobweight.core.docket.mechanism import Weights
from bobweight.core.docket.readings import Instrument, Reading, Session
from bobweight.core.judgement.beside import Beside
from bobweight.core.judgement.family import Family
from bobweight.core.judgement.fit_curves import BACKLASH, FLIPPED, REST, ZERO, Simulator
from bobweight.core.judgement.fit_values import ValueTable, free_values
from bobweight.core.judgement.reduce import reduce_session
from bobweight.core.mechanics.balance import Balance, balance_speeds
from bobweight.core.mechanics.builds import Builds
from bobweight.core.mechanics.predict import predict
from bobweight.core.record import get, put
from bobweight.core.statistics.least_squares import difference_jacobian
from tests.mechanics.mechanisms import jumping, plain, spring
from tests.samples import FOLDER, sample

RIG = Instrument(kind="rig", u_speed_rpm=15.0, u_angle_deg=0.4)
DIRECTIONS = ("rising", "falling", "unknown")


def session(seed=0, top_rpm=2400.0, top_deg=14.0):
    """Readings anywhere, on the curve or off it."""
    rng = np.random.default_rng(seed)
    return Session(instrument=RIG, readings=tuple(
        Reading(speed_rpm=float(rng.uniform(150, top_rpm)), direction=DIRECTIONS[i % 3],
                angle_deg=float(rng.uniform(-1, top_deg)))
        for i in range(30)
    ))  # fmt: skip


def slopes(docket, z, more, knots=3000):
    """Slopes of the distances at a point, by feet and by whole curves: (readings, values)."""
    reduced = reduce_session(docket.sessions[0], docket.particulars)
    table = ValueTable(free_values(docket, 0, reduced))
    simulator = Simulator(docket, 0, reduced, knots)

    def values(points):
        return table.at(points) | {p: np.full(len(points), v) for p, v in more.items()}

    at = np.full((1, len(table.paths)), z)
    near = Beside(simulator, values(at))
    ways = (
        lambda points, rows: near.distances(values(points), rows),
        lambda points, rows: simulator.distances(values(points)),
    )
    free, far = np.ones(at.shape, bool), np.full(at.shape, 99.0)
    here = simulator.distances(values(at))
    return near.distances(values(at), np.zeros(1, int)), here, [
        difference_jacobian(way, at, here, -far, far, free, np.ones(at.shape[1]), np.zeros(1, int),
                            central=True)[0] for way in ways
    ]  # fmt: skip


@pytest.mark.parametrize("mechanism", [plain(), plain(stick_nmm=2.0, grip=0.1), jumping()])
@pytest.mark.parametrize("more", [{}, {REST: 1.5}, {FLIPPED: 1.0, ZERO: 2.0}, {BACKLASH: 1.0}])
@pytest.mark.parametrize("seed", [0, 1])
def test_feet_give_the_slopes_of_whole_curves(mechanism, more, seed):
    docket = Docket(mechanism=mechanism, sessions=(session(seed),))
    here, distances, (by_feet, by_curves) = slopes(docket, 0.3, more)
    assert np.median(np.abs(here - distances)) < 1e-4
    off = np.abs(by_feet - by_curves) > 0.02 * np.abs(by_curves) + 0.002
    # A foot at a corner of the finely divided curve goes from part to part within a difference.
    assert off.mean() < 0.01
    assert np.abs(by_curves).max(axis=0).min() > 0 or not by_feet[:, ~by_curves.any(axis=0)].any()


def jumping_as_taken_up():
    """A tight secondary that hardly stiffens: the weights fly out from where it is taken up."""
    return plain(
        weights=Weights(
            count=2, mass_g=28.0, pivot_radius_mm=17.0, cg_mm=11.0, rest_angle_deg=145.0
        ),
        springs=(
            spring(13.0, rate_n_per_mm=0.9),
            spring(15.2, rate_n_per_mm=0.1, initial_tension_n=8.0, slack_mm=1.3, role="secondary"),
        ),
    )


RUBBER = plain(stop_give_deg=2.0, stop_rate_nmm_per_deg=150.0, stick_nmm=1.0)


@pytest.mark.parametrize("mechanism", [jumping_as_taken_up(), RUBBER])
def test_feet_at_a_jump_from_a_take_up_and_at_a_rubber_stop(mechanism):
    docket = Docket(mechanism=mechanism, sessions=(session(2, 3000.0, 16.0),))
    here, distances, (by_feet, by_curves) = slopes(docket, 0.2, {}, 1500)
    assert np.median(np.abs(here - distances)) < 1e-4
    off = np.abs(by_feet - by_curves) > 0.02 * np.abs(by_curves) + 0.005
    assert off.mean() < 0.01


@pytest.mark.parametrize("name", sorted(p.stem for p in FOLDER.glob("*.docket")))
def test_feet_give_the_slopes_of_whole_curves_for_every_sample(name):
    docket = sample(name)
    _, _, (by_feet, by_curves) = slopes(docket, 0.2, {})
    off = np.abs(by_feet - by_curves) > 0.03 * np.abs(by_curves) + 0.01
    assert off.mean() < 0.01


@pytest.mark.parametrize("index", [0, 1])
def test_a_spring_that_just_hangs_gives_no_other_slopes(index):
    """Its take-up is at rest, and an edge of builds right beside only."""
    mechanism = plain()
    path = Balance(Builds(mechanism)).paths[index]
    rest = np.zeros((1, 1, 1))
    longer = np.ravel(path.length_mm(rest, path.motion.at(rest)) - path.taken_up_mm)[0]
    free = ("springs", index, "free_length_mm")
    mechanism = put(mechanism, free, get(mechanism, free) + float(longer))
    docket = Docket(mechanism=mechanism, sessions=(session(),))
    _, _, (by_feet, by_curves) = slopes(docket, 0.0, {})
    off = np.abs(by_feet - by_curves) > 0.02 * np.abs(by_curves) + 0.002
    assert off.mean() < 0.01


def test_a_level_part_moves_with_the_stop_alone():
    """By hand: beyond full advance a reading is so far off as it lies above the stop."""
    reading = Reading(speed_rpm=9000.0, angle_deg=14.0, direction="rising")
    docket = Docket(
        mechanism=plain(), sessions=(Session(instrument=RIG, readings=(reading,)),)
    )  # fmt: skip
    reduced = reduce_session(docket.sessions[0], docket.particulars)
    simulator = Simulator(docket, 0, reduced)
    stop, rate = ("mechanism", "stop_deg"), ("mechanism", "springs", 0, "rate_n_per_mm")
    near = Beside(simulator, {stop: np.array([13.0]), rate: np.array([0.9])})
    moved = {stop: np.array([13.0, 13.2, 13.0]), rate: np.array([0.9, 0.9, 1.0])}
    found = near.distances(moved, np.zeros(3, int))[:, 0]
    assert found == pytest.approx(np.array([1.0, 0.8, 1.0]) / 0.4)


@pytest.mark.parametrize("share", [0.3, 0.999])
def test_a_foot_between_the_first_knots_or_the_last_stands_between_them(share):
    """On a curve of few knots: readings on it are as good as no distance away."""
    mechanism, knots = plain(), 12
    ends = balance_speeds(Builds(mechanism), knots)
    theta = np.degrees(ends.theta_rad[0])
    at = theta[0] + share * (theta[1] - theta[0]), theta[-1] - share * (theta[-1] - theta[-2])
    curve = predict(mechanism).rising
    speed = np.interp(at, curve.advance_deg, curve.speed_rpm)
    readings = tuple(
        Reading(speed_rpm=float(s), angle_deg=float(a), direction="rising")
        for s, a in zip(speed, at, strict=True)
    )
    docket = Docket(mechanism=mechanism, sessions=(Session(instrument=RIG, readings=readings),))
    simulator = Simulator(docket, 0, reduce_session(docket.sessions[0], docket.particulars), knots)
    stop = {("mechanism", "stop_deg"): np.array([mechanism.stop_deg])}
    found = Beside(simulator, stop).distances(stop, np.zeros(1, int))
    assert found == pytest.approx(np.zeros((1, 2)), abs=0.05)


def test_a_jump_from_rest_is_held_by_rest():
    """Speed falls as soon as the weights move: they fly out at the speed at which they start."""
    mechanism, knots = jumping(), 16
    start = predict(mechanism).start_rpm
    exact = Instrument(kind="rig", u_speed_rpm=1.0, u_angle_deg=0.4)
    reading = Reading(speed_rpm=start + 2.0, angle_deg=4.0, direction="rising")
    docket = Docket(mechanism=mechanism, sessions=(Session(instrument=exact, readings=(reading,)),))
    simulator = Simulator(docket, 0, reduce_session(docket.sessions[0], docket.particulars), knots)
    stop = {("mechanism", "stop_deg"): np.array([mechanism.stop_deg])}
    found = Beside(simulator, stop).distances(stop, np.zeros(1, int))
    u = float(simulator.points(stop)[2][0, 0])
    assert found[0, 0] == pytest.approx(-2.0 / u, abs=0.02)


def test_slopes_of_an_explanation_do_not_hang_on_the_others_beside_it():
    """Every figure of one hypothesis in a batch of all, and by itself. The knots of its curve hang
    on the batch, so that a slope right at a kink may be another: one in a thousand, and not by
    much."""
    docket = sample("weak_primary")
    family = Family(docket, 0, reduce_session(docket.sessions[0], docket.particulars))
    ones, alls = [], []
    which = np.arange(len(family.hypotheses))
    x = 0.5 * np.random.default_rng(1).normal(size=(len(which), family.columns))
    x *= family.free[which]
    together = family.residuals_beside(x, which)
    for h in which[::6]:
        alone = family.residuals_beside(x[h : h + 1], which[h : h + 1])
        step = x[h] + 1e-6 * np.eye(family.columns)[family.free[h]]
        points = np.concatenate([x[h : h + 1], step])
        rows = np.zeros(len(points), int)
        for found, r in ((ones, alone(points, rows)), (alls, together(points, rows + h))):
            found.append(((r[1:] - r[0]) / 1e-6).ravel())
    one, all_of_them = np.concatenate(ones), np.concatenate(alls)
    assert one == pytest.approx(all_of_them, rel=0.25, abs=0.25)
    off = ~np.isclose(one, all_of_them, rtol=0.1, atol=0.1)
    assert off.mean() < 1e-3
