"""The drawing against the motion: what should touch touches, at every angle."""

from __future__ import annotations

import numpy as np
import pytest

from bobweight.core.docket.docket import new_docket
from bobweight.core.docket.mechanism import Linkage, OutlinePoint, SwingPoint
from bobweight.core.figure.plan import plan_frame, posed_plan
from bobweight.core.figure.plan_contact import PIN_MM, TOE_MM, flanks
from bobweight.core.figure.plan_shapes import turned
from bobweight.core.mechanics.typical import completed, typical_mechanisms
from bobweight.core.record import put
from tests.samples import sample

ROLLING = ("rolling", "each-weight", "across")


def docket_of(key: str):
    """A typical mechanism without blanks, or a sample."""
    typical = {t.key: t.mechanism for t in typical_mechanisms()}
    if key not in typical:
        return sample(key)
    return new_docket().with_changes(mechanism=completed(typical[key]).mechanism)


def nearest(points: np.ndarray, at: np.ndarray) -> np.ndarray:
    """The point of a polyline that is nearest to a place."""
    starts, ways = points[:-1], np.diff(points, axis=0)
    long = np.maximum(np.sum(ways**2, axis=1), 1e-12)
    share = np.clip(np.sum((at - starts) * ways, axis=1) / long, 0, 1)
    found = starts + share[:, None] * ways
    return found[np.argmin(np.hypot(*(found - at).T))]


def gap(points: np.ndarray, at: np.ndarray) -> float:
    """Distance of a place from a polyline."""
    return float(np.hypot(*(nearest(points, at) - at)))


@pytest.mark.parametrize("key", [*ROLLING, "straight_six", "vee_eight", "motorcycle_twin"])
def test_the_flank_rolls_on_the_toe_from_rest_to_the_stop(key):
    docket = docket_of(key)
    frame = plan_frame(docket)
    assert all(flank is not None for flank in frame.flanks)
    for cam in np.linspace(0.0, frame.end_deg, 8):
        posed = posed_plan(docket.mechanism, frame, float(cam))
        for flank, pivot, turn in zip(frame.flanks, posed.pivots, posed.turns_deg, strict=True):
            line = turned(flank.flank - pivot, turn, pivot)
            toe = turned(flank.toe, cam)
            assert gap(line, toe) == pytest.approx(TOE_MM, abs=0.03)


def test_a_measured_linkage_has_the_flank_of_its_own_law():
    rows = [(0.0, 0.0), (4.0, 9.0), (8.0, 14.0), (12.0, 17.0)]
    points = tuple(SwingPoint(cam_deg=c, swing_deg=s) for c, s in rows)
    docket = put(docket_of("rolling"), ("mechanism", "linkage"),
                 Linkage(kind="measured", points=points))  # fmt: skip
    frame = plan_frame(docket)
    flank = frame.flanks[0]
    for cam in (0.0, 5.0, 12.0):
        posed = posed_plan(docket.mechanism, frame, cam)
        line = turned(flank.flank - posed.pivots[0], posed.turns_deg[0], posed.pivots[0])
        assert gap(line, turned(flank.toe, cam)) == pytest.approx(TOE_MM, abs=0.05)


def test_at_the_pitch_point_toe_and_flank_do_not_slide():
    """Two parts that turn opposite ways at i to 1 roll without sliding where the distances from
    their axes are as 1 to i (any book on gears)."""
    ratio, pivot = 0.65, 20.0 + 0j
    cam = np.linspace(0.0, 1e-4, 3)
    turns = tuple((float(a), float(-a / ratio), -1 / ratio) for a in cam)
    at = pivot / (1 + ratio)
    seen, _, _ = flanks(pivot, np.array([at]), turns)
    assert np.abs(np.diff(seen[0])).max() < 1e-3 * abs(cam[1] * at)


@pytest.mark.parametrize("give_deg", [0.0, 1.5])
@pytest.mark.parametrize("key", [*(t.key for t in typical_mechanisms()), "small_four"])
def test_the_cam_foot_meets_the_stop_when_it_should(key, give_deg):
    docket = put(docket_of(key), ("mechanism", "stop_give_deg"), give_deg)
    frame = plan_frame(docket)
    pin = PIN_MM + frame.stop.rubber_mm
    for cam in np.linspace(0.0, frame.stop_deg, 5):
        arm = turned(frame.stop.arm, float(cam))
        away = gap(np.vstack([arm, arm[:1]]), frame.stop.at)
        if cam == frame.stop_deg:
            assert away == pytest.approx(pin, abs=0.05)
        else:
            assert away > pin


def test_a_measured_stop_stands_where_it_was_measured():
    docket = docket_of("small_four")
    for key, value in (("stop_radius_mm", 14.0), ("stop_angle_deg", 75.0)):
        docket = put(docket, ("mechanism", "plate", key), value)
    stop = plan_frame(docket).stop
    arm = turned(stop.arm, float(docket.mechanism.stop_deg))
    met = nearest(np.vstack([arm, arm[:1]]), stop.at)
    assert np.hypot(*met) == pytest.approx(14.0, abs=1e-6)
    assert np.degrees(np.arctan2(met[1], met[0])) == pytest.approx(75.0, abs=1e-4)


def test_a_traced_outline_is_drawn_as_it_was_traced():
    docket = docket_of("rolling")
    corners = [(-4.0, -4.0), (18.0, -6.0), (20.0, 5.0), (-3.0, 4.0)]
    traced = tuple(OutlinePoint(x_mm=x, y_mm=y) for x, y in corners)
    docket = put(docket, ("mechanism", "weights", "outline"), traced)
    frame = plan_frame(docket)
    assert frame.traced == (True, True)
    for shape, weight in zip(frame.weights, frame.rest, strict=True):
        pivot, cg = np.array(weight.pivot_xy), np.array(weight.cg_xy)
        away = sorted(round(float(np.hypot(*(point - pivot))), 3) for point in shape)
        assert away[-1] == pytest.approx(np.hypot(20, 5), abs=1e-3)
        assert gap(np.vstack([shape, shape[:1]]), pivot + (cg - pivot) * 1.9) < 1.5
