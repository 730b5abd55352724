"""Typical mechanisms as pictures to start from: what moves what, and nothing measured."""

from __future__ import annotations

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QIcon, QPainter, QPixmap
from PySide6.QtWidgets import QDialog, QGridLayout, QSizePolicy, QToolButton, QVBoxLayout, QWidget

from bobweight.app.guard import guarded
from bobweight.app.theme import set_role, theme_for
from bobweight.app.widgets.card import button, put_below
from bobweight.app.widgets.plain import PlainLabel
from bobweight.app.words import translate
from bobweight.core.docket.docket import new_docket
from bobweight.core.docket.mechanism import Mechanism
from bobweight.core.mechanics.typical import completed, typical_mechanisms

PICTURE = QSize(172, 154)
_COLUMNS = 4


def typical_words() -> dict[str, str]:
    """What each typical mechanism is called."""
    return {
        "rolling": translate("pages", "Flank on the cam foot"),
        "slot": translate("pages", "Pin in a slot"),
        "link": translate("pages", "Link to the cam foot"),
        "two-light": translate("pages", "Two light weights"),
        "two-heavy": translate("pages", "Two heavy weights"),
        "each-weight": translate("pages", "A spring on each weight"),
        "alike": translate("pages", "Two like springs"),
        "across": translate("pages", "Springs between weights"),
    }


class TypicalDialog(QDialog):
    """Pictures; the one that is clicked is asked for.

    Signals
    -------
    asked(mechanism, words)
    """

    asked = Signal(object, str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(translate("pages", "Typical mechanisms"))
        said = PlainLabel(
            translate(
                "pages",
                "Choose the one that moves as yours does. Nothing of it counts as measured: what "
                "you have not entered is drawn pale, at the trade’s usual figures.",
            )
        )
        said.setWordWrap(True)
        set_role(said, "faint")
        grid = QGridLayout()
        self.buttons: dict[str, QToolButton] = {}
        self._mechanisms: dict[str, Mechanism] = {}
        words = typical_words()
        for place, typical in enumerate(typical_mechanisms()):
            choice = QToolButton()
            choice.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextUnderIcon)
            choice.setIcon(QIcon(picture(typical.mechanism, self)))
            choice.setIconSize(PICTURE)
            choice.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
            choice.setText(words[typical.key])
            choice.setAccessibleName(words[typical.key])
            choice.setProperty("typical", typical.key)
            choice.clicked.connect(self._clicked)
            self.buttons[typical.key] = choice
            self._mechanisms[typical.key] = typical.mechanism
            grid.addWidget(choice, place // _COLUMNS, place % _COLUMNS)
        layout = QVBoxLayout(self)
        layout.addWidget(said)
        layout.addLayout(grid)
        self.close_button = button(translate("pages", "Close"), "", self.reject)
        self.close_button.setAutoDefault(False)  # Enter takes the picture that has the keyboard
        put_below(layout, self.close_button)

    @guarded
    def _clicked(self) -> None:
        key = self.sender().property("typical")
        self.asked.emit(self._mechanisms[key], typical_words()[key])
        self.accept()


def picture(mechanism: Mechanism, beside: QWidget) -> QPixmap:
    """The plan view of a mechanism, without words, in the colours of a widget."""
    from bobweight.app.board.plan import plan_transform
    from bobweight.app.board.plan_paint import PlanInks, paint_parts, paint_plate, plan_paths
    from bobweight.core.figure.plan import plan_frame, posed_plan

    made = completed(mechanism).mechanism
    docket = new_docket().with_changes(mechanism=made)
    frame = plan_frame(docket)
    posed = posed_plan(made, frame, 0.0)
    ratio = beside.devicePixelRatioF()
    pixmap = QPixmap(PICTURE * ratio)
    pixmap.setDevicePixelRatio(ratio)
    inks = PlanInks(theme_for(beside.palette()), beside.font(), ratio)
    pixmap.fill(inks.paper)
    painter = QPainter(pixmap)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    room = QRectF(0, 0, PICTURE.width(), PICTURE.height())
    transform = plan_transform(room, frame.reach_mm, mirrored=True, above_px=0.0)
    paint_plate(painter, frame.plate_mm, transform, inks)
    paint_parts(painter, docket, frame, posed, plan_paths(frame), transform, inks)
    painter.end()
    return pixmap
