"""The board's third pane: a picture that follows the page, and the choice of others."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import cached_property

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QStackedWidget, QTabBar, QWidget

from bobweight.app.board.capsule import CapsulePlot
from bobweight.app.board.figure_plot import FigurePlot
from bobweight.app.widgets.card import stacked
from bobweight.app.words import translate
from bobweight.core.figure.description import Figure

CAPSULE = "capsule"
OF_PAGE: Mapping[str, Sequence[str]] = {
    "mechanism": ("torque", CAPSULE),
    "vacuum": (CAPSULE, "torque"),
    "readings": ("ratio", CAPSULE, "torque"),
    "springs": ("hang", "pass", "torque", "ratio", CAPSULE),
    "verdict": ("ratio", "torque", "before-after", "effect", CAPSULE),
}
"""Pictures of a page, the first that there is being shown."""
OF_ANY = (CAPSULE, "torque", "ratio")


def picture_name(key: str) -> str:
    """What a picture is called on its tab."""
    return {
        CAPSULE: translate("board", "Capsule"),
        "torque": translate("board", "Torque"),
        "ratio": translate("board", "Ratio"),
        "before-after": translate("board", "Before, after"),
        "effect": translate("board", "Effects"),
        "hang": translate("board", "Hang test"),
        "pass": translate("board", "Units that pass"),
    }[key]


def picture_about(key: str) -> str:
    """What a picture shows, as its tip."""
    return {
        CAPSULE: translate("board", "Advance of the breaker plate against depression."),
        "torque": translate(
            "board",
            "What the weights pull with at several speeds, what springs, drag and friction hold "
            "against it, and where the two balance.",
        ),
        "ratio": translate(
            "board",
            "Torque that holds the weights now, as a share of what the table asks for at the same "
            "advance. Off by the same share everywhere: all springs, the weights or the "
            "tachometer. Off up to the take-up: the primary. Off only after it: the secondary.",
        ),
        "before-after": translate("board", "The unit as found and after the alteration chosen."),
        "effect": translate("board", "By how much one unit of each alteration moves the curve."),
        "hang": translate("board", "Force against length of the spring that hangs."),
        "pass": translate("board", "How many of a hundred units within their tolerances pass."),
    }[key]


class PicturePane(QWidget):
    """One picture at a time, chosen by tabs; the capsule's can be taken hold of.

    Signals
    -------
    chosen()
        Another picture is wanted.
    """

    chosen = Signal()

    def __init__(self, hold: Callable[[CapsulePlot], None]) -> None:
        super().__init__()
        self._hold = hold  # told of the capsule's plot, which can be taken hold of
        self.page = ""
        self._wanted: dict[str, str] = {}
        self.tabs = QTabBar()
        self.tabs.setDrawBase(False)
        self.tabs.setExpanding(False)
        self.tabs.setElideMode(Qt.TextElideMode.ElideNone)
        self.tabs.setAccessibleName(translate("board", "Which picture"))
        self.plot = FigurePlot()
        self.stack = QStackedWidget()
        self.stack.addWidget(self.plot)
        box = stacked(self, self.tabs, spacing=0)
        box.addWidget(self.stack, 1)
        self._keys: tuple[str, ...] = ()
        self.tabs.tabBarClicked.connect(self._clicked)
        self.tabs.currentChanged.connect(self._changed)

    @cached_property
    def capsule(self) -> CapsulePlot:
        """The capsule's picture, built when first shown."""
        made = CapsulePlot()
        self.stack.addWidget(made)
        self._hold(made)
        return made

    @property
    def current(self) -> str:
        """Key of the picture shown; empty for none."""
        index = self.tabs.currentIndex()
        return self._keys[index] if 0 <= index < len(self._keys) else ""

    def offer(self, keys: Sequence[str]) -> None:
        """Offer the pictures that there are, in this order; shown is what was chosen on this page
        before, or the first."""
        keys = tuple(keys)
        wanted = self._wanted.get(self.page, "")
        shown = wanted if wanted in keys else (keys[0] if keys else "")
        self.tabs.blockSignals(True)
        if keys != self._keys:
            self._keys = keys
            while self.tabs.count():
                self.tabs.removeTab(0)
            for index, key in enumerate(keys):
                self.tabs.addTab(picture_name(key))
                self.tabs.setTabToolTip(index, picture_about(key))
        if shown:
            self.tabs.setCurrentIndex(keys.index(shown))
        self.tabs.blockSignals(False)
        self.tabs.setVisible(len(keys) > 1)
        self.stack.setCurrentWidget(self.capsule if shown == CAPSULE else self.plot)
        self.plot.setAccessibleName(picture_about(shown) if shown else "")

    def show_figure(self, figure: Figure) -> None:
        """Show a picture that is not the capsule's."""
        self.plot.show_figure(figure)

    def _clicked(self, index: int) -> None:
        if 0 <= index < len(self._keys):
            self._wanted[self.page] = self._keys[index]

    def _changed(self, index: int) -> None:
        self._clicked(index)
        self.chosen.emit()
