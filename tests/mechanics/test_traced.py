"""A traced outline as it is drawn, against the figures that were traced."""

import numpy as np
import pytest

from bobweight.core.mechanics.traced import smooth


def round_end(count: int, rng: np.random.Generator) -> np.ndarray:
    """Places round an oval with a tight end, unevenly clicked: a hand misses by a quarter."""
    turn = (np.arange(count) + rng.uniform(-0.25, 0.25, count)) * 2 * np.pi / count
    return np.column_stack([10 * np.cos(turn), 6 * np.sin(turn)])


@pytest.mark.parametrize("count", [10, 14, 20])
def test_a_round_outline_has_no_corner(count):
    for seed in range(20):
        drawn = smooth(round_end(count, np.random.default_rng(seed)))
        away = np.abs(np.hypot(drawn[:, 0] / 10, drawn[:, 1] / 6) - 1)  # shares of an ellipse
        assert away.max() < 2.5 / count**1.5
        ways = np.diff(np.vstack([drawn, drawn[:2]]), axis=0)
        headings = np.arctan2(ways[:, 1], ways[:, 0])
        turns = np.degrees(np.abs(np.angle(np.exp(1j * np.diff(headings)))))
        assert turns.max() < 30.0


def test_corners_beside_arcs_stay_sharp():
    arc = np.radians(110) * np.linspace(0, 1, 7)
    ring = np.concatenate([22 * np.exp(1j * arc), 8 * np.exp(1j * arc[::-1][::2])])
    x, y = smooth(np.column_stack([ring.real, ring.imag])).T
    drawn = x + 1j * y
    ends = np.abs(np.angle(drawn * np.exp(-0.5j * np.radians(110)))) - np.radians(55)
    assert ends.max() < 1e-9  # nothing bulges beyond the straight ends
    on_arcs = np.abs(ends) > 1e-9
    assert (
        np.min(np.abs(np.abs(drawn[on_arcs])[:, None] - [22, 8]), axis=1).max() < 0.25
    )  # chords: 0.4


def test_the_corners_of_a_plate_are_its_corners():
    square = np.array([(0, 0), (10, 0), (10, 8), (0, 8)], float)
    drawn = smooth(square)
    beside = np.min(np.abs(drawn[:, [0, 0, 1, 1]] - [0, 10, 0, 8]), axis=1)
    assert beside.max() < 1e-9
