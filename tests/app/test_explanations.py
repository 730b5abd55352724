"""Every key and code of a decision has words, and the words carry the numbers."""

import re
from dataclasses import replace
from decimal import Decimal
from types import SimpleNamespace

import pytest

from bobweight.app.messages.explanation_table import ACTIONS, CHECKS, EXPLANATIONS, TITLES
from bobweight.app.messages.explanations import (
    action_sentence,
    alterations_text,
    explanation_sentence,
    explanation_title,
    next_reading_sentences,
    sensitivity_name,
    shares_sentence,
    step_text,
)
from bobweight.app.messages.judgement import decision_text, help_sentence
from bobweight.core.docket.target import Target
from bobweight.core.judgement.alter import CureStep, Sensitivity
from bobweight.core.judgement.alter_catalogue import catalogue
from bobweight.core.judgement.answer import Help, Judgement, PointJudgement
from bobweight.core.judgement.decision import ACTIONS as CORE_ACTIONS
from bobweight.core.judgement.diagnosis import Explanation, FaultSize
from bobweight.core.judgement.faults import (
    MARK_OFFSET,
    NONE_OF_THESE,
    NOTHING_WRONG,
    OTHER_TABLE,
    PAIRS,
    faults_of,
)
from bobweight.core.judgement.fit_curves import BACKLASH, DRIFT, REST
from bobweight.core.record import put, put_uncertainty
from tests.judgement.invented import CAPSULE, Wish, docket
from tests.samples import sample

UNIT = docket(Wish(), capsule=CAPSULE)
UNFILLED = re.compile(r"[{}]|\bnan\b|None\b(?! of these)")


def test_every_fault_check_and_action_has_words():
    faults = faults_of(UNIT, 0, True)
    keys = {f.key for f in faults} | {NOTHING_WRONG, NONE_OF_THESE, MARK_OFFSET, OTHER_TABLE}
    assert keys == set(EXPLANATIONS) == set(TITLES)
    assert {f.check_first for f in faults} <= set(CHECKS)
    assert set(CORE_ACTIONS) <= set(ACTIONS)
    for action in CORE_ACTIONS:
        assert not UNFILLED.search(action_sentence(action))
    for pair in PAIRS:
        assert explanation_title("+".join(pair)).count("+") == len(pair) - 1


@pytest.mark.parametrize(("fault", "spring"), [
    ("primary_weak", "primary"), ("primary_stretched", "primary"), ("secondary_weak", "secondary"),
    ("secondary_late", "secondary"), ("secondary_early", "secondary"),
])  # fmt: skip
def test_what_is_checked_of_a_spring_names_it(fault, spring):
    """In a pair it comes after what is checked of another."""
    (check,) = {f.check_first for f in faults_of(UNIT, 0, True) if f.key == fault}
    named = re.search("primary|secondary", CHECKS[check])
    assert named and named.group() == spring


def weak(**changes):
    size = FaultSize("primary_weak", ("mechanism", "springs", 0, "rate_n_per_mm"), -0.184, 0.04,
                     "share", 1.25, 1.02, 0.05, "N/mm")  # fmt: skip
    facts = {"name": "primary_weak", "side": "unit", "probability": 0.9}
    facts |= {"sizes": (size,), "check_first": ("hang-primary",), "place": 1}
    return Explanation(**(facts | changes))


def test_sentence_carries_size_and_values():
    text = explanation_sentence(weak(), UNIT)
    for part in ("18\u00a0±\u00a04", "1.02", "1.25"):
        assert part in text
    assert not UNFILLED.search(text)


@pytest.mark.parametrize(
    ("fault", "path"),
    [("static_drifts", DRIFT), ("cam_not_returning", REST), ("drive_backlash", BACKLASH)],
)
def test_an_angle_that_no_value_of_the_docket_has_carries_its_unit(fault, path):
    size = FaultSize(fault, path, 2.2, 0.7, "deg", None, None, None, "")
    text = explanation_sentence(weak(name=fault, sizes=(size,), check_first=()), UNIT)
    assert "2.2\u00a0±\u00a00.7°" in text


def test_sentence_says_when_the_readings_told_nothing_of_the_size():
    (size,) = weak().sizes
    assert "size is the usual one" not in explanation_sentence(weak(), UNIT)
    untold = weak(sizes=(replace(size, measured=False),))
    assert "size is the usual one" in explanation_sentence(untold, UNIT)


def test_a_share_is_told_of_what_a_sound_part_has():
    """1.02 of 1.40 N/mm is 27 % weak; that 1.25 is stated is said beside it, where it is another
    figure and not the same in other digits."""
    (size,) = weak().sizes
    of = replace(size, amount=1.02 / 1.40 - 1.0, fitted=1.02, u_fitted=0.05)
    said = explanation_sentence(weak(sizes=(replace(of, sound=1.40),)), UNIT)
    assert "27\u00a0±" in said and "of 1.40\u00a0N/mm (1.25\u00a0N/mm stated)" in said
    as_stated = replace(of, sound=1.255)
    assert "stated" not in explanation_sentence(weak(sizes=(as_stated,)), UNIT)


@pytest.mark.parametrize(("stated", "u", "sound", "said"), [
    (None, None, None, "friction 5.9\u00a0±\u00a01.4\u00a0N·mm, none entered."),
    (0.0, 0.5, None, "friction 5.9\u00a0±\u00a01.4\u00a0N·mm instead of 0\u00a0N·mm."),
    (0.0, None, None, "friction 5.9\u00a0±\u00a01.4\u00a0N·mm instead of 0\u00a0N·mm."),
    (None, None, 2.31, "instead of 2.3\u00a0N·mm (none entered)."),
    (1.5, None, 0.01, "instead of almost none, as a sound unit has (1.5\u00a0N·mm stated)."),
])  # fmt: skip
def test_a_nought_that_nobody_measured_is_not_told_as_a_figure(stated, u, sound, said):
    path = ("mechanism", "stick_nmm")
    docket = put_uncertainty(put(UNIT, path, stated), path, u)
    known = stated or 0.0
    size = FaultSize("sticking", path, 4.0, 1.4, "N·mm", known, 5.9, 1.4, "N·mm", sound=sound)
    assert explanation_sentence(
        weak(name="sticking", sizes=(size,), check_first=()), docket
    ).endswith(said)


@pytest.mark.parametrize("name", [NOTHING_WRONG, NONE_OF_THESE])
def test_sentence_without_a_fault(name):
    text = explanation_sentence(weak(name=name, sizes=(), check_first=()), UNIT)
    assert text.endswith(".")
    assert not UNFILLED.search(text)


def test_every_alteration_has_words():
    for a in catalogue(UNIT, UNIT, vacuum=True):
        amount = a.amounts[0] if a.amounts else 1.0
        step = CureStep(a.key, a.stage, a.path, a.spring, amount, a.unit, 0.9)
        assert not UNFILLED.search(step_text(step, UNIT))
        row = Sensitivity(a.key, a.stage, a.path, a.spring, a.unit, None)
        assert not UNFILLED.search(sensitivity_name(row, UNIT))


def test_a_spring_so_many_times_as_stiff_is_told_with_a_rate_only_where_it_is_known():
    """Its chance is that of the ratio: the readings tell a torque, and its share, but no rate."""
    path = ("mechanism", "springs", 0, "rate_n_per_mm")
    step = CureStep("rate", "start", path, 0, 1.5, "times", 0.8)
    said = step_text(step, sample("weak_primary"))
    assert said == "Hang a load on the present primary spring and fit one 1.5 times as stiff"
    known = step_text(replace(step, value=2.652), sample("weak_primary"))
    assert known.endswith("of 2.7\u00a0N/mm, 1.5 times as stiff as the present one")


def test_it_is_said_why_a_share_promises_more_than_a_rate_where_both_are_offered():
    path = ("mechanism", "springs", 0, "rate_n_per_mm")
    share = CureStep("rate", "start", path, 0, 1.5, "times", 0.8)
    sound = CureStep("swap", "start", path, 0, 1.0, "", 0.5)
    assert shares_sentence([(share,)]) == shares_sentence([(sound,)]) == ""
    assert "more surely than its rate" in shares_sentence([(share,), (sound,)])
    assert not shares_sentence([(replace(share, spring=1),), (sound,)])


def test_a_hand_is_told_no_finer_than_it_works():
    """Workshop scales show 0.1 g (common practice)."""
    step = CureStep("mass", "knee", ("mechanism", "weights", "mass_g"), None, -3.36, "g", 0.8)
    assert step_text(step, UNIT) == "File 3.4\u00a0g off each weight"


@pytest.mark.parametrize("sound", [2.60, 2.66, 2.9])
@pytest.mark.parametrize("fitted", [1.66, 1.9459, 0.912])
def test_share_and_figures_of_one_sentence_agree(sound, fitted):
    """Whoever works the share out of the two figures gets the one that stands there, and finds one
    uncertainty of it."""
    (size,) = weak().sizes
    share = fitted / sound - 1.0
    of = replace(size, amount=share, u=0.07, nominal=2.6, sound=sound, fitted=fitted, u_fitted=0.31)
    said = explanation_sentence(weak(sizes=(of,)), UNIT).replace("\u00a0", " ")
    told = re.search(r"about (\d+) ± 7 % weak, rate ([\d.]+) N/mm instead of ([\d.]+) N", said)
    percent, now, ought = map(float, told.groups())
    assert abs(percent - 100 * (1 - now / ought)) <= 0.51
    assert said.count("±") == 1


@pytest.mark.parametrize(("nominal", "sound", "amount", "u"), [
    (1.5, 1.5, 1.053, 0.09), (1.5, 1.5, 0.449, 0.31), (23.77, 23.828, 0.687, 0.2),
    (23.77, 23.772, 0.555, 0.061), (1.25, 1.25, 0.6, 0.5),
])  # fmt: skip
@pytest.mark.parametrize("way", [1, -1])
def test_amount_and_figures_of_one_sentence_subtract(nominal, sound, amount, u, way):
    """In whole digits, as they are written."""
    path = ("mechanism", "springs", 1, "slack_mm")
    name = "secondary_late" if way > 0 else "secondary_early"
    fitted = sound + way * (amount + 0.004)  # the two are not rounded alike
    size = FaultSize(name, path, amount, u, "mm", nominal, fitted, u, "mm", sound=sound)
    said = explanation_sentence(weak(name=name, sizes=(size,)), UNIT).replace("\u00a0", " ")
    told = re.search(r"up ([\d.]+) ± .*? slack ([−\d.]+) mm instead of ([\d.]+) mm", said)
    off, now, ought = (Decimal(v.replace("−", "-")) for v in told.groups())
    assert now - ought == way * off
    assert said.count("±") == 1


def test_a_figure_that_was_worked_out_is_told_no_finer_than_it_is_known():
    """A sound weight by the table alone, 31.2134 g ± 1: no scales were there (24 was typed)."""
    path = ("mechanism", "weights", "mass_g")
    size = FaultSize("weights_light", path, -0.231, 0.03, "share", 31.2134, 24.0, 0.2, "g",
                     sound=31.2134)  # fmt: skip
    said = explanation_sentence(weak(name="weights_light", sizes=(size,)), UNIT)
    assert "24.0\u00a0g each instead of 31.2\u00a0g" in said
    typed = replace(size, amount=-0.2, nominal=30.0, sound=30.0)
    assert "instead of 30\u00a0g" in explanation_sentence(weak(name="weights_light",
                                                               sizes=(typed,)), UNIT)  # fmt: skip


def test_what_a_proved_mark_tells_is_told_of_the_reading_that_it_is_for():
    """Before any reading it tells nothing of the curve: its two figures are of after one."""
    path = ("sessions", 0, "instrument", "mark_error_deg")
    judgement = Judgement(UNIT, 0)
    read = Help("read", 0.6, (), 2690.0, "rising", curve_deg=(1.9, 1.3))
    mark = Help("prove-mark", 0.1, path, u=0.25, curve_deg=(1.3, 1.2))
    first, then = (help_sentence(h, judgement) for h in (read, mark))
    assert "the curve is then known to" in first and "a reading then tells" in then


def test_an_uncertainty_of_three_tenths_has_one_digit():
    (size,) = weak().sizes
    angle = replace(size, fault="static_drifts", path=DRIFT, unit="deg", amount=1.3, u=0.3)
    text = explanation_sentence(weak(name="static_drifts", sizes=(angle,)), UNIT)
    assert "1.3\u00a0±\u00a00.3°" in text


def mark(d, amount):
    path = ("sessions", 0, "instrument", "mark_error_deg")
    size = FaultSize(MARK_OFFSET, path, amount, 0.27, "deg", 0.0, amount, 0.27, "°")
    return explanation_sentence(
        weak(name=MARK_OFFSET, sizes=(size,), check_first=("prove-mark",)), d
    )


def test_a_lamp_is_sent_to_static_and_mark_and_a_rig_to_its_ring():
    """A rig has no dead centre to be proved (common practice)."""
    lamp = mark(sample("weak_primary"), 8.83)
    assert "8.8\u00a0±\u00a00.3° too much" in lamp, "no bench reads a hundredth of a degree"
    assert "static" in lamp and "dead centre" in lamp
    rig = mark(put(sample("weak_primary"), ("sessions", 0, "instrument", "kind"), "rig"), -2.0)
    assert "degree ring" in rig and "too little" in rig and "dead centre" not in rig


def test_a_mark_that_is_off_by_less_than_can_be_seen_reads_neither_too_much_nor_too_little():
    rig = put(sample("weak_primary"), ("sessions", 0, "instrument", "kind"), "rig")
    for unit in (sample("weak_primary"), rig):
        for amount in (0.02, -0.26):
            said = mark(unit, amount)
            assert "too little to show" in said and "too much" not in said
            assert f"({abs(amount):.1f}\u00a0±\u00a00.3°)" in said
        assert "too little to show" not in mark(unit, 0.28)


@pytest.mark.parametrize("action", CORE_ACTIONS)
def test_what_is_said_of_one_alteration_speaks_of_no_others(action):
    one, more = (alterations_text(action, several) for several in (False, True))
    assert more and "these" not in one and "first is advised" not in one
    assert ("advised" in more) == (action not in ("measure-first", "free-first", "read-more"))
    assert (action == "nothing-helps") == more.startswith("None of these")


def test_a_sound_unit_is_not_held_against_a_table_that_is_not_there():
    said = weak(name=NOTHING_WRONG, sizes=(), check_first=())
    blank = [("mechanism", "stop_deg")]
    assert "table" in explanation_sentence(said, UNIT, assumed=blank)
    bare = put(UNIT, ("target",), Target())
    assert "table" not in explanation_sentence(said, bare, assumed=blank)


def test_a_capsule_that_no_engine_can_move_is_not_told_a_depression():
    """There is no more to be had than the air's 101 kPa."""
    path = ("capsules", 0, "full_kpa")
    size = FaultSize("capsule_leaking", path, 2.6, 0.6, "share", 40.0, 146.0, 26.0, "kPa")
    leaking = weak(name="capsule_leaking", sizes=(size,), check_first=())
    assert "146" not in explanation_sentence(leaking, UNIT)
    less = replace(size, fitted=65.0)
    assert "65" in explanation_sentence(replace(leaking, sizes=(less,)), UNIT)


def test_an_alteration_is_told_as_finely_as_a_hand_can_make_it():
    """A hand bends to a tenth of a millimetre and files to a fifth of a degree (common
    practice)."""
    slack = ("mechanism", "springs", 1, "slack_mm")
    step = CureStep("loop", "knee", slack, 1, -0.975, "mm", 0.5)
    assert "1\u00a0mm less slack" in step_text(step, UNIT)
    travel = CureStep(
        "capsule_travel", "vacuum", ("capsules", 0, "full_deg"), None, 1.95, "deg", 0.5
    )
    assert "2° more travel" in step_text(travel, UNIT)


@pytest.mark.parametrize(("chance", "word", "said"), [
    (0.03, "outside", "Outside at 600"), (0.06, "looks outside", "Outside, most likely at 600"),
])  # fmt: skip
def test_a_point_that_only_looks_outside_is_not_said_to_be_it(chance, word, said):
    """The whole may be surer than any one of its points."""
    point = PointJudgement("check", 0, 600.0, None, 1.0, 3.0, 4.3, 0.6, chance, word, None, None,
                           True)  # fmt: skip
    judgement = Judgement(UNIT, 0, decision="outside", probability_inside=0.03,
                          check_points=(point,))  # fmt: skip
    assert decision_text(judgement).startswith(said)


@pytest.mark.parametrize(("other", "change", "why", "chance"), [
    (22.0, 0.25, True, True), (20.2, 0.25, False, True), (20.2, 0.001, False, False),
])  # fmt: skip
def test_what_a_reading_would_show_is_told_where_it_parts_explanations(other, change, why, chance):
    best = SimpleNamespace(
        speed_rpm=1500.0, direction="rising", depression_kpa=None, gain_bits=0.2,
        change_probability=change,
        expected_deg=((NOTHING_WRONG, 20.0), ("primary_weak", other)),
    )  # fmt: skip
    advice = SimpleNamespace(best=best, apart=(NOTHING_WRONG, "primary_weak"), worth_taking=True)
    _, said = next_reading_sentences(advice, UNIT, 0)
    assert ("would show" in said, "another explanation first" in said) == (why, chance)
    assert next_reading_sentences(advice, put(UNIT, ("target",), Target()), 0)[1] == ""
