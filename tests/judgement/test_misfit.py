"""Where and how a curve errs: each fault is described as a hand would see it on the plot."""

import numpy as np
import pytest

from bobweight.app.messages.judgement import reason_sentence
from bobweight.core.docket.mechanism import Mechanism
from bobweight.core.judgement.decision import decide_docket
from bobweight.core.judgement.misfit import Misfit, _errors
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
            assert error.facts["amount"] == pytest.approx(abs(off), abs=0.3)
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
    ],
)
def test_the_shape_of_an_error_has_its_name(offs, ended, codes):
    assert [e.code for e in _errors(points(*offs), ended)] == codes
