"""Measuring off the sample picture by the window: what a hand clicks lands in the docket."""

from __future__ import annotations

import cmath
import math

import numpy as np
import pytest
from PIL import Image
from PySide6.QtCore import QPoint, QPointF, Qt

from bobweight.app.pages.mechanism.picture_dialog import PictureDialog
from bobweight.app.store import Store
from bobweight.app.store.display import Display
from bobweight.app.store.photographs import Photographs
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.mechanism import Linkage, Mechanism, Spring, Weights
from bobweight.core.docket.particulars import Particulars
from bobweight.core.photo.card import MARKS_MM
from bobweight.core.photo.measure import Ask
from bobweight.core.photo.overlay import laid_over
from bobweight.core.record import get, put
from tests.mechanics.independent import Weight
from tests.photo.camera_model import phone
from tests.photo.sample_picture import PLATE_MM, WEIGHT_MM, kidney, lies_ahead
from tests.samples import sample

TRUE = sample("weak_primary").mechanism


def places(part: str, number: int) -> list[tuple[float, float]]:
    """Where the sample picture shows a part, by the tests' own vectors."""
    camera = phone(np.random.default_rng(12), 3200, 2400)
    weights, linkage = TRUE.weights, TRUE.linkage
    arm = cmath.rect(1, math.radians(weights.rest_angle_deg))
    pivot = weights.pivot_radius_mm + 0j
    height = WEIGHT_MM
    if part in ("pivot", "pin", "outline"):
        turn = cmath.rect(1, math.pi * (number - 1))
        pin = pivot + linkage.pin_radius_mm * arm * cmath.rect(
            1, math.radians(linkage.pin_angle_deg)
        )
        edge = [pivot + (weights.cg_mm + p) * arm for p in kidney(10)]
        own = {"pivot": [pivot], "pin": [pin], "outline": edge}[part]
        at = [(z if lies_ahead(TRUE) else z.conjugate()) * turn for z in own]
    else:
        height = PLATE_MM
        spring = TRUE.springs[number - 1]
        at = [0j] if part == "shaft" else [
            cmath.rect(get(spring, (f"{part}_radius_mm",)),
                       math.radians(get(spring, (f"{part}_angle_deg",))))
        ]  # fmt: skip
    xyz = np.array([(z.real, -z.imag, height) for z in at])  # the unit turns clockwise
    return [tuple(map(float, p)) for p in camera.sees(xyz)]


@pytest.fixture
def store(qtbot) -> Store:
    """A docket of which nothing is measured but what kind of mechanism it is."""
    return Store(
        Docket(
            particulars=Particulars(rotation="clockwise"),
            mechanism=Mechanism(
                weights=Weights(count=2), linkage=Linkage(kind="slot"),
                springs=(Spring(role="primary"), Spring(role="secondary")),
            ),
        )
    )  # fmt: skip


@pytest.fixture
def dialog(store, qtbot) -> PictureDialog:
    made = PictureDialog(store, Display())
    qtbot.addWidget(made)
    made.show()
    return made


def click_all(dialog: PictureDialog) -> int:
    """Click whatever is asked until nothing more is; how many clicks it took."""
    clicks = 0
    while (ask := dialog.wanted) is not None and clicks < 60:
        points = places(ask.part, ask.number)
        have = sum(
            len(p.points) for p in dialog.picture.picks
            if (p.part, p.number) == (ask.part, ask.number)
        )  # fmt: skip
        dialog.click(*points[have % len(points)])
        clicks += 1
    return clicks


def test_a_mechanism_is_measured_off_the_sample_in_under_forty_clicks(dialog, store):
    dialog.take_sample()
    assert len(dialog.picture.marks) == 8
    assert dialog.measured.isHidden(), "no heading over nothing"
    for level, height in enumerate((PLATE_MM, WEIGHT_MM)):
        path = ("pictures", 0, "levels", level, "height_mm")
        store.replace("height", put(store.docket, path, height))
    clicks = click_all(dialog)
    assert clicks + 3 < 40 and not dialog.measured.isHidden()
    dialog.fill()
    found = store.docket.mechanism
    for path, tolerance in (
        (("weights", "pivot_radius_mm"), 0.15), (("weights", "rest_angle_deg"), 2.5),
        (("weights", "cg_mm"), 0.4), (("linkage", "pin_radius_mm"), 0.15),
        (("springs", 0, "post_radius_mm"), 0.15), (("springs", 1, "peg_radius_mm"), 0.15),
        (("springs", 0, "post_angle_deg"), 0.7), (("springs", 1, "post_angle_deg"), 0.7),
    ):  # fmt: skip
        assert get(found, path) == pytest.approx(get(TRUE, path), abs=tolerance), path
    assert found.springs[0].u["post_radius_mm"] > 0
    assert len(found.weights.outline) >= 10
    for figures, key in (
        (found.weights, "rest_angle_deg"), (found.linkage, "pin_angle_deg"),
        (found.springs[0], "peg_angle_deg"),
    ):  # fmt: skip
        places_written = len(str(get(figures, (key,))).partition(".")[2])
        assert 10.0**-places_written >= 0.01 * figures.u[key] > 0  # no finer than it is known
    drawn = [line for line in dialog.canvas.drawing if line.part == "weight"]
    assert len(drawn) == 2  # the figures laid over the picture, each weight as smooth as its edge
    for line in drawn:
        ways = np.diff(np.vstack([line.pixels, line.pixels[:2]]), axis=0)
        turns = np.angle(np.exp(1j * np.diff(np.arctan2(ways[:, 1], ways[:, 0]))))
        assert np.degrees(np.abs(turns)).max() < 20.0
    assert_swung_over_the_picture(dialog, store)
    store.undo_stack.undo()
    assert store.docket.mechanism.weights.pivot_radius_mm is None


def assert_swung_over_the_picture(dialog, store) -> None:
    """With the cam moved on, the first weight's centre is drawn where the camera would see it."""
    cam_deg = 11.0
    swing = Weight(TRUE, 0, 1.0).swing_at(math.radians(cam_deg))
    turn = cmath.rect(1, math.radians(TRUE.weights.rest_angle_deg) - swing)
    centre = TRUE.weights.pivot_radius_mm + TRUE.weights.cg_mm * turn
    if not lies_ahead(TRUE):
        centre = centre.conjugate()
    camera = phone(np.random.default_rng(12), 3200, 2400)
    seen = camera.sees(np.array([(centre.real, -centre.imag, WEIGHT_MM)]))[0]
    laid = laid_over(store.docket, dialog.picture, cam_deg)
    crosses = [line.pixels.mean(axis=0) for line in laid if line.part == "cross"]
    assert np.hypot(*(crosses[1] - seen)) < 15.0  # half a millimetre: a centre of ten clicks


def test_the_picture_stays_with_the_docket_and_opens_again(dialog, store, qtbot):
    dialog.take_sample()
    dialog.click(*places("shaft", 1)[0])
    name = store.docket.pictures[0].photograph
    assert Photographs.of(store).path_of_name(name) is not None
    again = PictureDialog(store, Display())
    qtbot.addWidget(again)
    assert again.canvas.image is not None
    assert len(again.picture.picks) == 1
    again.done(0)
    store.undo_stack.undo()
    assert not dialog.picture.picks
    store.undo_stack.undo()
    assert dialog.picture is None


def test_a_click_of_the_mouse_lands_where_it_points(dialog, store, qtbot):
    dialog.take_sample()
    x, y = places("shaft", 1)[0]
    dialog.canvas.look_at(x, y, 4.0)
    at = dialog.canvas.on_screen(x, y)
    qtbot.mouseClick(dialog.canvas, Qt.MouseButton.LeftButton, pos=at.toPoint())
    point = dialog.picture.picks[0].points[0]
    assert (point.x_px, point.y_px) == pytest.approx((x, y), abs=1.0)
    qtbot.mouseClick(
        dialog.canvas, Qt.MouseButton.RightButton,
        pos=dialog.canvas.on_screen(point.x_px, point.y_px).toPoint(),
    )  # fmt: skip
    assert not dialog.picture.picks
    dialog.canvas._cross = QPointF(x, y)
    qtbot.keyClick(dialog.canvas, Qt.Key.Key_Right)
    qtbot.keyClick(dialog.canvas, Qt.Key.Key_Return)
    assert len(dialog.picture.picks) == 1


def test_a_card_that_was_not_found_is_clicked_mark_by_mark(dialog, store):
    dialog.take_sample()
    store.replace("No marks", put(store.docket, ("pictures", 0, "marks"), ()))
    camera = phone(np.random.default_rng(12), 3200, 2400)
    at = camera.sees(np.column_stack([MARKS_MM, np.zeros(8)]))
    for number in (1, 2, 3, 4):
        assert (dialog.wanted.part, dialog.wanted.number) == ("mark", number)
        dialog.click(*at[number - 1])
    assert dialog.wanted.part == "shaft"
    assert [mark.by_hand for mark in dialog.picture.marks] == [True] * 4


def test_what_is_chosen_in_the_list_takes_all_its_clicks(dialog, store):
    dialog.take_sample()
    dialog._want = Ask("rim", 1, least=3, optional=True)
    for turn in range(3):
        dialog.click(*places("post", 1 + turn % 2)[0])
    assert [(p.part, len(p.points)) for p in dialog.picture.picks] == [("rim", 3)]
    assert dialog.wanted.part == "shaft"


def test_a_part_beside_a_clicked_place_can_be_clicked(dialog, store, qtbot):
    dialog.take_sample()
    x, y = places("shaft", 1)[0]
    for number in (1, 2):
        at = dialog.canvas.on_screen(x, y).toPoint() + QPoint(4 * number, 0)
        qtbot.mouseClick(dialog.canvas, Qt.MouseButton.LeftButton, pos=at)
        qtbot.mouseDClick(dialog.canvas, Qt.MouseButton.LeftButton, pos=at)
    assert [(p.part, len(p.points)) for p in dialog.picture.picks] == [("shaft", 1), ("pivot", 1)]


def test_a_second_picture_has_the_heights_of_the_first(dialog, store):
    dialog.take_sample()
    assert [level.height_mm for level in dialog.picture.levels] == [None, None]
    store.replace("height", put(store.docket, ("pictures", 0, "levels", 0, "height_mm"), 4.0))
    dialog.take_sample()
    assert dialog.picture.shows == "out"
    assert [level.height_mm for level in dialog.picture.levels] == [4.0, None]


def test_two_points_a_known_distance_apart_give_the_scale(dialog, store):
    dialog.take_sample()
    dialog._click_ends()
    post, peg = places("post", 1)[0], places("post", 2)[0]
    dialog.click(*post)
    dialog.click(*peg)
    store.replace("apart", put(store.docket, ("pictures", 0, "known_mm"), 48.0))
    higher = ("pictures", 0, "levels", 1, "height_mm")
    store.replace("height", put(store.docket, higher, WEIGHT_MM - PLATE_MM))
    click_all(dialog)
    assert dialog.off is not None
    path = ("mechanism", "weights", "pivot_radius_mm")
    assert dialog.off.values[path] == pytest.approx(17.0, abs=3 * dialog.off.u[path])


@pytest.mark.parametrize("kind", ["text", "small", "no card", "moving"])
def test_a_bad_picture_is_named_and_changes_nothing(dialog, store, tmp_path, kind):
    path = tmp_path / "picture.png"
    if kind == "text":
        path.write_text("no picture")
    else:
        side = 20 if kind == "small" else 400
        grey = np.random.default_rng(1).integers(0, 255, (side, side), np.uint8)
        image = Image.fromarray(grey)
        moving = {"save_all": True, "append_images": [image.rotate(90)]} if kind == "moving" else {}
        image.save(path, **moving)
    before = store.docket
    dialog.take_picture(path)
    if kind == "no card":
        assert len(store.docket.pictures) == 1  # it may still be scaled in another way
        assert dialog.picture.marks == ()
        assert "card was not found" in dialog.said.text()
    else:
        assert store.docket == before
        assert "picture" in dialog.said.text()
