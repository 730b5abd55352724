"""Diagnosis, next reading, cure and the whole decision, on invented units with known faults."""

import itertools
import json

import numpy as np
import pytest
from scipy import integrate, stats

from bobweight.core.design.learn import learn
from bobweight.core.docket.docket import Docket, new_docket
from bobweight.core.docket.readings import Reading
from bobweight.core.docket.target import Target
from bobweight.core.judgement import alter
from bobweight.core.judgement.advise import mixture_gain
from bobweight.core.judgement.consequences import consequences
from bobweight.core.judgement.decision import ACTIONS, STAGES, decide_docket
from bobweight.core.judgement.diagnose import diagnose
from bobweight.core.judgement.faults import (
    NONE_OF_THESE,
    NOTHING_WRONG,
    OTHER_TABLE,
    PAIRS,
    faults_of,
)
from bobweight.core.judgement.outcome import outcome
from bobweight.core.mechanics.balance import balance_speeds
from bobweight.core.mechanics.branches import curves
from bobweight.core.mechanics.builds import Builds
from bobweight.core.mechanics.capsule import dimensions_from_triple
from bobweight.core.mechanics.predict import predict
from bobweight.core.record import get, put
from tests.judgement.invented import (
    CAPSULE,
    STATIC_DEG,
    Truth,
    Wish,
    docket,
    even_places,
    read,
    with_readings,
)
from tests.mechanics.mechanisms import random_mechanism
from tests.samples import sample

UNIT = docket(Wish(), band_deg=1.5, capsule=CAPSULE)


def faulty(*changes, seed=7, count=20, **of_truth):
    """The docket with readings of a unit whose values at the paths are times (or plus) so much."""
    mechanism = UNIT.mechanism
    for path, how, amount in changes:
        value = get(mechanism, path)
        mechanism = put(mechanism, path, value * amount if how == "times" else value + amount)
    rng = np.random.default_rng(seed)
    places = even_places(predict(UNIT.mechanism), count)
    return with_readings(UNIT, read(Truth(mechanism, **of_truth), places, rng))


PRIMARY, SECONDARY = ("springs", 0, "rate_n_per_mm"), ("springs", 1, "rate_n_per_mm")
LATE = (("springs", 1, "slack_mm"), "plus", 0.9)
HIGH = (("stop_deg",), "plus", 3.0)


@pytest.mark.parametrize(
    ("expected", "d"),
    [
        (NOTHING_WRONG, faulty()),
        ("primary_weak", faulty((PRIMARY, "times", 0.5))),
        ("secondary_weak", faulty((SECONDARY, "times", 0.55))),
        ("secondary_late", faulty(LATE)),
        ("stop_high", faulty(HIGH)),
        ("sticking", faulty((("stick_nmm",), "plus", 30.0))),
        ("mark_offset", faulty(zero_deg=STATIC_DEG - 7.0)),
        ("lamp_lag", faulty(lag_ms=0.35)),
        ("pipe_left_on", faulty(pipe_deg=CAPSULE.full_deg, pipe_from_rpm=250.0)),
        ("secondary_late+stop_high", faulty(LATE, HIGH)),
    ],
)
def test_a_plain_fault_comes_first(expected, d):
    found = diagnose(d)
    assert found.place_of(expected) == 1, [(e.name, e.probability) for e in found.explanations[:4]]
    assert sum(e.probability for e in found.explanations) == pytest.approx(1.0)
    places = [e.place for e in found.explanations]
    assert min(places) == 1


def test_size_of_a_fault_is_given_with_its_uncertainty():
    first = diagnose(faulty(LATE, count=40)).first
    (size,) = first.sizes
    assert first.name == "secondary_late"
    assert size.path == ("mechanism", "springs", 1, "slack_mm")
    assert abs(size.amount - 0.9) < 3 * size.u < 0.6
    assert size.nominal == pytest.approx(1.2)
    assert abs(size.fitted - 2.1) < 3 * size.u_fitted
    assert size.value_unit == "mm"
    assert first.check_first == ("loop-and-post",)


def test_a_size_of_which_the_readings_tell_nothing_is_not_called_measured():
    """Below the start no spring moves: whatever is found of one is what was known before."""
    start = 2.0 * predict(UNIT.mechanism).start_rpm  # engine speed
    places = [(share * start, "rising") for share in np.linspace(0.3, 0.6, 12)]
    below = with_readings(UNIT, read(Truth(UNIT.mechanism), places, np.random.default_rng(3)))
    usual = {f.key: f for f in faults_of(below, 0, True)}
    found = {e.name: e for e in diagnose(below).explanations}
    for name in ("secondary_weak", "secondary_late"):
        (size,) = found[name].sizes
        assert not size.measured
        assert abs(size.amount) == pytest.approx(usual[name].usual, rel=0.05)
        assert size.u == pytest.approx(usual[name].spread * abs(size.amount), rel=0.05)
    assert found["mark_offset"].sizes[0].measured
    assert all(size.measured for size in diagnose(faulty(LATE, count=40)).first.sizes)


def test_light_weights_and_a_wrong_tachometer_share_a_place():
    # Speed goes with 1/√m (physics of the balance): the mass and the speed scale cannot be told
    # apart by any curve without friction.
    found = diagnose(faulty((("weights", "mass_g"), "times", 0.6), count=40))
    light = next(e for e in found.explanations if e.name == "weights_light")
    assert light.place == 1
    assert "tachometer_scale" in light.alike


def test_every_key_is_stable_and_every_pair_known():
    keys = [f.key for f in faults_of(UNIT, 0, True)]
    assert sorted(keys) == sorted(
        ["primary_weak", "primary_strong", "primary_missing", "primary_stretched",
         "secondary_weak", "secondary_strong", "secondary_missing", "secondary_late",
         "secondary_early", "pegs_worn", "stop_high", "stop_low", "sticking", "weights_light",
         "weights_heavy", "weights_unequal", "tachometer_scale", "lamp_lag", "tape_wrong",
         "lamp_doubles", "static_drifts", "pipe_left_on", "springs_swapped",
         "springs_other",
         "advance_seized", "cam_not_returning", "direction_mistaken", "wrong_frame",
         "drive_backlash",
         "capsule_weak", "capsule_leaking", "capsule_travel",
         "plate_stiff"]
    )  # fmt: skip
    assert set(itertools.chain(*PAIRS)) <= set(keys)


HUMP, DIP = (9.0, 2200.0, 350.0), (-7.0, 1300.0, 250.0)


def humped(*humps):
    """A sound unit's readings with humps on them: degrees, at rev/min, so wide."""
    d = faulty(seed=3, count=40)
    readings = [
        r.with_changes(angle_deg=r.angle_deg + sum(
            high * np.exp(-(((r.speed_rpm - place) / wide) ** 2)) for high, place, wide in humps
        ))
        for r in d.sessions[0].readings
    ]  # fmt: skip
    return diagnose(with_readings(d, tuple(readings)))


@pytest.mark.parametrize("name", ["weak_primary", "small_four", "straight_six", "tractor_four"])
def test_a_sticking_cam_parts_the_branches_by_some_two_hundred_and_comes_back(name):
    """Common practice: 200 rev/min between rising and falling is sticky."""
    docket = sample(name)
    usual = next(f.usual for f in faults_of(docket, 0, False) if f.key == "sticking")
    stuck = docket.mechanism.with_changes(stick_nmm=usual, grip=0.0, heel_drag_nmm=0.0)
    found = curves(balance_speeds(Builds(stuck), 200))
    low = 0.2 * stuck.stop_deg
    rising, falling = (np.interp(low, found.advance_deg[0], rpm[0])
                       for rpm in (found.rising_rpm, found.falling_rpm))  # fmt: skip
    assert 100.0 < rising - falling < 400.0
    assert falling > 0.0


@pytest.mark.parametrize("dips", [(), ((-7.0, 3000.0, 350.0),)])
def test_strange_readings_are_none_of_these(dips):
    """An advance that falls again where no stop is: no spring makes it."""
    found = humped(HUMP, *dips).first
    assert found.name == NONE_OF_THESE
    assert found.probability > 0.9


def test_what_is_nearly_a_late_knee_is_not_surely_one():
    """Low before the knee and high behind it, by more than any one knee."""
    found = humped(DIP, HUMP).explanations
    assert NONE_OF_THESE in [e.name for e in found[:2]]
    assert found[0].probability < 0.9 or found[0].name == NONE_OF_THESE


def test_information_of_an_outcome_against_quadrature_by_scipy():
    mean, sd = np.array([[1.0], [2.5], [2.6]]), np.array([[0.8], [0.5], [0.9]])
    odds = np.array([0.5, 0.3, 0.2])
    laws = [stats.norm(m, s) for m, s in zip(mean[:, 0], sd[:, 0], strict=True)]

    def mixture(y):
        return sum(p * law.pdf(y) for p, law in zip(odds, laws, strict=True))

    whole, _ = integrate.quad(lambda y: -mixture(y) * np.log2(mixture(y)), -6, 9)
    parts = sum(p * law.entropy() / np.log(2) for p, law in zip(odds, laws, strict=True))
    gain, change = mixture_gain(mean, sd, odds)
    assert gain[0] == pytest.approx(whole - parts, abs=1e-4)
    assert 0 < change[0] < 1


def test_information_at_the_ends():
    odds, sd = np.array([0.5, 0.5]), np.ones((2, 1))
    same, _ = mixture_gain(np.zeros((2, 1)), sd, odds)
    apart, change = mixture_gain(np.array([[0.0], [40.0]]), sd, odds)
    assert same[0] == pytest.approx(0.0, abs=1e-12)  # alike: nothing to learn
    assert apart[0] == pytest.approx(1.0, abs=1e-4)  # one question answered: one bit
    assert change[0] == pytest.approx(0.5, abs=0.01)


def test_next_reading_is_taken_where_the_explanations_differ():
    # With few readings a high stop and nothing wrong differ at the top only.
    advice = decide_docket(faulty(HIGH, count=8, seed=12)).advice
    curve = predict(UNIT.mechanism)
    gains = np.array([c.gain_bits for c in advice.candidates])
    below = [c.gain_bits for c in advice.candidates if c.speed_rpm < 1.8 * curve.start_rpm]
    assert max(below) < 0.5 * gains.max()
    falls = np.array([c.loss_fall for c in advice.candidates])
    assert advice.best.loss_fall == falls.max() or advice.best.gain_bits == gains.max()


def test_another_reading_is_not_worth_taking_when_all_is_clear():
    assert not decide_docket(faulty(LATE, count=60)).advice.worth_taking


def test_cure_of_a_late_secondary_is_its_loop_or_tang():
    d = faulty(LATE)
    decision = decide_docket(d)
    cure = decision.cure
    assert cure.probability_before < 0.3
    assert cure.steps
    assert cure.steps[-1].spring == 1
    assert cure.steps[-1].probability_inside_after > 0.8
    # By the exact prediction of the altered docket, apart from the search's own samples:
    option = consequences(decision).options[0]
    assert option.steps == cure.steps
    altered = predict(option.docket.mechanism)
    for point in outcome(d).comparison.check_points:
        middle = 0.5 * (altered.advance_deg(point.speed_rpm)
                        + altered.advance_deg(point.speed_rpm, "falling"))  # fmt: skip
        assert point.low_deg - 0.3 <= middle <= point.high_deg + 0.3
    for path, value in option.edits:
        assert get(option.docket, path) == value


def test_a_spring_is_not_altered_and_replaced_at_once(monkeypatch):
    search, pairs = alter._Search, []
    tried = search._tried

    def watched(self, chosen, units):
        if len(chosen) == 1:
            return tried(self, chosen, units)
        pairs.append([a for a, _ in chosen])
        return np.zeros(len(chosen[0][1])), np.zeros(len(chosen[0][1]))

    monkeypatch.setattr(search, "_tried", watched)
    monkeypatch.setattr(alter, "ONE_IS_ENOUGH", 2.0)  # a second is looked for, and every pair tried
    monkeypatch.setattr(alter, "_PAIRS_TRIED", 1000)
    decide_docket(faulty(LATE))
    kinds = {tuple(sorted((a.key, a.spring) for a in pair)) for pair in pairs}
    assert (("loop", 1), ("tang", 1)) in kinds  # of one spring, but it stays
    assert (("swap", 0), ("swap", 1)) in kinds and (("rate", 0), ("swap", 1)) in kinds
    for one, two in pairs:
        assert one.spring is None or one.spring != two.spring or not (one.is_set or two.is_set)


def test_the_size_of_a_fault_is_how_far_the_part_is_off_a_sound_one():
    """A share of it, or as much more: 32 % weak of 2.6 is 1.77."""
    told = [s for e in decide_docket(faulty()).explanations for s in e.sizes if s.amount]
    assert {"share", "mm", "deg"} <= {s.unit for s in told}
    for s in told:
        # Of the instruments' zero the docket's own figure is meant; unequal weights also rub.
        if s.sound is None or s.path[-1] == "grip":
            continue
        there = s.sound * (1.0 + s.amount) if s.unit == "share" else s.sound + s.amount
        assert s.fitted == pytest.approx(there)


def test_sensitivities_by_exact_differences():
    diagnosis = (decision := decide_docket(faulty())).diagnosis
    assert diagnosis.first.name != NONE_OF_THESE  # so the unit is as its explanation has it
    cure, now = decision.cure, diagnosis.docket_of().mechanism
    tang = next(s for s in cure.sensitivities if s.key == "tang" and s.spring == 0)
    step = 0.05
    there = [predict(put(now, tang.path[1:], s * step)) for s in (1.0, -1.0)]
    exact = [
        np.mean([(there[0].advance_deg(v, way) - there[1].advance_deg(v, way)) / (2 * step)
                 for way in ("rising", "falling")])
        for v in cure.speeds_rpm
    ]  # fmt: skip
    assert tang.deg_per_unit == pytest.approx(exact, abs=0.15)
    assert np.all(tang.deg_as_told == tang.deg_per_unit)
    rate = next(s for s in cure.sensitivities if s.key == "rate" and s.spring == 0)
    old = now.springs[0].rate_n_per_mm
    at = [predict(put(now, rate.path[1:], old * s)) for s in (1.1, 1.0)]
    told = [
        np.mean([at[0].advance_deg(v, way) - at[1].advance_deg(v, way)
                 for way in ("rising", "falling")])
        for v in cure.speeds_rpm
    ]  # fmt: skip
    assert rate.deg_as_told == pytest.approx(told, abs=0.25), "a tenth stiffer, as it is told"
    stop = next(s for s in cure.sensitivities if s.key == "stop")
    assert stop.deg_per_unit[-1] == pytest.approx(1.0, abs=0.01)  # at the stop, one for one
    assert stop.deg_per_unit[0] == pytest.approx(0.0, abs=0.01)


def test_decision_whole_and_as_json():
    heard = []
    decision = decide_docket(
        faulty(LATE), progress=lambda stage, share: heard.append((stage, share))
    )
    assert decision.complete
    assert decision.action == "alter"
    assert [stage for stage, _ in heard] == list(STAGES)
    fields = json.loads(json.dumps(decision.as_fields(), allow_nan=False))
    assert fields["explanations"][0]["name"] == "secondary_late"
    rate = fields["fit"]["mechanism.springs[0].rate_n_per_mm"]
    assert set(rate) == {"value", "u", "unit", "state"}
    assert {"speed_rpm", "direction", "depression_kpa", "gain_bits"} <= set(fields["next_reading"])
    assert {"what", "amount", "unit", "probability_inside_after"} <= set(fields["alterations"][0])


def test_a_slipped_ring_asks_for_no_spanner():
    assert decide_docket(faulty(zero_deg=STATIC_DEG + 8.0)).action == "measure-first"


def test_sound_unit_is_left_alone_or_read_more():
    assert decide_docket(faulty()).action in ("leave-alone", "read-more")


def test_cancelled_decision_keeps_what_it_has():
    polls = itertools.count()
    decision = decide_docket(faulty(), cancelled=lambda: next(polls) > 15)
    assert not decision.complete
    assert decision.cure is None
    assert json.dumps(decision.as_fields())


def rows(pairs, direction="rising"):
    return tuple(
        Reading(speed_rpm=float(s), angle_deg=float(a), direction=direction) for s, a in pairs
    )


RNG = np.random.default_rng(0)
NONSENSE = {
    "readings-all-one-speed": rows((1500 + 5 * k, 20 + k % 3) for k in range(12)),
    "too-few-readings": rows([(900, 8), (1500, 18)]),
    "readings-all-below-start": rows((100 + 25 * k, 6 + k % 2) for k in range(15)),
    "advance-falls-with-speed": rows(((4000 - 200 * k, 2 + 2.5 * k) for k in range(17)), "falling"),
}


@pytest.mark.parametrize(("code", "readings"), NONSENSE.items())
def test_nonsense_gives_a_code_never_a_trace(code, readings):
    decision = decide_docket(with_readings(UNIT, readings))
    assert code in [p.code for p in decision.problems]
    assert decision.action in ACTIONS
    json.dumps(decision.as_fields(), allow_nan=False)
    for problem in decision.problems:
        assert problem.path[0] == "sessions"


@pytest.mark.parametrize(
    "readings",
    [
        rows(zip(RNG.uniform(0, 15000, 12), RNG.uniform(-80, 110, 12), strict=True), "unknown"),
        rows([(0, 0)] * 5 + [(19000, 100)] * 5),
        rows((500 + k % 4000, 10.0) for k in range(10_000)),
        rows([(1000, 10), (2000, 20), (2000, 20), (2000, 20), (3000, -50)]),
    ],
)
def test_garbage_is_survived(readings):
    decision = decide_docket(with_readings(UNIT, readings))
    assert decision.action in ACTIONS
    json.dumps(decision.as_fields(), allow_nan=False)


@pytest.mark.parametrize("d", [Docket(), new_docket(), UNIT])
def test_dockets_without_readings_or_mechanism(d):
    decision = decide_docket(d)
    assert decision.action == "read-first"
    assert decision.problems
    assert decision.judgement.band is not None and decision.judgement.helps_most


def test_rig_capsule_dimensions_and_single_spring():
    # A single spring, readings on a rig, and pump readings on a capsule known by its dimensions.
    one = UNIT.mechanism.with_changes(springs=UNIT.mechanism.springs[:1], stop_deg=9.0)
    capsule = dimensions_from_triple(CAPSULE)
    curve = predict(one)
    rng = np.random.default_rng(2)
    places = even_places(curve, 12, ratio=1.0) + [(200.0, "rising", k) for k in (10.0, 20.0, 30.0)]
    readings = read(Truth(one, capsule, zero_deg=0.0), places, rng, 0.4, 10.0, 0.0, 1.0)
    instrument = UNIT.sessions[0].instrument.with_changes(
        kind="rig", static_deg=0.0, u_angle_deg=0.4, u_speed_rpm=10.0
    )
    # (Without the table, which is not this unit's.)
    d = UNIT.with_changes(
        mechanism=one, capsules=(capsule,), target=Target(),
        sessions=(UNIT.sessions[0].with_changes(instrument=instrument, readings=readings),),
    )  # fmt: skip
    decision = decide_docket(d)
    assert decision.fit is not None
    assert "capsules[0].start_kpa" in decision.as_fields()["fit"]
    assert decision.explanations[0].name == NOTHING_WRONG


@pytest.mark.parametrize(("kind", "seed"), [("slot", 1), ("measured", 2), ("link", 7)])
def test_every_linkage_can_be_judged(kind, seed):
    mechanism = random_mechanism(np.random.default_rng(seed), kind, True)
    curve = predict(mechanism)
    readings = read(Truth(mechanism), even_places(curve, 20), np.random.default_rng(seed))
    d = with_readings(UNIT.with_changes(mechanism=mechanism, target=Target()), readings)
    decision = decide_docket(d)
    assert decision.explanations[0].name == NOTHING_WRONG
    assert decision.complete


def test_figures_and_a_table_that_cannot_both_be_right():
    # A mechanism of other proportions with the table of UNIT, read as what it is.
    mechanism = random_mechanism(np.random.default_rng(2), "measured", True)
    readings = read(Truth(mechanism), even_places(predict(mechanism), 20), np.random.default_rng(2))
    decision = decide_docket(with_readings(UNIT.with_changes(mechanism=mechanism), readings))
    assert decision.explanations[0].name == OTHER_TABLE
    assert decision.action == "measure-first"


def test_a_learnt_mechanism_shows_a_fault_too():
    # Learnt from a run of the sound unit, without weights' geometry; then its secondary is late.
    sound = UNIT.mechanism
    run = with_readings(UNIT, read(Truth(sound), even_places(predict(sound), 40),
                                   np.random.default_rng(1), slip_share=0.0))  # fmt: skip
    learnt = UNIT.with_changes(mechanism=learn(run).mechanism)
    late = put(sound, ("springs", 1, "slack_mm"), 2.2)
    places = even_places(predict(sound), 20)
    found = diagnose(with_readings(learnt, read(Truth(late), places, np.random.default_rng(2))))
    assert found.first.name == "secondary_late"
    assert found.place_of("weights_heavy") is None  # it has no weights to weigh
