"""The one place for the frame and the units of the whole window, and for the ghost."""

from __future__ import annotations

from PySide6.QtGui import QStandardItemModel
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QWidget

from bobweight.app.store import Store
from bobweight.app.store.display import Display
from bobweight.app.widgets.card import allow
from bobweight.app.widgets.choice import QuietComboBox
from bobweight.app.widgets.plain import PlainLabel, set_tip
from bobweight.app.words import translate
from bobweight.core.figure.view import FRAMES
from bobweight.core.units import QUANTITIES


def frame_text(frame: str) -> str:
    """The words for a frame."""
    return {
        "distributor": translate("display", "Distributor"),
        "crank": translate("display", "Crank"),
        "crank-static": translate("display", "Crank with static"),
    }[frame]


def quantity_text(key: str) -> str:
    """The words for a quantity whose unit can be switched."""
    return {
        "depression": translate("display", "Depression"),
        "length": translate("display", "Length"),
        "spring_rate": translate("display", "Spring rate"),
        "force": translate("display", "Force"),
        "mass": translate("display", "Mass"),
    }[key]


def theme_text(name: str) -> str:
    """The words for a theme."""
    return {
        "light": translate("menus", "&Light"),
        "dark": translate("menus", "&Dark"),
        "system": translate("menus", "As the &system"),
    }[name]


class DisplayBar(QWidget):
    """Frame and units of the window, in the line of the menus."""

    def __init__(self, store: Store, display: Display) -> None:
        super().__init__()
        self._store = store
        self._display = display
        self._held = ""
        self.frame_box = QuietComboBox()
        for frame in FRAMES:
            self.frame_box.addItem(frame_text(frame), frame)
        self.frame_box.activated.connect(self._frame_chosen)
        self.depression_box = QuietComboBox()
        for unit in QUANTITIES["depression"].units:
            self.depression_box.addItem(unit.symbol, unit.symbol)
        self.depression_box.activated.connect(self._depression_chosen)
        self.ghost_button = QPushButton()
        self.ghost_button.clicked.connect(self.toggle_ghost)
        layout = QHBoxLayout(self)
        layout.setContentsMargins(10, 1, 8, 1)
        layout.setSpacing(8)
        set_tip(
            self.frame_box,
            translate("display", "What axes and results are in. Stored values stay as they are."),
        )
        for text, box in (
            (translate("display", "Shown at the"), self.frame_box),
            (quantity_text("depression"), self.depression_box),
        ):
            label = PlainLabel(text)
            label.setBuddy(box)
            box.setAccessibleName(text)
            widest = max(
                box.fontMetrics().horizontalAdvance(box.itemText(i)) for i in range(box.count())
            )
            box.setMinimumWidth(widest + 44)
            layout.addWidget(label)
            layout.addWidget(box)
        layout.addStretch(1)
        layout.addWidget(self.ghost_button)
        display.changed.connect(self.follow)
        store.ghost_changed.connect(self.follow)
        store.changed.connect(self._docket_changed)
        self.follow()

    def follow(self) -> None:
        """Show what is set."""
        self._follow_frame()
        unit = self._display.depression_unit
        self.depression_box.setCurrentIndex(self.depression_box.findData(unit))
        if self._store.ghost is None:
            self.ghost_button.setText(translate("display", "Hold for comparison"))
            set_tip(
                self.ghost_button,
                translate("display", "Keep the present curve on the board, to alter against it."),
            )
        else:
            self.ghost_button.setText(translate("display", "Drop what is held"))
            set_tip(self.ghost_button, translate("display", "Take the kept curve off the board."))

    def _follow_frame(self) -> None:
        """The frame in which figures stand; with static only where the docket has one."""
        docket = self._store.docket
        known = docket.setting_up.static_deg is not None
        model = self.frame_box.model()
        assert isinstance(model, QStandardItemModel)
        item = model.item(self.frame_box.findData("crank-static"))
        item.setEnabled(known)
        set_tip(item, "" if known else translate("display", "Enter the static timing first."))
        frame = self._held or self._display.view(docket).frame
        self.frame_box.setCurrentIndex(self.frame_box.findData(frame))
        held = translate("display", "While readings are taken all is as the instrument shows it.")
        allow(self.frame_box, not self._held, held)

    def hold_frame(self, frame: str) -> None:
        """Show this frame, in which figures stand whatever is chosen; empty for the one chosen."""
        self._held = frame
        self._follow_frame()

    def toggle_ghost(self) -> None:
        """Keep the present docket for comparison, or drop the one kept."""
        if self._store.ghost is None:
            self._store.set_ghost()
        else:
            self._store.clear_ghost()

    def _docket_changed(self, _change: object) -> None:
        self._follow_frame()

    def _frame_chosen(self) -> None:
        self._display.choose_frame(self.frame_box.currentData(), self._store.docket)

    def _depression_chosen(self) -> None:
        self._display.depression_unit = self.depression_box.currentData()
