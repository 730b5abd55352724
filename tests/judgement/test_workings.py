"""What a result was worked out from: nothing of the docket that bears upon it is left out."""

from __future__ import annotations

import pytest

from bobweight.core.bench.tape import TapeSpec
from bobweight.core.judgement.workings import ORIGINS, RESULTS, inputs, record_inputs
from bobweight.core.mechanics.checks import figures_in_use
from bobweight.core.record import get, put, put_uncertainty, walk
from tests.samples import sample


@pytest.mark.parametrize("key", ["verdict", "search", "tolerance"])
def test_every_figure_of_the_mechanism_that_is_known_is_there(key: str) -> None:
    docket = sample("weak_primary")
    found = {given.path: given for given in inputs(key, docket)}
    for path in figures_in_use(docket.mechanism):
        if get(docket.mechanism, path):
            assert found[("mechanism", *path)].value == get(docket.mechanism, path)
    assert {given.origin for given in found.values()} <= set(ORIGINS)


def test_each_figure_says_where_it_came_from() -> None:
    docket = sample("weak_primary")
    mass, rate = ("mechanism", "weights", "mass_g"), ("mechanism", "springs", 0, "rate_n_per_mm")
    docket = put_uncertainty(docket, mass, None)
    origins = {given.path: given.origin for given in inputs("verdict", docket)}
    assert origins[mass] == "typed"
    assert origins["target", "points"] == "table"
    assert origins["sessions", 0, "readings"] == "readings"
    known = put(docket, (*rate[:-1], "source", "known_from"), "hang")
    assert {g.path: g.origin for g in inputs("verdict", known)}[rate] == "hang"
    measured = put_uncertainty(docket, mass, 0.5)
    (found,) = [g for g in inputs("verdict", measured) if g.path == mass]
    assert (found.origin, found.u) == ("measured", 0.5)


def test_what_is_blank_is_told_as_assumed_with_the_value_taken() -> None:
    docket = put(sample("weak_primary"), ("mechanism", "weights", "mass_g"), None)
    found = {given.path: given for given in inputs("verdict", docket)}
    given = found["mechanism", "weights", "mass_g"]
    assert given.origin == "assumed"
    assert given.value > 0.0


@pytest.mark.parametrize("key", ["verdict", "capsule", "setting", "search", "tolerance"])
def test_crank_turns_that_nobody_entered_are_told_as_assumed(key: str) -> None:
    """Two of a four-stroke's crank for one of its camshaft: common practice."""
    ratio = ("particulars", "drive_ratio")
    found = {given.path: given for given in inputs(key, put(sample("weak_primary"), ratio, None))}
    assert (found[ratio].value, found[ratio].origin) == (2.0, "assumed")


NOUGHTS = ("backlash_deg", "mark_error_deg", "lag_ms", "static_deg")


@pytest.mark.parametrize(("key", "nought"), [*(("verdict", n) for n in NOUGHTS),
                         ("verdict", "stop_give_deg"), ("verdict", "grip"),
                         ("setting", "altitude_m"), ("setting", "wanted_kpa"),
                         ("capsule", "friction_n"), ("capsule", "offset_deg")])  # fmt: skip
def test_a_nought_that_nobody_entered_is_told_as_assumed_and_a_typed_one_as_typed(key, nought):
    docket = sample("weak_primary")
    (path,) = (p for p, _, _ in walk(docket) if p[-1] == nought
               and p[:2] != ("setting_up", "static_deg"))  # fmt: skip
    for value, origin in ((None, "assumed"), (0.0, "typed")):
        entered = put_uncertainty(put(docket, path, value), path, None)
        given = {i.path: i for i in inputs(key, entered)}[path]
        assert (given.value, given.origin) == (0.0, origin)


def test_nothing_that_bears_on_no_result_is_told():
    """The backlash shows with a lamp only; without readings no instrument read anything."""
    docket = sample("weak_primary")
    rig = put(docket, ("sessions", 0, "instrument", "kind"), "rig")
    assert ("particulars", "backlash_deg") not in {i.path for i in inputs("verdict", rig)}
    unread = put(docket, ("sessions", 0, "readings"), ())
    assert not [i for i in inputs("verdict", unread) if i.path[0] == "sessions"]
    none = put(docket, ("capsules", 0, "given_as"), "none")
    assert not [i for i in inputs("capsule", none) if i.path[0] == "capsules"]


@pytest.mark.parametrize(("key", "frame"), [("verdict", "frame"), ("capsule", "vacuum_frame")])
def test_a_frame_of_the_table_that_nobody_said_is_told_as_assumed(key: str, frame: str) -> None:
    """Distributor figures: the commoner way to write a table (common practice)."""
    docket = sample("weak_primary")
    for value, origin in ((None, "assumed"), ("crank", "table")):
        given = {i.path: i for i in inputs(key, put(docket, ("target", frame), value))}
        told = given["target", frame]
        assert (told.value, told.origin) == (value or "distributor", origin)


def test_that_the_readings_were_taken_with_a_lamp_is_told_as_assumed_where_nobody_said_it():
    kind = ("sessions", 0, "instrument", "kind")
    for value, origin in ((None, "assumed"), ("lamp", "typed")):
        given = {i.path: i for i in inputs("verdict", put(sample("weak_primary"), kind, value))}
        assert (given[kind].value, given[kind].origin) == ("lamp", origin)


def test_what_is_solved_for_is_told_with_how_sure_it_is():
    rate = ("mechanism", "springs", 0, "rate_n_per_mm")
    docket = put(sample("weak_primary"), rate, None)
    given = {i.path: i for i in inputs("verdict", docket)}[rate]
    assert given.u == pytest.approx(0.5 * given.value)  # half of it: common practice


def test_every_result_can_be_asked() -> None:
    for key in RESULTS:
        inputs(key, sample("straight_six"))
    origins = {given.path: given.origin for given in record_inputs(TapeSpec(diameter_mm=140.0))}
    assert origins["diameter_mm",] == "typed"
    assert origins["thickness_mm",] == "usual"
