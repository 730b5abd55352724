"""Changes to a measured picture, each giving another record."""

from __future__ import annotations

from bobweight.core.docket.docket import Docket
from bobweight.core.docket.mechanism import Mechanism
from bobweight.core.docket.pictures import (
    USUAL_LEVELS,
    MarkSeen,
    MeasuredPicture,
    Pick,
    PicturePoint,
)
from bobweight.core.mechanics.moved import with_moved as with_moved_linkage
from bobweight.core.photo.find_card import CardFound
from bobweight.core.photo.measure import Ask, MeasuredOff, Moved, asked
from bobweight.core.photo.picture_file import PictureFile
from bobweight.core.problems import BobweightError
from bobweight.core.record import as_fine, parameter_at, put, put_measured

_HIGH = ("pivot", "outline", "pin", "weight_mark")
_SEVERAL = ("circle", "rim", "outline")


def new_picture(
    name: str, file: PictureFile, others: tuple[MeasuredPicture, ...] = ()
) -> MeasuredPicture:
    """The record of a picture just loaded, with what its file tells.

    After one at rest it shows the weights out. The heights, and the card's printed line, are those
    of the ``others`` until they are told anew.
    """
    made = MeasuredPicture(
        photograph=name, scale_by="scan" if file.is_scan else "card",
        width_px=file.width_px, height_px=file.height_px,
        dots_per_inch=file.dots_per_inch if file.is_scan else None,
        focal_35_mm=file.focal_35_mm, levels=USUAL_LEVELS,
    )  # fmt: skip
    if any(other.shows == "rest" for other in others):
        made = put(made, ("shows",), "out")
    like = next((other for other in others if other.scale_by == made.scale_by), None)
    if like is None:
        return made
    u = {key: value for key, value in like.u.items() if key == "check_line_mm"}
    return made.with_changes(levels=like.levels, check_line_mm=like.check_line_mm, u=u)


def with_card(picture: MeasuredPicture, found: CardFound) -> MeasuredPicture:
    """The picture with the card's marks as the program found them."""
    marks = tuple(
        MarkSeen(mark=int(k) + 1, x_px=float(x), y_px=float(y))
        for k, (x, y) in zip(found.index, found.pixels, strict=True)
    )
    return put(picture, ("marks",), marks)


def with_mark(picture: MeasuredPicture, mark: int, x_px: float, y_px: float) -> MeasuredPicture:
    """The picture with one mark of the card clicked by hand."""
    others = tuple(m for m in picture.marks if m.mark != mark)
    clicked = MarkSeen(mark=mark, x_px=x_px, y_px=y_px, by_hand=True)
    return put(picture, ("marks",), (*others, clicked))


def usual_level(part: str, number: int, mechanism: Mechanism) -> int:
    """At which of the usual levels a part lies: 1 the plate, 2 the tops of the weights."""
    if part in ("post", "peg") and number <= len(mechanism.springs):
        spring = mechanism.springs[number - 1]
        body = spring.post_on if part == "post" else spring.peg_on
        return 2 if body in ("weight", "other") else 1
    return 2 if part in _HIGH else 1


def with_point(
    picture: MeasuredPicture, ask: Ask, point: PicturePoint, mechanism: Mechanism
) -> MeasuredPicture:
    """The picture with one more point of what is asked; where one point is all, it replaces."""
    picks = list(picture.picks)
    for index, pick in enumerate(picks):
        if (pick.part, pick.number) == (ask.part, ask.number):
            points = (*pick.points, point) if ask.part in _SEVERAL else (point,)
            picks[index] = put(pick, ("points",), points)
            return put(picture, ("picks",), tuple(picks))
    level = min(usual_level(ask.part, ask.number, mechanism), max(len(picture.levels), 1))
    picks.append(Pick(part=ask.part, number=ask.number, level=level, points=(point,)))
    return put(picture, ("picks",), tuple(picks))


def with_moved(
    picture: MeasuredPicture, pick: int, point: int, to: PicturePoint
) -> MeasuredPicture:
    """The picture with one clicked point somewhere else."""
    return put(picture, ("picks", pick, "points", point), to)


def without_point(picture: MeasuredPicture, pick: int, point: int) -> MeasuredPicture:
    """The picture without one clicked point; a pick without points goes too."""
    points = picture.picks[pick].points
    left = (*points[:point], *points[point + 1 :])
    if left:
        return put(picture, ("picks", pick, "points"), left)
    return put(picture, ("picks",), (*picture.picks[:pick], *picture.picks[pick + 1 :]))


def next_ask(picture: MeasuredPicture, mechanism: Mechanism) -> Ask | None:
    """What is to be clicked next; None where all that is needed is there."""
    have = {(p.part, p.number): len(p.points) for p in picture.picks}
    if have.get(("circle", 1), 0) >= 3:  # it tells the shaft
        have.setdefault(("shaft", 1), 1)
    for ask in asked(mechanism, picture.shows):
        if not ask.optional and have.get((ask.part, ask.number), 0) < ask.least:
            return ask
    return None


def filled(docket: Docket, off: MeasuredOff) -> tuple[Docket, list[BobweightError]]:
    """The docket with all figures measured off a picture and their uncertainties.

    A figure beyond its limits is left as it was, and its error given back.
    """
    refused = []
    for path, value in off.values.items():
        try:
            if parameter_at(docket, path).uncertain:
                docket = put_measured(docket, path, value, off.u[path])
            else:
                docket = put(docket, path, as_fine(value, off.u[path])[0])
        except BobweightError as error:
            refused.append(error)
    for index in {path[2] for path in off.values if path[1] == "springs"}:
        spring = ("mechanism", "springs", index)
        if (*spring, "peg_angle_deg") in off.values:  # what was measured is radius and angle
            docket = put(docket, (*spring, "given_by"), "polar")
    if off.outline:
        docket = put(docket, ("mechanism", "weights", "outline"), off.outline)
    if off.lies:
        docket = put(docket, ("mechanism", "linkage", "lies"), off.lies)
    return docket, refused


def with_swing(docket: Docket, moved: Moved) -> Docket:
    """The docket with the swing off two pictures: which way the unit turns, the stop if it is
    blank, and the linkage as :func:`core.mechanics.moved.with_moved`.
    """
    rotation = "clockwise" if moved.clockwise else "anticlockwise"
    docket = put(docket, ("particulars", "rotation"), rotation)
    if docket.mechanism.stop_deg is None:
        docket = put_measured(docket, ("mechanism", "stop_deg"), moved.cam_deg, moved.u_cam_deg)
    return with_moved_linkage(
        docket, moved.cam_deg, moved.u_cam_deg, moved.swing_deg, moved.u_swing_deg
    )
