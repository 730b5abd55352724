"""Figures measured off a picture, against mechanisms laid out and photographed by the tests' own
vectors (``clicked``, ``camera_model``)."""

from __future__ import annotations

import cmath
import math
from itertools import permutations

import numpy as np
import pytest

from bobweight.core.docket.docket import Docket
from bobweight.core.docket.mechanism import BODIES, Spring
from bobweight.core.docket.pictures import USUAL_LEVELS
from bobweight.core.mechanics.checks import mechanism_problems
from bobweight.core.mechanics.typical import completed, typical_mechanisms
from bobweight.core.photo.edits import next_ask, with_swing
from bobweight.core.photo.measure import (
    Moved,
    against_linkage,
    asked,
    circle,
    measure,
    moved_between,
)
from bobweight.core.problems import BobweightError
from bobweight.core.record import put, put_measured
from tests.mechanics.independent import Weight
from tests.photo.camera_model import phone
from tests.photo.clicked import clicked, random_truth
from tests.samples import sample


def errors_of(seeds: range) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Errors of lengths in mm, of angles in degrees, and all over their stated uncertainty."""
    lengths, angles, ratios = [], [], []
    for seed in seeds:
        rng = np.random.default_rng(seed)
        truth = random_truth(rng)
        found = measure(truth.docket, clicked(truth, phone(rng), rng))
        assert set(truth.values) <= set(found.values)
        for path, true in truth.values.items():
            error = found.values[path] - true
            if path[-1].endswith("_deg"):
                error = math.remainder(error, 360.0)
                angles.append(error)
            else:
                lengths.append(error)
            ratios.append(error / found.u[path])
    return np.array(lengths), np.array(angles), np.array(ratios)


def test_exact_clicks_give_the_mechanism():
    for seed in range(15):
        rng = np.random.default_rng(seed)
        truth = random_truth(rng)
        camera = phone(rng)
        found = measure(truth.docket, clicked(truth, camera, rng, hand=1e-6, u_height_mm=1e-6))
        for path, true in truth.values.items():
            error = math.remainder(found.values[path] - true, 360.0)
            assert abs(error) < (0.6 if path[-1].endswith("_deg") else 0.12), (seed, path)
        assert len(found.outline) == 12
        assert np.mean([p.y_mm for p in found.outline]) == pytest.approx(0, abs=0.1)
        assert not found.problems


def test_stated_intervals_hold_the_truth():
    lengths, angles, ratios = errors_of(range(500, 540))
    assert 0.92 <= np.mean(np.abs(ratios) < 1.96) <= 0.98
    assert np.percentile(np.abs(lengths), 95) < 0.15
    assert np.percentile(np.abs(angles), 95) < 0.5


def test_a_second_picture_tells_swing_cam_and_rotation():
    for seed in range(15):
        rng = np.random.default_rng(seed)
        truth = random_truth(rng)
        rest = clicked(truth, phone(rng), rng, turn=0.3)
        out = clicked(truth, phone(rng), rng, out=True, turn=2.0)
        moved = moved_between(rest, out)
        assert abs(moved.cam_deg - truth.moved[0]) < 4 * moved.u_cam_deg
        assert abs(moved.swing_deg - truth.moved[1]) < 4 * moved.u_swing_deg
        assert moved.u_cam_deg < 0.6
        assert moved.u_swing_deg < 0.6
        assert moved.clockwise == (truth.docket.particulars.rotation == "clockwise")


def test_weights_that_differ_are_named():
    rng = np.random.default_rng(4)
    truth = random_truth(rng)
    truth.places["pivot", 2] = [truth.places["pivot", 2][0] * 1.1]
    found = measure(truth.docket, clicked(truth, phone(rng), rng))
    assert "weights-differ" in {problem.code for problem in found.problems}


def test_three_pictures_make_a_measured_linkage():
    docket = put(sample("weak_primary"), ("mechanism", "linkage", "kind"), "measured")
    for cam, swing in ((12.0, 15.5), (4.0, 5.2), (8.0, 10.1), (8.3, 10.6)):  # one of them again
        docket = with_swing(docket, Moved(cam, 0.2, swing, 0.2, clockwise=True))
    rows = docket.mechanism.linkage.points
    assert [p.cam_deg for p in rows] == [0.0, 4.0, 8.3, 12.0]
    assert not mechanism_problems(docket.mechanism)
    again = put(docket, ("mechanism", "linkage", "measured_as"), "radius")
    assert with_swing(again, Moved(6.0, 0.2, 7.0, 0.2, clockwise=True)) == again


def test_a_circle_about_a_hidden_shaft_tells_its_middle():
    for seed in range(6):
        rng = np.random.default_rng(seed)
        truth = random_truth(rng)
        truth.places["circle", 1] = [cmath.rect(18.0, turn) for turn in (0.3, 2.2, 4.1, 5.5)]
        truth.level["circle", 1] = 1
        picture = clicked(truth, phone(rng), rng)
        blind = put(picture, ("picks",), tuple(p for p in picture.picks if p.part != "shaft"))
        assert next_ask(blind, truth.docket.mechanism) is None
        path = ("mechanism", "weights", "pivot_radius_mm")
        found = measure(truth.docket, blind)
        assert abs(found.values[path] - truth.values[path]) < 4 * found.u[path]
        two = tuple(put(p, ("points",), p.points[:2]) if p.part == "circle" else p
                    for p in blind.picks)  # fmt: skip
        with pytest.raises(BobweightError):
            measure(truth.docket, put(blind, ("picks",), two))


@pytest.mark.parametrize("kind", ["slot", "link"])
def test_a_second_picture_proves_the_linkage_or_does_not(kind):
    made = completed(next(t for t in typical_mechanisms() if t.key == kind).mechanism).mechanism
    swing = Weight(made, 0, 1.0).swing_at(math.radians(9.0))
    moved = Moved(9.0, 0.2, math.degrees(swing), 0.2, clockwise=True)
    held = against_linkage(made, moved)
    assert held.agrees and held.cam_deg == pytest.approx(9.0, abs=1e-6)
    assert held.u_cam_deg > 0.1
    wrong = ("linkage", "pin_radius_mm"), 1.3 * made.linkage.pin_radius_mm
    angle = ("weights", "rest_angle_deg"), made.weights.rest_angle_deg
    other = put_measured(put_measured(made, *wrong, 0.05), *angle, 0.5)
    other = put_measured(other, ("linkage", "pin_angle_deg"), made.linkage.pin_angle_deg, 0.5)
    assert not against_linkage(other, moved).agrees
    assert against_linkage(put(made, ("linkage", "pin_radius_mm"), None), moved) is None
    docket = with_swing(Docket(mechanism=put(made, ("stop_deg",), None)), moved)
    assert docket.mechanism.stop_deg == 9.0 and docket.mechanism.u["stop_deg"] == 0.2
    assert docket.particulars.rotation == "clockwise"
    assert with_swing(Docket(mechanism=made), moved).mechanism.stop_deg == made.stop_deg


def test_heights_not_typed_are_said_and_hold_loosely():
    held = []
    for seed in range(5):
        rng = np.random.default_rng(seed)
        truth = random_truth(rng)
        picture = clicked(truth, phone(rng), rng)
        told = measure(truth.docket, picture)
        assert "heights-blank" not in [problem.code for problem in told.problems]
        blank = measure(truth.docket, put(picture, ("levels",), USUAL_LEVELS))
        assert blank.problems[0].code == "heights-blank"
        path = ("mechanism", "weights", "pivot_radius_mm")
        assert blank.u[path] > 3 * told.u[path]
        held.append(abs(blank.values[path] - truth.values[path]) < 1.96 * blank.u[path])
    assert np.mean(held) > 0.9


@pytest.mark.parametrize("way", ["card", "scan", "distance"])
def test_a_picture_just_loaded_is_no_error_of_its_scale(way):
    rng = np.random.default_rng(3)
    truth = random_truth(rng)
    picture = clicked(truth, phone(rng), rng)
    known = tuple(point for pick in picture.picks[:2] for point in pick.points[:1])
    loaded = picture.with_changes(
        picks=(), scale_by=way, dots_per_inch=300.0, known_mm=40.0, known_points=known
    )
    with pytest.raises(BobweightError) as told:
        measure(truth.docket, loaded)
    assert told.value.problem.code == "not-clicked"


def test_what_was_not_clicked_is_named():
    rng = np.random.default_rng(4)
    truth = random_truth(rng)
    picture = clicked(truth, phone(rng), rng)
    for part in ("shaft", "pivot"):
        less = put(
            picture, ("picks",),
            tuple(p for p in picture.picks if (p.part, p.number) != (part, 1)),
        )  # fmt: skip
        with pytest.raises(BobweightError, match="not-clicked"):
            measure(truth.docket, less)
    few = put(picture, ("marks",), picture.marks[:3])
    with pytest.raises(BobweightError, match="too-few-marks"):
        measure(truth.docket, few)


def test_what_is_asked_follows_the_mechanism():
    truth = random_truth(np.random.default_rng(1))
    parts = [(ask.part, ask.number) for ask in asked(truth.docket.mechanism)]
    assert parts[0] == ("shaft", 1)
    assert len(parts) == len(set(parts))
    assert {("post", 1), ("peg", 1), ("post", 2), ("peg", 2)} <= set(parts)
    needed = {(a.part, a.number) for a in asked(truth.docket.mechanism) if not a.optional}
    assert needed <= set(truth.places)
    assert next(a.part for a in asked(truth.docket.mechanism, "out")) == "shaft"


@pytest.mark.parametrize(("post_on", "peg_on"), list(permutations(BODIES, 2)))
def test_what_is_needed_is_enough_for_every_spring(post_on, peg_on):
    rng = np.random.default_rng(8)
    truth = random_truth(rng)
    for weight in (1, 2):
        spring = Spring(post_on=post_on, peg_on=peg_on, weight=weight)
        docket = put(truth.docket, ("mechanism", "springs"), (spring,))
        asks = [ask for ask in asked(docket.mechanism) if not ask.optional]
        needed = {(ask.part, ask.number) for ask in asks}
        picture = clicked(truth, phone(rng), rng)
        picks = tuple(pick for pick in picture.picks if (pick.part, pick.number) in needed)
        found = measure(docket, put(picture, ("picks",), picks)).values
        for key in ("post_radius_mm", "post_angle_deg", "peg_radius_mm", "peg_angle_deg"):
            assert ("mechanism", "springs", 0, key) in found, (weight, key)


def test_circle_through_points():
    turn = np.array([0.1, 1.0, 2.5, 4.0])
    points = np.column_stack([3 + 5 * np.cos(turn), -2 + 5 * np.sin(turn)])
    middle, radius = circle(points)
    assert middle == pytest.approx(3 - 2j)
    assert radius == pytest.approx(5)
