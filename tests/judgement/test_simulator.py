"""The simulator that the judgement study counts by: its curve, its units, its misfits."""

from __future__ import annotations

import numpy as np
import pytest

from bobweight.core.mechanics.predict import predict
from tests.studies.simulator.cases import NOTHING, ordinary, rng_of
from tests.studies.simulator.curve import VectorCurve
from tests.studies.simulator.dockets import KINDS
from tests.studies.simulator.faults import FAULTS
from tests.studies.simulator.misfits import MISFITS, is_false, misfit_case
from tests.studies.simulator.units import draw_unit


@pytest.mark.parametrize("seed", range(4))
def test_its_curve_is_that_of_the_vectors_and_of_the_core(seed):
    unit = draw_unit(rng_of("test", seed))
    curve, closed = VectorCurve(unit.sound), predict(unit.sound)
    speeds = np.linspace(0.7 * unit.start_rpm, 1.2 * unit.full_rpm, 25)
    for way in ("rising", "falling"):
        found = curve.advances_deg(speeds, way)
        np.testing.assert_allclose(found, closed.advance_deg(speeds, way), atol=1e-6)
        one = [curve.advance_deg(float(s), way) for s in speeds[::6]]
        np.testing.assert_allclose(found[::6], one, atol=1e-6)


@pytest.mark.parametrize("kind", KINDS)
def test_a_sound_unit_is_inside_its_table_and_read_as_asked(kind):
    case = ordinary(kind, 1)
    assert case.true == NOTHING
    assert case.all_inside
    assert len(case.docket.sessions[-1].readings) == 20
    known = case.docket.mechanism.weights.mass_g
    assert (known is None) == (kind == "blank")


def test_the_same_seed_is_the_same_case():
    assert ordinary("caliper", 3, "any").docket == ordinary("caliper", 3, "any").docket


def test_every_fault_changes_the_unit_or_what_is_read():
    for name in FAULTS:
        case = ordinary("careful", 2, name)
        same = case.bench.actual == case.unit.sound and case.bench.capsule == case.unit.capsule
        read_true = abs(case.bench.mark_deg) < 3 and abs(case.bench.scale - 1) < 0.05
        plain = case.bench.lag_ms < 0.1 and case.bench.pipe is None
        assert not (same and read_true and plain), name


def test_there_are_thirty_kinds_of_misfit_and_what_is_true_of_them_is_not_false():
    assert len(MISFITS) >= 30
    case = misfit_case("pegs worn and sticking", "careful", 0)
    assert not is_false(case, "pegs_worn")
    assert not is_false(case, "none_of_these")
    assert is_false(case, "pegs_worn+stop_high")
    assert is_false(case, NOTHING)
