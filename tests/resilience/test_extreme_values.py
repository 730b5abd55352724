"""Values at the edge of what may be entered, through the calculations."""

from __future__ import annotations

import pytest

from bobweight.core.judgement.decision import decide_docket
from bobweight.core.record import put
from tests.samples import sample


@pytest.mark.parametrize("name", ["weak_primary", "small_four", "retard_capsule"])
def test_a_stop_at_its_lower_limit_is_decided(name):
    docket = sample(name)
    docket = put(docket, ("mechanism", "stop_deg"), 0.1)
    assert decide_docket(docket).complete
    pegs = put(docket, ("mechanism", "springs", 0, "peg_radius_mm"), 200.0)
    assert decide_docket(pegs).complete
