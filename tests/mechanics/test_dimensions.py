"""A dimension that is drawn measures what it says."""

from __future__ import annotations

import numpy as np
import pytest

from bobweight.core.docket.mechanism import OwnWeight
from bobweight.core.mechanics.dimensions import dimensions
from bobweight.core.mechanics.typical import completed, typical_mechanisms
from bobweight.core.record import put

TYPICAL = {one.key: one.mechanism for one in typical_mechanisms()}


@pytest.mark.parametrize("key", TYPICAL)
@pytest.mark.parametrize("given_by", ["distances", "polar"])
def test_a_line_is_as_long_and_an_arc_as_wide_as_the_figure_beside_it(key, given_by):
    """Lengths between the ends of the line; of an arc the turn from its first leg, the weights
    lying on either side of theirs (plane geometry)."""
    mechanism = TYPICAL[key]
    springs = tuple(s.with_changes(given_by=given_by) for s in mechanism.springs)
    drawn = completed(mechanism.with_changes(springs=springs)).mechanism
    found = dimensions(completed(drawn))
    paths = {one.path for one in found}
    assert ("weights", "rest_angle_deg") in paths and len(paths) >= 7
    assert (("linkage", "link_mm") in paths) == (drawn.linkage.kind == "link")
    for one in found:
        if one.is_angle:
            apart = abs(one.turn_deg) - abs(np.angle(np.exp(1j * np.radians(one.value)), deg=True))
            assert apart == pytest.approx(0.0, abs=1e-6), one.path
        else:
            assert np.hypot(*np.subtract(one.end, one.start)) == pytest.approx(one.value), one.path
    blank = {one.path: one.value for one in dimensions(completed(mechanism))}
    assert blank["weights", "rest_angle_deg"] is None and blank.keys() <= paths | blank.keys()


OWN = {"pivot_radius_mm": 0.4, "cg_mm": 0.3, "pin_radius_mm": 0.2, "foot_radius_mm": 0.15,
       "link_mm": 0.25, "pin_angle_deg": 1.0}  # fmt: skip


@pytest.mark.parametrize("which", [0, 1])
@pytest.mark.parametrize("key", OWN)
def test_a_figure_of_one_weight_alone_is_drawn_on_that_weight(key, which):
    """Each weight with a link of its own length, and so on: a line stands where its figure is."""
    linked = next(m for m in TYPICAL.values() if m.linkage.kind == "link")
    whole = completed(linked).mechanism
    common = getattr(whole.linkage if hasattr(whole.linkage, key) else whole.weights, key)
    each = [OwnWeight(), OwnWeight()]
    each[which] = OwnWeight(**{key: common + OWN[key]})
    unlike = put(whole, ("weights", "each"), tuple(each))
    found = {one.path: one for one in dimensions(completed(unlike))}
    own = found["weights", "each", which, key]
    assert own.value == pytest.approx(common + OWN[key])
    both = [own, found.get(("linkage", key), found.get(("weights", key), own))]
    for one in both:
        if not one.is_angle:
            assert np.hypot(*np.subtract(one.end, one.start)) == pytest.approx(one.value, abs=1e-6)
