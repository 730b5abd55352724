"""The centre of gravity of a weight from its outline, or from two lines along which it was hung or
balanced, to fill in the Mechanism page."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from bobweight.app.editors.form import Form
from bobweight.app.editors.table import RecordTable
from bobweight.app.messages import sentence
from bobweight.app.messages.figures import amount_u, figure
from bobweight.app.pages.mechanism.measuring_dialog import MeasuringDialog
from bobweight.app.pages.mechanism.outline_canvas import OutlineCanvas
from bobweight.app.store import RecordStore, Store
from bobweight.app.store.display import Display
from bobweight.app.store.photographs import Photographs
from bobweight.app.widgets.card import allow, button, card, follow_stack, in_grid, in_row, stacked
from bobweight.app.widgets.choice import QuietComboBox
from bobweight.app.widgets.dialogs import Dialogs, open_at
from bobweight.app.widgets.picture_file import read_picture
from bobweight.app.widgets.plain import PlainLabel
from bobweight.app.widgets.words import note
from bobweight.app.words import PARAMETERS, translate, with_unit
from bobweight.core.design.outline import Balanced, FlatWeight
from bobweight.core.design.weight_sketch import (
    LINES,
    PARTS,
    PARTS_OF,
    SketchPoint,
    WeightSketch,
    centre_found,
    filled,
    marked,
    mass_check,
    scale_of,
    traced,
    with_moved,
    with_point,
)
from bobweight.core.problems import BobweightError, required
from bobweight.core.units import LENGTH, MASS

_NEXT = {"scale_1": "scale_2", "scale_2": "pivot", "pivot": "shaft"}
_LARGEST_PX = 4096


class CgDialog(MeasuringDialog):
    """Points marked or typed; the result as it stands at once; one edit fills the docket."""

    def __init__(self, store: Store, display: Display, parent: QWidget | None = None) -> None:
        super().__init__(store, display, parent)
        self.dialogs = Dialogs()
        self.sketch_store = RecordStore(WeightSketch(), self)
        self.undo_stack = self.sketch_store.undo_stack
        self.weight: FlatWeight | Balanced | None = None
        self._image: QImage | None = None
        self.setWindowTitle(translate("springs", "Centre of gravity of a weight"))
        open_at(self, 1300, 940)
        self.canvas = OutlineCanvas()
        self.canvas.marked_at.connect(self.mark)
        self.canvas.moved_to.connect(self._move)
        self.canvas.removed.connect(self._remove)
        left = QVBoxLayout()
        left.addLayout(self._head())
        left.addWidget(self.canvas, 1)
        left.addWidget(
            note(
                translate(
                    "springs",
                    "Click to mark, drag to move, right click to take away; the wheel changes the "
                    "size. The centre of gravity shows as a quartered disc.",
                )
            )
        )
        layout = QHBoxLayout(self)
        layout.addLayout(left, 3)
        layout.addWidget(self._side(), 2)
        self.sketch_store.changed.connect(self._docket_changed)
        # queued, since a change is told before the stack has moved
        self.sketch_store.changed.connect(self._follow_undo, Qt.ConnectionType.QueuedConnection)
        self.follow()
        self._follow_undo()

    def _head(self) -> QHBoxLayout:
        self.part_box = QuietComboBox()
        self.part_box.setAccessibleName(translate("springs", "What the next point marks"))
        beside = PlainLabel(translate("springs", "&Mark"))
        beside.setBuddy(self.part_box)
        self.picture_button = button(
            translate("springs", "Photograph…"),
            translate("springs", "A photograph taken straight from above, a rule beside the "
                      "weight, from as far off as you can."),
            self.ask_picture,
        )  # fmt: skip
        self.fit_button = button(
            translate("springs", "Show all"), translate("springs", "The whole picture."),
            self.canvas.fit,
        )  # fmt: skip
        row = QHBoxLayout()
        for widget in (beside, self.part_box, self.picture_button, self.fit_button):
            row.addWidget(widget)
        row.addStretch(1)
        return row

    def _side(self) -> QWidget:
        store, display = self.sketch_store, self._display
        self.undo_button = button(translate("springs", "Undo"), "", store.undo_stack.undo)
        self.redo_button = button(translate("springs", "Redo"), "", store.undo_stack.redo)
        self.table = RecordTable(
            store, ("points",), ("part", "x", "y"), display, unit_note=self._unit_note,
            blank=self._blank, name=translate("springs", "Points"),
        )  # fmt: skip
        self.fields = Form(
            WeightSketch, (), ("distance_mm", "point_u_mm", "thickness_mm", "material"), store,
            display,
        )  # fmt: skip
        self.way = Form(WeightSketch, (), ("by",), store, display)
        self.way_note = note(
            translate(
                "springs",
                "Hang it from a hole and draw the plumb line across it; or balance it on a "
                "straight edge and draw the edge. Do so twice, well across each other, and "
                "mark two points of each line.",
            )
        )
        self.check = note("")
        self.fill_button = button(
            translate("springs", "Fill in"),
            translate("springs", "Distance to the centre of gravity; the angle at rest too if the "
                      "shaft is marked. One edit of the docket."),
            self.fill,
        )  # fmt: skip
        self.close_button = button(translate("springs", "Close"), "", self.accept)
        for made in (self.undo_button, self.redo_button, self.fill_button, self.close_button):
            made.setAutoDefault(False)
        self.rest_note = note(
            translate("springs", "For the angle at rest the weight must lie fully in.")
        )
        undo = in_grid(2, self.undo_button, self.redo_button)
        area = self.column(
            card(translate("springs", "How"), self.way, self.way_note),
            card(translate("springs", "Result"), self.said, self.facts, self.check, self.rest_note),
            card(translate("springs", "Scale and points"), self.fields),
            card(translate("springs", "Points"), undo, self.table),
        )
        bar = area.verticalScrollBar().sizeHint().width()
        area.setMinimumWidth(required(area.widget()).minimumSizeHint().width() + bar + 4)
        side = QWidget()
        whole = stacked(side)
        whole.addWidget(area, 1)
        whole.addWidget(in_row(self.fill_button, self.close_button))
        return side

    # The sketch -----------------------------------------------------------------------------

    @property
    def sketch(self) -> WeightSketch:
        """The points and figures as they stand."""
        return self.sketch_store.docket

    @property
    def part(self) -> str:
        """What the next point marks."""
        return self.part_box.currentData()

    def choose_part(self, part: str) -> None:
        """Mark another part from now on."""
        self.part_box.setCurrentIndex(self.part_box.findData(part))

    def _follow_parts(self) -> None:
        """Only what the way chosen asks for can be marked."""
        parts = PARTS_OF[self.sketch.by]
        if parts == tuple(self.part_box.itemData(i) for i in range(self.part_box.count())):
            return
        was = self.part
        self.part_box.clear()
        for part in parts:
            self.part_box.addItem(translate(PARAMETERS, PARTS[part]), part)
        self.choose_part(was if was in parts else parts[0])

    def _after(self, part: str) -> str:
        """What is marked next once a part has a point."""
        if part == "shaft":
            return PARTS_OF[self.sketch.by][0]
        if part == LINES[0] and len(marked(self.sketch, part)) == 2:
            return LINES[1]
        return _NEXT.get(part, part)

    def mark(self, x: float, y: float) -> None:
        """Mark a point of the part chosen; after a single place the next one is chosen."""
        part = self.part
        name = translate("springs", "Mark {part}").format(part=self.part_box.currentText().lower())
        self.sketch_store.replace(name, with_point(self.sketch, part, x, y))
        self.choose_part(self._after(part))

    def _move(self, index: int, x: float, y: float, gesture: object) -> None:
        name = translate("springs", "Move point {number}").format(number=index + 1)
        self.sketch_store.replace(name, with_moved(self.sketch, index, x, y), gesture)

    def _remove(self, index: int) -> None:
        self.table.model.remove_rows([index])

    def _blank(self, rows: tuple) -> SketchPoint:
        """A typed row is of the same part as the row before."""
        return SketchPoint(part=rows[-1].part if rows else self.part)

    def _unit_note(self, key: str) -> str:
        if key == "part":
            return ""
        return translate("springs", "dots") if self.sketch.in_picture else "mm"

    def ask_picture(self) -> None:
        """Ask for a photograph and mark on it; points that were typed are dropped (undo brings
        them back)."""
        title = translate("springs", "Photograph of the weight")
        path = self.dialogs.open_picture(self, title, Path.home())
        if path is not None:
            self.take_picture(path)

    def take_picture(self, path: Path) -> None:
        """Mark on this photograph."""
        most = QSize(_LARGEST_PX, _LARGEST_PX)
        try:
            image = Photographs.of(self._store).waits(lambda: read_picture(path, most), path)
        except BobweightError as error:
            self.said.refuse(error)
            return
        if image is None:
            text = translate("springs", "{file} cannot be read as a picture. Choose another.")
            self.said.say(text.format(file=path.name), "wrong")
            return
        self._image = image
        name = translate("springs", "Mark on {file}").format(file=path.name)
        sketch = self.sketch.with_changes(in_picture=True, points=())
        self.sketch_store.replace(name, sketch)
        self.choose_part("scale_1")
        self.follow()
        self.canvas.fit()

    # Showing --------------------------------------------------------------------------------

    def follow(self) -> None:
        """Work the weight out and show it."""
        sketch = self.sketch
        self._follow_parts()
        scale = ("distance_mm",) if sketch.in_picture else ()
        plate = ("thickness_mm", "material") if sketch.by == "outline" else ()
        self.fields.show_only((*scale, "point_u_mm", *plate))
        self.way_note.setVisible(sketch.by == "lines")
        try:
            self.weight = centre_found(sketch)
        except BobweightError as error:
            self.weight = None
            role = "faint" if error.problem.code.endswith("-not-marked") else "wrong"
            self.said.say(sentence(error.problem, sketch, self._display), role)
        else:
            self.said.say("")
        image = self._image if sketch.in_picture else None
        if image is not self.canvas.image:
            self.canvas.show_image(image)
        self.canvas.show_sketch(sketch, self._centre())
        self.table.model.show_again()
        self._show_result()

    def _follow_undo(self, _change: object = None) -> None:
        follow_stack(self.sketch_store.undo_stack, self.undo_button, self.redo_button)

    def _centre(self) -> tuple[float, float] | None:
        """The centre of gravity in sketch units."""
        if self.weight is None:
            return None
        (x, y), scale = self.weight.centre_mm, scale_of(self.sketch)
        if scale is None:
            return x, y
        return x / scale.mm_per_unit, -y / scale.mm_per_unit

    def _show_result(self) -> None:
        weight, display = self.weight, self._display
        allow(
            self.fill_button,
            weight is not None,
            translate("springs", "First comes the centre of gravity: Result says what is wanting."),
        )
        self.rest_note.setVisible(weight is not None and weight.rest_angle_deg is not None)
        if weight is None:
            self.facts.show_facts(())
            self.check.hide()
            return
        facts = [
            (translate("springs", "Pivot to centre of gravity"),
             amount_u(weight.cg_from_pivot_mm, weight.u_cg_from_pivot_mm, LENGTH, display)),
        ]  # fmt: skip
        if weight.rest_angle_deg is not None:
            angle = figure(abs(weight.rest_angle_deg), weight.u_rest_angle_deg)
            facts.append((translate("springs", "Angle at rest"), f"{angle}°"))
            radius = amount_u(weight.pivot_radius_mm, None, LENGTH, display)
            facts.append((translate("springs", "Pivot radius"), radius))
        if isinstance(weight, Balanced):
            self.facts.show_facts(facts)
            self.check.hide()
            return
        area = with_unit(f"{weight.section.area_mm2:.0f}", "mm²")
        facts.append((translate("springs", "Area"), area))
        if self.sketch.thickness_mm is not None:
            mass = amount_u(weight.mass_g, weight.u_mass_g, MASS, display)
            facts.append((translate("springs", "Mass by the outline"), mass))
        self.facts.show_facts(facts)
        self._show_check(weight)

    def _show_check(self, weight: FlatWeight) -> None:
        from bobweight.app.theme import set_role

        found = mass_check(self.sketch, weight, self._store.docket)
        self.check.show()
        set_role(self.check, "faint")
        if found is None:
            self.check.setText(
                translate("springs", "With its thickness, and its mass from the scales on the "
                          "Mechanism page, the outline can be checked.")
            )  # fmt: skip
            return
        scales = amount_u(found.scales_g, None, MASS, self._display)
        percent = f"{100 * found.share:+.0f} %".replace("-", "−")
        if found.agrees:
            text = translate(
                "springs", "✓ The scales say {scales}: the outline agrees ({percent})."
            )
        else:
            set_role(self.check, "advice")
            text = translate(
                "springs",
                "△ The scales say {scales}; the outline is {percent} off. Look at thickness, "
                "material, scale, and for a hole or boss not marked.",
            )
        self.check.setText(text.format(scales=scales, percent=percent))

    def fill(self) -> None:
        """Fill the docket, as one edit."""
        if self.weight is None:
            return
        try:
            outline = () if isinstance(self.weight, Balanced) else traced(self.sketch, self.weight)
            docket = filled(self._store.docket, self.weight, outline)
        except BobweightError as error:
            self.said.refuse(error)
            return
        name = (
            translate("springs", "Centre of gravity from two lines")
            if isinstance(self.weight, Balanced)
            else translate("springs", "Centre of gravity from the outline")
        )
        self._store.replace(name, docket)
        self.said.say(translate("springs", "Filled in. Undo on the Edit menu takes it back."))
