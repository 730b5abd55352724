"""Signed distances against a brute-force search over all segments, and by hand on easy curves."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bobweight.core.judgement.fit_distance import feet, signed_distances


def brute(theta, speed, x, y, u_x, u_y):
    """Distance to the nearest of very many points on the curve, sign by the curve's height."""
    far = 1e5
    speeds = np.concatenate([[-far], speed, [far]])
    angles = np.concatenate([[theta[0]], theta, [theta[-1]]])
    t = np.linspace(0, 1, 2001)[:, None]
    points_x = (speeds[:-1] + t * np.diff(speeds)).ravel()
    points_y = (angles[:-1] + t * np.diff(angles)).ravel()
    points_x[np.abs(points_x) > 0.5 * far] = far
    ends = np.hypot((points_x - x) / u_x, (points_y - y) / u_y).min()
    # the long level ends, exactly
    before = np.hypot(max(x - speed[0], 0) / u_x, (theta[0] - y) / u_y)
    after = np.hypot(max(speed[-1] - x, 0) / u_x, (theta[-1] - y) / u_y)
    return min(ends, before, after)


def curve(rng, plateau, jump):
    theta = np.sort(rng.uniform(0, 12, 14))
    theta[0] = 0.0
    speed = np.sort(rng.uniform(300, 1800, 14))
    if plateau is not None:
        theta[7] = theta[6]
        speed[7] = max(speed[6] + plateau, speed[6])
        speed[8:] = np.maximum(speed[8:], speed[7])
    if jump:
        speed[3] = speed[4] = speed[2]
    # Knots close together, as the curves have them, but for the plateau.
    share = np.linspace(0, 1, 8, endpoint=False)
    at = np.concatenate(
        [i + (share if i != 6 or plateau is None else share[:1]) for i in range(13)]
    )
    at = np.append(at, 13.0)
    return np.interp(at, np.arange(14), theta), np.interp(at, np.arange(14), speed)


@given(
    seed=st.integers(0, 10**6),
    plateau=st.sampled_from([None, 0.0, 1e-9, 150.0]),
    jump=st.booleans(),
)
@settings(max_examples=80, deadline=None)
def test_agrees_with_brute_force(seed, plateau, jump):
    rng = np.random.default_rng(seed)
    theta, speed = curve(rng, plateau, jump)
    x, y = rng.uniform(100, 2200, 5), rng.uniform(-2, 14, 5)
    u_x, u_y = rng.uniform(5, 40, 5), rng.uniform(0.2, 1.0, 5)
    found = signed_distances(
        theta[None], speed[None, None], np.zeros(5, int), x[None], y[None], u_x[None], u_y[None]
    )[0]
    for k in range(5):
        size = brute(theta, speed, x[k], y[k], u_x[k], u_y[k])
        assert abs(found[k]) == pytest.approx(size, rel=0.01, abs=0.001)
        height = np.interp(x[k], speed, theta)
        if abs(y[k] - height) > 1e-6:
            assert np.sign(found[k]) == np.sign(y[k] - height)


def one(x, y, theta=(0.0, 10.0), speed=(500.0, 1500.0)):
    arrays = (np.array([a], float) for a in (theta, (speed,), (x,), (y,), (10.0,), (0.5,)))
    theta, speed, *rest = arrays
    return signed_distances(theta, speed, np.zeros(1, int), *rest)[0, 0]


def test_each_reading_on_its_own_branch():
    theta = np.array([[0.0, 10.0]])
    speed = np.array([[[600.0, 1600.0], [500.0, 1500.0]]])
    x, y = np.array([[1100.0, 1000.0]]), np.array([[5.0, 5.0]])
    u = np.array([[10.0, 10.0]]), np.array([[0.5, 0.5]])
    found = signed_distances(theta, speed, np.array([0, 1]), x, y, *u)
    assert found == pytest.approx(np.zeros((1, 2)), abs=1e-12)


def test_level_parts_by_hand():
    assert one(200.0, 1.0) == pytest.approx(2.0)  # below the start: 1° at ±0.5°
    assert one(2500.0, 9.5) == pytest.approx(-1.0)  # at the stop
    assert one(1000.0, 5.0) == pytest.approx(0.0, abs=1e-12)


def test_slope_by_hand():
    # A straight line y = (x - 500)/100 in units (x/10, y/0.5): slope 0.2, so that a reading 1°
    # high lies 2/√(1 + 0.2²) away.
    assert one(1000.0, 6.0) == pytest.approx(2.0 / np.hypot(1.0, 0.2))


def test_jump_and_plateau_are_walls_of_finite_distance():
    theta, speed = (0.0, 6.0, 6.0, 12.0), (600.0, 600.0, 900.0, 1200.0)
    assert one(570.0, 3.0, theta, speed) == pytest.approx(3.0)  # left of the jump: too early
    assert one(630.0, 3.0, theta, speed) == pytest.approx(-3.0)
    assert one(750.0, 6.4, theta, speed) == pytest.approx(0.8)


def test_take_up_without_a_step_hides_no_segment():
    # Two knots in one place, as at a take-up without initial tension; the reading lies on the
    # steep part beyond them.
    theta, speed = (0.0, 5.0, 5.0, 12.0), (600.0, 700.0, 700.0, 2100.0)
    assert one(800.0, 5.5, theta, speed) == pytest.approx(0.0, abs=1e-9)
    assert one(690.0, 4.5, theta, speed) == pytest.approx(0.0, abs=1e-9)


def foot(x, y, theta, speed, u_x=10.0, u_y=0.5):
    columns = (np.array([[float(a)]]) for a in (x, y, u_x, u_y))
    return feet(np.array([theta], float), np.array([[speed]], float), *columns)


@given(seed=st.integers(0, 10**6), plateau=st.sampled_from([None, 0.0, 150.0]), jump=st.booleans())
@settings(max_examples=60, deadline=None)
def test_a_distance_is_measured_from_its_foot_along_the_gradient(seed, plateau, jump):
    """A reading's distance from a curve grows by what it moves along the normal at its foot, and by
    nothing across it (the gradient of a distance is the unit normal)."""
    rng = np.random.default_rng(seed)
    theta, speed = curve(rng, plateau, jump)
    x, y = rng.uniform(100, 2200), rng.uniform(-2, 14)
    u_x, u_y = rng.uniform(5, 40), rng.uniform(0.2, 1.0)
    found = foot(x, y, theta, speed, u_x, u_y)

    def distance(x, y):
        each = (np.array([[a]]) for a in (x, y, u_x, u_y))
        return signed_distances(theta[None], speed[None, None], np.zeros(1, int), *each)[0, 0]

    assert found.distance[0, 0] == pytest.approx(distance(x, y), abs=1e-9)
    knots = (np.concatenate([[-1e5], speed, [2e5]]), np.concatenate([theta[:1], theta, theta[-1:]]))
    part, share = found.part[0, 0], found.share[0, 0]
    at_x, at_y = (k[part] + share * (k[part + 1] - k[part]) for k in knots)
    off = np.hypot((x - at_x) / u_x, (y - at_y) / u_y)
    assert off == pytest.approx(abs(found.distance[0, 0]), abs=1e-6)
    step = 1e-5
    across = (distance(x + step * u_x, y) - distance(x - step * u_x, y)) / (2 * step)
    up = (distance(x, y + step * u_y) - distance(x, y - step * u_y)) / (2 * step)
    if abs(np.hypot(across, up) - 1.0) < 1e-4:  # not just as near to another part
        assert found.across[0, 0] == pytest.approx(across, abs=1e-3)
        assert found.up[0, 0] == pytest.approx(up, abs=1e-3)


def test_feet_at_a_corner_by_hand():
    """A jump from 0 to 6° at 600 rev/min, and level on."""
    theta, speed = (0.0, 6.0, 6.0), (600.0, 600.0, 900.0)
    above = foot(600.0, 7.0, theta, speed)  # straight above the jump
    assert above.distance[0, 0] == pytest.approx(2.0)
    assert (above.across[0, 0], above.up[0, 0]) == pytest.approx((0.0, 1.0))
    beside = foot(570.0, 10.0, theta, speed)  # 3 uncertainties left, 8 up
    assert beside.distance[0, 0] == pytest.approx(np.hypot(3.0, 8.0))
    assert (beside.across[0, 0], beside.up[0, 0]) == pytest.approx(
        np.array([-3.0, 8.0]) / np.hypot(3.0, 8.0)
    )
    below = foot(630.0, -4.0, theta, speed)  # nearest to the jump's lower end
    assert below.distance[0, 0] == pytest.approx(-np.hypot(3.0, 8.0))
    assert (below.across[0, 0], below.up[0, 0]) == pytest.approx(
        np.array([-3.0, 8.0]) / np.hypot(3.0, 8.0)
    )
    on = foot(600.0, 6.0, theta, speed)  # the corner itself, which has no direction of its own
    assert on.distance[0, 0] == pytest.approx(0.0)
    assert np.hypot(on.across, on.up)[0, 0] == pytest.approx(1.0)
