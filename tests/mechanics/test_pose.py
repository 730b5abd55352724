"""The drawing's geometry is the geometry that is computed with."""

import numpy as np
import pytest

from bobweight.core.mechanics.balance import Balance
from bobweight.core.mechanics.builds import Builds
from bobweight.core.mechanics.checks import mechanism_problems
from bobweight.core.mechanics.pose import pose
from bobweight.core.record import put

from .independent import Vectors
from .mechanisms import LINKAGES, random_mechanism


def drawn(kind: str, count: int):
    rng = np.random.default_rng(LINKAGES.index(kind) + 300)
    while count:
        mechanism = random_mechanism(rng, kind, friction=False)
        if not any(problem.grave for problem in mechanism_problems(mechanism)):
            count -= 1
            yield mechanism


def vector(point) -> complex:
    return complex(*point)


@pytest.mark.parametrize("kind", LINKAGES)
def test_lengths_and_forces_are_those_of_the_drawing(kind):
    for mechanism in drawn(kind, 25):
        vectors = Vectors(mechanism)
        for share in (0.0, 0.4, 1.0):
            theta = share * mechanism.stop_deg
            drawing = pose(mechanism, theta)
            state = vectors.state_at(np.radians(theta))
            for spring, seen in zip(mechanism.springs, drawing.springs, strict=True):
                span = vector(seen.post_xy) - vector(seen.peg_xy)
                assert abs(span) == pytest.approx(seen.length_mm, rel=1e-9)
                assert seen.length_mm == pytest.approx(abs(vectors.span(spring, state)), rel=1e-9)
                force = abs(vectors.pull(spring, vectors.span(spring, state)))
                near = abs(seen.length_mm - seen.taken_up_mm) < 1e-9
                assert near or seen.force_n == pytest.approx(force, rel=1e-7, abs=1e-9)
                assert near or seen.engaged == (force > 0)
            for point in (p for w in drawing.weights for p in (w.pivot_xy, w.cg_xy)):
                assert abs(vector(point)) <= drawing.extent_mm + 1e-9


@pytest.mark.parametrize("kind", LINKAGES)
def test_weights_stand_as_measured(kind):
    for mechanism in drawn(kind, 25):
        theta = 0.7 * mechanism.stop_deg
        rest, drawing = pose(mechanism, 0.0), pose(mechanism, theta)
        assert len(drawing.weights) == mechanism.weights.count
        for index, weight in enumerate(drawing.weights):
            turn = np.exp(2j * np.pi * index / mechanism.weights.count)
            pivot, cg = vector(weight.pivot_xy), vector(weight.cg_xy)
            assert pivot == pytest.approx(mechanism.weights.pivot_radius_mm * turn, abs=1e-9)
            assert abs(cg - pivot) == pytest.approx(mechanism.weights.cg_mm, rel=1e-12)
            first = vector(drawing.weights[0].cg_xy)
            assert cg == pytest.approx(first * turn, abs=1e-9)  # evenly round the shaft
            assert abs(cg) > abs(vector(rest.weights[index].cg_xy))  # outward
        vectors = Vectors(mechanism)
        swing = np.degrees(vectors.first.swing(vectors.state_at(np.radians(theta))))
        assert drawing.weights[0].swing_deg == pytest.approx(swing, rel=1e-8)


def test_pin_stays_on_its_slot_ray():
    """The slot turns with the cam: counter-clockwise by θ from where it stood at rest."""
    for mechanism in drawn("slot", 40):
        rest = pose(mechanism, 0.0)
        for share in (0.3, 1.0):
            theta = share * mechanism.stop_deg
            for before, after in zip(rest.weights, pose(mechanism, theta).weights, strict=True):
                turned = np.degrees(np.angle(vector(after.pin_xy) / vector(before.pin_xy)))
                assert turned == pytest.approx(theta, abs=1e-7)
                arm = vector(after.pin_xy) - vector(after.pivot_xy)
                assert abs(arm) == pytest.approx(mechanism.linkage.pin_radius_mm, rel=1e-9)


@pytest.mark.parametrize("kind", LINKAGES)
def test_springs_torque_is_the_slope_of_the_drawn_energy(kind):
    """U' from the core against the difference of energies drawn a little either side."""
    step = 1e-3
    for mechanism in drawn(kind, 15):
        balance = Balance(Builds(mechanism))
        theta = 0.55 * mechanism.stop_deg
        either = [pose(mechanism, theta + s).springs for s in (-step, step)]
        point = np.radians([[[theta]]])
        swing = balance.motion.at(point)
        for index, path in enumerate(balance.paths):
            spring, seen = mechanism.springs[index], [s[index] for s in either]
            if seen[0].engaged != seen[1].engaged or not seen[0].engaged:
                continue
            energy = [
                spring.tension_taken_n * s.stretch_mm + spring.rate_n_per_mm * s.stretch_mm**2 / 2
                for s in seen
            ]
            expected = (energy[1] - energy[0]) / np.radians(2 * step)
            torque = path.torque_nmm(point, swing)[0, 0, 0]
            assert torque == pytest.approx(expected, rel=1e-4, abs=1e-4)


def test_beyond_the_linkage_nothing_is_drawn_wrongly():
    """A measured table's weights have no place beyond its last row."""
    for mechanism in drawn("swing", 3):
        beyond = mechanism.linkage.points[-1].cam_deg + 1.0
        assert pose(mechanism, beyond).weights == ()


def test_link_keeps_its_length_and_the_foot_turns_with_the_cam():
    for mechanism in drawn("link", 30):
        rest = pose(mechanism, 0.0)
        for share in (0.4, 1.0):
            theta = share * mechanism.stop_deg
            for before, after in zip(rest.weights, pose(mechanism, theta).weights, strict=True):
                link = vector(after.pin_xy) - vector(after.foot_pin_xy)
                assert abs(link) == pytest.approx(mechanism.linkage.link_mm, rel=1e-9)
                turned = vector(after.foot_pin_xy) / vector(before.foot_pin_xy)
                assert np.degrees(np.angle(turned)) == pytest.approx(theta, abs=1e-7)
                assert abs(turned) == pytest.approx(1.0, rel=1e-12)


def test_a_pose_kept_is_that_of_the_mechanism_and_the_angle():
    (one,) = drawn("slot", 1)
    other = put(one, ("springs", 0, "slack_mm"), one.springs[0].slack_taken_mm + 3.0)
    wanted = {}
    for theta in (0.0, 2.0):
        for mechanism in (one, other):
            wanted[id(mechanism), theta] = pose(mechanism, theta)
    assert len(set(map(repr, wanted.values()))) == 4
    for mechanism in (one, other, one):
        for theta in (2.0, 0.0, *np.linspace(0.1, 1.9, 60).tolist(), 2.0):
            found = pose(mechanism, theta)
            assert found.cam_deg == theta
            if (id(mechanism), theta) in wanted:
                assert found == wanted[id(mechanism), theta]
