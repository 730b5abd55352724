"""Where and how a curve errs: each fault is described as a hand would see it on the plot."""

from types import SimpleNamespace

import numpy as np
import pytest

from bobweight.app.messages.judgement import reason_sentence
from bobweight.core.docket.mechanism import Mechanism
from bobweight.core.judgement.answer import INSIDE, LOOKS_OUTSIDE
from bobweight.core.judgement.compare import Bands
from bobweight.core.judgement.decision import decide_docket
from bobweight.core.judgement.misfit import Misfit, _as_shown, _errors, _misfits, errors_of
from bobweight.core.mechanics.predict import predict
from bobweight.core.record import put
from tests.judgement.invented import Truth, Wish, docket, even_places, read, with_readings

UNIT = docket(Wish())
RATE = ("springs", 0, "rate_n_per_mm")
LOOP = ("springs", 1, "slack_mm")


RATE_WEAK = (RATE, 0.45 * UNIT.mechanism.springs[0].rate_n_per_mm)


def judged(*changes, known=False):
    unit = UNIT.mechanism
    for path, value in changes:
        unit = put(unit, path, value)
    places = even_places(predict(UNIT.mechanism), 14, high=1.4)
    d = with_readings(UNIT, read(Truth(unit), places, np.random.default_rng(5)))
    return decide_docket(d if known else d.with_changes(mechanism=Mechanism())).judgement


@pytest.mark.parametrize(
    ("path", "value", "codes"),
    [
        (*RATE_WEAK, {"starts-early", "knee-high"}),
        (RATE, 2.0 * UNIT.mechanism.springs[0].rate_n_per_mm, {"starts-late", "knee-low"}),
        (LOOP, 2.8, {"knee-high"}),
        (("stop_deg",), 15.0, {"stop-far", "over-ceiling"}),
        (("stop_deg",), 9.0, {"stop-short"}),
        (("stick_nmm",), 49.0, {"falling-lags"}),
    ],
)
def test_a_fault_is_described_without_any_figure_of_the_mechanism(path, value, codes):
    errors = judged((path, value)).errors
    assert codes & {e.code for e in errors}
    assert all(e.facts["amount"] > 0.5 for e in errors if e.code in codes)


def test_an_error_is_said_from_the_middle_of_the_band_and_says_so():
    """A reader thinks of the band's edge: 4.4 in a band of 1.0 to 3.0 is 1.4 over that."""
    made = judged(RATE_WEAK)
    for error in made.errors:
        if "speed" in error.facts:
            point = next(p for p in made.check_points if p.index == error.path[-1])
            off = point.advance_deg - 0.5 * (point.low_deg + point.high_deg)
            side = "above" if off > 0 else "below"
            assert error.facts["amount"] == pytest.approx(abs(off), abs=1e-6)
            said = reason_sentence(error, made)
            assert f"{error.facts['amount']:.1f}° {side} mid-band at" in said.replace("\xa0", " ")


def test_a_sound_unit_errs_nowhere():
    assert judged(known=True).errors == ()


def points(*offs):
    middles = np.linspace(2.0, 12.0, len(offs))
    return [
        Misfit(i, 500.0 + 300.0 * i, float(m), float(off), float(abs(off) > 1.0))
        for i, (m, off) in enumerate(zip(middles, offs, strict=True))
    ]


@pytest.mark.parametrize(
    ("offs", "ended", "codes"),
    [
        ((3.0, 2.6, 2.4, 2.5), True, ["all-high"]),
        ((-2.0, -2.2, -1.9, -2.1), True, ["all-low"]),
        ((0.0, 1.5, 2.5, 3.0), False, ["slope-steep"]),
        ((0.0, -1.5, -2.5, -3.0), False, ["slope-flat"]),
        ((2.0, 0.0, 0.0, -2.0), True, ["starts-early", "stop-short"]),
        ((0.0, -2.0, -1.5, 0.0), True, ["knee-low"]),
        ((0.2, 0.1, -0.3, 0.4), True, []),
        ((3.0, 2.6, 2.0, 2.5), True, ["all-high"]),
        ((2.0, 2.2, 2.1), True, ["all-high"]),
        ((0.9, 1.3, 1.3, 1.2), True, ["knee-high", "stop-far"]),  # the start is not outside
        ((2.0, 2.0, 2.0, 3.4), True, ["starts-early", "knee-high", "stop-far"]),
        ((2.0, 2.2), True, ["starts-early", "stop-far"]),  # of two points nobody sees a shape
        ((0.0, 3.0, 2.0, 2.0), False, ["knee-high"]),
        ((0.0, -2.0, 0.0, 2.0), False, ["knee-low", "slope-steep"]),
    ],
)
def test_the_shape_of_an_error_has_its_name(offs, ended, codes):
    assert [e.code for e in _errors(points(*offs), ended)] == codes


def test_an_error_is_told_where_it_is_likelier_than_not():
    even = [Misfit(0, 800.0, 5.0, 2.0, 0.5), Misfit(1, 1600.0, 10.0, 0.0, 0.1)]
    assert _errors(even, True) == []
    both = [Misfit(0, 800.0, 5.0, -2.0, 0.6), Misfit(1, 900.0, 6.0, -2.5, 0.9),
            Misfit(4, 1600.0, 10.0, 0.0, 0.1)]  # fmt: skip
    (error,) = _errors(both, True)
    assert (error.code, error.path) == ("knee-low", ("target", "points", 1))
    assert error.facts == {"amount": 2.5, "speed": 900.0} and not error.grave
    (error,) = _errors(points(2.0, 2.6, 2.2, 2.4), True)
    assert (error.code, error.facts["amount"]) == ("all-high", 2.6)


@pytest.mark.parametrize(("told", "amount"), [
    (None, 1.5),  # the middle of both branches is told, which lies at 5.5
    (4.6, 2.4),  # falling is, so that whoever subtracts it from the middle of the band gets that
    (7.5, 1.5),  # a branch that errs the other way is no reason for what is said
])  # fmt: skip
def test_an_error_has_the_amount_that_its_check_point_shows(told, amount):
    misfits = [Misfit(3, 800.0, 7.0, -1.5, 0.9)]
    (error,) = _errors([*misfits, Misfit(4, 1600.0, 10.0, 0.0, 0.1)], True)
    found = _as_shown(error, misfits, {} if told is None else {3: told})
    assert found.code == "knee-low" and found.facts["amount"] == pytest.approx(amount)


SPEEDS = [0.0, 500.0, 1000.0, 1500.0, 2000.0, 3000.0]
RISING = np.array([[0.0, 2.0, 6.0, 10.0, 10.0, 10.0], [0.0, 4.0, 8.0, 10.8, 10.8, 11.1]])
LAGS = np.array([[0.0, 0.5, 1.0, 0.5, 0.0, 0.0], [0.0, 2.0, 1.0, 0.0, 0.0, 0.0]])
WEIGHT = np.array([0.25, 0.75])


def unit(lags=LAGS, stops=(10.0, 11.1)):
    """Two curves that a unit may have, each by its chance, and what falling lags rising by."""

    def advance(values, speed, ways):
        ways_deg = {"rising": RISING, "falling": RISING + lags}
        return np.stack(
            [[np.interp(speed, SPEEDS, row) for row in ways_deg[way]] for way in ways], axis=1
        )

    simulator = SimpleNamespace(most_deg=lambda values: np.array(stops))
    return SimpleNamespace(values={}, weight=WEIGHT, advance=advance, simulator=simulator)


ROWS = Bands(
    ("check", "check", "start", "check", "check", "ceiling"), (0, 1, 2, 3, None, None),
    np.array([1500.0, 500.0, 300.0, 700.0, 1000.0, 0.0]),
    np.array([9.0, 1.0, 0.0, 3.0, 5.0, -np.inf]), np.array([11.0, 3.0, 1.0, np.inf, 7.0, 10.5]),
)  # fmt: skip


@pytest.mark.parametrize(("ways", "off"), [
    # The mean of both ways is half of what falling lags above rising.
    (("rising", "falling"), [0.25 * 0.25 + 0.75 * 3.0, 0.25 * 0.5 + 0.75 * 2.5,
                             0.25 * 0.25 + 0.75 * 0.8]),
    (("rising",), [0.75 * 2.0, 0.75 * 2.0, 0.75 * 0.8]),
    (("falling",), [0.25 * 0.5 + 0.75 * 4.0, 0.25 * 1.0 + 0.75 * 3.0, 0.25 * 0.5 + 0.75 * 0.8]),
])  # fmt: skip
def test_each_row_with_both_limits_is_held_against_the_middle_of_all_that_is_possible(ways, off):
    """By hand, of two curves: chance times what each is above the band's middle."""
    found, lag, u_lag, ended = _misfits(unit(), ROWS, ways)
    assert [(m.index, m.speed_rpm, m.middle_deg) for m in found] == [
        (1, 500.0, 2.0), (0, 1000.0, 6.0), (0, 1500.0, 10.0)
    ]  # fmt: skip
    assert [m.off_deg for m in found] == pytest.approx(off)
    assert [m.outside for m in found] == [0.75, 0.75, 0.0]
    assert lag == pytest.approx(0.25 * 1.0 + 0.75 * 2.0)  # where each lags most
    assert u_lag == pytest.approx(np.sqrt(0.25 * 0.75**2 + 0.75 * 0.25**2))
    assert ended


@pytest.mark.parametrize(("climb_deg", "ended"), [(0.25, True), (0.45, False), (2.0, False)])
def test_a_curve_has_ended_where_it_is_level_far_beyond_the_last_row(climb_deg, ended):
    """Three tenths of a degree are nothing that a lamp shows (common practice)."""
    lags = np.zeros((2, 6))
    still = unit(lags, stops=(10.0, 11.1))
    advance = still.advance

    def climbing(values, speed, ways):
        more = np.interp(speed, [2000.0, 3000.0], [0.0, climb_deg - 0.75 * 0.3])
        return advance(values, speed, ways) + more

    still.advance = climbing
    assert _misfits(still, ROWS, ("rising", "falling"))[3] == ended


def codes(unit, ways=("rising", "falling"), words=(LOOKS_OUTSIDE,), rows=ROWS):
    none = {"index": None, "branch": None, "advance_deg": None}
    points = tuple(SimpleNamespace(kind="check", decision=word, **none) for word in words)
    errors = errors_of(unit, SimpleNamespace(asked=rows, ways=ways), points)
    assert not any(e.grave for e in errors)
    return {e.code: e.facts for e in errors}


def test_falling_lags_where_that_is_more_than_usual_by_more_than_chance():
    """1.75 ± 0.43 is not surely more than 1.5 (common practice); 3.75 ± 0.43 is."""
    more = unit(LAGS + 2.0)
    assert "falling-lags" not in codes(unit())
    assert codes(more)["falling-lags"] == {"amount": pytest.approx(3.75), "usual": 1.5}
    assert "falling-lags" not in codes(more, ways=("rising",))
    assert "falling-lags" not in codes(more, words=(INSIDE, INSIDE))
    assert "falling-lags" in codes(more, words=(INSIDE, LOOKS_OUTSIDE))
    assert "falling-lags" not in codes(unit(LAGS - 1.75))


@pytest.mark.parametrize(("stops", "amount"), [
    ((10.0, 11.0), 0.25 * -0.5 + 0.75 * 0.5), ((13.0, 10.4), None), ((2.0, 10.6), 0.0),
    ((10.5, 10.5), None),
])  # fmt: skip
def test_a_stop_is_over_the_ceiling_where_that_is_likelier_than_not(stops, amount):
    told = codes(unit(stops=stops))
    assert ("over-ceiling" in told) == bool(amount)
    if amount:
        assert told["over-ceiling"] == {"amount": pytest.approx(amount)}


def test_a_table_without_a_row_to_hold_a_curve_against_tells_of_no_error():
    start = Bands(("start",), (0,), np.array([400.0]), np.array([0.0]), np.array([1.0]))
    assert codes(unit(), rows=start) == {}
    assert _misfits(unit(), start, ("rising",)) == ([], 0.0, 0.0, False)
    assert codes(unit(stops=(20.0, 20.0)), rows=start) == {}


def test_a_ceiling_is_not_told_beside_a_stop_that_is_too_far():
    far = unit(stops=(20.0, 20.0))
    high = ROWS.high_deg - np.array([2.0, 0.0, 0.0, 0.0, 0.0, 0.0])
    rows = Bands(ROWS.kind, ROWS.index, ROWS.where, ROWS.low_deg - 2.0, high)
    told = codes(far, rows=rows)
    assert "over-ceiling" not in told and told.keys() & {"stop-far", "all-high"}
