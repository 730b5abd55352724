"""What stands in for blanks; what is known of a unit before it is read; what would tell most."""

import numpy as np
import pytest

from bobweight.core.docket.docket import Docket
from bobweight.core.docket.mechanism import (
    InertiaKnot,
    Linkage,
    Mechanism,
    Spring,
    SwingPoint,
)
from bobweight.core.docket.target import CheckPoint, Target
from bobweight.core.judgement.assume import FULL_DEG, assume
from bobweight.core.judgement.blanks import blanks
from bobweight.core.judgement.decision import decide_docket
from bobweight.core.judgement.expected import _scatter, expected_curve
from bobweight.core.judgement.unread import _Weighed, unread
from bobweight.core.mechanics.predict import predict
from bobweight.core.record import get, put
from tests.judgement.invented import (
    Truth,
    Wish,
    docket,
    even_places,
    read,
    with_readings,
)
from tests.samples import sample

SPRINGS = ("mechanism", "springs")
FULL = docket(Wish())


def test_only_what_is_blank_is_assumed_and_what_is_typed_never_is():
    assert blanks(FULL) == {}
    blank = put(FULL, (*SPRINGS, 0, "rate_n_per_mm"), None)
    found = blanks(blank)
    assert (*SPRINGS, 0, "rate_n_per_mm") in found
    stated = ("post_radius_mm", "peg_radius_mm", "post_angle_deg", "peg_angle_deg")
    assert not any((*SPRINGS, i, key) in found for i in (0, 1) for key in stated)
    assert get(blank, (*SPRINGS, 0, "rate_n_per_mm")) is None  # nothing is put in


@pytest.mark.parametrize("d", [Docket(), Docket(target=FULL.target)])
def test_each_blank_of_an_empty_docket_has_its_value_and_spread(d):
    found = blanks(d)
    assert {path for path in found if path[1] == "weights"} == {
        ("mechanism", "weights", key)
        for key in ("count", "mass_g", "pivot_radius_mm", "cg_mm", "rest_angle_deg")
    }
    count = found.pop(("mechanism", "weights", "count"))
    assert (count.value, count.u) == (2, None)  # common practice: hardly any has another number
    assert all(b.value is not None and b.u > 0 for b in found.values())
    # Common practice: 27 g a weight, to a factor of about 1.6.
    mass = found["mechanism", "weights", "mass_g"]
    assert (mass.value, mass.u) == pytest.approx((27.0, 13.5))


def test_distances_that_are_blank_come_from_the_places_assumed():
    springs = (Spring(role="primary", given_by="distances"), Spring(role="secondary"))
    d = Docket(mechanism=Mechanism(springs=springs))
    rest, made = blanks(d)[(*SPRINGS, 0, "rest_mm")], assume(d).mechanism.springs[0]
    post, peg = (
        r * np.exp(1j * np.radians(a))
        for r, a in (
            (made.post_radius_mm, made.post_angle_deg), (made.peg_radius_mm, made.peg_angle_deg),
        )
    )  # fmt: skip
    assert rest.value == pytest.approx(abs(post - peg)) and 0.3 < rest.u < 4.0
    # the geometry of a slot is not known by any one figure
    slot = Docket(mechanism=Mechanism(linkage=Linkage(kind="slot")))
    assert blanks(slot)["mechanism", "linkage", "pin_radius_mm"].value is None


def test_a_length_is_as_sure_as_its_stretch_and_as_where_its_ends_are():
    """From post to peg by the law of cosines, with its derivatives (JCGM 100, 5.1.2)."""
    d = Docket(mechanism=Mechanism(springs=(Spring(role="primary", rate_n_per_mm=2.0),)))
    made, known = assume(d).mechanism.springs[0], assume(d).known
    post, peg = made.post_radius_mm, made.peg_radius_mm
    turn = np.radians(made.peg_angle_deg - made.post_angle_deg)
    length = np.sqrt(post**2 + peg**2 - 2.0 * post * peg * np.cos(turn))
    by_turn = np.radians(post * peg * np.sin(turn) / length)
    parts = {
        "post_radius_mm": ((post - peg * np.cos(turn)) / length, post),
        "peg_radius_mm": ((peg - post * np.cos(turn)) / length, peg),
        "post_angle_deg": (by_turn, None), "peg_angle_deg": (by_turn, None),
    }  # fmt: skip
    square = 0.0
    for key, (slope, share_of) in parts.items():
        each = known["springs", 0, key]
        assert each.by_share == (share_of is not None)
        square += (slope * each.u * (share_of or 1.0)) ** 2
    stretch = known["springs", 0, "free_length_mm"]
    own = (made.free_length_mm - stretch.origin) * stretch.u if stretch.by_share else stretch.u
    found = blanks(d)[(*SPRINGS, 0, "free_length_mm")]
    assert found.u == pytest.approx(np.hypot(own, np.sqrt(square)), rel=1e-3)
    # By distances that are stated, where it hangs is no question.
    stated = Spring(role="primary", given_by="distances", rate_n_per_mm=2.0, post_radius_mm=25.0,
                    peg_radius_mm=16.0, rest_mm=22.0, post_angle_deg=10.0)  # fmt: skip
    d = Docket(mechanism=Mechanism(springs=(stated,)))
    stretch, made = assume(d).known["springs", 0, "free_length_mm"], assume(d).mechanism.springs[0]
    own = abs(made.free_length_mm - stretch.origin) * stretch.u if stretch.by_share else stretch.u
    assert blanks(d)[(*SPRINGS, 0, "free_length_mm")].u == pytest.approx(own)


def places_of(d: Docket, index: int) -> dict[str, bool]:
    """What is blank of where a spring is, and whether a figure stands in for it."""
    return {
        p[-1]: b.value is not None for p, b in blanks(d).items()
        if p[:3] == (*SPRINGS, index) and p[-1].startswith(("post", "peg", "rest"))
    }  # fmt: skip


def test_no_single_figure_stands_in_for_where_a_spring_to_a_weight_is():
    """Which hangs on the others; a spring from plate to cam beside it has its own."""
    hung = Spring(role="primary", peg_on="weight")
    d = Docket(mechanism=Mechanism(springs=(hung, Spring(role="secondary"))))
    places = ("post_radius_mm", "post_angle_deg", "peg_radius_mm", "peg_angle_deg")
    assert places_of(d, 0) == dict.fromkeys(places, False)
    assert places_of(d, 1) == dict.fromkeys(places, True)
    assert blanks(d)[(*SPRINGS, 0, "rate_n_per_mm")].value is not None
    by_distances = hung.with_changes(given_by="distances", post_radius_mm=20.0)
    d = Docket(mechanism=Mechanism(springs=(by_distances,)))
    distances = ("peg_radius_mm", "peg_shaft_mm", "rest_mm", "post_angle_deg", "peg_angle_deg")
    assert places_of(d, 0) == dict.fromkeys(distances, False)


def test_of_a_spring_by_distances_radii_and_length_have_usual_figures_and_no_angle():
    spring = Spring(role="primary", given_by="distances", post_radius_mm=20.0)
    d = Docket(mechanism=Mechanism(linkage=Linkage(kind="slot"), springs=(spring,)))
    assert places_of(d, 0) == {
        "peg_radius_mm": True, "rest_mm": True, "post_angle_deg": False, "peg_angle_deg": False
    }  # fmt: skip
    # What is stated is taken as it is: the curve hangs on that radius.
    made = [assume(d.with_changes(mechanism=Mechanism(springs=(s,)))).mechanism.springs[0]
            for s in (spring, spring.with_changes(post_radius_mm=30.0))]  # fmt: skip
    assert [s.post_radius_mm for s in made] == [20.0, 30.0]
    turned = spring.with_changes(post_angle_deg=10.0)  # from before it was given by distances
    angle = assume(d.with_changes(mechanism=Mechanism(springs=(turned,)))).mechanism.springs[0]
    assert angle.post_angle_deg == made[0].post_angle_deg
    hung = Spring(role="primary", peg_on="weight", peg_radius_mm=9.0)  # about another centre
    placed = assume(Docket(mechanism=Mechanism(springs=(hung,)))).mechanism.springs[0]
    assert (placed.peg_on, placed.peg_radius_mm) == ("cam", made[0].peg_radius_mm)
    measured = spring.with_changes(rest_mm=22.0)
    d = Docket(mechanism=Mechanism(springs=(measured,)))
    assert "rest_mm" not in places_of(d, 0)


def test_what_is_expected_of_known_figures_is_the_curve_of_the_likeliest():
    speed = np.linspace(300.0, 2000.0, 18)
    found, curve = expected_curve(FULL, speed), predict(FULL.mechanism)
    for way in ("rising", "falling"):
        deg = getattr(found, f"{way}_deg")
        assert deg == pytest.approx(curve.advance_deg(speed, way), abs=0.02)
    assert abs(found.rising_deg - found.falling_deg).max() > 0.1


def test_what_is_expected_scatters_as_its_middle_two_thirds_do():
    """Of a normal law that is its standard deviation, one in a hundred wild or not; of what is
    mostly the same a quarter of it."""
    draws = 3.0 * np.random.default_rng(4).normal(size=4000)
    wild = np.where(np.arange(4000) % 100, draws, 500.0)
    for each in (draws, wild):
        assert _scatter(np.append(7.0, 7.0 + each)[:, None]) == pytest.approx(
            [max(3.0, 0.25 * each.std())], rel=0.05
        )
    same = np.where(np.arange(100) % 10, 0.0, 8.0)
    assert _scatter(np.append(1.0, 1.0 + same)[:, None]) == pytest.approx([0.25 * 2.4])


def test_every_figure_narrows_the_curve_from_an_empty_docket_on():
    speed = np.linspace(300.0, 2000.0, 18)
    bare, known = Docket(), FULL.mechanism
    steps = (Mechanism(), Mechanism(stop_deg=12.0), known.with_changes(springs=()))
    wide = [
        expected_curve(bare.with_changes(mechanism=m), speed).u_rising_deg.mean() for m in steps
    ]
    assert wide[0] > wide[1] > wide[2]
    table = expected_curve(bare.with_changes(target=FULL.target), speed).u_rising_deg.mean()
    assert table < 0.5 * wide[0]


@pytest.mark.parametrize("name", ["weak_primary", "tractor_four"])
@pytest.mark.parametrize("with_table", [True, False])
def test_springs_from_the_tray_with_unknown_places_do_not_widen_what_is_expected(name, with_table):
    """Rate and length are known off the bench, where the posts are is not."""
    told = sample(name)
    d = Docket(particulars=told.particulars, setting_up=told.setting_up)
    if with_table:
        d = d.with_changes(target=told.target)
    known = tuple(
        Spring(role=s.role, rate_n_per_mm=s.rate_n_per_mm, free_length_mm=s.free_length_mm,
               initial_tension_n=s.initial_tension_n, slack_mm=s.slack_mm)
        for s in told.mechanism.springs
    )  # fmt: skip
    blank = tuple(Spring(role=s.role) for s in known)
    width = {}
    for springs in (blank, known):
        band = unread(d.with_changes(mechanism=Mechanism(springs=springs))).band
        width[springs] = float(np.mean(band.rising_high_deg - band.rising_low_deg))
    assert width[known] < 1.05 * width[blank]  # as far as 400 units can tell


@pytest.mark.parametrize("d", [Docket(), Docket(target=FULL.target), FULL])
def test_before_any_reading_there_is_a_band_and_what_would_tell_most(d):
    d = d.with_changes(sessions=())
    j = decide_docket(d).judgement
    assert (j.action, j.decision, j.probability_inside) == ("read-first", "cannot be told", None)
    assert (j.band.rising_low_deg <= j.band.rising_deg).all()
    helps = list(j.helps_most)
    if not d.target.points:
        assert helps.pop(0).what == "enter-table"
    assert any(h.what == "read" for h in helps)
    gains = [h.gain for h in helps]
    assert gains == sorted(gains, reverse=True) and all(g > 0 for g in gains)
    for h in helps:
        assert h.curve_deg[0] - h.curve_deg[1] == pytest.approx(h.gain)


def test_too_few_readings_are_told_and_leave_what_is_known():
    readings = FULL.sessions[0].readings
    assert readings == ()
    decision = decide_docket(FULL)
    assert [p.code for p in decision.problems] == ["too-few-readings"]
    assert decision.judgement.helps_most and decision.action == "read-first"


def test_what_a_measurement_tells_is_what_conditioning_says():
    # Bivariate normal: var(y | x + e) = var y − cov² / (var x + var e) (Bishop, PRML, 2.3.1)
    rng = np.random.default_rng(3)
    x = rng.normal(size=4000)
    weighed = _Weighed.__new__(_Weighed)
    curve = np.stack([2.0 * x + rng.normal(size=4000), rng.normal(size=4000)], axis=1)
    weighed.curve = curve - curve.mean(axis=0)
    weighed.now = float(np.sqrt(np.mean(weighed.curve**2)))
    expected = np.sqrt(0.5 * (5.0 - 4.0 / 1.25 + 1.0))
    assert weighed.after(x, 0.5) == pytest.approx(expected, rel=0.03)
    assert weighed.after(x, 1e6) == pytest.approx(weighed.now)
    assert weighed.after(0.01 * x, 0.005) == pytest.approx(weighed.after(x, 0.5))  # in other units
    weighed.curve = np.outer(x - x.mean(), [2.0, -1.0])
    assert weighed.after(x, 1e-6) < 1e-3  # which is all of it


def test_what_is_measured_well_is_not_asked_for_again():
    d = FULL.with_changes(sessions=())
    asked = next(h.path for h in decide_docket(d).judgement.helps_most if h.what == "measure")
    record = get(d, asked[:-1])
    sure = put(d, asked[:-1], record.with_changes(u={**record.u, asked[-1]: 1e-3}))
    assert asked not in {h.path for h in decide_docket(sure).judgement.helps_most}


def test_a_table_of_the_start_alone_leaves_the_usual_curve():
    points = tuple(CheckPoint(speed_rpm=s, least_deg=0.0, most_deg=1.0) for s in (300.0, 350.0))
    filled = assume(Docket(target=Target(points=points))).mechanism
    assert filled.stop_deg == FULL_DEG
    assert len(filled.springs) == 2


@pytest.mark.parametrize("more", [None, "stop_deg", "post_on"])
@pytest.mark.parametrize("kind", ["measured", "learned"])
def test_a_cell_left_blank_in_the_linkages_table_is_unknown_like_any_other(kind, more):
    """As where the table's last row has been begun and nothing stands in it yet."""
    d = sample("vee_eight")
    point = SwingPoint(cam_deg=30.0) if kind == "measured" else InertiaKnot(cam_deg=30.0)
    place = ("mechanism", "linkage", "points" if kind == "measured" else "learned")
    rows = get(d, place) or tuple(
        InertiaKnot(cam_deg=at, inertia_slope_g_mm2=9e3) for at in (0.0, 5.0, 10.0)
    )
    d = put(put(d, (*place[:-1], "kind"), kind), place, (*rows, point))
    if more == "stop_deg":  # what else is blank hides the table's blank from the form
        d = put(d, ("mechanism", "stop_deg"), None)
    elif more:
        d = put(put(d, (*SPRINGS, 0, more), "weight"), (*SPRINGS, 0, "rate_n_per_mm"), None)
    assert place in blanks(d), "and is said to be assumed"
    found = decide_docket(d)
    assert found.judgement.decision == "outside" and place in found.judgement.assumed
    assert not {p.code for p in found.problems} & {"missing", "not-determined"}


def test_a_misreading_is_told_where_nothing_of_the_mechanism_is_known():
    """One of a sound unit's readings ten degrees short, of a lamp read to ±1°."""
    d = put(FULL, ("mechanism",), Mechanism())
    places = even_places(predict(FULL.mechanism), 16)
    readings = list(read(Truth(FULL.mechanism), places, np.random.default_rng(0), slip_share=0.0))
    assert decide_docket(with_readings(d, tuple(readings))).judgement.slips == ()
    angle = readings[9].angle_deg
    readings[9] = readings[9].with_changes(angle_deg=angle - 10.0)
    found = decide_docket(with_readings(d, tuple(readings))).judgement
    assert [r.row for r in found.slips] == [9]
