"""From a stored picture to places in mm: whichever way its scale is known."""

from __future__ import annotations

from dataclasses import replace
from typing import Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray

from bobweight.core.docket.pictures import USUAL_LEVELS, MeasuredPicture
from bobweight.core.frozen import frozen
from bobweight.core.photo.camera import ImagePoints, Lens, view_of_distance, view_of_marks
from bobweight.core.photo.card import CHECK_LINE_MM, MARKS_MM
from bobweight.core.photo.scan import Scan
from bobweight.core.photo.snap import U_SNAP_PX
from bobweight.core.problems import BobweightError
from bobweight.core.record import standard_uncertainty

U_CLICK_PX = 0.5
"""Of a click under the magnifier, each way, where the picture is as sharp as its pixels."""
USUAL_HEIGHTS_MM = {
    "card": ((0.0, 3.0), (6.0, 4.0)),
    "distance": ((0.0, 0.5), (6.0, 2.0)),
    "scan": ((6.0, 3.0), (0.0, 0.5)),
}
"""Heights of plate and weights where nobody measured them, with standard uncertainties, by what
tells the scale: a card is laid level with the plate, a known distance is mostly one on it, and the
weights lie on the glass (common practice)."""
_UNIT_SHARE = 0.6  # of the way to the nearest mark: a plate of some 95 mm
U_MARK_PX = 0.06
"""Of a mark's centre as the program finds it."""


class Viewer(Protocol):
    """What turns pixels into mm."""

    def places(
        self, pixels: ArrayLike, level: ArrayLike, heights_mm: ArrayLike, u_heights_mm: ArrayLike,
        u_click_px: ArrayLike,
    ) -> ImagePoints:  # fmt: skip
        ...

    def pixels(self, xy_mm: ArrayLike, heights_mm: ArrayLike = 0.0) -> NDArray[np.float64]:
        """Where points at heights stand in the picture, shape (n, 2)."""
        ...


@frozen
class _Printed:
    """A view whose card was printed a little too large or small."""

    of: Viewer
    scale: float
    u_scale: float

    def places(
        self, pixels: ArrayLike, level: ArrayLike, heights_mm: ArrayLike, u_heights_mm: ArrayLike,
        u_click_px: ArrayLike,
    ) -> ImagePoints:  # fmt: skip
        heights = np.asarray(heights_mm, float) / self.scale
        found = self.of.places(
            pixels, level, heights, np.asarray(u_heights_mm, float) / self.scale, u_click_px
        )
        xy = found.xy_mm * self.scale
        shared = xy.reshape(-1, 1) * (self.u_scale / self.scale)
        return replace(
            found, xy_mm=xy, covariance_mm2=found.covariance_mm2 * self.scale**2 + shared @ shared.T
        )

    def pixels(self, xy_mm: ArrayLike, heights_mm: ArrayLike = 0.0) -> NDArray[np.float64]:
        return self.of.pixels(
            np.asarray(xy_mm, float) / self.scale, np.asarray(heights_mm, float) / self.scale
        )


def viewer_of(picture: MeasuredPicture) -> Viewer:
    """What turns the picture's pixels into mm.

    Raises
    ------
    BobweightError
        ``scale-not-given`` with the way it was to be known; ``too-few-marks``; those of
        :func:`core.photo.camera.view_of_marks` and :func:`~core.photo.camera.view_of_distance`,
        ``resolution-unusable``.
    """
    if picture.scale_by == "scan":
        if picture.dots_per_inch is None:
            raise BobweightError("scale-not-given", ("dots_per_inch",), way=picture.scale_by)
        return Scan(picture.width_px, picture.height_px, picture.dots_per_inch)
    lens = Lens(
        picture.width_px, picture.height_px, picture.focal_35_mm, picture.camera_mm,
        None if picture.camera_mm is None else standard_uncertainty(picture, "camera_mm"),
    )  # fmt: skip
    if picture.scale_by == "distance":
        if picture.known_mm is None or len(picture.known_points) != 2:
            raise BobweightError("scale-not-given", ("known_mm",), way=picture.scale_by)
        first, second = ((p.x_px, p.y_px) for p in picture.known_points)
        return view_of_distance(
            lens, first, second, picture.known_mm,
            u_distance_mm=standard_uncertainty(picture, "known_mm") or 0.0, u_click_px=U_CLICK_PX,
        )  # fmt: skip
    if len(picture.marks) < 4:
        raise BobweightError("too-few-marks", ("marks",), given=len(picture.marks), needed=4)
    index = [m.mark - 1 for m in picture.marks]
    pixels = np.array([(m.x_px, m.y_px) for m in picture.marks])
    by_hand = any(m.by_hand for m in picture.marks)
    view = view_of_marks(lens, MARKS_MM[index], pixels, U_CLICK_PX if by_hand else U_MARK_PX)
    scale = picture.check_line_mm / CHECK_LINE_MM
    u_line = standard_uncertainty(picture, "check_line_mm") or 0.0
    return _Printed(view, scale, u_line / CHECK_LINE_MM)


@frozen(eq=False)
class PicksPlaced:
    """Every pick's points in mm: ``places`` of all in one row, and which of them are whose."""

    places: ImagePoints
    rows: tuple[NDArray[np.int_], ...]


def placed(picture: MeasuredPicture) -> PicksPlaced:
    """Places of all that was clicked in a picture.

    Raises
    ------
    BobweightError
        Those of :func:`viewer_of`; ``level-not-there`` at a pick.
    """
    view = viewer_of(picture)
    levels = picture.levels or USUAL_LEVELS
    pixels: list[tuple[float, float]] = []
    level: list[int] = []
    u_click: list[float] = []
    rows = []
    for number, pick in enumerate(picture.picks):
        if pick.level > len(levels):
            raise BobweightError("level-not-there", ("picks", number, "level"), value=pick.level)
        rows.append(np.arange(len(pixels), len(pixels) + len(pick.points)))
        pixels += [(p.x_px, p.y_px) for p in pick.points]
        level += [pick.level - 1] * len(pick.points)
        u_click += [U_SNAP_PX if p.snapped else U_CLICK_PX for p in pick.points]
    heights, u_heights = heights_of(picture)
    found = view.places(
        np.array(pixels).reshape(-1, 2), np.array(level, int), heights, u_heights, u_click
    )
    return PicksPlaced(found, tuple(rows))


def heights_of(picture: MeasuredPicture) -> tuple[list[float], list[float]]:
    """Heights of the picture's levels with standard uncertainties, mm: usual ones where blank."""
    usual = USUAL_HEIGHTS_MM[picture.scale_by]
    heights, u_heights = [], []
    for number, level in enumerate(picture.levels or USUAL_LEVELS):
        if level.height_mm is None:
            height, u = usual[min(number, len(usual) - 1)]
        else:
            height, u = level.height_mm, standard_uncertainty(level, "height_mm") or 0.0
        heights.append(height)
        u_heights.append(u)
    return heights, u_heights


def inside_card(picture: MeasuredPicture) -> tuple[float, float, float] | None:
    """Where the unit lies within the card's marks: a middle in pixels and how far to look from it
    to each side; None where too few marks are known."""
    if picture.scale_by != "card" or len(picture.marks) < 4:
        return None
    marks = np.array([(m.x_px, m.y_px) for m in picture.marks])
    middle = 0.5 * (marks.min(axis=0) + marks.max(axis=0))
    near = float(np.hypot(*(marks - middle).T).min())
    return float(middle[0]), float(middle[1]), _UNIT_SHARE * near
