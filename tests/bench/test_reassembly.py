"""The check list by what the unit is, and the plan of slot and dog."""

from __future__ import annotations

import numpy as np
import pytest

from bobweight.app.messages.reassembly_words import step_text
from bobweight.core.bench.reassembly import GROUPS, TRAPS, check_list, slot_plan, steps_left
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.particulars import Particulars
from bobweight.core.docket.reassembly import Reassembly
from bobweight.core.docket.vacuum import Capsule
from bobweight.core.problems import BobweightError
from bobweight.core.record import parameters

CAPSULE = Capsule(given_as="triple", start_kpa=20.0, full_kpa=50.0, full_deg=7.0)
SIZES = {
    "drive": "offset-dog", "dog_offset_mm": 1.2, "dog_length_mm": 13.0, "dog_width_mm": 3.0,
    "shaft_mm": 14.0, "slot_deg": 35.0,
}  # fmt: skip


def docket(rotation="clockwise", lobes=4, capsule=CAPSULE, **sizes) -> Docket:
    return Docket(
        particulars=Particulars(rotation=rotation, lobes=lobes),
        capsules=(capsule,),
        reassembly=Reassembly(**{**SIZES, **sizes}),
    )


def keys(unit: Docket) -> list[str]:
    return [step.key for step in check_list(unit)]


def test_every_tick_of_the_record_is_a_step():
    flags = {key for key, p in parameters(Reassembly).items() if p.kind == "flag"}
    assert flags == {key for _, keys in GROUPS for key in keys}
    assert flags >= TRAPS
    assert "post_insulated" in TRAPS


def test_the_list_follows_the_unit():
    assert {"dog_against_slot", "capsule_hooked", "vernier_clip", "rotor_post_on"} <= set(
        keys(docket())
    )
    bare = keys(docket(capsule=Capsule()))
    assert not {"capsule_hooked", "vernier_clip", "rotor_post_on"} & set(bare)
    assert "earth_lead" in bare
    geared = keys(docket(drive="gear"))
    assert "gear_against_slot" in geared and "dog_against_slot" not in geared


def test_order_of_the_work():
    """Washers before the end float they set; slot and dog before the springs go back; heel, then
    dwell, then a run on the rig, rotor and cap (common practice)."""
    order = keys(docket())
    wanted = ("thrust_order", "shaft_oiled", "cam_way_round", "dog_against_slot",
              "springs_in_place", "vernier_clip",
              "heel_square", "cam_greased", "dwell_set", "rig_run", "rotor_post_off",
              "rotor_post_on", "cap_seated")  # fmt: skip
    assert [key for key in order if key in wanted] == list(wanted)


def test_ticks_and_facts():
    unit = docket(rotation="anticlockwise", lobes=3, shaft_oiled=True)
    steps = {step.key: step for step in check_list(unit)}
    assert steps["shaft_oiled"].done and not steps["earth_lead"].done
    assert steps_left(unit) == len(steps) - 1
    assert steps["cam_way_round"].facts["odd"] and steps["cam_way_round"].trap
    assert steps["advance_way"].facts["rotation"] == "anticlockwise"


@pytest.mark.parametrize(("ratio", "told"), [(2.0, "0.5 to 1.5°"), (1.0, "0.25 to 0.75°")])
def test_what_the_gap_does_is_at_the_crank_of_this_unit(ratio, told):
    """Common practice: + 0.001 in is 0.5 to 1.5 crank degrees on a four-stroke, whose distributor
    turns at half speed; a unit at crank speed has half of that."""
    unit = docket()
    unit = unit.with_changes(particulars=unit.particulars.with_changes(drive_ratio=ratio))
    (step,) = (step for step in check_list(unit) if step.key == "dwell_set")
    assert told in step_text(step)


def test_plan_puts_the_wide_side_up_and_counts_the_slot_with_the_rotation():
    clockwise, other = slot_plan(docket()), slot_plan(docket(rotation="anticlockwise"))
    for plan in (clockwise, other):
        assert plan.blade.mean(axis=0) == pytest.approx([0.0, -1.2])
        assert np.ptp(plan.blade, axis=0) == pytest.approx([13.0, 3.0])
    assert clockwise.slot_deg == pytest.approx(360 - 35)
    assert other.slot_deg == pytest.approx(35)
    tip = other.slot.mean(axis=0)
    assert np.degrees(np.arctan2(tip[1], tip[0])) == pytest.approx(35)


def test_half_a_turn_out_moves_the_slot_and_not_the_dog():
    plan = slot_plan(docket())
    wrong = plan.cam_half_turn_out()
    assert wrong.slot == pytest.approx(-plan.slot) and wrong.blade is plan.blade
    assert (wrong.slot_deg - plan.slot_deg) % 360 == pytest.approx(180)


def test_turned_over_is_a_mirror_image():
    plan = slot_plan(docket())
    over = plan.turned_over()
    assert over.clockwise is not plan.clockwise
    assert over.turned_over().slot == pytest.approx(plan.slot)
    tip = over.slot.mean(axis=0)
    assert np.degrees(np.arctan2(tip[1], tip[0])) % 360 == pytest.approx(over.slot_deg)


@pytest.mark.parametrize("lobes", range(1, 13))
def test_the_cam_has_as_many_lobes_as_the_unit(lobes):
    radius = np.hypot(*slot_plan(docket(lobes=lobes)).cam.T)
    rises = (radius > np.roll(radius, 1)) & (radius >= np.roll(radius, -1))
    assert rises.sum() == lobes


def test_what_the_plan_needs_is_named():
    for changes, code, key in (
        ({"drive": "gear"}, "not-a-dog", "drive"),
        ({"slot_deg": None}, "missing", "slot_deg"),
        ({"dog_offset_mm": 6.5}, "dog-beyond-shaft", "dog_offset_mm"),
    ):
        with pytest.raises(BobweightError) as caught:
            slot_plan(docket(**changes))
        assert (caught.value.problem.code, caught.value.problem.path[-1]) == (code, key)
    assert slot_plan(docket(drive="centred-dog", dog_offset_mm=None)).offset_mm == 0.0
