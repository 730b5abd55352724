"""A mechanism learnt from one run predicts other springs, as surely as it says."""

from __future__ import annotations

import numpy as np
import pytest

from bobweight.core.design.asks import SearchAsk
from bobweight.core.design.goal import goal_of
from bobweight.core.design.learn import learn
from bobweight.core.design.search import Search
from bobweight.core.design.tolerance import tolerance
from bobweight.core.docket.file import docket_from_text, docket_to_text
from bobweight.core.docket.mechanism import InertiaKnot, Linkage
from bobweight.core.docket.readings import Session
from bobweight.core.docket.target import CheckPoint, Target
from bobweight.core.mechanics.checks import mechanism_problems
from bobweight.core.mechanics.pose import pose
from bobweight.core.mechanics.predict import predict
from bobweight.core.problems import BobweightError
from tests.design.known_runs import covered, known_run
from tests.design.trays import tray_near
from tests.mechanics.mechanisms import plain


def test_bands_of_other_springs_cover_the_truth():
    """A 95 % band may cover less here and there; more mechanisms: ``tests.studies.springs``."""
    assert covered(seed=1, mechanisms=10).mean() >= 0.90


def test_bands_cover_the_truth_where_the_known_springs_are_known_to_a_percent():
    shares = covered(seed=4, mechanisms=8, doubt={"rate": 0.01, "length_mm": 0.03})
    assert shares.mean() >= 0.90


def test_a_run_without_noise_gives_the_pull_itself():
    rng = np.random.default_rng(3)
    for _ in range(5):
        docket, truth, pull, _ = known_run(rng, u_speed=0.2, u_angle=0.01)
        found = learn(docket)
        knots = found.mechanism.linkage.learned
        cam_deg = np.array([k.cam_deg for k in knots])
        inside = cam_deg <= truth.stop_deg
        real = np.interp(cam_deg[inside], np.linspace(0, truth.stop_deg, 50), pull)
        off = np.log(np.array([k.inertia_slope_g_mm2 for k in knots])[inside] / real)
        assert np.abs(off[1:]).max() < 0.02
        assert (np.abs(off) < 4 * found.relative_u[inside]).all()
        assert found.stick_nmm == pytest.approx(truth.stick_nmm, abs=4 * found.u_stick_nmm)


def test_stick_is_told_from_rising_and_falling():
    rng, off = np.random.default_rng(8), []
    for _ in range(12):
        docket, truth, *_ = known_run(rng, u_speed=4.0, u_angle=0.1)
        found = learn(docket)
        off.append((found.stick_nmm - truth.stick_nmm) / found.u_stick_nmm)
    assert np.sqrt(np.mean(np.square(off))) < 1.7
    assert found.scatter == pytest.approx(1.0, abs=0.5)


def test_a_learnt_mechanism_works_in_every_place():
    docket, truth, *_ = known_run(np.random.default_rng(5))
    taught = learn(docket).mechanism
    docket = docket.with_changes(mechanism=taught)
    assert docket_from_text(docket_to_text(docket)) == docket
    assert not any(p.grave for p in mechanism_problems(taught))
    prediction = predict(taught)
    assert prediction.full_rpm == pytest.approx(predict(truth).full_rpm, rel=0.05)
    shown = pose(taught, 5.0)
    assert shown.weights == () and len(shown.springs) == 2
    speeds = np.linspace(prediction.start_rpm, prediction.full_rpm, 6)[1:-1]
    middle = predict(truth).advance_deg(speeds)
    points = tuple(
        CheckPoint(speed_rpm=float(s), least_deg=float(d) - 1.5, most_deg=float(d) + 1.5)
        for s, d in zip(speeds, middle, strict=True)
    )
    docket = docket.with_changes(target=Target(points=points))
    found = Search(docket, tray_near(taught, 10, seed=1), SearchAsk(top=3)).run()
    assert found.candidates
    run = tolerance(taught, goal_of(docket))
    paths = {u.paths[0] for u in run.spread}
    assert ("linkage", "shape_1") in paths and ("weights", "mass_g") not in paths


def test_shapes_move_the_pull_by_their_parts():
    """exp(log J' + s · part): half a standard deviation of a part of 0.2 is a factor e^0.1, and
    speed goes with the root of 1/J'."""
    knots = tuple(InertiaKnot(cam_deg=d, inertia_slope_g_mm2=9000.0, part_1=0.2)
                  for d in (0.0, 7.0, 15.0))  # fmt: skip
    flat = plain(linkage=Linkage(kind="learned", learned=knots))
    more = plain(linkage=Linkage(kind="learned", learned=knots, shape_1=0.5))
    ratio = predict(more).full_rpm / predict(flat).full_rpm
    assert ratio == pytest.approx(np.exp(-0.05), rel=1e-12)


def problem_of(docket) -> tuple[str, tuple]:
    with pytest.raises(BobweightError) as told:
        learn(docket)
    return told.value.problem.code, told.value.problem.path


def test_what_cannot_be_learnt_is_told():
    docket, *_ = known_run(np.random.default_rng(6))
    mechanism, session = docket.mechanism, docket.sessions[0]
    springs = mechanism.springs

    def with_springs(*changed):
        return docket.with_changes(mechanism=mechanism.with_changes(springs=changed))

    on_weight = with_springs(springs[0], springs[1].with_changes(peg_on="weight"))
    assert problem_of(on_weight) == (
        "learned-spring-on-weight", ("mechanism", "springs", 1, "peg_on")
    )  # fmt: skip
    unknown = with_springs(springs[0].with_changes(rate_n_per_mm=None), springs[1])
    assert problem_of(unknown) == ("missing", ("mechanism", "springs", 0, "rate_n_per_mm"))
    no_stop = docket.with_changes(mechanism=mechanism.with_changes(stop_deg=None))
    assert problem_of(no_stop) == ("missing", ("mechanism", "stop_deg"))
    assert problem_of(docket.with_changes(sessions=()))[0] == "no-session"
    few = Session(instrument=session.instrument, readings=session.readings[:3])
    assert problem_of(docket.with_changes(sessions=(few,)))[0] == "learn-too-few-readings"
    middle = [r for r in session.readings if 4.0 < r.angle_deg < 6.0] * 4
    short = Session(instrument=session.instrument, readings=tuple(middle))
    assert problem_of(docket.with_changes(sessions=(short,)))[0] == "learn-short-span"


def test_a_table_that_is_not_learnt_yet_is_told():
    problems = mechanism_problems(plain(linkage=Linkage(kind="learned")))
    assert problems[0].code == "not-learned-yet"


@pytest.mark.parametrize("row", [1, 2, 3])
def test_a_learnt_table_rises_from_each_row_to_the_next(row):
    at = [0.0, 3.0, 6.0, 9.0]
    at[row] = at[row - 1]
    knots = tuple(InertiaKnot(cam_deg=deg, inertia_slope_g_mm2=5e4) for deg in at)
    problems = mechanism_problems(plain(linkage=Linkage(kind="learned", learned=knots)))
    place = ("linkage", "learned", row, "cam_deg")
    assert (problems[0].code, problems[0].path) == ("measured-not-rising", place)
