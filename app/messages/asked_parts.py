"""What is to be clicked in a picture, and what was measured off it, in words."""

from __future__ import annotations

import math

from bobweight.app.messages import spring_name
from bobweight.app.messages.figures import amount_u, figure
from bobweight.app.store.display import Display
from bobweight.app.words import QT_TRANSLATE_NOOP, label, translate
from bobweight.core.docket.docket import Docket
from bobweight.core.mechanics.moved import Proof
from bobweight.core.photo.measure import Ask, MeasuredOff, Moved
from bobweight.core.problems import Path
from bobweight.core.record import parameter_at

_NAMES = {
    "shaft": QT_TRANSLATE_NOOP("photo", "Shaft"),
    "circle": QT_TRANSLATE_NOOP("photo", "Circle about the shaft"),
    "rim": QT_TRANSLATE_NOOP("photo", "Rim of the plate"),
    "pivot": QT_TRANSLATE_NOOP("photo", "Pivot, weight {number}"),
    "outline": QT_TRANSLATE_NOOP("photo", "Outline, weight {number}"),
    "pin": QT_TRANSLATE_NOOP("photo", "Pin, weight {number}"),
    "foot_pin": QT_TRANSLATE_NOOP("photo", "Link’s pin on the cam foot, weight {number}"),
    "post": QT_TRANSLATE_NOOP("photo", "{spring}, post"),
    "peg": QT_TRANSLATE_NOOP("photo", "{spring}, peg"),
    "stop": QT_TRANSLATE_NOOP("photo", "Stop"),
    "cam_mark": QT_TRANSLATE_NOOP("photo", "A point of the cam foot"),
    "weight_mark": QT_TRANSLATE_NOOP("photo", "A point of weight 1"),
    "mark": QT_TRANSLATE_NOOP("photo", "Mark {number} of the card"),
}
_HOW = {
    "shaft": QT_TRANSLATE_NOOP("photo", "the middle of the shaft."),
    "circle": QT_TRANSLATE_NOOP(
        "photo", "three or more places on any circle about the shaft, where its middle is hidden."
    ),
    "rim": QT_TRANSLATE_NOOP("photo", "three or more places round the rim of the base plate."),
    "pivot": QT_TRANSLATE_NOOP("photo", "the middle of the pin that the weight swings on."),
    "outline": QT_TRANSLATE_NOOP(
        "photo", "round the edge of the weight, ten places or more and every corner; its centre of "
        "gravity follows."
    ),
    "pin": QT_TRANSLATE_NOOP("photo", "the middle of the weight’s pin that moves the cam."),
    "foot_pin": QT_TRANSLATE_NOOP("photo", "the middle of the link’s pin on the cam foot."),
    "post": QT_TRANSLATE_NOOP("photo", "where the spring’s hook lies on its post."),
    "peg": QT_TRANSLATE_NOOP("photo", "where the spring’s other hook lies on its peg."),
    "stop": QT_TRANSLATE_NOOP("photo", "where the cam foot meets the stop."),
    "cam_mark": QT_TRANSLATE_NOOP(
        "photo", "any clear point of the cam foot; the same one in both pictures."
    ),
    "weight_mark": QT_TRANSLATE_NOOP(
        "photo", "any clear point of the first weight; the same one in both pictures."
    ),
    "mark": QT_TRANSLATE_NOOP(
        "photo", "the middle of this mark, counted clockwise from the card’s upper left corner."
    ),
}  # fmt: skip


def part_name(ask: Ask, docket: Docket) -> str:
    """What is clicked, as a name."""
    spring = ""
    if ask.part in ("post", "peg") and ask.number <= len(docket.mechanism.springs):
        spring = spring_name(docket, ask.number - 1)
    return translate("photo", _NAMES[ask.part]).format(number=ask.number, spring=spring)


def ask_text(ask: Ask, docket: Docket) -> str:
    """What to click next, as a sentence."""
    how = translate("photo", _HOW[ask.part])
    return translate("photo", "{name}: click {how}").format(name=part_name(ask, docket), how=how)


def measured_lines(off: MeasuredOff, docket: Docket, display: Display) -> list[tuple[str, str]]:
    """Each figure measured off a picture, with its name and uncertainty."""
    lines = []
    for path, value in off.values.items():
        quantity = parameter_at(docket, path).quantity
        lines.append((_figure_name(path, docket), amount_u(value, off.u[path], quantity, display)))
    return lines


def moved_lines(moved: Moved, held: Proof | None) -> list[tuple[str, str]]:
    """How far cam and weight moved between two pictures, and the cam by the linkage's figures."""
    way = (
        translate("photo", "clockwise") if moved.clockwise else translate("photo", "anticlockwise")
    )
    lines = [
        (translate("photo", "Cam moved"), f"{figure(moved.cam_deg, moved.u_cam_deg)}°"),
        (translate("photo", "Weight swung"), f"{figure(moved.swing_deg, moved.u_swing_deg)}°"),
        (translate("photo", "The unit turns"), way),
    ]
    if held is not None and math.isfinite(held.cam_deg):
        by_figures = f"{figure(held.cam_deg, held.u_cam_deg)}°"
        lines.insert(1, (translate("photo", "Cam, by the figures entered"), by_figures))
    return lines


def proof_said(held: Proof) -> tuple[str, str]:
    """Whether the linkage as entered moves as the pictures show, and the role of the sentence."""
    if held.agrees:
        said = translate("photo", "The linkage as entered moves as the pictures show: proved.")
        return f"✓ {said}", "good"
    if not math.isfinite(held.cam_deg):
        said = translate("photo", "The linkage as entered cannot reach so far. {see}")
    else:
        said = translate(
            "photo", "For this swing the linkage as entered would move the cam by {by_figures}°, "
            "which the pictures do not show. {see}",
        )  # fmt: skip
    see = translate(
        "photo", "See its kind, the pin’s distance and angle, and that the same points are "
        "clicked in both pictures.",
    )  # fmt: skip
    return said.format(by_figures=f"{held.cam_deg:.1f}", see=see), "wrong"


def _figure_name(path: Path, docket: Docket) -> str:
    name = label(parameter_at(docket, path))
    if len(path) > 2 and path[1] == "springs" and isinstance(path[2], int):
        return f"{spring_name(docket, path[2])}: {name}"
    return name
