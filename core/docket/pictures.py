"""Pictures that the mechanism was measured off, and what was clicked in them."""

from __future__ import annotations

from bobweight.core.record import Record, choice, flag, many, number, stored, text, whole
from bobweight.core.units import FOCAL_LENGTH, LENGTH, NUMBER

SCALES = {
    "card": "The printed card",
    "distance": "Two points a known distance apart",
    "scan": "The resolution of a scan",
}
SHOWS = {"rest": "Weights in", "out": "Weights moved out"}
PARTS = {
    "shaft": "Shaft",
    "circle": "Circle about the shaft",
    "rim": "Rim of the plate",
    "pivot": "Pivot of the weight",
    "outline": "Outline of the weight",
    "pin": "Pin of the weight",
    "foot_pin": "Pin of the cam foot",
    "post": "Post of the spring",
    "peg": "Peg of the spring",
    "stop": "Stop",
    "cam_mark": "Any point of the cam foot",
    "weight_mark": "Any point of the weight",
}
"""What may be clicked."""


@stored
class PicturePoint(Record):
    """A point of a picture."""

    x_px: float = number("Across", NUMBER, 0.0, hard=(-1e5, 1e5), help="Pixels from the left.")
    y_px: float = number("Down", NUMBER, 0.0, hard=(-1e5, 1e5), help="Pixels from the top.")
    snapped: bool = flag("Middle of a round part", help="Found by the program under the click.")


@stored
class MarkSeen(Record):
    """A mark of the printed card in a picture."""

    mark: int = whole("Mark", 1, (1, 8), help="Clockwise from the card’s upper left corner.")
    x_px: float = number("Across", NUMBER, 0.0, hard=(-1e5, 1e5), help="Pixels from the left.")
    y_px: float = number("Down", NUMBER, 0.0, hard=(-1e5, 1e5), help="Pixels from the top.")
    by_hand: bool = flag("Clicked by hand")


@stored
class Level(Record):
    """A height at which parts lie."""

    label: str = text("Level")
    height_mm: float | None = number(
        "Height", LENGTH, hard=(-100.0, 200.0), uncertain=True, trade_u=0.5,
        help="Above the card (or the glass of a scanner); below it is negative. A blank one is "
             "guessed, and all lengths are the less sure.",
    )  # fmt: skip


@stored
class Pick(Record):
    """One thing clicked: one point, or several round a circle or along an outline."""

    part: str = choice("Part", PARTS, "shaft")
    number: int = whole("Number", 1, (1, 100), help="Which weight or spring, the first being 1.")
    level: int = whole("Level", 1, (1, 20), help="Which of the picture’s levels it lies at.")
    points: tuple[PicturePoint, ...] = many("Points", PicturePoint)


USUAL_LEVELS = (Level(label="Plate"), Level(label="Weights"))


@stored
class MeasuredPicture(Record):
    """A photograph or scan of the open unit from above."""

    photograph: str = text("Picture", help="The file kept with the docket.")
    shows: str = choice("Shows", SHOWS, "rest")
    scale_by: str = choice("Scale from", SCALES, "card")
    width_px: int = whole("Width", 1, (1, 100_000))
    height_px: int = whole("Height", 1, (1, 100_000))
    dots_per_inch: float | None = number(
        "Dots per inch", NUMBER, hard=(30.0, 10_000.0), usual=(150.0, 1200.0),
        help="Of a scan; most scanners write it into the file.",
    )  # fmt: skip
    check_line_mm: float = number(
        "Printed check line", LENGTH, 150.0, hard=(120.0, 180.0), usual=(148.5, 151.5),
        uncertain=True, trade_u=0.15,
        help="The card’s 150 mm line as it came out of the printer.",
    )  # fmt: skip
    focal_35_mm: float | None = number(
        "Focal length", FOCAL_LENGTH, hard=(5.0, 1000.0), usual=(20.0, 80.0),
        help="As for a 35 mm camera; most cameras write it into the file.",
    )  # fmt: skip
    camera_mm: float | None = number(
        "Camera to card", LENGTH, hard=(30.0, 10_000.0), usual=(200.0, 1500.0), uncertain=True,
        trade_u=20.0, help="Blank where it was not measured.",
    )  # fmt: skip
    known_mm: float | None = number(
        "Known distance", LENGTH, hard=(1.0, 500.0), uncertain=True, trade_u=0.1,
        help="Between the two points clicked for the scale.",
    )  # fmt: skip
    known_points: tuple[PicturePoint, ...] = many("Ends of the known distance", PicturePoint)
    marks: tuple[MarkSeen, ...] = many("Marks of the card", MarkSeen)
    levels: tuple[Level, ...] = many("Levels", Level)
    picks: tuple[Pick, ...] = many("Points clicked", Pick)
