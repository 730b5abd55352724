"""The speed at which the plan view stands, and whether it was reached rising or falling."""

from __future__ import annotations

from PySide6.QtCore import QSignalBlocker, Qt, Signal
from PySide6.QtGui import QFontMetricsF
from PySide6.QtWidgets import (
    QButtonGroup,
    QHBoxLayout,
    QRadioButton,
    QSlider,
    QVBoxLayout,
    QWidget,
)

from bobweight.app.theme import theme_for
from bobweight.app.widgets.plain import PlainLabel, set_tip
from bobweight.app.words import translate


class SpeedBar(QWidget):
    """A slider in shown rev/min with its number, and the rising/falling switch.

    Signals
    -------
    moved(float)
        The user chose this speed, in shown units.
    turned(str)
        ``rising`` or ``falling`` was chosen.
    """

    moved = Signal(float)
    turned = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.slider = QSlider(Qt.Orientation.Horizontal)
        self.slider.setAccessibleName(translate("Board", "Speed of the plan view"))
        set_tip(self.slider, translate("Board", "Speed at which the mechanism is drawn"))
        self.slider.setSingleStep(10)
        self.slider.setPageStep(100)
        self.slider.setRange(0, 2500)
        self.readout = PlainLabel()
        self.rising = QRadioButton(translate("Board", "Rising"))
        self.falling = QRadioButton(translate("Board", "Falling"))
        set_tip(self.rising, translate("Board", "The speed was reached from below"))
        set_tip(self.falling, translate("Board", "The speed was reached from above"))
        self.rising.setChecked(True)
        self._group = QButtonGroup(self)
        self._group.addButton(self.rising)
        self._group.addButton(self.falling)
        lower = QHBoxLayout()
        lower.setSpacing(10)
        lower.addWidget(self.readout, 1)
        lower.addWidget(self.rising)
        lower.addWidget(self.falling)
        box = QVBoxLayout(self)
        box.setContentsMargins(8, 0, 8, 4)
        box.setSpacing(2)
        box.addWidget(self.slider)
        box.addLayout(lower)
        self.slider.valueChanged.connect(self._slid)
        self.rising.toggled.connect(self._switched)

    @property
    def direction(self) -> str:
        """``rising`` or ``falling``."""
        return "rising" if self.rising.isChecked() else "falling"

    def keep_room(self, widest: str) -> None:
        """Never be narrower than these words and the switch need."""
        size = theme_for(self.palette()).small_pt
        self.readout.setStyleSheet(f"font-size: {size}pt")  # a plain font gives way to the sheet
        font = self.readout.font()
        font.setPointSizeF(size)
        self.readout.setMinimumWidth(int(QFontMetricsF(font).horizontalAdvance(widest)) + 6)

    def show_speed(self, speed: float, most: float, words: str) -> None:
        """Stand at a shown speed, without a signal."""
        with QSignalBlocker(self.slider):
            if self.slider.maximum() != round(most):
                self.slider.setMaximum(round(most))
            if self.slider.value() != round(speed):
                self.slider.setValue(round(speed))
        if self.readout.text() != words:
            self.readout.setText(words)

    def _slid(self, value: int) -> None:
        self.moved.emit(float(value))

    def _switched(self, _rising: bool) -> None:
        self.turned.emit(self.direction)
