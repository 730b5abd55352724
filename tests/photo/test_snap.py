"""The middle of a round part under a click, in rendered pictures."""

from __future__ import annotations

import numpy as np
import pytest

from bobweight.core.photo.snap import U_SNAP_PX, snap
from tests.photo.camera_model import Disc, phone, render


def test_a_round_part_is_found_to_a_quarter_pixel():
    rng = np.random.default_rng(0)
    camera = phone(rng, 2000, 1500)
    turn = np.arange(10) * 0.6
    parts = [
        Disc(22 * np.cos(t), 22 * np.sin(t), rng.uniform(1.5, 3), 9.0, rng.choice([60, 210]))
        for t in turn
    ]
    picture = render(camera, [Disc(0, 0, 38, 0, 140), *parts], rng)
    for part in parts:
        true = camera.sees(np.array([[part.x, part.y, part.height]]))[0]
        found = snap(picture, *(true + rng.normal(0, 1.5, 2)))
        assert found is not None
        assert np.hypot(found.x_px - true[0], found.y_px - true[1]) < 2 * U_SNAP_PX
        pitch = (camera.where[2] - part.height) / camera.focal_px
        assert found.radius_px == pytest.approx(part.radius / pitch, abs=1.0)


def test_nothing_round_is_not_taken_for_round():
    rng = np.random.default_rng(1)
    noise = rng.normal(128, 4, (300, 300)).clip(0, 255).astype(np.uint8)
    assert snap(noise, 150, 150) is None
    edge = np.where(np.arange(300) < 150, 60, 200).astype(np.uint8)[None].repeat(300, 0)
    assert snap(edge, 150, 150) is None
    assert snap(noise, 3, 3) is None  # too near the picture's edge
