"""Figures measured off the part at fault: what it costs that they are, and what comes of it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from bobweight.core.judgement.as_found import AsFound, altered
from bobweight.core.judgement.decision import decide_docket
from bobweight.core.judgement.faults import Effect, Fault
from bobweight.core.judgement.fit_values import FreeValue
from tests.samples import sample

RATE = ("mechanism", "springs", 0, "rate_n_per_mm")
STOP = ("mechanism", "stop_deg")
FREE = (
    FreeValue(("mechanism", "weights", "mass_g"), 25.0, 1.0, 1.0, 100.0, "g", "stated"),
    FreeValue(RATE, 2.0, 0.05, 0.1, 40.0, "N/mm", "stated", by_share=True),
    FreeValue(STOP, 12.0, 0.5, 1.0, 60.0, "°", "stated"),
)
FAULTS = (
    Fault("weak", "unit", (Effect(RATE, "share", -1.0),), 0.28, 0.4, "share", 1.0, "hang"),
    Fault("high", "unit", (Effect(STOP, "add"),), 2.0, 0.4, "deg", 1.0, "look"),
)


@pytest.fixture
def linear():
    """A sound unit whose table is in straight lines, and what figures and table say of it."""
    rng = np.random.default_rng(11)
    slopes, off = rng.normal(size=(5, 3)), rng.normal(size=5)
    covariance = np.linalg.inv(np.eye(3) + slopes.T @ slopes)
    z = -covariance @ slopes.T @ off
    return slopes, off, z, np.linalg.cholesky(covariance)


def both(z, root) -> AsFound:
    """Of two hypotheses the second has its figures as found, of a rate and of a stop."""
    mine = altered(FAULTS, (0, 1), (1.0, 1.0), FREE)
    return AsFound(FREE, FAULTS, z, root, [(), mine])


def test_the_move_is_that_from_the_figure_without_the_fault_to_the_figure(linear):
    _, _, z, root = linear
    found = both(z, root)
    amounts = np.array([[0.0, 0.0], [1.0, -0.5]])
    moved = found.moved(amounts, np.array([1, 1]))
    for (a, b), (rate, stop) in zip(amounts, moved, strict=True):
        assert rate == pytest.approx(np.log(1 - 0.28 * np.exp(0.4 * a)) / 0.05)
        assert stop == pytest.approx(2.0 * np.exp(0.4 * b) / 0.5)
    assert (found.moved(amounts, np.array([0, 0])) == 0).all()


def test_a_length_as_found_is_moved_as_a_share_of_what_it_is_stretched_by():
    """A spring 30 mm long that is slack at 20, and stretched by 0.8 mm: sound it was 29.2."""
    length = ("mechanism", "springs", 0, "free_length_mm")
    free = FreeValue(length, 30.0, 0.1, 1.0, 90.0, "mm", "stated", by_share=True, origin=20.0)
    fault = Fault("long", "unit", (Effect(length, "add"),), 0.8, 0.4, "mm", 1.0, "look")
    mine = altered((fault,), (0,), (1.0,), (free,))
    found = AsFound((free,), (fault,), np.zeros(1), 0.5 * np.eye(1), [mine])
    moved = found.moved(np.zeros((1, 1)), np.zeros(1, int))[0, 0]
    assert free.at(np.array(-moved)) == pytest.approx(29.2)


def test_a_spring_that_was_swapped_was_measured_in_the_place_of_the_other():
    """Of 2 and 9 N/mm typed as they hang, the sound primary has the 9."""
    other = ("mechanism", "springs", 1, "rate_n_per_mm")
    free = tuple(
        FreeValue(path, rate, u, 0.1, 40.0, "N/mm", "stated", by_share=True)
        for path, rate, u in ((RATE, 2.0, 0.05), (other, 9.0, 0.1))
    )
    effects = Effect(RATE, "swap", other=other), Effect(other, "swap", other=RATE)
    fault = Fault("swapped", "unit", effects, 0.0, 0.0, "", 1.0, "look")
    mine = altered((fault,), (0,), (1.0,), free)
    found = AsFound(free, (fault,), np.zeros(2), 0.5 * np.eye(2), [mine])
    moved = found.moved(np.zeros((1, 1)), np.zeros(1, int))[0]
    sound = [f.at(np.array(-m)) for f, m in zip(free, moved, strict=True)]
    assert sound == pytest.approx([9.0, 2.0])


@pytest.mark.parametrize(("stop_deg", "number"), [(2.5, 1), (1.5, 0)])
def test_a_figure_that_no_sound_part_leaves_was_not_measured_with_the_fault(stop_deg, number):
    """A stop 2° too high, of which 1° is the least: 1.5° is no such stop's. A share of a value
    leaves something of any."""
    stop = FreeValue(STOP, stop_deg, 0.5, 0.1, 60.0, "°", "stated")
    assert len(altered(FAULTS, (1,), (1.0,), (stop,))) == number
    rate = FreeValue(RATE, 0.12, 0.05, 0.1, 40.0, "N/mm", "stated", by_share=True)
    assert len(altered(FAULTS, (0,), (-1.0,), (rate,))) == 1


def test_information_is_that_of_the_slopes_of_the_cost(linear):
    """Of a least-squares cost: JᵀJ of its residuals, by central differences (Gauss and Newton)."""
    _, _, z, root = linear
    found, at, which = both(z, root), np.array([[0.4, -0.3]]), np.array([1])

    def residuals(amounts):
        return found.squares(which, found.moved(amounts, which))[0, :-1]

    slopes = np.stack([
        (residuals(at + step) - residuals(at - step)) / 2e-5 for step in 1e-5 * np.eye(2)
    ])  # fmt: skip
    assert found.information(at, which)[0] == pytest.approx(slopes @ slopes.T, rel=1e-3)


def test_a_figure_after_the_fault_has_the_odds_of_the_normal_law(linear):
    """The table given figures that are off by what the fault moves them: scipy's joint law."""
    slopes, off, z, root = linear
    found = both(z, root)
    law = stats.multivariate_normal(np.zeros(5), np.eye(5) + slopes @ slopes.T)
    for moved in ([[-3.0, 1.0]], [[2.0, 0.3]], [[0.0, 0.0]]):
        shift = slopes[:, [1, 2]] @ np.array(moved[0])
        exact = law.pdf(off - shift) / law.pdf(off)
        weight = np.exp(found.log_weight(1, np.array(moved))[0])
        assert weight == pytest.approx(exact, rel=1e-9)


@pytest.mark.parametrize("directions", [1, 2, 3])
def test_squares_and_density_are_the_same_cost(linear, directions):
    """Where the table is in straight lines, in whatever directions are looked at."""
    slopes, off, z, root = linear
    axes = np.linalg.qr(np.random.default_rng(4).normal(size=(3, 3)))[0]
    basis = (root @ axes)[:, :directions]
    found, which = both(z, root), np.array([1])
    q, moved = np.random.default_rng(3).normal(size=(1, directions)), np.array([[-2.5, 1.2]])
    squares = np.sum(q**2) + np.sum(found.squares(which, moved) ** 2) - found.gain.max()
    at = z + q @ basis.T + found.turned(which, moved)
    scattered = found.scattered(which, moved, 3)
    assert scattered[0].tolist() == [0.0, -2.5, 1.2]

    def cost(point):
        return np.sum((off + slopes @ point) ** 2) + np.sum(point**2)

    exact = cost(at[0]) - cost(z) - 2.0 * found.log_density(at, scattered)[0]
    assert squares == pytest.approx(exact, rel=1e-9)


@pytest.mark.parametrize(("measured_off", "wanted"), [("found", 2.6), ("sound", 1.87)])
def test_a_weak_spring_that_was_hung_is_told_by_what_the_table_wants(measured_off, wanted):
    """In the sample a primary of 2.6 N/mm has lost 28 %. Typed is its rate as it hangs in the unit,
    surely: what is to be fitted is the rate of the sound one, unless the docket says otherwise."""
    found = sample("weak_primary")
    hung, *others = found.mechanism.springs
    hung = replace(hung, rate_n_per_mm=0.72 * 2.6, u={**hung.u, "rate_n_per_mm": 0.03})
    mechanism = replace(found.mechanism, springs=(hung, *others), measured_off=measured_off)
    judgement = decide_docket(found.with_changes(mechanism=mechanism)).judgement
    first = judgement.explanations[0]
    assert first.name == "primary_weak" and not judgement.bare
    assert first.sizes[0].nominal == pytest.approx(wanted, rel=0.1)
    (step,) = judgement.alterations
    assert step.key == "rate"
    assert step.amount * first.sizes[0].fitted == pytest.approx(wanted, rel=0.15)
    assert (step.value is not None) == (measured_off == "found")


def test_directions_take_a_figure_along_as_far_as_they_show_it(linear):
    """Where all directions are looked at, the point that is told of is that of the sound unit."""
    _, _, z, root = linear
    found, which = both(z, root), np.array([1])
    q, moved = np.array([[0.4, -1.0, 0.3]]), np.array([[-2.5, 1.2]])
    told = q - found.scattered(which, moved, 3) @ root
    assert z + told @ root.T == pytest.approx(z + q @ root.T + found.turned(which, moved))
