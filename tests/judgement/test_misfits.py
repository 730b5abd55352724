"""What benches do to readings, and what is said of it; units and readings by the vectors of
:mod:`tests.studies.simulator` (common practice), not by the core's own curve."""

from __future__ import annotations

import numpy as np
import pytest

from bobweight.core.judgement import diagnose as judging
from bobweight.core.judgement import sampling
from bobweight.core.judgement.diagnose import diagnose
from bobweight.core.judgement.diagnosis import suspicions
from bobweight.core.judgement.family import Family
from bobweight.core.judgement.fit_curves import DRIFT, MAGNIFIED, Simulator
from bobweight.core.judgement.reduce import reduce_session
from tests.studies.simulator.cases import ordinary
from tests.studies.simulator.misfits import misfit_case


@pytest.mark.parametrize(
    ("misfit", "kind", "seed", "expected"),
    [
        # A ring that slipped by twenty degrees, and nothing known of the mechanism: far from
        # where the search for a zero begins.
        ("damper ring moved", "blank", 202, "mark_offset"),
        # A rig shows nothing at rest: its figures typed as a lamp's lack the static too.
        ("rig readings typed as lamp", "careful", 200, "wrong_frame"),
        ("rig readings typed as lamp", "blank", 201, "wrong_frame"),
        ("lamp counts twice", "careful", 200, "lamp_doubles"),
        ("lamp counts twice", "caliper", 201, "lamp_doubles"),
    ],
)
def test_what_a_bench_does_is_called_by_its_name(misfit, kind, seed, expected):
    found = diagnose(misfit_case(misfit, kind, seed).docket)
    assert found.first.name == expected
    named = (e.probability for e in found.explanations if expected in e.name.split("+"))
    assert sum(named) > 0.9  # by itself, or beside what a blank docket cannot exclude
    assert found.first.probability > 0.4


def test_evidence_hangs_on_the_readings_and_not_on_the_draw(monkeypatch):
    """Four draws of the samples, and the explanations that count."""
    docket = ordinary("careful", 223, "any").docket
    logs = []
    for seed in (5, 7, 9, 11):
        monkeypatch.setattr(sampling, "_SEED", seed)
        found = diagnose(docket)
        logs.append({e.name: np.log(max(e.probability, 1e-30)) for e in found.explanations})
    likely = [name for name, log in logs[0].items() if log > np.log(0.1)]
    assert len(likely) >= 2
    assert max(np.std([log[name] for log in logs]) for name in likely) < 0.5


def test_explanations_lend_each_other_the_sound_unit_that_is_meant():
    """A blank docket leaves several sound units possible; each explanation sees them all."""
    docket = ordinary("blank", 211, "any").docket
    reduced = reduce_session(docket.sessions[0], docket.particulars)
    family = Family(docket, 0, reduced)
    x, alone = judging._rested(family, *judging._starts(family), None)
    _, lent = judging._rested(family, *judging._lent(family, x, alone), None)
    assert np.max(alone - lent) > 3.0


@pytest.mark.parametrize(("path", "amount"), [(MAGNIFIED, 2.0), (MAGNIFIED, 1.2), (DRIFT, 3.0)])
def test_scales_that_are_not_known_leave_the_law_of_a_reading_as_it_is(path, amount):
    """What is noted is magnified, and what it scatters is not: the density of what was noted must
    integrate to one whatever the magnification (no likelihood grows by shrinking the readings)."""
    case = ordinary("careful", 223, "")
    session = case.docket.sessions[-1]
    simulator = Simulator(case.docket, 0, reduce_session(session, case.docket.particulars))
    _, plain_deg, _, plain_u = simulator.points({})
    _, advance_deg, _, u_deg = simulator.points({path: np.array([amount])})
    u_noted = u_deg * (amount if path == MAGNIFIED else 1.0)
    np.testing.assert_allclose(u_noted, np.broadcast_to(plain_u, u_noted.shape))
    # Noted again, at the last place of the session, it is what stands in the docket.
    reader = simulator.reader_of({})
    again = simulator.noted_deg({path: np.array([amount])}, reader.shown(0.0, advance_deg)[1])
    straight = reader.shown(0.0, plain_deg)[1]
    late = reader.late_deg(simulator.shown_rpm)
    last = int(np.argmax(simulator.rows))
    share = amount if path == MAGNIFIED else 1.0
    np.testing.assert_allclose((again + late * (1 - share))[0, last], straight[0, last], atol=1e-6)


def test_a_frame_taken_wrongly_holds_the_static_loosely_in_degrees():
    """What is put to another value is as doubtful as that is far, not a share of itself."""
    docket = misfit_case("rig readings typed as lamp", "careful", 1).docket
    static = docket.sessions[0].instrument.static_deg
    loose = {s.path: s for s in suspicions(diagnose(docket))}
    found = loose["sessions", 0, "instrument", "static_deg"]
    assert (found.u, found.by_share) == (static, False)
