"""The centre of gravity from an outline or two lines: closed forms, the hand on the canvas, one
edit."""

from __future__ import annotations

import math

import pytest
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QColor, QImage
from PySide6.QtWidgets import QWidget

from bobweight.app.pages.mechanism.cg_dialog import CgDialog
from bobweight.app.store import Store
from bobweight.app.store.display import Display
from bobweight.core.design.weight_sketch import (
    SketchPoint,
    WeightSketch,
    centre_found,
    filled,
    mass_check,
    traced,
    weigh,
    with_point,
)
from bobweight.core.docket.docket import new_docket
from bobweight.core.problems import BobweightError
from bobweight.core.record import put


def sketch(outline, pivot, **more) -> WeightSketch:
    made = WeightSketch(**{k: v for k, v in more.items() if k not in ("hole_1", "shaft", "ends")})
    for x, y in outline:
        made = with_point(made, "outline", x, y)
    for x, y in more.get("hole_1", ()):
        made = with_point(made, "hole_1", x, y)
    if "shaft" in more:
        made = with_point(made, "shaft", *more["shaft"])
    for part, end in zip(("scale_1", "scale_2"), more.get("ends", ()), strict=False):
        made = with_point(made, part, *end)
    return with_point(made, "pivot", *pivot)


def circle(x, y, r, count=360):
    return [
        (x + r * math.cos(2 * math.pi * k / count), y + r * math.sin(2 * math.pi * k / count))
        for k in range(count)
    ]


def test_half_disc_against_the_textbook():
    """Centroid of a half disc 4r/(3π) from its straight side (any book of statics; memory)."""
    r = 15.0
    half = [(r * math.cos(a), r * math.sin(a)) for a in (math.pi * k / 400 for k in range(401))]
    found = weigh(sketch(half, (0.0, 0.0)))
    assert found.cg_from_pivot_mm == pytest.approx(4 * r / (3 * math.pi), rel=1e-4)


@pytest.mark.parametrize(("a", "b"), [(15.0, 15.0), (18.0, 12.0), (10.0, 14.0)])
def test_few_points_of_half_an_ellipse_against_the_textbook(a, b):
    """Area πab/2 and centroid 4b/(3π) from the straight side of half an ellipse, half a disc where
    a = b (centroids of common shapes in any book of statics; from memory). Fourteen points: the
    polygon through them is 2 to 3.4 mm² too small, its centroid 0.025 to 0.03 mm out."""
    ring = [(a * math.cos(k), b * math.sin(k)) for k in (math.pi * j / 13 for j in range(14))]
    found = weigh(sketch(ring, (0.0, 0.0)))
    assert found.cg_from_pivot_mm == pytest.approx(4 * b / (3 * math.pi), abs=0.004)
    assert found.section.area_mm2 == pytest.approx(math.pi * a * b / 2, abs=0.32)


def test_the_canvas_draws_the_curve_not_the_chords(qtbot, dialog):
    """In the middle between two of eight points of a circle, just inside its edge: filled."""
    ring = circle(20.0, 20.0, 15.0, 8)
    made = sketch(ring, (20.0, 20.0))
    dialog.sketch_store.replace("Eight points", made)
    seen = dialog.canvas.grab().toImage()

    def colour(share: float) -> QColor:
        turn = math.pi / 8
        place = (20 + share * 15 * math.cos(turn), 20 + share * 15 * math.sin(turn))
        return seen.pixelColor(dialog.canvas.on_screen(*place).toPoint())

    assert colour(0.955) == colour(0.85) != colour(1.1)  # a chord lies at 0.924


def test_plate_with_a_hole_by_subtraction_and_on_the_scales():
    """30 × 20 × 4 mm of steel less an 8 mm hole: area and first moment by hand."""
    made = sketch([(0, 0), (30, 0), (30, 20), (0, 20)], (5, 10), hole_1=circle(6, 10, 4.0),
                  thickness_mm=4.0, point_u_mm=0.1)  # fmt: skip
    found = weigh(made)
    area = 600 - math.pi * 16
    assert found.section.area_mm2 == pytest.approx(area, rel=1e-4)
    assert found.cg_from_pivot_mm == pytest.approx(
        (600 * 15 - math.pi * 16 * 6) / area - 5, rel=1e-4
    )
    assert found.mass_g == pytest.approx(area * 4 * 7.85e-3, rel=1e-4)


def test_on_a_photograph_the_scale_counts_and_y_runs_down():
    plain = sketch([(0, 0), (30, 0), (30, 20), (0, 20)], (5, 10), shaft=(5, -15))
    in_dots = sketch(
        [(100 + 8 * x, 500 - 8 * y) for x, y in [(0, 0), (30, 0), (30, 20), (0, 20)]],
        (140, 420), shaft=(140, 620), ends=[(100, 550), (500, 550)], in_picture=True,
        distance_mm=50.0,
    )  # fmt: skip
    typed, seen = weigh(plain), weigh(in_dots)
    assert seen.cg_from_pivot_mm == pytest.approx(typed.cg_from_pivot_mm)
    assert seen.rest_angle_deg == pytest.approx(typed.rest_angle_deg)
    assert abs(seen.rest_angle_deg) == pytest.approx(90.0)
    assert seen.pivot_radius_mm == pytest.approx(25.0)
    assert seen.u_cg_from_pivot_mm > typed.u_cg_from_pivot_mm, "the scale has its uncertainty"


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"points": ()}, "outline-not-marked"),
        ({"in_picture": True}, "scale-not-marked"),
    ],
)
def test_what_is_lacking_is_told(change, code):
    made = sketch([(0, 0), (30, 0), (30, 20)], (5, 5)).with_changes(**change)
    with pytest.raises(BobweightError) as told:
        weigh(made)
    assert told.value.problem.code == code


def on_lines(turned_by_deg: float = 0.0, **more) -> WeightSketch:
    """A weight whose centre is 10 mm along from its pivot, the shaft 25 mm to the other side of the
    pivot at 100 degrees; hung from two holes, so that both lines go through the centre."""
    turn = complex(math.cos(math.radians(turned_by_deg)), math.sin(math.radians(turned_by_deg)))
    outward = complex(math.cos(math.radians(100.0)), math.sin(math.radians(100.0)))
    places = {
        "pivot": [5 + 10j], "shaft": [5 + 10j - 25 * outward],
        "line_1": [15 + 10j + 14 * turn, 15 + 10j - 9 * turn],
        "line_2": [15 + 10j + 12j * turn, 15 + 10j - 11j * turn],
    }  # fmt: skip
    made = WeightSketch(by="lines", **more)
    for part, points in places.items():
        for at in points:
            made = with_point(made, part, at.real, at.imag)
    return made


@pytest.mark.parametrize("turned_by_deg", [0.0, 37.0, 150.0])
def test_hung_twice_the_centre_is_where_the_lines_cross(turned_by_deg):
    found = centre_found(on_lines(turned_by_deg))
    assert found.centre_mm == pytest.approx((15.0, 10.0))
    assert found.cg_from_pivot_mm == pytest.approx(10.0)
    assert found.rest_angle_deg == pytest.approx(100.0)
    weights = filled(new_docket(), found).mechanism.weights
    assert weights.pivot_radius_mm == pytest.approx(25.0)
    assert 0.1 < weights.u["cg_mm"] < 0.6 and 0.5 < weights.u["rest_angle_deg"] < 4.0


@pytest.mark.parametrize(
    ("without", "code"),
    [("line_2", "lines-not-marked"), ("pivot", "pivot-not-marked"), ("", "lines-parallel")],
)
def test_what_is_lacking_of_two_lines_is_told(without, code):
    made = on_lines()
    if without:
        made = put(made, ("points",), tuple(p for p in made.points if p.part != without))
    else:  # the second line nearly along the first
        made = with_point(with_point(made, "line_2", 1.0, 10.0), "line_2", 30.0, 11.0)
    with pytest.raises(BobweightError, match=code):
        centre_found(made)


def test_a_single_place_is_moved_not_doubled():
    made = with_point(with_point(WeightSketch(), "pivot", 1, 2), "pivot", 3, 4)
    assert made.points == (SketchPoint(part="pivot", x=3, y=4),)


def test_filled_is_whole_and_keeps_what_it_does_not_know():
    docket = new_docket()
    made = sketch([(0, 0), (30, 0), (30, 20), (0, 20)], (5, 10))
    weights = filled(docket, weigh(made)).mechanism.weights
    assert weights.cg_mm == pytest.approx(10.0) and weights.u["cg_mm"] > 0
    assert weights.rest_angle_deg is None and weights.pivot_radius_mm is None
    made = with_point(made, "shaft", 5, -15)
    weights = filled(docket, weigh(made)).mechanism.weights
    assert weights.rest_angle_deg == pytest.approx(90.0)
    assert weights.pivot_radius_mm == pytest.approx(25.0)
    known = put(docket, ("mechanism", "weights", "pivot_radius_mm"), 24.6)
    assert filled(known, weigh(made)).mechanism.weights.pivot_radius_mm == 24.6


def test_the_outline_is_kept_in_the_weights_own_frame():
    """A rectangle about its pivot, x towards its centre, y on beyond the centre from outwards."""
    made = sketch([(0, 0), (30, 0), (30, 20), (0, 20)], (5, 10))
    made = with_point(made, "shaft", 5, -15)  # outwards is up, the centre lies clockwise of it
    weight = weigh(made)
    kept = filled(new_docket(), weight, traced(made, weight)).mechanism.weights.outline
    corners = [(-5.0, 10.0), (25.0, 10.0), (25.0, -10.0), (-5.0, -10.0)]
    assert [p.x_mm for p in kept] == pytest.approx([x for x, _ in corners])
    assert [p.y_mm for p in kept] == pytest.approx([y for _, y in corners])


def test_mass_check_tells_a_wrong_thickness():
    made = sketch([(0, 0), (30, 0), (30, 20), (0, 20)], (5, 10), thickness_mm=4.0)
    docket = put(new_docket(), ("mechanism", "weights", "mass_g"), 18.9)
    assert mass_check(made, weigh(made), docket).agrees
    thick = made.with_changes(thickness_mm=5.0)
    found = mass_check(thick, weigh(thick), docket)
    assert not found.agrees and found.share == pytest.approx(0.246, abs=0.01)
    assert mass_check(made, weigh(made), new_docket()) is None


# The dialog ---------------------------------------------------------------------------------


@pytest.fixture
def dialog(qtbot, demo):
    store, display = Store(demo), Display()
    made = CgDialog(store, display)
    made.docket_store = store
    qtbot.addWidget(made)
    made.show()
    qtbot.waitExposed(made)
    yield made
    store.release()


def click(qtbot, dialog, x, y, button=Qt.MouseButton.LeftButton):
    at = dialog.canvas.on_screen(x, y)
    qtbot.mouseClick(dialog.canvas, button, pos=at.toPoint())


def test_clicked_outline_fills_the_docket_in_one_edit(qtbot, dialog):
    for x, y in [(0, 0), (30, 0), (30, 20), (0, 20)]:
        click(qtbot, dialog, x, y)
    assert dialog.weight is None and "pivot is not marked" in dialog.said.text()
    dialog.choose_part("pivot")
    click(qtbot, dialog, 5, 10)
    assert dialog.part == "shaft", "the next place is offered"
    click(qtbot, dialog, 5, -15 + 5)
    one_pixel_mm = 1.0 / dialog.canvas._scale
    assert dialog.weight.cg_from_pivot_mm == pytest.approx(10.0, abs=2 * one_pixel_mm)
    store = dialog.docket_store
    dialog.fill_button.click()
    assert store.undo_stack.count() == 1
    assert store.docket.mechanism.weights.cg_mm == pytest.approx(10.0, abs=2 * one_pixel_mm)
    store.undo_stack.undo()
    assert store.docket.mechanism.weights.cg_mm == 10.0  # as the demo has it


def test_two_lines_are_marked_in_turn_and_fill_the_docket(qtbot, dialog):
    dialog.sketch_store.edit("Found by", ("by",), "lines")
    assert dialog.part == "line_1" and "not both marked" in dialog.said.text()
    for x, y in [(1, 10), (29, 10), (15, 1), (15, 29)]:
        click(qtbot, dialog, x, y)
    dialog.choose_part("pivot")
    click(qtbot, dialog, 5, 10)
    assert [point.part for point in dialog.sketch.points] == [
        "line_1", "line_1", "line_2", "line_2", "pivot"
    ]  # fmt: skip
    dialog.grab()
    dialog.fill_button.click()
    store = dialog.docket_store
    assert store.docket.mechanism.weights.cg_mm == pytest.approx(10.0, abs=0.4)
    assert store.undo_stack.undoText() == "Centre of gravity from two lines"


def test_drag_right_click_and_undo(qtbot, dialog):
    for x, y in [(0, 0), (30, 0), (30, 20), (0, 20)]:
        click(qtbot, dialog, x, y)
    before = dialog.sketch
    canvas = dialog.canvas
    start, end = canvas.on_screen(30, 20).toPoint(), canvas.on_screen(40, 25).toPoint()
    qtbot.mousePress(canvas, Qt.MouseButton.LeftButton, pos=start)
    for share in (0.3, 0.6, 1.0):
        step = QPointF(start) + share * (QPointF(end) - QPointF(start))
        qtbot.mouseMove(canvas, step.toPoint())
        canvas.moved_to.emit(2, *canvas.on_sketch(step), canvas._gesture)
    qtbot.mouseRelease(canvas, Qt.MouseButton.LeftButton, pos=end)
    assert dialog.sketch.points[2].x == pytest.approx(40, abs=0.3)
    dialog.sketch_store.undo_stack.undo()
    assert dialog.sketch == before, "a drag is one edit"
    click(qtbot, dialog, 30, 20, Qt.MouseButton.RightButton)
    assert len(dialog.sketch.points) == 3


def test_keys_mark_without_a_mouse(qtbot, dialog):
    canvas = dialog.canvas
    canvas.setFocus()
    qtbot.keyClick(canvas, Qt.Key.Key_Return)
    for _ in range(3):
        qtbot.keyClick(canvas, Qt.Key.Key_Right, Qt.KeyboardModifier.ShiftModifier)
    qtbot.keyClick(canvas, Qt.Key.Key_Space)
    assert len(dialog.sketch.points) == 2
    apart = dialog.sketch.points[1].x - dialog.sketch.points[0].x
    assert apart == pytest.approx(30 / canvas._scale, abs=0.05)
    qtbot.keyClick(canvas, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert len(dialog.sketch.points) == 1, "undo is the sketch's own here"
    qtbot.keyClick(canvas, Qt.Key.Key_Delete)
    assert dialog.isVisible()


def test_photograph_begins_with_the_scale_and_can_be_undone(qtbot, dialog, tmp_path):
    click(qtbot, dialog, 10, 10)
    image = QImage(400, 300, QImage.Format.Format_RGB32)
    image.fill(QColor("grey"))
    image.save(str(tmp_path / "weight.png"))
    dialog.take_picture(tmp_path / "weight.png")
    assert dialog.sketch.in_picture and dialog.sketch.points == () and dialog.part == "scale_1"
    assert dialog.fields.fields["distance_mm"].isVisibleTo(dialog)
    click(qtbot, dialog, 50, 250)
    click(qtbot, dialog, 350, 250)
    parts = [point.part for point in dialog.sketch.points]
    assert parts == ["scale_1", "scale_2"] and dialog.part == "pivot"
    (tmp_path / "none.png").write_text("no picture")
    dialog.take_picture(tmp_path / "none.png")
    assert "cannot be read as a picture" in dialog.said.text()
    for _ in range(3):
        dialog.sketch_store.undo_stack.undo()
    assert not dialog.sketch.in_picture and len(dialog.sketch.points) == 1
    assert dialog.canvas.image is None


def test_every_control_has_a_name(dialog):
    nameless = [
        widget
        for widget in dialog.findChildren(QWidget)
        if widget.focusPolicy().value & 1 and widget.isVisibleTo(dialog)
        and not widget.accessibleName() and not getattr(widget, "text", str)()
    ]  # fmt: skip
    assert not nameless
