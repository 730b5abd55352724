"""What one sets once, in one place; each takes effect as it is chosen."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from PySide6.QtWidgets import QCheckBox, QDialog, QDialogButtonBox, QFormLayout, QWidget

from bobweight.app.store.display import SWITCHED_QUANTITIES, Display
from bobweight.app.store.session import Settings
from bobweight.app.theme import CONTRASTS, THEMES, ZOOMS, still
from bobweight.app.widgets.choice import QuietComboBox
from bobweight.app.widgets.plain import set_tip
from bobweight.app.window.display_bar import frame_text, quantity_text, theme_text
from bobweight.app.words import translate
from bobweight.core.figure.view import FRAMES
from bobweight.core.sheet.description import PAPER_NAMES
from bobweight.core.units import QUANTITIES


def contrast_text(name: str) -> str:
    """The words for a contrast."""
    return {
        "system": translate("window", "As the system"),
        "usual": translate("window", "Usual"),
        "high": translate("window", "High"),
    }[name]


class Preferences(QDialog):
    """Theme, size of type, frame, units, paper, and what Tab stops at."""

    def __init__(
        self, settings: Settings, display: Display, set_theme: Callable[[str], None],
        set_zoom: Callable[[int], None], set_contrast: Callable[[str], None],
        parent: QWidget | None = None,
    ) -> None:  # fmt: skip
        super().__init__(parent)
        self.setWindowTitle(translate("window", "Preferences"))
        self._settings, self._display = settings, display
        self._set_theme, self._set_zoom, self._set_contrast = set_theme, set_zoom, set_contrast
        self._form = QFormLayout(self)
        self.boxes: dict[str, QuietComboBox] = {}
        themes = [(name, theme_text(name).replace("&", "")) for name in THEMES]
        self._add("theme", translate("window", "Theme"), themes, settings.theme)
        contrasts = [(name, contrast_text(name)) for name in CONTRASTS]
        self._add("contrast", translate("window", "Contrast"), contrasts, settings.contrast)
        zooms = [(zoom, f"{zoom}\u00a0%") for zoom in ZOOMS]
        self._add("zoom", translate("window", "Size of type"), zooms, settings.zoom)
        frames = [("", translate("window", "The shaft that the table is given for"))]
        frames += [(frame, frame_text(frame)) for frame in FRAMES]
        self._add("frame", translate("window", "Shown at the"), frames, display.frame)
        for key in SWITCHED_QUANTITIES:
            units = [(unit.symbol, unit.symbol) for unit in QUANTITIES[key].units]
            self._add(key, quantity_text(key), units, display.unit(QUANTITIES[key]))
        papers = list(PAPER_NAMES.items())
        self._add("paper", translate("window", "Paper"), papers, settings.text("paper", "a4"))
        self.tab_box = QCheckBox(translate("window", "Tab stops at the ± behind each number"))
        set_tip(self.tab_box, translate("window", "A value and its ± may be typed in one go too."))
        self.tab_box.setChecked(display.tab_to_uncertainty)
        self.tab_box.toggled.connect(self._tab_chosen)
        self._form.addRow("", self.tab_box)
        self.still_box = QCheckBox(translate("window", "Menus, lists and tips without motion"))
        self.still_box.setChecked(settings.still)
        self.still_box.toggled.connect(self._still_chosen)
        self._form.addRow("", self.still_box)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        buttons.rejected.connect(self.reject)
        self._form.addRow(buttons)

    def _add(
        self, key: str, text: str, choices: Iterable[tuple[object, str]], chosen: object
    ) -> None:
        box = QuietComboBox()
        for data, shown in choices:
            box.addItem(shown, data)
        box.setCurrentIndex(max(box.findData(chosen), 0))
        box.setObjectName(key)
        box.setAccessibleName(text)
        box.activated.connect(self._chosen)
        self.boxes[key] = box
        self._form.addRow(text, box)

    def _chosen(self, _row: int) -> None:
        box = self.sender()
        assert isinstance(box, QuietComboBox)
        key, data = box.objectName(), box.currentData()
        if key == "theme":
            self._set_theme(data)
        elif key == "contrast":
            self._set_contrast(data)
        elif key == "zoom":
            self._set_zoom(data)
        elif key == "frame":
            self._display.frame = data
        elif key == "paper":
            self._settings.set_text("paper", data)
        else:
            self._display.set_unit(key, data)

    def _tab_chosen(self, on: bool) -> None:
        self._display.tab_to_uncertainty = on

    def _still_chosen(self, on: bool) -> None:
        self._settings.still = on
        still(on)
