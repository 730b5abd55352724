"""Parts of an explanation: what it adds, what it shares a place with, what it comes to."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from bobweight.core.docket.docket import Docket
from bobweight.core.docket.history import Alteration
from bobweight.core.docket.readings import Instrument, Reading, Session
from bobweight.core.docket.target import CheckPoint, Target
from bobweight.core.docket.vacuum import Capsule
from bobweight.core.judgement import diagnose, fit_distance
from bobweight.core.judgement.alter import Cure, CureStep
from bobweight.core.judgement.as_found import AsFound
from bobweight.core.judgement.consequences import Option, _option, _options, altered, read_before
from bobweight.core.judgement.diagnose import _slopes
from bobweight.core.judgement.diagnosis import Diagnosis, Explanation
from bobweight.core.judgement.directions import _told_apart
from bobweight.core.judgement.explaining import _nested, placed
from bobweight.core.judgement.family import _PLATE_SPREAD, _USUAL_PLATE_DEG, NOISE_SPREAD, Family
from bobweight.core.judgement.faults import NONE_OF_THESE, NOTHING_WRONG
from bobweight.core.judgement.fit import reading_advice
from bobweight.core.judgement.fit_curves import ZERO, Simulator
from bobweight.core.judgement.fit_distance import signed_distances
from bobweight.core.judgement.free_deviation import NONE_U_DEG, FreeDeviation, free_deviation
from bobweight.core.judgement.hypotheses import Hypothesis
from bobweight.core.judgement.objective import weights
from bobweight.core.judgement.outcome import outcome
from bobweight.core.judgement.ratio import target_speeds, torque_ratio
from bobweight.core.judgement.reduce import reduce_session
from bobweight.core.mechanics.capsule import capsule_advance_deg
from bobweight.core.record import get, put
from tests.judgement.invented import Wish, docket

UNIT = docket(Wish())


# The family ---------------------------------------------------------------------------------


def family(**facts) -> Family:
    found = object.__new__(Family)
    nothing = AsFound((), (), np.zeros(1), np.eye(1), [()] * 9)
    for key, value in {"as_found": nothing, **facts}.items():
        setattr(found, key, value)
    return found


def test_a_free_deviation_is_straight_between_its_nodes_and_level_beyond():
    """numpy's interpolation."""
    places, heights = np.linspace(500.0, 1400.0, 10), np.random.default_rng(3).normal(size=(2, 10))
    free = family(first_node=1, free_deviation=FreeDeviation(places, np.eye(10)))
    speed = np.array([[200.0, 500.0, 540.0, 640.0, 1000.0, 1390.0, 1900.0]])
    found = free.deviation(np.column_stack([np.zeros(2), heights]), speed)
    for row, each in zip(found, heights, strict=True):
        assert row == pytest.approx(np.interp(speed[0], places, NONE_U_DEG * each))


def test_nodes_lie_over_the_whole_range_that_was_read():
    simulator = SimpleNamespace(
        shown_rpm=np.array([1000.0, 2600.0, 900.0, 5000.0]), ratio=2.0,
        pipe_on=np.array([False, False, False, True]),
    )  # fmt: skip
    found = free_deviation(simulator)
    places, root = found.places_rpm, found.root
    assert (places[0], places[-1]) == (pytest.approx(449.0), pytest.approx(1301.0))
    assert np.diag(root @ root.T) == pytest.approx(1.0, abs=1e-5)


def test_a_forgotten_pipe_adds_the_plate_from_its_speed_on_and_only_where_it_is_forgotten():
    simulator = SimpleNamespace(pipe_on=np.array([False, True]), rows=np.arange(2), capsules=())
    pipe = SimpleNamespace(amount=lambda z: np.full(len(z), 800.0))
    free = family(
        first_fault=0, plate=1, first_node=2, pipes=[0], faults=(pipe,), simulator=simulator,
        sign=np.array([[0.0], [1.0]]), docket=SimpleNamespace(capsules=()),
        free_deviation=FreeDeviation(np.zeros(2), np.eye(2)),
    )  # fmt: skip
    x, which = np.zeros((2, 4)), np.array([0, 1])
    x[1, 1] = 1.0
    plate = _USUAL_PLATE_DEG * np.exp(_PLATE_SPREAD)
    speed = np.array([[400.0, 800.0, 1300.0]])
    found = free.added(x, which, speed)
    assert found[0] == pytest.approx(0.0)
    assert found[1] == pytest.approx([0.0, 0.5 * plate, plate])
    readings = free.added(x, which, np.array([[1300.0, 1300.0]]))
    assert readings[1] == pytest.approx([plate, 0.0]), "with the pipe on it is no fault"


@pytest.mark.parametrize(("slopes", "judging"), [
    (np.full((8, 1), 10.0 / np.sqrt(8.0)), 8.0 - 1.0 - 100.0 / 101.0),
    (np.full((8, 1), 1.0 / np.sqrt(8.0)), 8.0 - 1.0 - 0.5),
    (10.0 * np.eye(8), 0.3 * 8.0),  # never fewer than three in ten
])  # fmt: skip
def test_readings_used_up_in_placing_the_curve_judge_no_noise(slopes, judging):
    """The effective number of parameters: MacKay, Neural Computation 4 (1992) 415."""
    rows, values = slopes.shape
    felt = np.concatenate([slopes, np.ones((4, values))])
    most = np.full(values, 6.0)
    _, found = _told_apart(
        lambda z: z @ felt.T, rows, np.zeros(values), np.eye(values), -most, most
    )  # fmt: skip
    assert found == pytest.approx(judging, rel=1e-6)


def test_the_plate_of_a_pipe_is_free_where_no_capsule_is_described():
    def free(pipe, capsules):
        fault = SimpleNamespace(usual=1.0, pipe=pipe)
        made = family(columns=6, first_fault=2, plate=3, first_node=4, faults=(fault,),
                      simulator=SimpleNamespace(capsules=capsules))  # fmt: skip
        return bool(made._columns_of(SimpleNamespace(faults=(0,), free_form=False))[3])

    assert free(True, ()) and not free(True, (0,)) and not free(False, ())


def test_slopes_are_those_of_a_straight_line():
    slopes = np.random.default_rng(5).normal(size=(6, 3))
    made = family(columns=3, free=np.array([[True, True, False]]),
                  beside=lambda x, which: lambda points, rows: points @ slopes.T)  # fmt: skip
    found = _slopes(made, np.array([[0.2, -1.0, 0.0]]), np.zeros(1, int))[0]
    assert found == pytest.approx(slopes * [1.0, 1.0, 0.0], abs=1e-6)


def test_noise_is_as_sure_as_the_readings_that_show_it(monkeypatch):
    """The second derivative of ½ Σ w (d e^−sz)² + … for the logarithm z of the noise: twice Σ w d²
    s², of which the straight-line part is none here."""
    d = np.array([[0.5, -1.5, 2.0, 8.0]])
    monkeypatch.setattr(diagnose, "_slopes", lambda family, x, which: np.zeros((1, 4, 2)))
    made = family(columns=2, zero=0, noise=1, zero_mixture=(0.1, 4.0),
                  zero_slipped=lambda x: np.array([0.25]))  # fmt: skip
    found = diagnose._information(made, np.zeros((1, 2)), np.zeros(1, int), d)[0]
    assert found[1, 1] == pytest.approx(1.0 + NOISE_SPREAD**2 * (weights(d) * d**2).sum())
    assert found[0, 0] == pytest.approx(1.0 + 0.25 * (1.0 / 16.0 - 1.0)) and found[0, 1] == 0.0


def test_a_family_knows_which_of_its_explanations_are_of_the_unit():
    rows = [(s, 3.0 + s / 200.0, "rising", None) for s in (400.0, 800.0, 1200.0, 1600.0)]
    rows.append((1000.0, 20.0, "rising", 30.0))
    capsules = (TRIPLE,)
    readings = tuple(
        Reading(speed_rpm=s, angle_deg=a, direction=way, depression_kpa=k) for s, a, way, k in rows
    )
    session = Session(instrument=Instrument(kind="rig", static_deg=2.0), readings=readings)
    made = UNIT.with_changes(sessions=(session,), capsules=capsules)
    known = reduce_session(session, made.particulars, None, capsules)
    found = Family(made, 0, known)
    sides = {fault.key: fault.side for fault in found.faults}
    for h, of_unit in zip(found.hypotheses, found.of_unit, strict=True):
        assert of_unit == ("unit" in {sides.get(part) for part in h.name.split("+")})
    assert {value.path[0] for value in found.sound} >= {"mechanism", "capsules"}, "one was pumped"


# Places -------------------------------------------------------------------------------------


def test_what_stands_by_itself_or_within_another_is_told_apart_from_it():
    assert not _nested("stop_high", "sticking")
    assert _nested("stop_high", "stop_high+sticking") and _nested("a+b", "a")
    assert _nested(NOTHING_WRONG, "sticking") and _nested("sticking", NONE_OF_THESE)


def explained(name, probability):
    return Explanation(name, "unit", probability, (), ())


@pytest.mark.parametrize(("off", "odds", "places"), [
    ((0.3, -0.2), (0.5, 0.3), [1, 1]),  # no more than chance
    ((2.0, 2.0), (0.5, 0.3), [1, 2]),
    ((-2.0, -2.0), (0.5, 0.3), [1, 2]),
    ((2.0, -2.0), (0.5, 0.3), [1, 2]),
    ((0.3, -0.2), (0.5, 0.01), [1, 2]),  # fifty times as probable
])  # fmt: skip
def test_explanations_share_a_place_where_the_readings_cannot_tell_them_apart(off, odds, places):
    d = np.array([[1.0, -3.0], [1.0 + off[0], -3.0 + off[1]]])
    found = placed([explained("stop_high", odds[0]), explained("sticking", odds[1])], d)
    assert [e.place for e in found] == places
    assert found[0].alike == (("sticking",) if places == [1, 1] else ())


def test_explanations_that_are_all_but_excluded_share_a_place_and_do_not_name_each_other():
    """One in twenty: what is less is commonly left out of account (common practice)."""
    names = ("stop_high", "sticking", "pegs_worn", "primary_weak")
    odds = (0.5, 0.06, 0.045, 0.04)
    found = placed([explained(*each) for each in zip(names, odds, strict=True)], np.zeros((4, 3)))
    assert {e.place for e in found} == {1}
    assert [e.alike for e in found] == [("sticking",), ("stop_high",), (), ()]


def test_beyond_six_uncertainties_one_slip_is_as_far_off_as_another():
    d = np.array([[1.0, -30.0], [1.0, -8.0]])
    found = placed([explained("stop_high", 0.5), explained("sticking", 0.3)], d)
    assert [e.place for e in found] == [1, 1]


def test_the_docket_of_an_explanation_has_all_of_its_values_within_their_limits():
    stop, mass = ("mechanism", "stop_deg"), ("mechanism", "weights", "mass_g")
    values = {ZERO: np.array([1.0]), stop: np.array([10.5]), mass: np.array([-5.0])}
    found = object.__new__(Diagnosis)
    object.__setattr__(found, "x", np.zeros((1, 1)))
    object.__setattr__(found, "hypothesis", np.zeros(1, int))
    holder = SimpleNamespace(docket=UNIT, values=lambda x, which: values)
    object.__setattr__(found, "family", holder)
    made = found.docket_of()
    assert get(made, stop) == 10.5
    assert 0.0 <= get(made, mass) < 1.0, "no weight weighs less than nothing"


def test_a_slipped_mark_stands_beside_each_explanation_where_it_is_likely_enough(monkeypatch):
    """Eight in ten by one, half of it with a slipped mark; two in ten by the other, hardly so."""
    slipped = np.array([0.5, 0.0003])
    monkeypatch.setattr(diagnose, "_information", lambda *_: np.tile(np.eye(2), (2, 1, 1)))
    monkeypatch.setattr(
        diagnose, "_sampled", lambda *_: (None, np.log(np.array([0.8, 0.2])), slipped)
    )
    monkeypatch.setattr(
        diagnose, "explained",
        lambda family, x, h, p, cov, off: explained(f"{family.hypotheses[h].name} {off}", p),
    )  # fmt: skip
    names = (NOTHING_WRONG, "stop_high")
    made = family(hypotheses=[Hypothesis(n, (), (), 1.0) for n in names],
                  directions=SimpleNamespace(judging=2.0),
                  noise=0, distances=lambda x, which: np.arange(6.0).reshape(2, 3) * 9)  # fmt: skip
    found = diagnose._ranked(made, np.zeros((2, 2)), np.zeros(2), None).explanations
    assert {e.name: e.probability for e in found} == {
        f"{NOTHING_WRONG} False": pytest.approx(0.4, rel=1e-3),
        f"{NOTHING_WRONG} True": pytest.approx(0.4, rel=1e-3),
        "stop_high False": pytest.approx(0.2, rel=5e-3),
    }


# Readings against builds --------------------------------------------------------------------

TRIPLE = Capsule(given_as="triple", start_kpa=10.0, full_kpa=40.0, full_deg=8.0, friction_n=2.0)


def simulator(*rows, capsules=(), kind="rig") -> Simulator:
    readings = tuple(
        Reading(speed_rpm=s, angle_deg=a, direction=way, depression_kpa=kpa)
        for s, a, way, kpa in rows
    )
    session = Session(instrument=Instrument(kind=kind, static_deg=2.0), readings=readings)
    made = UNIT.with_changes(sessions=(session,), capsules=capsules)
    return Simulator(made, 0, reduce_session(session, made.particulars, None, capsules))


ROWS = ((600.0, 3.0, "rising", None), (900.0, 8.0, "unknown", None), (1000.0, 20.0, "rising", 30.0))


def test_readings_with_the_pipe_on_count_where_there_is_a_capsule():
    assert simulator(*ROWS).rows.tolist() == [0, 1]
    assert simulator(*ROWS, capsules=(TRIPLE,)).rows.tolist() == [0, 1, 2]


def test_a_reading_of_unknown_direction_is_tried_on_both_branches():
    found = simulator(*ROWS)
    assert found.tried.tolist() == [0, 1, 1] and found.tried_branch.tolist() == [0, 0, 1]


def test_what_the_zero_is_off_is_added_to_static_and_mark():
    found = simulator(*ROWS)
    assert float(np.ravel(found.reader_of({}).zero_deg)[0]) == 2.0
    assert np.ravel(found.reader_of({ZERO: np.array([0.5])}).zero_deg) == pytest.approx([2.5])


@pytest.mark.parametrize("acts", ["advance", "retard"])
def test_the_plate_moves_as_its_capsule_does(acts):
    """The closed form of the capsule by itself, both ways and without friction."""
    capsule = TRIPLE.with_changes(acts=acts)
    found = simulator(*ROWS, capsules=(capsule,))
    kpa = np.array([5.0, 12.0, 25.0, 38.0, 60.0])
    for way, name in enumerate(("rising", "falling", None)):
        moved = found.vacuum_deg({}, kpa, np.full(5, way))
        assert moved[0] == pytest.approx(capsule_advance_deg(capsule, kpa, name), abs=0.02)


# What follows -------------------------------------------------------------------------------


def test_only_what_was_altered_after_a_session_came_after_it():
    lines = tuple(Alteration(what=str(k), before_session=k) for k in (None, 1, 2, 3))
    found = read_before(Docket(history=lines), 1)  # the second session
    assert [line.what for line in found] == ["2", "3"]


def step(key="stop", after=0.8) -> CureStep:
    return CureStep(key, "ceiling", ("mechanism", "stop_deg"), None, 0.5, "deg", after)


def test_an_alteration_goes_on_record_between_its_sessions():
    session = UNIT.sessions[0].with_changes(readings=(Reading(speed_rpm=900.0, angle_deg=8.0),))
    made = UNIT.with_changes(sessions=(session, session))
    stop = ("mechanism", "stop_deg")
    option = Option((step(),), ((stop, 11.0),), made, put(made, stop, 11.0), None)
    after = altered(made, option, 0, ("Stop bent",), "After")
    (line,) = after.history
    assert (line.what, line.before_session, line.after_session) == ("Stop bent", 1, 3)
    assert after.mechanism.stop_deg == 11.0 and len(after.sessions) == 3
    found_by_each = [outcome(after, k).unit.mechanism.stop_deg for k in range(3)]
    assert found_by_each == [12.0, 12.0, 11.0]


def test_others_are_offered_that_are_better_than_none_and_not_the_same_again():
    others = ((step("tang", 0.6),), (step("stop", 0.7),), (step("loop", 0.3),))
    cure = Cure(0.4, (step(),), others, np.zeros(0), ())
    found = _options(UNIT, None, cure)
    assert [o.steps[0].key for o in found] == ["stop", "tang"]
    assert [o.probability for o in found] == [0.8, 0.6]


def test_a_step_becomes_an_edit_of_the_figures_that_the_readings_moved():
    fit = SimpleNamespace(docket=UNIT)
    base = put(UNIT, ("mechanism", "stop_deg"), 12.2)
    option = _option(UNIT, base, fit, (step(),))
    assert option.edits == ((("mechanism", "stop_deg"), pytest.approx(12.7)),)
    assert option.docket.mechanism.stop_deg == pytest.approx(12.7)
    assert option.prediction.full_deg == pytest.approx(12.7, abs=0.05)
    assert _option(UNIT, base, fit, (step("unheard of"),)) is None


def fallen(sigmas, count=4):
    """Codes of advice on a curve that falls by so many standard uncertainties of its slope."""
    x, u = np.linspace(1000.0, 1600.0, count), 0.3
    slope = -sigmas * u / np.sqrt(np.sum((x - x.mean()) ** 2))  # ISO/TS 28037:2010, clause 6
    reduced = SimpleNamespace(
        used=lambda: np.ones(count, bool), speed_rpm=x, advance_deg=8.0 + slope * x,
        u_advance_deg=np.full(count, u),
    )  # fmt: skip
    return [p.code for p in reading_advice(0, reduced, 400.0)]


def test_advance_that_falls_with_speed_is_told_beyond_three_uncertainties():
    assert fallen(3.2) == ["advance-falls-with-speed"]
    assert fallen(2.8) == [] == fallen(-9.0)


def test_many_builds_are_as_far_from_the_readings_as_each_by_itself(monkeypatch):
    monkeypatch.setattr(fit_distance, "_CHUNK_VALUES", 60)
    rng = np.random.default_rng(2)
    theta = np.cumsum(rng.uniform(0.1, 1.0, (7, 12)), axis=1)
    speed = np.cumsum(rng.uniform(20.0, 200.0, (7, 2, 12)), axis=2)
    branch = np.array([0, 1, 1])
    columns = [
        np.array([c]) for c in ([300.0, 700.0, 900.0], [1.0, 4.0, 6.0], [20.0] * 3, [0.5] * 3)
    ]
    together = signed_distances(theta, speed, branch, *columns)
    alone = [signed_distances(theta[k : k + 1], speed[k : k + 1], branch, *columns)[0]
             for k in range(7)]  # fmt: skip
    assert together == pytest.approx(np.array(alone))


def test_a_table_of_straight_lines_gives_its_speeds_back():
    points = tuple(
        CheckPoint(speed_rpm=s, least_deg=a - 1.0, most_deg=a + 1.0)
        for s, a in ((500.0, 2.0), (700.0, 4.0), (1200.0, 9.0))
    )
    one_sided = CheckPoint(speed_rpm=1500.0, least_deg=11.0)
    readings = (Reading(speed_rpm=800.0, angle_deg=5.0, direction="rising"),)
    rig = Instrument(kind="rig", u_speed_rpm=10.0, u_angle_deg=0.2)
    made = Docket(
        target=Target(frame="distributor", points=(*points, one_sided)),
        sessions=(Session(instrument=rig, readings=readings),),
    )
    known = outcome(made)
    found = target_speeds(known.comparison.check_points, np.array([3.0, 5.0, 8.5]))
    assert found.middle_rpm == pytest.approx([600.0, 800.0, 1150.0])
    assert found.slope_rpm_per_deg == pytest.approx([100.0, 100.0, 100.0])
    ratio = torque_ratio(known)
    assert ratio.ratio == pytest.approx([1.0])
    assert ratio.u_ratio == pytest.approx([2.0 * np.hypot(10.0 / 800.0, 100.0 * 0.2 / 800.0)])
    assert ratio.along_deg.max() == pytest.approx(9.0), "as far as the table has both limits"
