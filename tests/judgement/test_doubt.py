"""A figure that is not a little off but wrong harms nobody."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from scipy import stats

from bobweight.app.messages.judgement import reason_sentence
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.mechanism import Mechanism, Spring
from bobweight.core.judgement import doubt
from bobweight.core.judgement.answer import INSIDE, LOOKS_INSIDE
from bobweight.core.judgement.decision import decide_docket
from bobweight.core.judgement.fit_values import FreeValue
from bobweight.core.judgement.judged import judged_outcome
from bobweight.core.judgement.outcome import outcome
from bobweight.core.judgement.sound import SoundUnit
from bobweight.core.mechanics.predict import predict
from bobweight.core.record import get, parameters, put
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
    assert "figure of the mechanism cannot be right" in said and "easure" in said


def test_a_wrong_figure_is_doubted_beside_blank_ones():
    """A pivot in the middle of the cam, which nothing near it explains; the mass is not known."""
    pivot = ("mechanism", "weights", "pivot_radius_mm")
    judgement = decide_docket(put(put(sound(), MASS, None), pivot, 1.0)).judgement
    assert judgement.decision in (INSIDE, LOOKS_INSIDE) and judgement.bare
    assert judgement.doubted[0] == pivot


def test_blanks_alone_doubt_nothing():
    judgement = decide_docket(put(sound(), MASS, None)).judgement
    assert judgement.decision in (INSIDE, LOOKS_INSIDE)
    assert not judgement.bare and judgement.doubted == ()


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


class Rows:
    """A table that one row says: so much of the figures' logarithms, and of an angle itself."""

    told = None

    def __init__(self, free, slopes, off, spread=0.02):
        self.free, self.slopes, self.off, self.spread = free, slopes, off, spread

    def of(self, free):
        return Rows(free, self.slopes, self.off, self.spread)

    def residuals(self, z, now=None):
        off = self.off
        for column, f, slope in zip(z.T, self.free, self.slopes, strict=True):
            now, then = (
                f.at(x) if f.unit == "°" else np.log(f.at(x)) for x in (column, 0.0 * column)
            )
            off = off + slope * (now - then)
        return (off / self.spread)[:, None]


def ill_matched(figures, off, mechanism=None):
    """A unit whose figures are sure, and a table that speaks against them: path, figure, unit,
    slope of the table by it."""
    free = tuple(
        FreeValue(path, figure, 1e-6, 1e-3, 1e3, unit, "stated", by_share=unit != "°")
        for path, figure, unit, _ in figures
    )
    rows = Rows(free, [slope for *_, slope in figures], off)
    n = len(free)
    assumed = SimpleNamespace(mechanism=mechanism or UNIT.mechanism, known={})
    return SoundUnit(assumed, free, np.zeros(n), np.eye(n), 0.0, rows)


LENGTH, STOP = ("mechanism", "springs", 0, "free_length_mm"), ("mechanism", "stop_deg")


def test_a_figure_let_go_costs_what_the_table_still_has_against_it():
    """One straight row: the least of r² + z² is off² over the sum of both variances (JCGM 102,
    6.2); a figure let go is off by its own size or by 25 degrees (common practice)."""
    figures = (MASS, 20.0, "g", 0.01), (LENGTH, 30.0, "mm", -0.03), (STOP, 500.0, "°", 0.004)
    unit = ill_matched(figures, off=0.09)
    assert unit.cost == pytest.approx((0.09 / 0.02) ** 2)
    for index, spread in enumerate((0.01, 0.03, 0.004 * 25.0)):
        exact = 0.09**2 / (0.02**2 + spread**2)
        assert doubt._cost_without(unit, index) == pytest.approx(exact, rel=1e-3)


@pytest.mark.parametrize(("wrong", "also"), [(-2.6, 2.7), (-2.0, 2.6), (2.0, -2.6), (2.6, -2.7)])
def test_a_figure_is_tried_over_all_that_a_slip_of_the_pen_may_make_of_it(wrong, also):
    """A digit too few or too many is a factor of ten, exp(2.3); the table sees nothing of it
    before it is nearly right, as a spring that is never taken up. Of two the lesser will do."""
    unit = ill_matched([(MASS, 20.0, "g", 1.0)], off=0.0)

    def near(z, now=None):
        off = np.minimum(np.abs(z - wrong), np.abs(z - also))
        return -np.minimum(off / 0.1, 10.0)

    unit.rows.of = lambda free: SimpleNamespace(residuals=near)
    assert doubt._cost_without(unit, 0) == pytest.approx(wrong**2, rel=0.05)


def test_suspected_are_the_figures_that_explain_and_of_these_the_unusual_first():
    """Seven figures that would each explain the table, two of them unusual and two just usual
    still; one that explains too little, and one that is mostly none."""
    spring = ("mechanism", "springs", 0)
    least, most = (
        parameters(Spring)["post_radius_mm"].usual[0],
        parameters(Spring)["peg_radius_mm"].usual[1],
    )
    figures = [
        ((*spring, "slack_mm"), 1.2, "mm", 5.0), (RATE, 2.0, "N/mm", 0.03),
        ((*spring, "post_radius_mm"), least, "mm", 0.06),
        ((*spring, "peg_radius_mm"), most, "mm", 0.05),
        (LENGTH, 90.0, "mm", 0.022), (MASS, 180.0, "g", 0.04),
        (("mechanism", "weights", "cg_mm"), 10.0, "mm", 0.025),
        (("mechanism", "weights", "pivot_radius_mm"), 20.0, "mm", 0.018),
        (STOP, 12.0, "°", -0.024 / 25.0),
    ]  # fmt: skip
    unit = ill_matched(figures, off=0.09)
    named = [path[-1] for path in doubt.suspects(unit)]
    assert named == [
        "mass_g", "free_length_mm", "post_radius_mm", "peg_radius_mm", "rate_n_per_mm"
    ]  # fmt: skip
    few = ill_matched(figures[6:], off=0.09)
    assert [path[-1] for path in doubt.suspects(few)] == ["cg_mm", "stop_deg"]


@pytest.mark.parametrize(("cost", "scatter", "doubted"), [
    (5.5, 1.3, False), (6.5, 1.0, True), (1.0, 1.4, True), (9.0, 2.0, True),
])  # fmt: skip
def test_figures_are_doubted_where_they_contradict_the_table_or_the_readings(
    cost, scatter, doubted
):
    """Where they do, what is left of the mechanism is how many springs it has, and which."""

    def found(rows, blank=False):
        unit = SimpleNamespace(rows=rows, cost=cost, assumed=SimpleNamespace(nothing_known=blank))
        family = SimpleNamespace(unit=unit, noise_factor=lambda x: np.full(len(x), scatter))
        return SimpleNamespace(family=family, x=np.zeros((3, 4)))

    bare = doubt.without_figures(UNIT, found(object()))
    assert (bare is not None) == doubted
    if bare is not None:
        roles = tuple(Spring(role=s.role) for s in UNIT.mechanism.springs)
        assert bare == UNIT.with_changes(mechanism=Mechanism(springs=roles))
    assert doubt.without_figures(UNIT, found(None)) is None, "without a table"
    assert doubt.without_figures(UNIT, found(object(), True)) is None, "of what is blank"
