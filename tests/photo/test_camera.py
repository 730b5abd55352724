"""A click in mm, against a camera of the tests' own (``camera_model``), which shares no formula."""

from __future__ import annotations

import numpy as np
import pytest

from bobweight.core.photo.camera import Lens, view_of_distance, view_of_marks
from bobweight.core.photo.card import MARKS_MM
from bobweight.core.photo.find_card import find_card
from bobweight.core.photo.scan import Scan
from bobweight.core.problems import BobweightError
from tests.photo.camera_model import Disc, Phone, phone, render

CARD = np.column_stack([MARKS_MM, np.zeros(len(MARKS_MM))])


def lens_of(camera: Phone, **known: float) -> Lens:
    stated = round(camera.focal_px * 43.267 / np.hypot(camera.width, camera.height))
    return Lens(camera.width, camera.height, stated, **known)


def spread_of_length(places, i: int, j: int) -> tuple[float, float]:
    """Distance between two places and its standard uncertainty."""
    apart = places.xy_mm[i] - places.xy_mm[j]
    length = float(np.hypot(*apart))
    slope = np.zeros(places.xy_mm.size)
    slope[2 * i : 2 * i + 2], slope[2 * j : 2 * j + 2] = apart / length, -apart / length
    return length, float(np.sqrt(slope @ places.covariance_mm2 @ slope))


def ideal(tilt_deg: float) -> Phone:
    """A camera without distortion whose axis passes through the picture's middle."""
    camera = phone(np.random.default_rng(5))
    tilt, spin = np.radians(tilt_deg), 0.7
    turn = (
        np.diag([1.0, -1.0, -1.0])
        @ np.array([[1, 0, 0], [0, np.cos(tilt), -np.sin(tilt)], [0, np.sin(tilt), np.cos(tilt)]])
        @ np.array([[np.cos(spin), -np.sin(spin), 0], [np.sin(spin), np.cos(spin), 0], [0, 0, 1]])
    )
    where = np.array([4.0, -3.0, 0.0]) - turn.T @ np.array([0.0, 0.0, 320.0])
    return Phone(4000, 3000, camera.focal_px, 0.0, 0.0, turn, where, (1999.5, 1499.5))


@pytest.mark.parametrize("tilt_deg", [0.0, 3.0, 15.0, 25.0])
def test_an_ideal_camera_is_found_again(tilt_deg: float):
    camera = ideal(tilt_deg)
    focal = camera.focal_px * 43.267 / 5000.0
    view = view_of_marks(Lens(4000, 3000, focal), MARKS_MM, camera.sees(CARD), 0.01)
    points = np.array([(10.0, 20.0), (-25.0, 5.0), (0.0, -30.0)])
    seen = camera.sees(np.column_stack([points, [0.0, 8.0, 15.0]]))
    found = view.places(seen, [0, 1, 2], [0.0, 8.0, 15.0], [0.0, 0.0, 0.0], 0.1)
    assert found.xy_mm == pytest.approx(points, abs=0.02)
    assert view.pixels(points, [0.0, 8.0, 15.0]) == pytest.approx(seen, abs=0.3)


def test_stated_intervals_of_lengths_cover_the_truth():
    """150 phones by hand, parts at two heights: 95 % intervals hold 95 ± 3 % of 1200 lengths."""
    inside, errors = [], []
    for seed in range(150):
        rng = np.random.default_rng(9000 + seed)
        camera = phone(rng)
        marks = camera.sees(CARD) + rng.normal(0, 0.03, MARKS_MM.shape)
        view = view_of_marks(lens_of(camera), MARKS_MM, marks, 0.12)
        points = rng.uniform(-20, 20, (8, 2))
        level = np.repeat([0, 1], 4)
        heights = np.array([4.0, 12.0])
        stated = heights + rng.normal(0, 0.3, 2)
        seen = camera.sees(np.column_stack([points, heights[level]])) + rng.normal(0, 0.5, (8, 2))
        places = view.places(seen, level, stated, [0.3, 0.3], 0.5)
        for i, j in ((0, 1), (2, 3), (0, 2), (4, 5), (6, 7), (4, 6), (0, 5), (3, 7)):
            length, u = spread_of_length(places, i, j)
            error = length - float(np.hypot(*(points[i] - points[j])))
            errors.append(error)
            inside.append(abs(error) < 1.96 * u)
    assert 0.92 <= np.mean(inside) <= 0.98
    assert np.percentile(np.abs(errors), 95) < 0.16


def test_two_points_a_known_distance_apart_give_lengths_with_the_tilt_in_their_spread():
    inside = []
    for seed in range(200):
        rng = np.random.default_rng(seed)
        camera = phone(rng)
        ends = np.array([(-30.0, 0.0, 0.0), (30.0, 4.0, 0.0)])
        first, second = camera.sees(ends) + rng.normal(0, 0.5, (2, 2))
        view = view_of_distance(
            lens_of(camera), first, second, float(np.hypot(60.0, 4.0)), u_distance_mm=0.05,
            u_click_px=0.5,
        )  # fmt: skip
        points = np.column_stack([rng.uniform(-25, 25, (2, 2)), [0.0, 0.0]])
        seen = camera.sees(points) + rng.normal(0, 0.5, (2, 2))
        places = view.places(seen, [0, 0], [0.0], [0.0], 0.5)
        length, u = spread_of_length(places, 0, 1)
        inside.append(abs(length - float(np.hypot(*(points[0] - points[1])[:2]))) < 1.96 * u)
    assert np.mean(inside) > 0.75  # phones here tilt evenly to 15°, more than a careful hand


def test_a_scan_recovers_lengths_to_eight_hundredths():
    """300 dots per inch, clicked to half a pixel; the scanner's own scale 0.15 % off."""
    rng = np.random.default_rng(3)
    errors, inside = [], []
    for _ in range(300):
        points = rng.uniform(-20, 20, (2, 2))
        scale = 1 + rng.normal(0, 0.0015, 2)
        pixels = np.array([1199.5, 999.5]) + points * [1, -1] * scale * 300 / 25.4
        pixels += rng.normal(0, 0.3, (2, 2))
        places = Scan(2400, 2000, 300.0).places(pixels, [0, 0], [0.0], [0.0], 0.3)
        length, u = spread_of_length(places, 0, 1)
        errors.append(length - float(np.hypot(*(points[0] - points[1]))))
        inside.append(abs(errors[-1]) < 1.96 * u)
    assert 0.92 <= np.mean(inside) <= 0.98
    assert np.std(errors) < 0.08


@pytest.mark.parametrize("seed", [1, 5])
def test_the_card_is_found_in_a_rendered_picture(seed: int):
    rng = np.random.default_rng(seed)
    camera = phone(rng, 2000, 1500)
    parts = [Disc(0, 0, 38, 0, 140), *_parts(rng)]
    found = find_card(render(camera, parts, rng))
    assert len(found.index) == 8
    assert found.pixels == pytest.approx(camera.sees(CARD[found.index]), abs=0.3)


def _parts(rng: np.random.Generator) -> list[Disc]:
    """Round things that might be taken for marks, some of them rings about dots."""
    parts = []
    for _ in range(6):
        x, y = rng.uniform(-30, 30, 2)
        outer, height = rng.uniform(3, 8), float(rng.choice([4.0, 12.0]))
        parts += [
            Disc(x, y, outer, height, 40), Disc(x, y, 0.6 * outer, height, 220),
            Disc(x, y, 0.35 * outer, height, 40),
        ]  # fmt: skip
    return parts


def test_a_picture_without_the_card_says_so():
    rng = np.random.default_rng(2)
    camera = phone(rng, 1200, 900)
    with pytest.raises(BobweightError, match="no-card"):
        find_card(render(camera, _parts(rng), rng, card=False))
    with pytest.raises(BobweightError, match="picture-too-small"):
        find_card(np.zeros((20, 20), np.uint8))


def test_what_gives_no_scale_is_refused():
    lens = Lens(4000, 3000)
    with pytest.raises(BobweightError, match="too-few-points"):
        view_of_marks(lens, MARKS_MM[:3], np.zeros((3, 2)), 0.1)
    with pytest.raises(BobweightError, match="same-point"):
        view_of_distance(lens, (5, 5), (5, 5), 10.0, u_distance_mm=0.1, u_click_px=0.5)
    with pytest.raises(BobweightError, match="not-positive"):
        view_of_distance(lens, (5, 5), (50, 5), -1.0, u_distance_mm=0.1, u_click_px=0.5)
    with pytest.raises(BobweightError, match="resolution-unusable"):
        Scan(100, 100, 0.0)
