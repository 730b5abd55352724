"""The speed at which the plan view stands, and whether it was reached rising or falling."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QSignalBlocker, QSize, Qt, Signal
from PySide6.QtGui import QFontMetricsF, QResizeEvent
from PySide6.QtWidgets import (
    QBoxLayout,
    QButtonGroup,
    QHBoxLayout,
    QRadioButton,
    QSlider,
    QVBoxLayout,
    QWidget,
)

from bobweight.app.guard import guarded
from bobweight.app.theme import theme_for
from bobweight.app.widgets.plain import PlainLabel, set_tip
from bobweight.app.words import translate

_APART_PX, _MARGIN_PX = 10, 8


class SpeedBar(QWidget):
    """A slider in shown rev/min with its number, and the rising/falling switch.

    Signals
    -------
    moved(float)
        The user chose this speed, in shown units.
    turned(str)
        ``rising`` or ``falling`` was chosen.
    stacked()
        It needs another height.
    """

    moved = Signal(float)
    stacked = Signal()
    turned = Signal(str)

    def __init__(self) -> None:
        super().__init__()
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
        self._widest = ""
        self._switch = QWidget()
        switch = QHBoxLayout(self._switch)
        switch.setContentsMargins(0, 0, 0, 0)
        switch.setSpacing(10)
        switch.addWidget(self.rising)
        switch.addWidget(self.falling)
        self._lower = lower = QBoxLayout(QBoxLayout.Direction.LeftToRight)
        lower.setSpacing(_APART_PX)
        lower.addWidget(self.readout, 1)
        lower.addWidget(self._switch, 0, Qt.AlignmentFlag.AlignRight)
        box = QVBoxLayout(self)
        box.setContentsMargins(_MARGIN_PX, 0, _MARGIN_PX, 4)
        box.setSpacing(2)
        box.addWidget(self.slider)
        box.addLayout(lower)
        self.slider.valueChanged.connect(self._slid)
        self.rising.toggled.connect(self._switched)

    @property
    def direction(self) -> str:
        """``rising`` or ``falling``."""
        return "rising" if self.rising.isChecked() else "falling"

    @guarded
    def minimumSizeHint(self) -> QSize:
        """As wide as the words or the switch: one below the other where not both fit a row."""
        least = max(self.readout.minimumWidth(), self._switch.minimumSizeHint().width())
        return QSize(least + 2 * _MARGIN_PX, super().minimumSizeHint().height())

    @guarded
    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._stack()

    @guarded
    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() == QEvent.Type.ApplicationPaletteChange and self._widest:
            self.keep_room(self._widest)  # type may have another size

    def tallest_px(self) -> int:
        """How tall it is where its words stand below the slider and the switch below them; as
        tall as the slider alone where there is room beside each other."""
        if self._lower.direction() == QBoxLayout.Direction.LeftToRight:
            return self.slider.sizeHint().height()
        parts = (self.slider, self.readout, self._switch)
        return sum(part.sizeHint().height() for part in parts) + _APART_PX

    def _stack(self) -> None:
        needed = self.readout.minimumWidth() + self._switch.sizeHint().width() + _APART_PX
        wide = self.width() - 2 * _MARGIN_PX >= needed
        ways = QBoxLayout.Direction
        way = ways.LeftToRight if wide else ways.TopToBottom
        if way != self._lower.direction():
            self._lower.setDirection(way)
            self.stacked.emit()

    def narrowest_px(self) -> int:
        """Its least width, with the switch below the words."""
        widest = max(self.readout.minimumWidth(), self._switch.sizeHint().width())
        return widest + 2 * _MARGIN_PX

    def keep_room(self, widest: str) -> None:
        """Never be narrower than these words or the switch need."""
        self._widest = widest
        size = theme_for(self.palette()).small_pt
        self.readout.setStyleSheet(f"font-size: {size}pt")  # a plain font gives way to the sheet
        font = self.readout.font()
        font.setPointSizeF(size)
        room = int(QFontMetricsF(font).horizontalAdvance(widest)) + 6
        self.readout.setFixedSize(room, self.readout.sizeHint().height())
        self._stack()

    def show_speed(self, speed: float, most: float, words: str) -> None:
        """Stand at a shown speed, without a signal."""
        with QSignalBlocker(self.slider):
            if self.slider.maximum() != round(most):
                self.slider.setMaximum(round(most))
            if self.slider.value() != round(speed):
                self.slider.setValue(round(speed))
        if self.readout.text() != words:  # of a fixed size, or the whole board is laid out anew
            self.readout.setText(words)
            needed = self.readout.sizeHint().width()
            if needed > self.readout.width():
                self.readout.setFixedWidth(needed)

    def _slid(self, value: int) -> None:
        self.moved.emit(float(value))

    def _switched(self, _rising: bool) -> None:
        self.turned.emit(self.direction)
