"""Springs from the tray for a unit known by its readings more than by its figures."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bobweight.core.design.rough import RoughSearch, search_of
from bobweight.core.design.search import Search
from bobweight.core.design.tray import Tray, TraySpring
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.mechanism import Mechanism, Spring
from bobweight.core.judgement.decision import decide_docket
from bobweight.core.problems import BobweightError
from tests.samples import sample

PRIMARY, SECONDARY, LEFT = 2.6, 11.0, 0.72
"""The sample's own springs, and what its primary has left of its rate: its story."""
RATES = (1.4, 1.9, 2.5, 3.2, 4.2, 9.0, 11.5, 14.0)
TRAY = Tray(springs=tuple(
    TraySpring(label=f"{k}", count=2, rate_n_per_mm=k, free_length_mm=20.0) for k in RATES
))  # fmt: skip


def hung(*rates: float | None) -> Docket:
    """The sample with nothing known of its mechanism but the rates of its springs as they hang."""
    roles = ("primary", "secondary")
    springs = tuple(Spring(role=r, rate_n_per_mm=k) for r, k in zip(roles, rates, strict=True))
    return sample("weak_primary").with_changes(
        mechanism=Mechanism(springs=springs, measured_off="found")
    )


def test_the_spring_that_is_so_many_times_as_stiff_is_found_in_the_tray():
    """The unit is as found, its primary at 72 % of what keeps the table: nearest to the sound rate
    is 2.5 N/mm. Nothing else of the mechanism is known."""
    docket = hung(LEFT * PRIMARY, SECONDARY)
    search = search_of(docket, TRAY, decide=lambda: decide_docket(docket))
    assert isinstance(search, RoughSearch)
    found = search.run()
    best = found.candidates[0]
    assert (best.primary, best.secondary, best.work) == (RATES.index(2.5), None, "one-spring")
    assert best.probability_inside == max(c.probability_inside for c in found.candidates)
    assert found.finished and all(0.0 <= c.probability_inside <= 1.0 for c in found.candidates)
    fitted = search.apply(best)
    assert [s.rate_n_per_mm for s in fitted.springs] == [2.5, SECONDARY]
    curve, points = search.curve(best), docket.target.points
    assert (curve.advance_deg[1:] >= curve.advance_deg[:-1] - 1e-9).all()
    assert curve.speed_rpm[-1] > 0.9 * points[-1].speed_rpm


def test_with_no_rate_of_the_present_springs_none_of_the_tray_can_be_chosen():
    docket = hung(None, None)
    with pytest.raises(BobweightError) as refused:
        search_of(docket, TRAY, decide=lambda: decide_docket(docket))
    assert refused.value.problem.code == "no-rate-to-compare"


def test_a_mechanism_that_can_be_predicted_is_searched_in_full():
    assert isinstance(search_of(sample("weak_primary"), TRAY), Search)


def test_without_readings_what_is_missing_is_told():
    docket = hung(LEFT * PRIMARY, SECONDARY).with_changes(sessions=())
    with pytest.raises(BobweightError) as refused:
        search_of(docket, TRAY, decide=lambda: decide_docket(docket))
    assert refused.value.problem.code == "missing"


def test_a_search_stopped_gives_what_it_has():
    docket = hung(LEFT * PRIMARY, SECONDARY)
    search = search_of(docket, TRAY, decide=lambda: decide_docket(docket))
    asked = iter((False, True))
    found = search.run(cancelled=lambda: next(asked))
    assert not found.finished and 0 < len(found.candidates) < 2 * len(RATES)


def test_nothing_is_chosen_by_figures_of_which_one_is_doubted():
    docket = sample("weak_primary")
    mass = ("mechanism", "weights", "mass_g")
    decision = decide_docket(docket.with_changes(sessions=()))
    doubted = replace(decision.judgement, bare=True, doubted=(mass,))
    with pytest.raises(BobweightError) as refused:
        search_of(docket, TRAY, decision=replace(decision, judgement=doubted))
    assert (refused.value.problem.code, refused.value.problem.path) == (
        "figure-doubted-first",
        mass,
    )
