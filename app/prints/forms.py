"""The forms of timing tape and degree ring: what they are for, with the docket's own figures."""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QComboBox, QLineEdit, QSpinBox, QVBoxLayout, QWidget

from bobweight.app.editors.entry import Lines, NumberEntry
from bobweight.app.store.display import Display
from bobweight.app.words import translate
from bobweight.core.bench.ring import RingSpec
from bobweight.core.bench.scale import Steps
from bobweight.core.bench.tape import TapeSpec
from bobweight.core.docket.docket import Docket
from bobweight.core.problems import BobweightError
from bobweight.core.units import ANGLE, LENGTH, Quantity

_STEPS = {0.5: (5.0, 10.0), 1.0: (5.0, 10.0), 2.0: (10.0, 10.0), 5.0: (10.0, 30.0)}
"""Middle and labelled marks for each smallest step, degrees."""


class PrintForm(QWidget):
    """Labelled fields below each other.

    Signals
    -------
    altered()
        A field was altered.
    """

    altered = Signal()

    def __init__(self, display: Display, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._display = display
        self.lines = Lines()
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(self.lines)

    def number(self, name: str, quantity: Quantity, value: float | None,
               tip: str = "") -> NumberEntry:  # fmt: skip
        """A number with its unit."""
        entry = NumberEntry(name, quantity, self._display, tip=tip)
        entry.show_value(value)
        entry.taken.connect(self._say_altered)
        return self.lines.add_entry(entry)

    def choice(self, name: str, options: Mapping[object, str], chosen: object) -> QComboBox:
        """One of several."""
        box = QComboBox()
        for key, text in options.items():
            box.addItem(text, key)
        box.setCurrentIndex(max(box.findData(chosen), 0))
        box.setAccessibleName(name)
        box.currentIndexChanged.connect(self._say_altered)
        self.lines.add(name, box)
        return box

    def steps_box(self) -> QComboBox:
        """The smallest step of a scale."""
        return self.choice(
            translate("prints", "Smallest step"), {step: f"{step:g}°" for step in _STEPS}, 1.0
        )

    def commit(self) -> bool:
        """Take what is still being typed. False if something was refused."""
        return all([entry.commit() for entry in self.findChildren(NumberEntry)])

    def _say_altered(self) -> None:
        self.altered.emit()


def _known(entry: NumberEntry, place: str) -> float:
    if entry.value is None:
        raise BobweightError("missing", (place,))
    return entry.value


def _steps(box: QComboBox) -> Steps:
    step = float(box.currentData())
    return Steps(step, *_STEPS[step])


def rotations() -> dict[object, str]:
    """The two ways round."""
    return {
        "clockwise": translate("prints", "Clockwise"),
        "anticlockwise": translate("prints", "Anticlockwise"),
    }


class TapeForm(PrintForm):
    """What a timing tape is for."""

    def __init__(self, docket: Docket, display: Display, parent: QWidget | None = None) -> None:
        super().__init__(display, parent)
        setting = docket.setting_up
        self.diameter = self.number(
            translate("prints", "Diameter of the rim"), LENGTH, setting.pulley_mm,
            translate("prints", "Where the tape is laid: measure round it and divide by 3.1416."),
        )  # fmt: skip
        self.rotation = self.choice(
            translate("prints", "Engine turns, seen from the front"), rotations(),
            setting.pulley_rotation,
        )  # fmt: skip
        self.side = self.choice(
            translate("prints", "Marked"),
            {
                "before": translate("prints", "Before dead centre"),
                "after": translate("prints", "After dead centre"),
                "both": translate("prints", "Both sides"),
            },
            "before",
        )
        self.span = self.number(translate("prints", "Degrees marked"), ANGLE, 40.0)
        self.cylinders = QSpinBox()
        self.cylinders.setRange(1, 24)
        self.cylinders.setAccessibleName(translate("prints", "Cylinders marked"))
        self.cylinders.setToolTip(translate("prints", "1 marks the first cylinder alone."))
        self.cylinders.valueChanged.connect(self._say_altered)
        self.lines.add(translate("prints", "Cylinders marked"), self.cylinders)
        self.order = QLineEdit()
        self.order.setAccessibleName(translate("prints", "Firing order"))
        self.order.setToolTip(
            translate("prints", "Such as 1-3-4-2: names the cylinders at their dead centres.")
        )
        self.order.editingFinished.connect(self._say_altered)
        self.lines.add(translate("prints", "Firing order"), self.order)
        self.steps = self.steps_box()
        self.width = self.number(translate("prints", "Width of the tape"), LENGTH, 14.0)
        self.thickness = self.number(
            translate("prints", "Thickness of the paper"), LENGTH, 0.1,
            translate("prints", "With glue and cover: the tape lies so much outside the rim."),
        )  # fmt: skip

    def spec(self) -> TapeSpec:
        """The tape asked for.

        Raises
        ------
        BobweightError
            ``missing`` at an empty field; those of :class:`core.bench.tape.TapeSpec`.
        """
        return TapeSpec(
            _known(self.diameter, "diameter_mm"),
            self.rotation.currentData(),
            self.side.currentData(),
            _known(self.span, "span_deg"),
            self.cylinders.value(),
            steps=_steps(self.steps),
            thickness_mm=self.thickness.value or 0.0,
        )

    def width_mm(self) -> float:
        """The width of the tape."""
        return _known(self.width, "width_mm")

    def firing_order(self) -> tuple[str, ...]:
        """The cylinders' numbers as they fire; empty if not given."""
        return order_of(self.order.text())


def order_of(text: str) -> tuple[str, ...]:
    """The numbers of a firing order such as ``1-3-4-2`` or ``1, 3, 4, 2``."""
    for sign in ("–", "-", ",", ";", "/"):
        text = text.replace(sign, " ")
    return tuple(text.split())


class RingForm(PrintForm):
    """What a degree ring is for."""

    def __init__(self, docket: Docket, display: Display, parent: QWidget | None = None) -> None:
        super().__init__(display, parent)
        self.outer = self.number(translate("prints", "Outer radius"), LENGTH, 85.0)
        self.inner = self.number(translate("prints", "Inner radius"), LENGTH, 55.0)
        self.numbering = self.choice(
            translate("prints", "Figures grow"), rotations(), docket.particulars.rotation
        )
        self.edge = self.choice(
            translate("prints", "Pointer runs at"),
            {
                "outer": translate("prints", "The outer edge"),
                "inner": translate("prints", "The inner edge"),
            },
            "outer",
        )
        self.steps = self.steps_box()

    def spec(self) -> RingSpec:
        """The ring asked for.

        Raises
        ------
        BobweightError
            ``missing`` at an empty field; those of :class:`core.bench.ring.RingSpec`.
        """
        return RingSpec(
            _known(self.inner, "inner_radius_mm"), _known(self.outer, "outer_radius_mm"),
            self.numbering.currentData(), self.edge.currentData(), _steps(self.steps),
        )  # fmt: skip
