"""What is assumed of a blank hangs together: the curve wished is the curve that it gives."""

from __future__ import annotations

import numpy as np
import pytest

from bobweight.core.docket.docket import Docket
from bobweight.core.docket.mechanism import Linkage, Mechanism, Spring
from bobweight.core.docket.particulars import Particulars
from bobweight.core.docket.target import CheckPoint, Target
from bobweight.core.judgement.assume import FULL_DEG, Known, Wish, _Filling, assume, wished
from bobweight.core.judgement.compare import Bands
from bobweight.core.mechanics.balance import balance_speeds
from bobweight.core.mechanics.branches import curves
from bobweight.core.mechanics.builds import Builds
from bobweight.core.mechanics.checks import mechanism_problems
from bobweight.core.mechanics.pose import pose
from bobweight.core.mechanics.typical import USUAL_RATIO, completed
from bobweight.core.record import get, parameter_at, put
from tests.samples import sample

NO_BANDS = Bands((), (), np.zeros(0), np.zeros(0), np.zeros(0))


def table(*points, start=None) -> Bands:
    rows = [("check", s, m - 1.0, m + 1.0) for s, m in points]
    rows += [] if start is None else [("start", start, -np.inf, 0.5)]
    kind, where, low, high = zip(*rows, strict=True)
    return Bands(kind, (None,) * len(rows), *map(np.array, (where, low, high)))


CLIMBING = ((400.0, 0.0), (600.0, 2.0), (1000.0, 6.0), (1600.0, 10.0), (2000.0, 10.1))


@pytest.mark.parametrize(("asked", "stop", "wish"), [
    # Start midway to the first advance; the knee at 42 % of the whole, along straight lines.
    (table(*CLIMBING), None, Wish(500.0, 824.2, 1600.0, 4.242, 10.1)),
    (table(*CLIMBING, start=450.0), None, Wish(450.0, 824.2, 1600.0, 4.242, 10.1)),
    (table(*CLIMBING), 12.0, Wish(500.0, 904.0, 1600.0, 5.04, 12.0)),
    (table(*CLIMBING[1:]), None, Wish(450.0, 824.2, 1600.0, 4.242, 10.1)),
    (table((400.0, 0.0), (800.0, 1.5)), None, Wish(600.0, 684.0, 800.0, 0.63, 1.5)),
    # A table that ends on the climb goes on as it climbed last, to the stop: 4° at 1° in 100.
    (table(*CLIMBING[:3]), 10.0, Wish(500.0, 820.0, 1400.0, 4.2, 10.0)),
    (table((400.0, 0.0), (800.0, 1.5)), 12.0, Wish(600.0, 1744.0, 3600.0, 5.04, 12.0)),
    # Too little of a curve: the usual one, 425 to 700 to 1700, moved to its start.
    (table((900.0, 5.0)), 12.0, Wish(425.0, 700.0, 1700.0, 5.04, 12.0)),
    (table((900.0, 5.0), start=850.0), None, Wish(850.0, 1400.0, 3400.0, 2.1, 5.0)),
    (NO_BANDS, None, Wish(425.0, 700.0, 1700.0, 0.42 * FULL_DEG, FULL_DEG)),
])  # fmt: skip
def test_the_curve_wished_is_the_one_that_the_table_draws(asked, stop, wish):
    found = wished(asked, stop)
    for key in ("start_rpm", "knee_rpm", "full_rpm", "knee_deg", "full_deg"):
        assert getattr(found, key) == pytest.approx(getattr(wish, key), rel=1e-3), key


def speeds_of(mechanism: Mechanism, *at_deg: float) -> list[float]:
    """Without the friction, which is assumed on top."""
    mechanism = mechanism.with_changes(heel_drag_nmm=0.0, stick_nmm=0.0)
    found = curves(balance_speeds(Builds(mechanism, {}), 60))
    return [float(np.interp(a, found.advance_deg[0], found.rising_rpm[0])) for a in at_deg]


@pytest.mark.parametrize("springs", [
    (), (Spring(role="secondary"),), (Spring(role="primary"), Spring(role="secondary")),
])  # fmt: skip
def test_springs_that_are_blank_give_the_curve_wished(springs):
    """½ ω² J' at start, knee and full advance, from the curve that the whole mechanism gives."""
    points = tuple(
        CheckPoint(speed_rpm=s, least_deg=m - 1.0, most_deg=m + 1.0) for s, m in CLIMBING[1:4]
    )
    target = Target(frame="distributor", points=points)
    made = assume(Docket(target=target, mechanism=Mechanism(springs=springs, stop_deg=10.0)))
    start, full = speeds_of(made.mechanism, 0.01, 9.99)
    assert start == pytest.approx(450.0, rel=0.06)
    assert full == pytest.approx(1600.0, rel=0.06) or len(springs) == 1
    if len(springs) != 1:
        assert speeds_of(made.mechanism, 4.2)[0] == pytest.approx(820.0, rel=0.06)


@pytest.mark.parametrize("rate", [1.6, 2.4, None])
@pytest.mark.parametrize("angles", [(), ("post_angle_deg", "peg_angle_deg")])
def test_a_spring_off_the_bench_is_stretched_as_the_curve_wished_asks(rate, angles):
    """Its length is known and not where it hangs: the primary gives way at the start, the secondary
    is taken up at the knee."""
    points = tuple(
        CheckPoint(speed_rpm=s, least_deg=m - 1.0, most_deg=m + 1.0) for s, m in CLIMBING[1:4]
    )
    target = Target(frame="distributor", points=points)
    turned = dict(zip(angles, (0.0, 60.0), strict=False))
    springs = (
        Spring(role="primary", rate_n_per_mm=rate, free_length_mm=18.0, **turned),
        Spring(role="secondary", free_length_mm=21.0, slack_mm=1.0),
    )
    made = assume(Docket(target=target, mechanism=Mechanism(springs=springs, stop_deg=10.0)))
    assert [s.free_length_mm for s in made.mechanism.springs] == [18.0, 21.0]
    start, knee, full = speeds_of(made.mechanism, 0.01, 4.2, 9.99)
    assert start == pytest.approx(450.0, rel=0.06)
    if rate is None:
        assert knee == pytest.approx(820.0, rel=0.15) and full == pytest.approx(1600.0, rel=0.1)
    taken_up = pose(made.mechanism, 4.2).springs[1].length_mm
    assert taken_up == pytest.approx(22.0, abs=0.4)


LINK = Linkage(kind="link", link_mm=6.0, foot_radius_mm=12.0, foot_side="cg")
SLOT = {"weights": ("pivot_radius_mm", "cg_mm", "rest_angle_deg"),
        "linkage": ("pin_radius_mm", "pin_angle_deg")}  # fmt: skip
WITH_LINK = {**SLOT, "linkage": (*SLOT["linkage"], "link_mm", "foot_radius_mm")}


@pytest.mark.parametrize(("mechanism", "stop_deg", "figures"), [
    (sample("small_four").mechanism, 26.5, SLOT),
    (completed(Mechanism(linkage=LINK)).mechanism, 10.75, WITH_LINK),
])  # fmt: skip
def test_a_linkage_measured_roughly_is_put_right_by_the_figure_that_moves_least(
    mechanism, stop_deg, figures
):
    """In quarters of each figure's uncertainty: no lesser move of any would do."""
    m = mechanism.with_changes(stop_deg=stop_deg)
    assert [p.code for p in mechanism_problems(m) if p.grave] == ["linkage-short-of-stop"]
    made = assume(Docket(mechanism=m))
    ((place, known),) = made.known.items()
    moved = (get(made.mechanism, place) - get(m, place)) / known.u
    assert moved == pytest.approx(round(4.0 * moved) / 4.0) and abs(moved) > 0.4
    assert put(made.mechanism, place, get(m, place)) == m and not known.by_share
    assert not any(p.grave for p in mechanism_problems(made.mechanism))
    for part, keys in figures.items():
        for key in keys:
            u = getattr(m, part).u.get(key) or 2.0 * parameter_at(m, (part, key)).trade_u
            for way in (-1.0, 1.0):
                less = way * (abs(moved) - 0.25) * u
                other = put(m, (part, key), getattr(getattr(m, part), key) + less)
                assert any(p.grave for p in mechanism_problems(other)), key


EARLY = ((350.0, 2.0), (575.0, 3.0), (800.0, 5.0), (1025.0, 8.5), (1250.0, 14.5))
LATE = ((450.0, 2.0), (600.0, 5.0), (750.0, 7.5), (1000.0, 9.0), (1500.0, 12.0))


@pytest.mark.parametrize("rows", [EARLY, LATE])
def test_springs_that_are_blank_are_usual_ones_taken_up_where_the_table_bends(rows):
    """Light springs have 0.5 to 2.7 N/mm, heavy ones up to 40 (common practice): a curve that bends
    early or late is made with such."""
    points = tuple(CheckPoint(speed_rpm=s, least_deg=m - 1.0, most_deg=m + 1.0) for s, m in rows)
    made = assume(Docket(target=Target(frame="distributor", points=points))).mechanism
    light, heavy = (spring.rate_n_per_mm for spring in made.springs)
    assert 0.5 <= light <= 2.7 and 2.0 <= heavy <= 40.0
    middle = [m for _, m in rows[1:]]
    assert speeds_of(made, *middle) == pytest.approx([s for s, _ in rows[1:]], rel=0.15)


@pytest.mark.parametrize("given", ["measured", "stamped"])
def test_a_stop_beyond_a_table_that_still_climbs_is_reached_beyond_it(given):
    """Heavy springs have 2 to 40 N/mm (common practice). Had the last row to lie at the stop, the
    secondary would have to be as soft as the primary, and that row be missed by degrees."""
    rows = ((400.0, 1.0), (600.0, 4.0), (800.0, 6.0), (1100.0, 8.0))
    points = tuple(CheckPoint(speed_rpm=s, least_deg=m - 1.0, most_deg=m + 1.0) for s, m in rows)
    docket = Docket(target=Target(frame="distributor", points=points))
    if given == "measured":
        docket = docket.with_changes(mechanism=Mechanism(stop_deg=12.0))
    else:
        particulars = docket.particulars.with_changes(stamped_maximum_deg=12.0)
        docket = docket.with_changes(particulars=particulars)
    made = assume(docket).mechanism
    light, heavy = (spring.rate_n_per_mm for spring in made.springs)
    assert 0.5 <= light <= 6.0 and 2.0 * light <= heavy <= 40.0
    assert speeds_of(made, 8.0, 11.99) == pytest.approx([1100.0, 1700.0], rel=0.15)


def test_sizes_are_known_by_a_share_and_angles_by_degrees():
    """Common practice: half as much again or less of a mass, 15° of the weight's rest."""
    known = assume(Docket()).known
    assert known["weights", "mass_g"] == Known(0.5, True)
    assert known["weights", "rest_angle_deg"] == Known(15.0, False)
    assert known["stop_deg",] == Known(0.22, True)
    stamped = Docket(particulars=Particulars(stamped_maximum_deg=11.0))  # a maker's word
    assert assume(stamped).known["stop_deg",] == Known(0.05, True)
    assert known["linkage", "ratio"].by_share


@pytest.mark.parametrize(("last_deg", "u"), [(6.5, 0.15), (10.0, 0.22)])
def test_a_table_that_ends_while_its_curve_climbs_tells_less_of_the_stop(last_deg, u):
    points = tuple(
        CheckPoint(speed_rpm=s, least_deg=m - 1.0, most_deg=m + 1.0)
        for s, m in ((600.0, 2.0), (1000.0, 6.0), (1600.0, last_deg))
    )
    assert assume(Docket(target=Target(points=points))).known["stop_deg",] == Known(u, True)


def test_a_ratio_that_is_stated_stays_though_the_weights_are_blank():
    linkage = Linkage(kind="constant", ratio=1.7)
    assert assume(Docket(mechanism=Mechanism(linkage=linkage))).mechanism.linkage.ratio == 1.7
    slot = Linkage(kind="slot", ratio=1.7)  # which has none
    assert assume(Docket(mechanism=Mechanism(linkage=slot))).mechanism.linkage.ratio == USUAL_RATIO


@pytest.mark.parametrize("key", ["post_angle_deg", "peg_angle_deg"])
def test_an_end_that_is_blank_stands_to_the_other_as_usual(key):
    usual = assume(Docket()).mechanism.springs[0]
    apart = usual.peg_angle_deg - usual.post_angle_deg
    spring = Spring(role="primary", **{key: 100.0})
    made = assume(Docket(mechanism=Mechanism(springs=(spring,)))).mechanism.springs[0]
    assert getattr(made, key) == 100.0
    assert made.peg_angle_deg - made.post_angle_deg == pytest.approx(apart)


def filled(spring: Spring, role: str, wanted=(20.0, 40.0, 60.0)) -> tuple[Spring, dict]:
    """A spring 20, 22 and 25 mm long at rest, knee and stop, pulling on an arm of 5 mm."""
    work = _Filling(Mechanism(springs=(spring,)), NO_BANDS, None)
    blank = work._blank(0, spring)
    length, arm = np.array([20.0, 22.0, 25.0]), np.full(3, 5.0)
    return work._spring(0, spring, blank, role, length, arm, np.array(wanted)), work.known


def test_a_primary_is_solved_from_its_pull_at_rest_and_at_the_knee():
    """4 N at 20 mm and 8 N at 22 mm: 2 N/mm, free at 18 mm."""
    made, known = filled(Spring(role="primary"), "primary")
    assert (made.rate_n_per_mm, made.free_length_mm) == (pytest.approx(2.0), pytest.approx(18.0))
    assert known["springs", 0, "free_length_mm"] == Known(0.5, True, 20.0)
    made, known = filled(Spring(role="primary"), "primary", (0.0, 20.0, 60.0))
    assert made.free_length_mm == pytest.approx(20.0)
    assert known["springs", 0, "free_length_mm"] == Known(0.2, False), "not stretched at rest"


def test_a_secondary_is_taken_up_at_the_knee_with_a_millimetre_of_slack():
    """12 N over the 3 mm from knee to stop: 4 N/mm."""
    made, known = filled(Spring(role="secondary"), "secondary")
    assert (made.rate_n_per_mm, made.slack_mm) == (pytest.approx(4.0), 1.0)
    assert made.free_length_mm + made.slack_mm == pytest.approx(22.0)
    assert ("springs", 0, "slack_mm") in known
    stated = Spring(role="secondary", slack_mm=0.0)
    assert filled(stated, "secondary")[0].slack_mm == 0.0


def test_friction_is_assumed_only_where_nobody_stated_any():
    def friction(**facts):
        made = assume(Docket(mechanism=Mechanism(**facts))).mechanism
        return made.heel_drag_nmm, made.stick_nmm

    drag, stick = friction()
    assert drag > 0.0 and stick > 0.0
    assert friction(stick_nmm=3.0) == (drag, 3.0)
    assert friction(stick_nmm=0.0) == (drag, 0.0)
