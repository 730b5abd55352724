"""A figure that is not a little off but wrong harms nobody."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from scipy import stats

from bobweight.app.messages.judgement import reason_sentence
from bobweight.core.docket.docket import Docket
from bobweight.core.judgement import doubt
from bobweight.core.judgement.answer import INSIDE, LOOKS_INSIDE
from bobweight.core.judgement.decision import decide_docket
from bobweight.core.judgement.judged import judged_outcome
from bobweight.core.judgement.outcome import outcome
from bobweight.core.judgement.sound import SoundUnit
from bobweight.core.mechanics.predict import predict
from bobweight.core.record import get, put
from tests.judgement.invented import Truth, Wish, docket, even_places, read, with_readings

UNIT = docket(Wish(), band_deg=1.5)
MASS = ("mechanism", "weights", "mass_g")
RATE = ("mechanism", "springs", 0, "rate_n_per_mm")


def sound(seed: int = 7) -> Docket:
    """Readings of a sound unit."""
    places = even_places(predict(UNIT.mechanism), 20)
    return with_readings(UNIT, read(Truth(UNIT.mechanism), places, np.random.default_rng(seed)))


def judged(log_table, log_evidence, weight=(1.0,), odds=(1.0,), table=(0,), log_other=-np.inf):
    """A diagnosis of explanations with these prior odds, and odds with the readings."""
    return SimpleNamespace(
        log_evidence=log_evidence, odds=np.array(odds),
        family=SimpleNamespace(
            hypotheses=[SimpleNamespace(log_odds=np.log(w)) for w in weight],
            of_table=np.array(table),
            unit=SimpleNamespace(log_table=log_table, log_other=log_other),
        ),
    )  # fmt: skip


@pytest.mark.parametrize(("more", "wrong"), [(-0.01, False), (0.01, True)])
def test_a_figure_is_wrong_three_times_in_a_hundred_beforehand(more, wrong):
    """Bayes: the readings must be 97 to 3 likelier without the figures (common practice)."""
    need = np.log(0.97 / 0.03)
    assert doubt.wrong_figures(judged(-2.0, -9.0), judged(0.0, -11.0 + need + more)) == wrong


def test_a_table_of_another_unit_speaks_by_its_own_odds():
    """Three explanations, one of another table: what the readings make of each is its odds over
    those before, and each table counts by its own probability."""
    d = judged(-0.5, -4.0, (1.0, 0.6, 0.4), (0.2, 0.2, 0.6), (0, 0, 1), np.log(0.05))
    ours, others = (0.2 + 0.2) / 1.6, 0.6 / 0.4
    assert doubt._log_of_all(d) == pytest.approx(-4.5 + np.log(2.0 * (ours + 0.05 * others)))


@pytest.mark.parametrize(("path", "times"), [(MASS, 10.0), (RATE, 10.0)])
def test_a_slip_of_the_pen_does_not_condemn_a_sound_unit(path, times):
    """A point in the wrong place, a first digit misread (common practice)."""
    d = put(sound(), path, get(UNIT, path) * times)
    judgement = decide_docket(d).judgement
    assert judgement.decision in (INSIDE, LOOKS_INSIDE) and judgement.bare
    assert path in judgement.doubted
    assert not any(p.code == "readings-all-below-start" for p in judgement.problems)
    seen = judged_outcome(outcome(d), judgement)
    assert seen.prediction is None
    assert all(p.predicted_deg is None for p in seen.comparison.check_points)
    assert judgement.reasons[0].code == "figures-doubted"
    said = reason_sentence(judgement.reasons[0], judgement)
    assert "A figure of the mechanism is wrong" in said and "easure" in said


def test_good_figures_are_not_doubted():
    judgement = decide_docket(sound()).judgement
    assert not judgement.bare and judgement.doubted == ()


def test_a_part_at_fault_is_no_wrong_figure():
    """A secondary at half its rate: the figures go with the table, the readings do not."""
    path = ("springs", 1, "rate_n_per_mm")
    actual = put(UNIT.mechanism, path, 0.5 * get(UNIT.mechanism, path))
    places = even_places(predict(UNIT.mechanism), 20)
    d = with_readings(UNIT, read(Truth(actual), places, np.random.default_rng(3)))
    judgement = decide_docket(d).judgement
    assert not judgement.bare and judgement.explanations[0].name == "secondary_weak"


def test_how_ill_figures_and_table_go_together_is_the_density_of_the_table():
    """Of straight lines it is the normal law of the table's middles: scipy's, but for the constant
    that every mechanism shares."""
    rng = np.random.default_rng(2)
    slopes, off = rng.normal(size=(5, 3)), rng.normal(size=5)

    def residuals(z, now=None):
        return off + z @ slopes.T

    covariance = np.linalg.inv(np.eye(3) + slopes.T @ slopes)
    z = -covariance @ slopes.T @ off
    rows = SimpleNamespace(residuals=residuals, told=None)
    unit = SoundUnit(None, (), z, np.linalg.cholesky(covariance), 0.0, rows)
    exact = stats.multivariate_normal(np.zeros(5), np.eye(5) + slopes @ slopes.T).logpdf(off)
    assert unit.log_table - 2.5 * np.log(2 * np.pi) == pytest.approx(exact)


def test_what_other_sessions_told_is_no_fault_of_the_table():
    """Straight lines again, with rows told by another session: the density of the table given them,
    as scipy has the joint one over theirs."""
    rng = np.random.default_rng(5)
    slopes, off = rng.normal(size=(5, 3)), rng.normal(size=5)
    matrix, offset = rng.normal(size=(2, 3)), 0.1 * rng.normal(size=2)
    told = SimpleNamespace(residuals=lambda z: z @ matrix.T - offset)
    alone = np.linalg.inv(np.eye(3) + matrix.T @ matrix)
    mean = alone @ matrix.T @ offset
    both, of_both = np.vstack([slopes, matrix]), np.concatenate([off, -offset])
    covariance = np.linalg.inv(np.eye(3) + both.T @ both)
    z = -covariance @ both.T @ of_both
    rows = SimpleNamespace(residuals=lambda z, now=None: of_both + z @ both.T, told=told)
    figures = (mean, np.linalg.cholesky(alone))
    unit = SoundUnit(None, (), z, np.linalg.cholesky(covariance), 0.0, rows, figures)
    law = stats.multivariate_normal
    joint = law(np.zeros(7), np.eye(7) + both @ both.T).logpdf(of_both)
    given = joint - law(np.zeros(2), np.eye(2) + matrix @ matrix.T).logpdf(-offset)
    assert unit.log_table - 2.5 * np.log(2 * np.pi) == pytest.approx(given)
