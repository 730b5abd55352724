"""Rotor phasing against a distributor turned in the test until its contacts open."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from bobweight.core.bench import rotor
from bobweight.core.problems import BobweightError

CAP = rotor.RotorCap(tip_mm=8.0, post_mm=5.0, radius_mm=26.0)


def rotor_at_spark(off_deg, centrifugal_deg, vacuum_deg):
    """Turn the shaft until the cam's lobe meets the heel, and see where the rotor stands.

    All angles in the direction of rotation, from the post. The cam stands ahead of the shaft by the
    centrifugal advance, the rotor sits on the cam; vacuum turns the plate with its heel backwards.
    """
    heel = 37.0 - vacuum_deg
    rotor_on_cam = off_deg - 37.0

    def lobe_past_heel(shaft):
        return shaft + centrifugal_deg - heel

    shaft = brentq(lobe_past_heel, -400.0, 400.0)
    return shaft + centrifugal_deg + rotor_on_cam


angles = st.floats(-15, 15)


@given(angles, st.floats(0, 20), angles)
def test_only_the_capsule_shifts_the_rotor_at_the_spark(off, centrifugal, vacuum):
    got = rotor.phasing(CAP, off, vacuum).on_deg
    assert got == pytest.approx(rotor_at_spark(off, centrifugal, vacuum), abs=1e-9)


def shared_mm(cap, offset_deg):
    """Length of arc that tip and post have in common, by counting points."""
    centre = np.radians(offset_deg) * cap.radius_mm
    arc = np.linspace(-40, 40, 800_001)
    both = (np.abs(arc) < cap.post_mm / 2) & (np.abs(arc - centre) < cap.tip_mm / 2)
    return both.sum() * (arc[1] - arc[0])


@pytest.mark.parametrize("offset", [4.0, -6.0, 9.0, -13.0])
def test_overlap_is_the_arc_that_both_share(offset):
    margin_mm = rotor.overlap_deg(CAP, offset) * np.pi / 180 * CAP.radius_mm
    assert min(margin_mm, CAP.post_mm) == pytest.approx(shared_mm(CAP, offset), abs=1e-3)


def test_parted_is_negative():
    beyond = CAP.reach_deg + 2
    assert shared_mm(CAP, beyond) == 0
    assert rotor.overlap_deg(CAP, np.array([beyond, -beyond])) == pytest.approx([-2, -2])


@given(angles, angles)
def test_worst_of_both_ends_is_worst_of_the_travel(off, full):
    got = rotor.phasing(CAP, off, full)
    travel = np.linspace(0, full, 101)
    assert got.margin_deg == pytest.approx(rotor.overlap_deg(CAP, off - travel).min(), abs=1e-9)
    assert got.margin_mm == pytest.approx(np.radians(got.margin_deg) * 26.0)
    best = rotor.phasing(CAP, got.best_off_deg, full)
    assert best.off_deg == pytest.approx(-best.on_deg)
    assert best.margin_deg >= got.margin_deg - 1e-9


def test_refusals():
    with pytest.raises(BobweightError, match="not-positive"):
        rotor.RotorCap(0.0, 5.0, 26.0)
    with pytest.raises(BobweightError, match="not-finite"):
        rotor.phasing(CAP, float("nan"), 5.0)
