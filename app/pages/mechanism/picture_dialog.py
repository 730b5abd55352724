"""Measure the mechanism off a photograph or scan: click what is asked, and its figures follow."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import Qt
from PySide6.QtGui import QDragEnterEvent, QDropEvent, QImage
from PySide6.QtWidgets import (
    QHBoxLayout,
    QListWidget,
    QListWidgetItem,
    QSlider,
    QVBoxLayout,
    QWidget,
)

from bobweight.app.editors.form import Form
from bobweight.app.editors.table import RecordTable
from bobweight.app.guard import guarded
from bobweight.app.messages import sentence
from bobweight.app.messages.asked_parts import (
    ask_text,
    measured_lines,
    moved_lines,
    part_name,
    proof_said,
)
from bobweight.app.pages.mechanism.measuring_dialog import MeasuringDialog
from bobweight.app.pages.mechanism.part_sketch import PartSketch
from bobweight.app.pages.mechanism.picture_canvas import PictureCanvas
from bobweight.app.store import Store
from bobweight.app.store.display import Display
from bobweight.app.store.photographs import Photographs
from bobweight.app.store.places import sample_curve
from bobweight.app.theme import set_role
from bobweight.app.widgets.card import allow, button, card, in_grid, in_row, stacked
from bobweight.app.widgets.dialogs import Dialogs, open_at
from bobweight.app.widgets.plain import PlainLabel, set_tip
from bobweight.app.widgets.words import note
from bobweight.app.words import translate
from bobweight.core.docket.pictures import MeasuredPicture, PicturePoint
from bobweight.core.photo import edits
from bobweight.core.photo.find_card import find_card
from bobweight.core.photo.measure import (
    Ask,
    MeasuredOff,
    Moved,
    against_linkage,
    asked,
    measure,
    moved_between,
)
from bobweight.core.photo.overlay import LaidLine, laid_over
from bobweight.core.photo.picture_file import PictureFile, read_picture
from bobweight.core.photo.snap import snap
from bobweight.core.photo.view import inside_card
from bobweight.core.problems import BobweightError, required
from bobweight.core.record import put

_ROUND = ("shaft", "pivot", "pin", "foot_pin", "post", "peg")
_LEAST_MARKS = 4
_MARK, _DISTANCE = "mark", "distance"
_SCALE_FIELDS = {
    "card": ("check_line_mm", "focal_35_mm", "camera_mm"),
    "distance": ("known_mm", "focal_35_mm", "camera_mm"),
    "scan": ("dots_per_inch",),
}


def _marks_to_click(picture: MeasuredPicture) -> list[Ask]:
    """The card's marks that are not known yet; some are needed while there are fewer than four."""
    if picture.scale_by != "card":
        return []
    seen = {m.mark for m in picture.marks}
    few = len(seen) < _LEAST_MARKS
    return [Ask(_MARK, k, optional=not few) for k in range(1, 9) if k not in seen]


class PictureDialog(MeasuringDialog):
    """One picture at a time, kept in the docket; all that is clicked is undone with its edits."""

    def __init__(self, store: Store, display: Display, parent: QWidget | None = None) -> None:
        super().__init__(store, display, parent)
        self.dialogs = Dialogs()
        self._file: PictureFile | None = None
        self._grey: NDArray[np.uint8] | None = None
        self._shown_name = ""
        self._index = 0
        self.off: MeasuredOff | None = None
        self.setWindowTitle(translate("photo", "Measure off a picture"))
        self.setAcceptDrops(True)
        open_at(self, 1400, 980)
        self.canvas = PictureCanvas()
        self.canvas.clicked.connect(self.click)
        self.canvas.moved.connect(self._move)
        self.canvas.removed.connect(self._remove)
        layout = QHBoxLayout(self)
        layout.addLayout(self._left(), 3)
        layout.addWidget(self._side(), 2)
        self._load_kept()
        self.follow()

    # What it is made of ---------------------------------------------------------------------

    def _left(self) -> QVBoxLayout:
        self.load_button = button(
            translate("photo", "Load a picture…"),
            translate("photo", "A photograph from straight above with the measuring card laid "
                      "round the unit, or a scan of it face down."),
            self.ask_picture,
        )  # fmt: skip
        self.sample_button = button(
            translate("photo", "Try a sample"),
            translate("photo", "A drawn picture of the demonstration unit, with its card."),
            self.take_sample,
        )
        self.other_button = button(
            translate("photo", "The other picture"),
            translate("photo", "To and fro between the pictures of this docket."), self.show_other,
        )  # fmt: skip
        self.whole_button = button(
            translate("photo", "Show all"), translate("photo", "The whole picture."),
            self.canvas.fit,
        )  # fmt: skip
        self.slider = QSlider(Qt.Orientation.Horizontal)
        self.slider.setRange(0, 100)
        self.slider.setValue(50)
        self.slider.setAccessibleName(translate("photo", "From the picture to the drawing"))
        set_tip(self.slider,
            translate("photo", "Left the picture, right the drawing: where the figures are wrong, "
                      "the two part.")
        )  # fmt: skip
        self.slider.valueChanged.connect(self._slide)
        for made in (self.load_button, self.sample_button, self.other_button, self.whole_button):
            made.setAutoDefault(False)
        column = QVBoxLayout()
        column.addWidget(
            in_row(self.load_button, self.sample_button, self.other_button, self.whole_button)
        )
        column.addWidget(self.canvas, 1)
        fading = in_row(PlainLabel(translate("photo", "Picture")), self.slider,
                        PlainLabel(translate("photo", "Drawing")), stretch=False)  # fmt: skip
        column.addWidget(fading)
        self._with_picture = [self.whole_button, fading]  # of use once there is one
        return column

    def _side(self) -> QWidget:
        self.sketch = PartSketch()
        self.asked = note("")
        self.steps = QListWidget()
        set_role(self.steps, "list")
        self.steps.setAccessibleName(translate("photo", "What to click"))
        self.steps.setMinimumHeight(150)
        self.steps.currentRowChanged.connect(self._step_chosen)
        self.find_button = button(
            translate("photo", "Find the card"),
            translate("photo", "Looks for the eight marks; those it does not find are clicked."),
            self.find_card,
        )
        self.ends_button = button(
            translate("photo", "Click two points"),
            translate("photo", "The ends of a distance you measured, such as across the plate."),
            self._click_ends,
        )
        self.fill_button = button(
            translate("photo", "Fill in"),
            translate("photo", "All figures with their uncertainties, as one edit of the docket."),
            self.fill,
        )
        self.close_button = button(translate("photo", "Close"), "", self.accept)
        for made in (self.find_button, self.ends_button, self.fill_button, self.close_button):
            made.setAutoDefault(False)
        self._scale_holder = QVBoxLayout()
        holder = QWidget()
        holder.setLayout(self._scale_holder)
        self._scale_holder.setContentsMargins(0, 0, 0, 0)
        scale = in_grid(2, self.find_button, self.ends_button)
        first = card(
            translate("photo", "Click next"), self.asked, self.sketch, self.steps, self.said
        )
        self.measured = card(translate("photo", "Measured"), self.facts)
        self.measured.hide()  # until there is something
        scaled = card(translate("photo", "Scale"), scale, holder)
        self._with_picture += [
            required(first.heading), self.sketch, self.steps, scaled, self.fill_button
        ]  # fmt: skip
        area = self.column(first, self.measured, scaled)
        area.setMinimumWidth(360)
        side = QWidget()
        whole = stacked(side)
        whole.addWidget(area, 1)
        whole.addWidget(in_row(self.fill_button, self.close_button))
        self._form: QWidget | None = None
        self._want: Ask | str | None = None
        return side

    # The picture ----------------------------------------------------------------------------

    @property
    def picture(self) -> MeasuredPicture | None:
        """The picture shown, as the docket has it."""
        pictures = self._store.docket.pictures
        return pictures[self._index] if self._index < len(pictures) else None

    def ask_picture(self) -> None:
        """Ask for a file and measure on it."""
        path = self.dialogs.open_picture(
            self, translate("photo", "Picture of the open unit"), Path.home()
        )
        if path is not None:
            self.take_picture(path)

    def take_sample(self) -> None:
        """Measure on the picture that comes with the program."""
        self.take_picture(sample_curve("open_unit.jpg"))

    def take_picture(self, path: Path) -> None:
        """Measure on this picture; the card is looked for at once."""
        try:
            keeper = Photographs.of(self._store)
            file = keeper.waits(lambda: read_picture(path), path)
            kept = keeper.attach(path)
        except BobweightError as error:
            self.said.refuse(error)
            return
        pictures = self._store.docket.pictures
        made = edits.new_picture(kept.file, file, pictures)
        self._show_file(kept.file, file)
        missed: BobweightError | None = None
        if made.scale_by == "card" and self._grey is not None:
            try:
                made = edits.with_card(made, find_card(self._grey))
            except BobweightError as error:
                missed = error
        self._index = len(pictures)
        name = translate("photo", "Measure on {file}").format(file=path.name)
        self._store.replace(name, put(self._store.docket, ("pictures",), (*pictures, made)))
        self._want = None
        self.follow()
        self._look_inside()
        if missed is not None:
            self.said.refuse(missed)

    def _look_inside(self) -> None:
        """The unit large, where the card says that it lies."""
        found = None if self.picture is None else inside_card(self.picture)
        if found is not None:
            self.canvas.look_round(*found)

    def show_other(self) -> None:
        """The next of the docket's pictures."""
        count = len(self._store.docket.pictures)
        if count:
            self._index = (self._index + 1) % count
            self._want = None
            self._load_kept()
            self.follow()

    def _load_kept(self) -> None:
        """The file of the docket's picture, if it is there."""
        picture = self.picture
        if picture is None or picture.photograph == self._shown_name:
            return
        keeper = Photographs.of(self._store)
        try:
            path = keeper.path_of_name(picture.photograph)
            if path is None:
                raise BobweightError("file-missing", file=picture.photograph)
            file = keeper.waits(lambda: read_picture(path), path)
            self._show_file(picture.photograph, file)
            self._look_inside()
        except BobweightError as error:
            self._file = self._grey = None
            self._shown_name = ""
            self.canvas.show_image(None)
            self.said.refuse(error)

    def _show_file(self, name: str, file: PictureFile) -> None:
        self._file, self._grey, self._shown_name = file, file.grey(), name
        rows = np.ascontiguousarray(file.rgb)
        image = QImage(
            rows.data, file.width_px, file.height_px, 3 * file.width_px,
            QImage.Format.Format_RGB888,
        )  # fmt: skip
        self.canvas.show_image(image.copy())

    def find_card(self) -> None:
        """Look for the card's marks again."""
        if self.picture is None or self._grey is None:
            return
        try:
            found = find_card(self._grey)
        except BobweightError as error:
            self.said.refuse(error)
            return
        self._replace(translate("photo", "Find the card"), edits.with_card(self.picture, found))
        self._look_inside()

    def _click_ends(self) -> None:
        if self.picture is not None:
            self._want = _DISTANCE
            changed = put(put(self.picture, ("known_points",), ()), ("scale_by",), "distance")
            self._replace(translate("photo", "Scale from two points"), changed)

    # Clicking -------------------------------------------------------------------------------

    @property
    def wanted(self) -> Ask | None:
        """What the next click is taken for: what was chosen in the list, else what comes next."""
        if isinstance(self._want, Ask):
            return self._want
        picture = self.picture
        if picture is None:
            return None
        marks = _marks_to_click(picture)
        if marks and not marks[0].optional:
            return marks[0]
        return edits.next_ask(picture, self._store.docket.mechanism)

    def click(self, x: float, y: float) -> None:
        """Take a click in the picture for what is asked."""
        picture = self.picture
        if picture is None:
            return
        if self._want == _DISTANCE:
            self._click_end(picture, x, y)
            return
        want = self.wanted
        if want is None:
            self.said.say(translate("photo", "All is clicked. Choose in the list what to click "
                                    "again."))  # fmt: skip
            return
        if want.part == _MARK:
            self._replace(
                translate("photo", "Click a mark of the card"),
                edits.with_mark(picture, want.number, x, y),
            )
            return
        changed = edits.with_point(
            picture, want, self._point(want.part, x, y), self._store.docket.mechanism
        )
        name = translate("photo", "Click {part}").format(part=part_name(want, self._store.docket))
        self._replace(name, changed)

    def _click_end(self, picture: MeasuredPicture, x: float, y: float) -> None:
        points = (*picture.known_points, PicturePoint(x_px=x, y_px=y))[-2:]
        if len(points) == 2:
            self._want = None
        self._replace(
            translate("photo", "Click an end of the known distance"),
            put(picture, ("known_points",), points),
        )

    def _point(self, part: str, x: float, y: float) -> PicturePoint:
        """The place clicked, or the middle of the round part under it."""
        if part in _ROUND and self._grey is not None:
            found = snap(self._grey, x, y)
            if found is not None:
                return PicturePoint(x_px=found.x_px, y_px=found.y_px, snapped=True)
        return PicturePoint(x_px=x, y_px=y)

    def _move(self, pick: int, point: int, x: float, y: float, gesture: object) -> None:
        if self.picture is None:
            return
        changed = edits.with_moved(self.picture, pick, point, PicturePoint(x_px=x, y_px=y))
        self._replace(translate("photo", "Move a clicked point"), changed, gesture)

    def _remove(self, pick: int, point: int) -> None:
        if self.picture is not None:
            changed = edits.without_point(self.picture, pick, point)
            self._replace(translate("photo", "Take a clicked point away"), changed)

    def _replace(self, name: str, picture: MeasuredPicture, gesture: object | None = None) -> None:
        docket = put(self._store.docket, ("pictures", self._index), picture)
        self._store.replace(name, docket, gesture)

    def _lacks(self, ask: Ask) -> bool:
        """Whether what was chosen in the list takes more clicks, and has begun to get them."""
        picks = () if self.picture is None else self.picture.picks
        counts = [len(p.points) for p in picks if (p.part, p.number) == (ask.part, ask.number)]
        return bool(counts) and counts[0] < ask.least

    def _step_chosen(self, row: int) -> None:
        item = self.steps.item(row) if row >= 0 else None
        ask = item.data(Qt.ItemDataRole.UserRole) if item is not None else None
        if isinstance(ask, Ask) and self.steps.hasFocus():
            self._want = ask
            self._show_asked()

    def _slide(self, value: int) -> None:
        self.canvas.set_share(value / 100)

    # Showing --------------------------------------------------------------------------------

    def _docket_changed(self, _change: object) -> None:
        if self._index and self._index >= len(self._store.docket.pictures):
            self._index = max(0, len(self._store.docket.pictures) - 1)
        if isinstance(self._want, Ask) and not self._lacks(self._want):
            self._want = None
        self._load_kept()
        self.follow()

    def follow(self) -> None:
        """Work out what is measured so far and show it."""
        picture, docket = self.picture, self._store.docket
        self.other_button.setVisible(len(docket.pictures) > 1)
        self.sample_button.setVisible(picture is None)
        for part in self._with_picture:
            part.setVisible(picture is not None)
        self.said.say("")
        self.off = None
        drawing: tuple[LaidLine, ...] = ()
        if picture is None:
            self.measured.hide()
            self.canvas.show_image(None)
            self.asked.setText(
                translate(
                    "photo",
                    "Load a photograph of the open unit, taken from straight above with the "
                    "measuring card round it (File, Print, Measuring card), or a scan of it face "
                    "down.",
                )
            )
            return
        self._show_scale()
        facts: list[tuple[str, str]] = []
        cam_deg: float | None = 0.0
        try:
            if picture.shows == "out":
                cam_deg = None
                moved = moved_between(self._at_rest(), picture)
                facts, cam_deg = self._moved_facts(moved), moved.cam_deg
            else:
                self.off = measure(docket, picture)
                facts = measured_lines(self.off, docket, self._display)
                if self.off.problems:
                    self.said.advise(self.off.problems)
        except BobweightError as error:
            self.said.say(sentence(error.problem, docket, self._display), "faint")
        with suppress(BobweightError, ValueError, ArithmeticError):  # it cannot be drawn yet
            if cam_deg is not None:
                drawing = laid_over(docket, picture, cam_deg)
        labels = [part_name(Ask(p.part, p.number), docket) for p in picture.picks]
        self.canvas.show_picture(picture, labels, drawing)
        self.facts.show_facts(facts)
        self.measured.setVisible(bool(facts))
        allow(
            self.fill_button,
            self.off is not None or bool(facts),
            self.said.text() or translate("springs", "First come the clicks that are asked for."),
        )
        self._show_steps(picture)
        self._show_asked()

    def _moved_facts(self, moved: Moved) -> list[tuple[str, str]]:
        held = against_linkage(self._store.docket.mechanism, moved)
        if held is not None and not self.said.text():
            self.said.say(*proof_said(held))
        return moved_lines(moved, held)

    def _at_rest(self) -> MeasuredPicture:
        for picture in self._store.docket.pictures:
            if picture.shows == "rest":
                return picture
        raise BobweightError("no-picture-at-rest")

    def _show_scale(self) -> None:
        """The fields that this way of scaling needs."""
        picture = self.picture
        key = None if picture is None else (self._index, picture.scale_by, len(picture.levels))
        if self._form is not None and self._form.property("for") == key:
            return
        if self._form is not None:
            self._scale_holder.removeWidget(self._form)
            self._form.deleteLater()
            self._form = None
        if picture is None:
            return
        path = ("pictures", self._index)
        keys = ("shows", "scale_by", *_SCALE_FIELDS[picture.scale_by])
        fields = Form(MeasuredPicture, path, keys, self._store, self._display)
        heights = RecordTable(
            self._store, (*path, "levels"), ("label", "height_mm"), self._display,
            name=translate("photo", "Heights above the card"),
        )  # fmt: skip
        made = card("", fields, note(translate("photo", "Heights above the card")), heights)
        made.setProperty("for", key)
        self._form = made
        self._scale_holder.addWidget(made)

    def _show_steps(self, picture: MeasuredPicture) -> None:
        have = {(p.part, p.number): len(p.points) for p in picture.picks}
        asks = asked(self._store.docket.mechanism, picture.shows)
        asks = _marks_to_click(picture) + asks
        want = self.wanted
        self.steps.blockSignals(True)
        self.steps.clear()
        for row, ask in enumerate(asks):
            count = have.get((ask.part, ask.number), 0)
            sign = "✓" if count >= ask.least else "◐" if count else "○"
            item = QListWidgetItem(f"{sign}  {part_name(ask, self._store.docket)}")
            item.setData(Qt.ItemDataRole.UserRole, ask)
            self.steps.addItem(item)
            if ask == want:
                self.steps.setCurrentRow(row)
        self.steps.blockSignals(False)

    def _show_asked(self) -> None:
        want = self.wanted
        if self._want == _DISTANCE:
            self.asked.setText(translate("photo", "Click both ends of the distance you measured."))
            self.sketch.show_part("")
            return
        if want is None:
            self.asked.setText(translate("photo", "All is clicked that is needed."))
            self.sketch.show_part("")
            return
        self.asked.setText(ask_text(want, self._store.docket))
        self.sketch.show_part(want.part)

    def fill(self) -> None:
        """Fill the docket from the picture, as one edit."""
        picture = self.picture
        if picture is None:
            return
        if picture.shows == "out":
            self._fill_moved(picture)
            return
        if self.off is None:
            return
        docket, refused = edits.filled(self._store.docket, self.off)
        self._store.replace(translate("photo", "Figures off the picture"), docket)
        if refused:
            self.said.refuse(refused[0])
        else:
            self.said.say(translate("photo", "Filled in. Undo on the Edit menu takes it back."))

    def _fill_moved(self, picture: MeasuredPicture) -> None:
        try:
            moved = moved_between(self._at_rest(), picture)
            docket = edits.with_swing(self._store.docket, moved)
        except BobweightError as error:
            self.said.refuse(error)
            return
        held = against_linkage(docket.mechanism, moved)
        self._store.replace(translate("photo", "Swing off two pictures"), docket)
        if held is None or held.agrees:
            self.said.say(translate("photo", "Filled in. Undo on the Edit menu takes it back."))
        else:
            self.said.say(*proof_said(held))

    # Qt -------------------------------------------------------------------------------------

    @guarded
    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        if event.mimeData().hasUrls():
            event.acceptProposedAction()

    @guarded
    def dropEvent(self, event: QDropEvent) -> None:
        for url in event.mimeData().urls():
            if url.isLocalFile():
                self.take_picture(Path(url.toLocalFile()))
                break
