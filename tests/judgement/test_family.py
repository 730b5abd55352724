"""The family of explanations: densities by Bayes' rule, and the directions a sound unit may go."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from bobweight.core.docket.docket import Docket
from bobweight.core.docket.target import CheckPoint, Target
from bobweight.core.docket.vacuum import Capsule
from bobweight.core.judgement.as_found import AS_FOUND
from bobweight.core.judgement.directions import _curve, _speeds_rpm, _told_apart
from bobweight.core.judgement.family import NOISE_SPREAD, Family
from bobweight.core.judgement.faults import PAIR_WEIGHT, PAIRS, Fault
from bobweight.core.judgement.felt import _before, felt
from bobweight.core.judgement.fit_curves import Simulator
from bobweight.core.judgement.free_deviation import NONE_U_DEG
from bobweight.core.judgement.hypotheses import Hypothesis, hypotheses_of
from bobweight.core.judgement.objective import robust
from bobweight.core.judgement.reduce import reduce_session
from bobweight.core.judgement.sound import sound_unit
from bobweight.core.judgement.table_limits import table_limits
from bobweight.core.judgement.told import FaultsTold, Told
from bobweight.core.mechanics.predict import predict
from bobweight.core.record import put
from tests.mechanics.mechanisms import plain
from tests.samples import sample


def family_of(docket: Docket) -> Family:
    session = docket.sessions[0]
    known = reduce_session(session, docket.particulars, None, docket.capsules)
    return Family(docket, 0, known)


@pytest.fixture(scope="module")
def weak() -> Family:
    return family_of(sample("weak_primary"))


def points(family: Family, count: int, names=("nothing_wrong",), size=0.4):
    """Points of some hypotheses, drawn."""
    rng = np.random.default_rng(6)
    rows = [h for h, each in enumerate(family.hypotheses) if each.name in names or not names]
    which = np.resize(rows, count)
    x = size * rng.normal(size=(count, family.columns)) * family.free[which]
    return np.clip(x, family.low, family.high), which


def outside_deg(family, values):
    """How far units lie outside the table's curve, by finely divided curves: (units, limits)."""
    curve, limits = family.simulator.curves(values, 600), family.limits
    asked = limits.asked
    ways = [curve.at(asked.where, way) for way in limits.ways]
    found = [np.maximum(np.maximum(asked.low_deg - a, a - asked.high_deg), 0.0) for a in ways]
    return np.concatenate(found, axis=1)


# Densities ----------------------------------------------------------------------------------


def test_readings_that_scatter_more_are_less_likely_by_the_normal_law(weak):
    """−n log s − ½ Σ ρ(d / s) for n readings whose scatter is s times what was stated, with the
    column of s standard normal."""
    x, which = points(weak, 6, ())
    more = x.copy()
    more[:, weak.noise] += 0.7
    (near, wall), (far, wall_too) = weak.log_density(x, which), weak.log_density(more, which)
    d = weak.distances(x, which) * weak.noise_factor(x)[:, None]
    cost = [np.sum(robust(d / weak.noise_factor(at)[:, None]) ** 2, axis=1) for at in (x, more)]
    own = [at[:, weak.noise] ** 2 for at in (x, more)]
    expected = -d.shape[1] * NOISE_SPREAD * 0.7 - 0.5 * (cost[1] - cost[0] + own[1] - own[0])
    assert far - near == pytest.approx(expected)
    assert wall_too == pytest.approx(wall)


def test_what_lets_readings_be_as_sure_as_they_like_is_added_to_all_alike(weak):
    """The cost of the noise at readings as sure as stated is what is told to be taken off."""
    x, which = points(weak, 3, ())
    x[:, weak.noise] = 0.0
    d = weak.distances(x, which)
    cost = 0.5 * np.sum(weak.residuals(x, which)[:, : d.shape[1] + 1] ** 2, axis=1)
    assert cost - 0.5 * np.sum(robust(d) ** 2, axis=1) == pytest.approx(weak.log_noise_free)


@pytest.mark.parametrize("names", [("nothing_wrong",), ("primary_weak", "secondary_late")])
def test_both_ways_of_telling_a_density_agree_within_the_table(names):
    """As residuals and as a logarithm: a sound unit by figures, table and readings, and units whose
    figures are of a sound part or of the part as it was found."""
    family = family_of(put(sample("weak_primary"), ("mechanism", "measured_off"), "unsaid"))
    x, which = points(family, 60, names, size=0.15)
    found, wall = family.log_density(x, which)
    values = family.sound_values(x, which)
    by_residuals = -0.5 * np.sum(family.joint_residuals(x, which) ** 2, axis=1)
    by_residuals -= (
        (len(family.simulator.rows) - family.directions.judging) * NOISE_SPREAD * x[:, family.noise]
    )
    # What the table says of the capsule stands in the logarithm alone: about the middle, spread
    # over half of the half-width; and so does that a fault is felt.
    asked = family.limits.pumped
    both = np.isfinite(asked.low_deg + asked.high_deg)
    where = asked.where[both]
    moved = sum(0.5 * family.simulator.vacuum_deg(values, where, np.full(len(where), way))
                for way in (0, 1))  # fmt: skip
    middle, half = (0.5 * (asked.high_deg + s * asked.low_deg)[both] for s in (1, -1))
    by_residuals -= 0.5 * np.sum(((moved - middle) / (0.5 * half)) ** 2, axis=1)
    out = np.max(outside_deg(family, family.values(x, which)), axis=1)
    plain_to_see = (wall == 0) & ((out == 0) | (out > 0.1))
    by_residuals += np.where(family.of_unit[which] & (out == 0), np.log(0.2), 0.0)
    off = (found - by_residuals)[plain_to_see]
    assert len(off) > 10
    assert family.as_found.is_one[which[plain_to_see]].any() == ("primary_weak" in names)
    assert off == pytest.approx(np.full(len(off), off[0]), abs=1e-6)


def test_a_free_deviation_of_one_node_alone_counts(weak):
    """Nodes go together as their covariance has it: by a column of its root."""
    x = np.zeros((2, weak.columns))
    x[1, weak.first_node + 3] = 0.8
    speed, root = weak.free_deviation.places_rpm, weak.free_deviation.root
    found = weak.deviation(x, speed[None])
    assert found[0] == pytest.approx(0.0)
    assert found[1] == pytest.approx(NONE_U_DEG * 0.8 * root[:, 3])


def test_a_tenth_of_a_degree_outside_the_table_is_one_residual(weak):
    """Against the finely divided curve of each unit."""
    x, which = points(weak, 12, size=1.5)
    values = weak.sound_values(x, which)
    n, limits = len(weak.simulator.rows), 1 + len(weak.limits.asked.where) * len(weak.limits.ways)
    over = weak.joint_residuals(x, which)[:, n + 1 :][:, 1:limits]
    expected = outside_deg(weak, values)
    assert over.max() > 2.0
    assert 0.1 * over == pytest.approx(expected, abs=0.03)


def test_a_sound_unit_keeps_no_table_closer_than_half_a_degree():
    def limits(least, most):
        row = CheckPoint(speed_rpm=1000.0, least_deg=least, most_deg=most)
        docket = Docket(mechanism=plain(), target=Target(points=(row,)))
        asked = table_limits(docket, SimpleNamespace(capsules_read=False)).asked
        return float(asked.low_deg[0]), float(asked.high_deg[0])

    assert limits(6.0, 6.2) == pytest.approx((5.6, 6.6))
    assert limits(5.0, 7.0) == (5.0, 7.0)
    assert limits(5.0, None) == (5.0, np.inf)


def test_points_right_beside_have_the_distances_of_whole_curves(weak):
    """Whatever is wrong, and whatever it adds to the readings; to the chords of the curves."""
    x, which = points(weak, 3 * len(weak.hypotheses), (), size=0.7)
    whole, near = weak.distances(x, which), weak.beside(x, which)(x, np.arange(len(x)))
    assert np.quantile(np.abs(whole - near), 0.99) < 0.15
    assert {weak.hypotheses[h].name for h in which} > {"pipe_left_on", "none_of_these"}


RATE, SLACK, LENGTH = "rate_n_per_mm", "slack_mm", "free_length_mm"


@pytest.mark.parametrize(("name", "path", "way"), [
    ("primary_weak", ("springs", 0, RATE), -1), ("primary_strong", ("springs", 0, RATE), 1),
    ("secondary_weak", ("springs", 1, RATE), -1), ("secondary_late", ("springs", 1, SLACK), 1),
    ("secondary_early", ("springs", 1, SLACK), -1), ("stop_high", ("stop_deg",), 1),
    ("primary_stretched", ("springs", 0, LENGTH), 1), ("stop_low", ("stop_deg",), -1),
])  # fmt: skip
def test_a_fault_moves_its_figure_its_own_way(name, path, way):
    """The more the greater it is; and a figure that was measured with the fault is a sound part's
    moved as far the other way, or by less where the table speaks against it."""
    made = family_of(put(sample("weak_primary"), ("mechanism", "measured_off"), "unsaid"))
    of = [h for h, each in enumerate(made.hypotheses) if each.name == name]
    assert [made.as_found.is_one[h] for h in of] == [False, True]
    sound = []
    for h in of:
        x = np.zeros((3, made.columns))
        x[:, made.first_fault + made.hypotheses[h].faults[0]] = [-1.0, 0.0, 1.0]
        before, after = (f[("mechanism", *path)] for f in (
            made.sound_values(x, np.full(3, h)), made.values(x, np.full(3, h))))  # fmt: skip
        moved = way * (after - before)
        assert (np.diff(moved) > 0).all() and moved[0] > 0
        sound.append(before)
    assert np.ptp(sound[0]) == pytest.approx(0.0)
    assert (np.diff(way * sound[1]) < 0).all() and (way * (sound[1] - sound[0]) < 0).all()


def test_nothing_wrong_has_no_parts_and_none_of_these_is_something():
    made = object.__new__(Family)
    nothing, none, *_ = hypotheses_of((), 0.7, 0.1)
    assert none.free_form and not nothing.free_form
    assert nothing.log_odds == pytest.approx(np.log(0.7)), "no other session told anything"
    assert made.parts(nothing) == frozenset() != made.parts(none)


def test_a_table_of_the_capsule_alone_is_kept_or_not_by_its_movement():
    docket = sample("weak_primary")
    target = docket.target.with_changes(points=(), ceiling_deg=None, no_advance_below_rpm=None)
    docket = docket.with_changes(target=target)
    family = family_of(docket)
    x, which = np.zeros((2, family.columns)), np.zeros(2, int)
    values, asked = family.sound_values(x, which), family.limits.pumped
    over = family.limits.over_deg(values, family.simulator.curves(values))
    assert not len(family.limits.asked.where) and not np.isfinite(family.limits.ceiling)
    moved = [family.simulator.vacuum_deg(values, asked.where, np.full(len(asked.where), way))
             for way in (0, 1)]  # fmt: skip
    out = [np.maximum(np.maximum(asked.low_deg - m, m - asked.high_deg), 0.0) for m in moved]
    assert len(asked.where) and over.sum(axis=1) == pytest.approx(np.sum(out, axis=(0, 2)))


def test_amounts_are_drawn_anew_beforehand_only_of_parts_as_found():
    made = family_of(put(sample("weak_primary"), ("mechanism", "measured_off"), "unsaid"))
    q = np.random.default_rng(2).normal(size=(30, made.columns))
    for h, each in enumerate(made.hypotheses):
        drawn = np.flatnonzero((_before(made, h, q) != q).any(axis=0)) - made.first_fault
        assert drawn.tolist() == (sorted(each.faults) if each.as_found else [])


def test_a_figure_as_found_costs_what_the_likeliest_sound_unit_leaves_of_it():
    """Moved by m uncertainties, of a sound unit normal about z with covariance C: the normal law's
    m·(1 − C)·m + 2 m·z more (the square completed over z)."""
    made = family_of(put(sample("weak_primary"), ("mechanism", "measured_off"), "unsaid"))
    x, which = points(made, len(made.hypotheses), (), size=0.5)
    z, covariance = made.unit.z, made.unit.root @ made.unit.root.T
    m = made.moved(x, which)
    costs = [np.sum(made.as_found.squares(which, each) ** 2, axis=1) for each in (m, 0 * m)]
    count = 0
    for h, moved, more in zip(which, m, costs[0] - costs[1], strict=True):
        p = [each.value for each in made.altered(h)]
        own, left = moved[: len(p)], np.eye(len(p)) - covariance[np.ix_(p, p)]
        if p and np.linalg.eigvalsh(left).min() > 0.002:  # the table says something of it
            assert more == pytest.approx(own @ left @ own + 2.0 * own @ z[p], rel=1e-6)
            count += 1
    assert count > 5 and np.abs(z).max() > 0.05


# What the table says beforehand -------------------------------------------------------------


def test_what_a_table_adds_beforehand_is_counted_unit_by_unit():
    """The share of sound units inside it; of a fault times what is left of it where the faulty
    unit is inside as well: a fifth. Counted by finely divided curves."""
    docket = sample("weak_primary")
    capsules = tuple(c.with_changes(given_as="unknown") for c in docket.capsules)
    row = CheckPoint(speed_rpm=1000.0, least_deg=7.0, most_deg=9.0)
    docket = docket.with_changes(target=Target(points=(row,)), capsules=capsules)
    family = family_of(put(docket, ("mechanism", "measured_off"), "unsaid"))
    twin = family.as_found.is_one
    names = ("nothing_wrong", "primary_weak", "secondary_late", "other_table")
    asked = np.array([h for h, each in enumerate(family.hypotheses) if each.name in names])[::-1]
    assert twin[asked].any() and not twin[asked].all()
    q = np.random.default_rng(3).normal(size=(80, family.columns))
    found = felt(family, asked, q)
    for h, share in zip(asked, found, strict=True):
        which = np.full(len(q), h)
        x = _before(family, int(h), q) if twin[h] else q
        sound = family.sound_values(x, which)
        kept = (outside_deg(family, sound) < 0.004).all(axis=1)
        left = (outside_deg(family, family.values(x, which)) < 0.004).all(axis=1)
        expected = (kept * np.where(family.of_unit[h] & left, 0.2, 1.0)).mean()
        if family.of_table[h]:
            expected = 1.0
        assert share == pytest.approx(expected, abs=0.02)


# Explanations -------------------------------------------------------------------------------


def faults(*keys):
    """Every other one may go either way."""
    ways = ((1.0,), (1.0, -1.0))
    return [Fault(key, "unit", (), 0.1, 0.5, "share", 1.0, "", ways[i % 2])
            for i, key in enumerate(keys)]  # fmt: skip


def test_more_faults_at_once_are_less_likely_and_shared_by_their_signs():
    """A pair has the odds of a pair, a third fault with it a third of them (common practice)."""
    every = faults(*dict.fromkeys(key for keys in PAIRS for key in keys))
    for fault in every:
        of_one = [h.weight for h in hypotheses_of(every, 1.0, 0.0) if h.name == fault.key]
        assert of_one == [fault.weight / len(fault.signs)] * len(fault.signs)
    weight: dict[int, set] = {}
    for keys in PAIRS:
        found = hypotheses_of(every, 1.0, 0.0)
        of_these = [h.weight for h in found if h.name == "+".join(keys)]
        weight.setdefault(len(keys), set()).add(round(sum(of_these), 9))
    assert weight == {2: {round(PAIR_WEIGHT, 9)}, 3: {round(PAIR_WEIGHT / 3.0, 9)}}


def test_a_pair_of_which_one_is_no_fault_here_is_left_out_alone():
    for left_out in ("secondary_weak", "sticking", "primary_weak"):
        keys = dict.fromkeys(key for keys in PAIRS for key in keys if key != left_out)
        names = {h.name for h in hypotheses_of(faults(*keys), 1.0, 0.0)}
        assert names.issuperset("+".join(p) for p in PAIRS if left_out not in p)
        assert not any(left_out in name for name in names)


@pytest.mark.parametrize("probability", [0.03, 0.5, 0.9])
def test_odds_of_another_table_are_those_of_its_probability(probability):
    found = {h.name: h for h in hypotheses_of((), 4.0, probability)}
    odds = found["other_table"].weight / found["nothing_wrong"].weight
    assert odds / (1 + odds) == pytest.approx(probability)
    assert found["other_table"].table == 1
    assert not any(h.name == "other_table" for h in hypotheses_of((), 4.0, 0.0))


@pytest.mark.parametrize(("said", "share"), AS_FOUND.items())
def test_whose_figures_they_are_divides_an_explanation_and_adds_nothing(said, share):
    """Told with the fault or of a sound part: both together are as probable as the explanation (the
    sum rule), and what the docket says divides them."""
    made = family_of(put(sample("weak_primary"), ("mechanism", "measured_off"), said))
    for each in hypotheses_of(made.faults, 1.0, 0.0):
        like = [h for h in made.hypotheses if h.faults and h.name == each.name]
        like = [h for h in like if h.signs == each.signs]
        assert sum(h.weight for h in like) == pytest.approx(each.weight if like else 0)
        if len(like) == 2:
            assert [h.weight for h in like if h.as_found] == pytest.approx([share * each.weight])
    assert any(h.as_found for h in made.hypotheses) == (share > 0)


def test_of_a_unit_of_which_nothing_is_known_no_figure_is_as_found():
    """Rates are solved for: a stated stop or weight is no measurement of a part at fault."""
    docket = put(sample("weak_primary"), ("mechanism", "measured_off"), "found")
    for index in range(len(docket.mechanism.springs)):
        docket = put(docket, ("mechanism", "springs", index, RATE), None)
    made = family_of(docket)
    assert made.unit.assumed.nothing_known and any(map(made._altered, made.hypotheses))
    assert not any(h.as_found for h in made.hypotheses)


def test_what_another_session_knows_of_an_amount_narrows_a_fault_of_the_unit_alone():
    docket = sample("weak_primary")
    usual = {f.key: f for f in family_of(docket).faults}
    count = len(sound_unit(docket).free)
    late, none = frozenset({("secondary_late", 1.0)}), frozenset()
    evidence = {(none, none): 1e-9, (late, none): 1.0}
    known = {key: (0.5, 0.1) for key in ("secondary_late", "tachometer_scale")}
    told = Told((1,), np.zeros((1, count)), np.zeros(1), (1,),
                (FaultsTold({k: 1.0 for k in evidence}, evidence, 1.0, known),))  # fmt: skip
    session = docket.sessions[0]
    reduced = reduce_session(session, docket.particulars, None, docket.capsules)
    found = {f.key: f for f in Family(docket, 0, reduced, told).faults}
    mean = usual["secondary_late"].amount(np.array([0.5]))[0]
    assert found["secondary_late"].usual == pytest.approx(mean, rel=1e-6)
    assert found["secondary_late"].spread == pytest.approx(0.1 * usual["secondary_late"].spread)
    assert found["tachometer_scale"] == usual["tachometer_scale"]


def test_another_session_tells_of_the_unit_and_not_of_the_instruments():
    """A zero that was set wrong then says nothing of one now."""
    late, mark, none = (frozenset(k) for k in ([("late", 1.0)], [("mark", -1.0)], []))
    weight = {(a, b): 1.0 for a in (none, late) for b in (none, mark)}
    evidence = {(none, none): 0.1, (late, none): 0.9, (none, mark): 0.4, (late, mark): 0.9}
    told = Told((1,), np.zeros((0, 1)), np.zeros(0), (), (FaultsTold(weight, evidence),))
    made = object.__new__(Family)
    made.told = told
    made.faults = (SimpleNamespace(key="late", side="unit"),
                   SimpleNamespace(key="mark", side="measurement"))  # fmt: skip
    one, other, both, nothing = (
        made._as_told(Hypothesis("", places, (1.0, -1.0)[slice(*signs)], 1.0)).told
        for places, signs in (((0,), (0, 1)), ((1,), (1, 2)), ((0, 1), (0, 2)), ((), (0, 0)))
    )
    assert one == both == pytest.approx(told.log_evidence(late)) and one > 0.3
    assert other == nothing == 0.0
    assert Hypothesis("", (), (), 0.2, told=one).log_odds == pytest.approx(np.log(0.2) + one)


# Directions ---------------------------------------------------------------------------------


def directions(told, curve=None, root=None, values=5):
    """Where readings are told so of the values, and the curve."""
    rows = told(np.zeros((1, values))).shape[1]
    curve = curve or (lambda z: np.zeros((len(z), 2)))
    root = np.eye(values) if root is None else root
    most = np.full(values, 9.0)
    found, _ = _told_apart(
        lambda z: np.concatenate([told(z), curve(z)], axis=1), rows, np.zeros(values), root,
        -most, most,
    )  # fmt: skip
    return np.linalg.solve(root, found)


def test_directions_are_those_that_readings_and_curve_tell_apart():
    """Readings of two values and a curve of a third: what straight lines do not reach is no
    direction (singular value decomposition: Golub and Van Loan, 2.4)."""
    rng = np.random.default_rng(8)
    slopes, bend = np.zeros((7, 5)), np.zeros((2, 5))
    slopes[:, :2] = rng.normal(size=(7, 2))
    bend[:, 2] = 0.3, -0.6
    root = np.linalg.cholesky(np.cov(rng.normal(size=(5, 9))))
    found = directions(lambda z: z @ slopes.T, lambda z: z @ bend.T, root)
    assert found.T @ found == pytest.approx(np.eye(3), abs=1e-9)
    felt = np.concatenate([slopes, bend / 0.3]) @ root
    assert felt @ found @ found.T == pytest.approx(felt, abs=1e-6)


def test_noise_is_judged_by_what_the_readings_use_up_at_the_likeliest_place():
    """One value that all readings follow there and none farther off: one is used up, and one for
    the zero (MacKay, Neural Computation 4 (1992) 415)."""
    most = np.full(1, 9.0)
    _, judging = _told_apart(
        lambda z: np.repeat(100.0 * np.clip(z, -0.05, 0.05), 9, axis=1), 9, np.zeros(1), np.eye(1),
        -most, most,
    )  # fmt: skip
    assert judging == pytest.approx(7.0, abs=0.01)


def test_what_is_felt_only_elsewhere_is_a_direction_if_it_is_felt_enough():
    """A curve that is flat until a value has moved by half its uncertainty."""

    def beyond(size, flat=0.5):
        return lambda z: np.stack(
            [3.0 * z[:, 0], size * np.maximum(np.abs(z[:, 3]) - flat, 0.0)], axis=1
        )  # fmt: skip

    found = directions(beyond(20.0))
    assert found.T @ found == pytest.approx(np.eye(2), abs=1e-9)
    assert np.abs(found[[0, 3]]).sum(axis=1) == pytest.approx(1.0, abs=1e-6)
    assert directions(beyond(0.1)).shape[1] == 1
    # Felt nearly everywhere: by the root mean square of its slopes, of which 1 is enough.
    assert [directions(beyond(size, 1e-3)).shape[1] for size in (0.9, 1.4)] == [1, 2]


def test_a_jump_is_no_steeper_than_the_steepest_and_hides_no_other_direction():
    def jumps(z):
        far = 1e6 * np.clip(z[:, 2] - 0.4, -0.5, 0.5)
        return np.stack([z[:, 0], 4.0 * np.maximum(np.abs(z[:, 1]) - 0.3, 0.0), far], axis=1)

    found = directions(jumps)
    assert np.linalg.norm(found[:3], axis=1) == pytest.approx(1.0, abs=1e-3)


CAPSULE = Capsule(given_as="triple", start_kpa=12.0, full_kpa=45.0, full_deg=7.0, friction_n=0.5)


@pytest.mark.parametrize("read", [False, True])
def test_the_curve_that_a_table_may_ask_for_has_the_plate_where_it_was_read(read):
    docket = Docket(
        mechanism=plain(), capsules=(CAPSULE,), sessions=sample("small_four").sessions[:1]
    )
    known = reduce_session(docket.sessions[0], docket.particulars, None, (CAPSULE,))
    simulator = Simulator(docket, 0, known, 400)
    simulator.pipe_on = np.full(1, read)
    values = {("mechanism", "stop_deg"): np.array([13.0, 14.0])}
    table = simulator.curves(values)
    speed_rpm = _speeds_rpm(table)
    found = _curve(simulator, values, table, speed_rpm)
    curve = predict(plain())
    for way, part in (("rising", found[0, :8]), ("falling", found[0, 8:16])):
        assert part == pytest.approx(curve.advance_deg(speed_rpm, way), abs=0.02)
    assert found.shape == (2, 16 + (32 if read else 0))
    if read:
        assert found[:, [16, 31, 32, 47]] == pytest.approx(np.array([[0.0, 7.0] * 2] * 2))
