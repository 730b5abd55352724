"""The few questions that need a box, in one class, so that a test can answer them."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from PySide6.QtWidgets import QFileDialog, QInputDialog, QMessageBox, QWidget

from bobweight.app.words import translate


class Dialogs:
    """Asks for files, and what to do with unsaved work (which undo cannot answer)."""

    def open_docket(self, parent: QWidget, folder: Path) -> Path | None:
        """A docket to open; None if called off."""
        return self._open(
            parent, translate("dialogs", "Open docket"), folder,
            translate("dialogs", "Dockets (*.docket);;All files (*)"),
        )  # fmt: skip

    def save_docket(self, parent: QWidget, suggestion: Path) -> Path | None:
        """Where to keep a docket; None if called off."""
        chosen = self._save(
            parent, translate("dialogs", "Save docket as"), suggestion,
            translate("dialogs", "Dockets (*.docket)"),
        )  # fmt: skip
        if chosen is not None and not chosen.suffix:
            chosen = chosen.with_suffix(".docket")
        return chosen

    def open_table(self, parent: QWidget, title: str, folder: Path) -> Path | None:
        """A table to read; None if called off."""
        kinds = translate("dialogs", "Tables (*.csv *.tsv *.txt *.xlsx *.xls *.ods);;All files (*)")
        return self._open(parent, title, folder, kinds)

    def save_table(self, parent: QWidget, title: str, suggestion: Path) -> Path | None:
        """Where to write a table; None if called off."""
        return self._save(
            parent, title, suggestion, translate("dialogs", "CSV (*.csv);;Spreadsheet (*.xlsx)")
        )

    def sheet(self, parent: QWidget, sheets: Sequence[str]) -> str | None:
        """Which sheet of a spreadsheet is meant; None if called off."""
        title = translate("dialogs", "Several sheets")
        text = translate("dialogs", "Which sheet is meant?")
        name, agreed = QInputDialog.getItem(parent, title, text, list(sheets), 0, False)
        return name if agreed else None

    def unsaved(self, parent: QWidget, title: str) -> str:
        """``save``, ``discard`` or ``cancel``."""
        box = QMessageBox(parent)
        box.setIcon(QMessageBox.Icon.Question)
        box.setText(translate("dialogs", "“{title}” is not saved.").format(title=title))
        box.setInformativeText(translate("dialogs", "Without saving, the changes are lost."))
        buttons = QMessageBox.StandardButton
        box.setStandardButtons(buttons.Save | buttons.Discard | buttons.Cancel)
        box.setDefaultButton(buttons.Save)
        answer = {buttons.Save: "save", buttons.Discard: "discard"}
        return answer.get(buttons(box.exec()), "cancel")

    def about(self, parent: QWidget, title: str, text: str) -> None:
        """Something to read."""
        QMessageBox.about(parent, title, text)

    def _open(self, parent: QWidget, title: str, folder: Path, kinds: str) -> Path | None:
        name, _ = QFileDialog.getOpenFileName(parent, title, str(folder), kinds)
        return Path(name) if name else None

    def _save(self, parent: QWidget, title: str, suggestion: Path, kinds: str) -> Path | None:
        name, _ = QFileDialog.getSaveFileName(parent, title, str(suggestion), kinds)
        return Path(name) if name else None
