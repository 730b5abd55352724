"""The check list of reassembly, driven by what the unit is, and the plan of cam slot and dog.

The list holds keys of :class:`core.docket.reassembly.Reassembly` in the order of the work, with
the facts that the words need. The drawing is geometry only, in mm and degrees, seen looking down on
the cap: x to the right, y up, angles counter-clockwise.
"""

from __future__ import annotations

from dataclasses import field, replace
from math import cos, pi, radians, sin

import numpy as np

from bobweight.core.docket.docket import Docket
from bobweight.core.frozen import frozen
from bobweight.core.problems import BobweightError, required
from bobweight.core.record import is_assumed, taken

TRAPS = frozenset(
    {
        "cam_way_round", "dog_against_slot", "gear_against_slot", "advance_way", "vernier_clip",
        "earth_lead", "post_insulated", "cam_greased", "rotor_post_off", "rotor_post_on",
    }
)  # fmt: skip
"""The steps at which a unit is most often put together wrong (common practice)."""

GROUPS: tuple[tuple[str, tuple[str, ...]], ...] = (
    (
        "shaft",
        (
            "thrust_order", "shaft_oiled", "drive_pin", "weights_matched", "cam_way_round",
            "dog_against_slot", "gear_against_slot",
        ),
    ),
    ("advance", ("springs_in_place", "advance_way", "advance_returns", "cam_screw", "oil_felt")),
    (
        "plate",
        (
            "plate_free", "capsule_hooked", "vernier_clip", "earth_lead", "post_insulated",
            "low_tension", "condenser_on", "contacts_square", "heel_square",
            "cam_greased", "dwell_set",
        ),
    ),
    ("cap", ("rig_run", "rotor_post_off", "rotor_post_on", "cap_seated", "ring_seal")),
)  # fmt: skip
"""Every step that any unit may need, in the order of the work."""

_EARLIER_DEG = (0.25, 0.75)
"""How much earlier, distributor degrees, the spark comes by a gap 0.025 mm wider (common practice:
0.5 to 1.5 degrees at the crank, which turns twice as fast)."""
_SHAFT_SHARE = 0.9  # of the blade, where the shaft's size is not known
_LOBE_SHARE = 0.80  # flat to lobe of the drawn cam


@frozen
class ReassemblyStep:
    """One line of the list: the field that keeps its tick, whether it is a trap, its facts."""

    key: str
    group: str
    trap: bool
    done: bool
    facts: dict[str, object] = field(default_factory=dict)


def check_list(docket: Docket) -> tuple[ReassemblyStep, ...]:
    """The steps for this unit in the order of the work.

    A unit with a capsule has its rod, vernier and rotor with the vacuum on; one with a dog has
    the dog against the slot, one with a gear the gear; a cam with an odd number of lobes cannot be
    told right from half a turn out by its lobes, which ``facts["lobes"]`` and ``facts["odd"]`` say;
    ``facts["lobes_stated"]``, ``…rotation_stated`` and ``…drive_stated`` are false where what is
    told of it is assumed; ``facts["roles"]`` counts the kinds of springs, 0
    where none is entered; ``facts["earlier_least_deg"]`` and ``…most_deg`` tell what a gap 0.025 mm
    wider does, crank degrees; ``facts["capsule"]`` is false where the unit has none,
    ``facts["plan"]`` where the plan of slot and dog cannot be drawn.
    """
    left_out = _left_out(docket)
    facts: dict[str, object] = {
        "rotation": taken(docket.particulars, "rotation"),
        "rotation_stated": docket.particulars.rotation is not None,
        "lobes": docket.particulars.lobes_taken,
        "lobes_stated": docket.particulars.lobes is not None,
        "odd": docket.particulars.lobes_taken % 2 == 1,
        "earlier_least_deg": docket.particulars.ratio_taken * _EARLIER_DEG[0],
        "earlier_most_deg": docket.particulars.ratio_taken * _EARLIER_DEG[1],
        "drive": docket.reassembly.drive_taken,
        "drive_stated": docket.reassembly.drive is not None,
        "sector_deg": 360.0 / docket.particulars.lobes_taken,
        "roles": len({spring.role for spring in docket.mechanism.springs}),
        "capsule": docket.may_have_capsule,
        "plan": known_plan(docket) is not None,
    }
    return tuple(
        ReassemblyStep(key, group, key in TRAPS, getattr(docket.reassembly, key), facts)
        for group, keys in GROUPS
        for key in keys
        if key not in left_out
    )


def _left_out(docket: Docket) -> set[str]:
    drive = docket.reassembly.drive_taken
    out = set()
    if drive in ("offset-dog", "centred-dog"):
        out.add("gear_against_slot")
    else:
        out.add("dog_against_slot")
    if not docket.has_capsule:
        out |= {"capsule_hooked", "vernier_clip", "rotor_post_on", "plate_free"}
    return out


def steps_left(docket: Docket) -> int:
    """How many steps of the list are not ticked."""
    return sum(not step.done for step in check_list(docket))


@frozen
class SlotPlan:
    """Cam slot and dog as drawn, mm; polygons are arrays of shape (points, 2).

    ``blade``: the dog below, its wide side up; ``shaft_mm``: radius of the circle about the axis;
    ``cam``: outline of the cam; ``slot``: the rotor's slot at the top of the cam, open at the end
    it points to; ``slot_deg``: the way it points, counter-clockwise from the right;
    ``wrong_slot_deg``: the same with the cam half a turn out; ``clockwise``: the rotation drawn;
    ``extent_mm``: half the size of the drawing; ``lobes``: how many are drawn; ``assumed``: which
    of ``rotation``, ``lobes`` and ``drive`` nobody entered, drawn as most units have them.
    """

    blade: np.ndarray
    shaft_mm: float
    cam: np.ndarray
    slot: np.ndarray
    slot_deg: float
    wrong_slot_deg: float
    clockwise: bool
    extent_mm: float
    offset_mm: float
    lobes: int
    assumed: tuple[str, ...] = ()

    def turned_over(self) -> SlotPlan:
        """The same part held with the dog towards the eye: left and right change places."""
        mirror = np.array([-1.0, 1.0])
        return replace(
            self, blade=self.blade * mirror, cam=self.cam * mirror, slot=self.slot * mirror,
            slot_deg=(180.0 - self.slot_deg) % 360.0,
            wrong_slot_deg=(180.0 - self.wrong_slot_deg) % 360.0, clockwise=not self.clockwise,
        )  # fmt: skip

    def cam_half_turn_out(self) -> SlotPlan:
        """The part put together wrong: cam and slot turned by half a turn against the dog."""
        return replace(
            self, cam=-self.cam, slot=-self.slot, slot_deg=self.wrong_slot_deg,
            wrong_slot_deg=self.slot_deg,
        )  # fmt: skip


def known_plan(docket: Docket) -> SlotPlan | None:
    """The plan of :func:`slot_plan`; None where a size is not known or there is no dog."""
    try:
        return slot_plan(docket)
    except BobweightError:
        return None


def slot_plan(docket: Docket) -> SlotPlan:
    """The plan of cam slot and dog of a docket, seen looking down on the cap.

    The blade lies across, and as its middle is off the axis the side above the axis is the wide
    one: the blade is drawn below the axis by the offset.

    Raises
    ------
    BobweightError
        ``missing`` at the first size that is not known; ``not-a-dog`` for a gear drive;
        ``dog-beyond-shaft`` where offset and half the width pass half the diameter.
    """
    sizes = docket.reassembly
    if sizes.drive_taken not in ("offset-dog", "centred-dog"):
        raise BobweightError("not-a-dog", ("reassembly", "drive"))
    length_mm, width_mm, seen_deg = (
        required(getattr(sizes, key), "reassembly", key)
        for key in ("dog_length_mm", "dog_width_mm", "slot_deg")
    )
    offset = 0.0
    if sizes.drive_taken == "offset-dog":
        offset = required(sizes.dog_offset_mm, "reassembly", "dog_offset_mm")
    shaft = max(_SHAFT_SHARE * length_mm / 2, width_mm)
    if sizes.shaft_mm is not None:
        shaft = sizes.shaft_mm / 2
    if offset + width_mm / 2 > shaft:
        raise BobweightError(
            "dog-beyond-shaft", ("reassembly", "dog_offset_mm"), value_mm=offset, limit_mm=shaft
        )
    clockwise = docket.particulars.turns_clockwise
    slot_deg = (-seen_deg if clockwise else seen_deg) % 360.0
    half = np.array([length_mm / 2, width_mm / 2])
    blade = _rectangle(half) + np.array([0.0, -offset])
    told = (docket.particulars, "rotation"), (docket.particulars, "lobes"), (sizes, "drive")
    cam_radius = (sizes.cam_across_mm or 1.3 * shaft) / 2
    return SlotPlan(
        blade=blade,
        shaft_mm=shaft,
        cam=_cam(docket.particulars.lobes_taken, cam_radius, slot_deg),
        slot=_slot(cam_radius, slot_deg),
        slot_deg=slot_deg,
        wrong_slot_deg=(slot_deg + 180.0) % 360.0,
        clockwise=clockwise,
        extent_mm=max(shaft, cam_radius, length_mm / 2) * 1.35,
        offset_mm=offset,
        lobes=docket.particulars.lobes_taken,
        assumed=tuple(key for record, key in told if is_assumed(record, key)),
    )


def _rectangle(half: np.ndarray) -> np.ndarray:
    found: np.ndarray = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * half
    return found


def _cam(lobes: int, radius_mm: float, slot_deg: float) -> np.ndarray:
    """Outline of the cam: a lobe at the slot, falling evenly to the flats between."""
    angle = np.linspace(0.0, 2 * pi, 241)[:-1]
    low = _LOBE_SHARE if lobes > 2 else _LOBE_SHARE - 0.08
    wave = 0.5 + 0.5 * np.cos(lobes * angle)
    r = radius_mm * (low + (1 - low) * wave)
    turn = radians(slot_deg)
    return np.column_stack([r * np.cos(angle + turn), r * np.sin(angle + turn)])


def _slot(cam_mm: float, slot_deg: float) -> np.ndarray:
    """The rotor's slot: from the axis outwards, open at its end."""
    width, start, end = 0.16 * cam_mm, 0.28 * cam_mm, 0.72 * cam_mm
    box = np.array([[start, -width], [end, -width], [end, width], [start, width]])
    turn = radians(slot_deg)
    rotation = np.array([[cos(turn), sin(turn)], [-sin(turn), cos(turn)]])
    found: np.ndarray = box @ rotation
    return found
