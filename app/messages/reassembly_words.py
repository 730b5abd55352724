"""What is said of each step of the check list, for the unit in hand."""

from __future__ import annotations

from bobweight.app.words import translate
from bobweight.core.bench.reassembly import ReassemblyStep
from bobweight.core.docket.particulars import Particulars


def rotation_word(rotation: str) -> str:
    """The rotation in words, as seen looking down on the cap."""
    if rotation == "clockwise":
        return translate("reassembly", "clockwise")
    return translate("reassembly", "anticlockwise")


def lobes_text(lobes: int) -> str:
    """A number of lobes in words."""
    if lobes == 1:
        return translate("reassembly", "1 lobe")
    return translate("reassembly", "{lobes} lobes").format(lobes=lobes)


def turns_text(unit: Particulars) -> str:
    """Which unit the check list is for: the way it turns and its lobes, as far as entered."""
    if unit.rotation is not None and unit.lobes is not None:
        text = translate("pages", "For a unit that turns {rotation} with {lobes} (Particulars).")
    elif unit.rotation is not None:
        text = translate(
            "pages", "For a unit that turns {rotation}. Its lobes were not entered (Particulars)."
        )
    elif unit.lobes is not None:
        text = translate(
            "pages", "For a unit with {lobes}. Its rotation was not entered (Particulars)."
        )
    else:
        text = translate("pages", "Rotation and lobes were not entered (Particulars).")
    return text.format(
        rotation=rotation_word(unit.rotation or ""), lobes=lobes_text(unit.lobes_taken)
    )


def step_text(step: ReassemblyStep) -> str:
    """What to look for at a step; an empty text where the step says it all."""
    facts = step.facts
    rotation = rotation_word(str(facts["rotation"]))
    texts = {
        "cam_way_round": _cam_way_round(step),
        "dog_against_slot": _dog(step),
        "gear_against_slot": translate(
            "reassembly",
            "The gear’s pin can go in half a turn out. Turn the engine to the firing point of the "
            "first cylinder and see where the rotor points before the clamp is done up.",
        ),
        "thrust_order": translate(
            "reassembly",
            "Above and below, steel and fibre as they came off: only with all of them in can end "
            "float be felt.",
        ),
        "drive_pin": translate(
            "reassembly",
            "A pin that works loose lets the timing wander and can fall into the engine.",
        ),
        "oil_felt": translate(
            "reassembly", "Without its felt the cam runs dry on the shaft and the advance sticks."
        ),
        "post_insulated": translate(
            "reassembly",
            "A washer or bush left out, or on the wrong side of the wall, earths the post: no "
            "spark. See with the points open that nothing passes from post to body.",
        ),
        "heel_square": translate(
            "reassembly",
            "A heel that rides on its edge wears fast and closes the gap; moving contact and fixed "
            "one stand level.",
        ),
        "rig_run": translate(
            "reassembly",
            "Where there is one: with the cap off weights and springs can be watched, and nothing "
            "has to come apart again for an alteration.",
        ),
        "springs_in_place": _springs(int(str(facts["roles"]))),
        "advance_way": _advance_way(bool(facts["rotation_stated"])).format(rotation=rotation),
        "vernier_clip": translate(
            "reassembly", "Without its end clip the vernier can be wound off its thread."
        ),
        "earth_lead": _earth_lead(bool(facts["capsule"])),
        "cam_greased": translate(
            "reassembly",
            "A few drops of oil under the rotor, on weights and pivots. None on contacts, cap or "
            "rotor. A dry cam wears the heel and closes the gap.",
        ),
        "dwell_set": translate(
            "reassembly",
            "Opening the gap by 0.025 mm brings the spark {least} to {most}° earlier at the crank "
            "(common practice); Setting up tells it for this cam, under Points.",
        ).format(least=_short(facts["earlier_least_deg"]), most=_short(facts["earlier_most_deg"])),
        "rotor_post_off": translate(
            "reassembly", "At the moment the contacts part, the tip faces the segment of its lead."
        ),
        "rotor_post_on": translate(
            "reassembly",
            "And again with the capsule pulled all the way: see Setting up, Rotor phasing.",
        ),
        "cap_seated": _leads(bool(facts["rotation_stated"])).format(rotation=rotation),
    }
    return texts.get(step.key, "")


def _short(fact: object) -> str:
    return f"{float(str(fact)):g}"


def _springs(roles: int) -> str:
    if roles == 1:  # alike, as far as anybody entered
        return translate(
            "reassembly", "However alike they look, each goes back where it came from."
        )
    if not roles:
        return translate(
            "reassembly", "Do not mix up a light one and a heavy one, or left and right."
        )
    return translate(
        "reassembly", "Do not mix up the light one and the heavy one, or left and right."
    )


def _advance_way(stated: bool) -> str:
    if stated:
        return translate(
            "reassembly",
            "This unit turns {rotation}, seen looking down on the cap: swinging outward, the "
            "weights must carry the cam {rotation}.",
        )
    return translate(
        "reassembly",
        "Which way this unit turns was not entered. Swinging outward, the weights must carry the "
        "cam that way.",
    )


def _leads(stated: bool) -> str:
    if stated:
        return translate("reassembly", "Leads follow the firing order {rotation} round the cap.")
    return translate(
        "reassembly", "Leads follow the firing order round the cap, the way the rotor turns."
    )


def _cam_way_round(step: ReassemblyStep) -> str:
    if not step.facts["lobes_stated"]:
        return translate(
            "reassembly",
            "A cam with an even number of lobes goes on either way: only the rotor’s slot tells. "
            "Half a turn out, the rotor arm points at the opposite segment.",
        )
    if step.facts["odd"]:
        return translate(
            "reassembly",
            "Half a turn out, the sparks of this cam come half a sector ({half}°) off, and the "
            "rotor points the other way.",
        ).format(half=_short(float(str(step.facts["sector_deg"])) / 2))
    return translate(
        "reassembly",
        "It goes on either way and its {lobes} lobes look the same: only the rotor’s slot tells. "
        "Half a turn out, the rotor arm points at the opposite segment.",
    ).format(lobes=step.facts["lobes"])


def _earth_lead(capsule: bool) -> str:
    if not capsule:
        return translate("reassembly", "A broken lead stops the engine.")
    return translate(
        "reassembly", "A lead that is caught stops the capsule; a broken one stops the engine."
    )


def _dog(step: ReassemblyStep) -> str:
    drive, plan = step.facts["drive"], step.facts["plan"]
    if not step.facts["drive_stated"]:
        return translate(
            "reassembly",
            "How it is driven was not entered. An offset dog goes into the engine one way only, so "
            "its wide side decides where the rotor points; a centred one goes in either way: mark "
            "it.",
        )
    if drive == "offset-dog":
        text = translate(
            "reassembly",
            "The dog goes into the engine one way only, so its wide side decides where the rotor "
            "points.",
        )
    else:
        text = translate("reassembly", "A centred dog goes in either way: mark it.")
    if not plan:
        return text
    hold = translate(
        "reassembly", "Hold the part against the plan below before the springs go back."
    )
    return f"{text} {hold}"
