"""The check list of putting it together again: what was ticked, and the drive's sizes."""

from __future__ import annotations

from bobweight.core.record import Record, choice, flag, number, stored, taken, text
from bobweight.core.units import ANGLE, LENGTH

DRIVES = {
    "offset-dog": "Dog off the axis",
    "centred-dog": "Dog on the axis",
    "gear": "Gear on the shaft",
    "other": "Another drive",
}


@stored
class Reassembly(Record):
    """Drive and rotor slot as measured, and a tick for every step that was checked."""

    drive: str | None = choice("Driven by", DRIVES, None, assumed="offset-dog")
    dog_offset_mm: float | None = number(
        "Offset of the dog", LENGTH, hard=(0.0, 20.0), usual=(0.3, 3.0),
        help="From the shaft’s axis to the middle of the dog’s blade: half of what its two sides "
        "differ by.",
    )  # fmt: skip
    dog_length_mm: float | None = number(
        "Length of the dog’s blade", LENGTH, hard=(2.0, 80.0), usual=(8.0, 30.0)
    )
    dog_width_mm: float | None = number(
        "Width of the dog’s blade", LENGTH, hard=(0.5, 30.0), usual=(2.0, 8.0)
    )
    shaft_mm: float | None = number(
        "Diameter over the dog", LENGTH, hard=(4.0, 100.0), usual=(10.0, 35.0)
    )
    cam_across_mm: float | None = number(
        "Cam, across its lobes", LENGTH, hard=(3.0, 80.0), usual=(8.0, 30.0)
    )
    slot_deg: float | None = number(
        "Rotor slot from the dog", ANGLE, hard=(-360.0, 360.0),
        help="Looking down on the cap with the blade across and its wide side up: the way the "
        "rotor’s slot points, from the right, counted in the direction of rotation. Take it "
        "before the cam comes off.",
    )  # fmt: skip
    thrust_order: bool = flag("Thrust washers in the order they had")
    shaft_oiled: bool = flag("Shaft and bushes oiled, end float right")
    drive_pin: bool = flag("Pin of dog or gear tight, its ends closed over")
    weights_matched: bool = flag("Each weight on its own pivot, free, oiled")
    cam_way_round: bool = flag("Cam the right way round on its shaft")
    dog_against_slot: bool = flag("Dog’s offset checked against the rotor slot")
    gear_against_slot: bool = flag("Drive checked against the rotor slot")
    springs_in_place: bool = flag("Each spring on its own post and peg")
    advance_way: bool = flag("Weights turn the cam forward")
    advance_returns: bool = flag("Cam twists to the stop and returns")
    cam_screw: bool = flag("Cam’s screw or clip home, top oiled")
    oil_felt: bool = flag("Felt under the rotor in place, a few drops on it")
    plate_free: bool = flag("Plate turns freely, without rock")
    capsule_hooked: bool = flag("Capsule’s rod hooked on and its travel seen")
    vernier_clip: bool = flag("Vernier set midway and its end clip on")
    earth_lead: bool = flag("Earth lead free all through the travel")
    post_insulated: bool = flag("Insulating washers of the low-tension post in place")
    low_tension: bool = flag("Low-tension lead insulated and clear")
    condenser_on: bool = flag("Condenser tight to bright metal")
    contacts_square: bool = flag("Contacts clean, square and in line")
    heel_square: bool = flag("Heel square to the cam, its whole face on the lobes")
    cam_greased: bool = flag("A smear of grease on the cam")
    dwell_set: bool = flag("Gap or dwell set, before the timing")
    rig_run: bool = flag("Run on the rig, before the cap goes on")
    rotor_post_off: bool = flag("Rotor arm at its cap segment, vacuum off")
    rotor_post_on: bool = flag("Rotor arm at its cap segment, vacuum on")
    cap_seated: bool = flag("Cap on its key, brush free, leads right")
    ring_seal: bool = flag("Seal of the body new, clamp plate on")
    notes: str = text("Notes", long=True)

    @property
    def drive_taken(self) -> str:
        """What drives it; where that was not entered as most units are driven."""
        return str(taken(self, "drive"))
