"""The few questions that need a box, in one class, so that a test can answer them."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QFileDialog,
    QInputDialog,
    QMessageBox,
    QPlainTextEdit,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from bobweight.app.widgets.plain import message_box
from bobweight.app.words import translate, visible
from bobweight.core.problems import required

_TOLD = 8  # more would not fit the box
_FRAME = QSize(16, 40)  # of a window, and what it is moved by
_BESIDE_PX = 40  # of a dialog: margins, and a bar of its area
_LEAST_SCREEN_PX = 1000  # a narrower one is none that anything can be told by


def open_at(dialog: QWidget, width: int, height: int) -> None:
    """Give a dialog its first size, or what the screen leaves it."""
    left = QGuiApplication.primaryScreen().availableSize() - _FRAME
    wanted = QSize(width, height)
    dialog.resize(wanted if left.width() < _LEAST_SCREEN_PX else wanted.boundedTo(left))


def open_whole(dialog: QWidget, width: int, *areas: QScrollArea) -> None:
    """Likewise, as tall as it takes to see all that its scrolled parts hold."""
    whole = dialog.sizeHint().height()
    for area in areas:
        inner = required(area.widget())
        tall, layout = inner.sizeHint().height(), inner.layout()
        if layout is not None and layout.hasHeightForWidth():
            tall = layout.totalHeightForWidth(max(width - _BESIDE_PX, inner.minimumWidth()))
        whole += max(tall - area.sizeHint().height(), 0)
    open_at(dialog, width, whole + _BESIDE_PX)


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
        return self._save(
            parent, translate("dialogs", "Save docket as"), suggestion,
            translate("dialogs", "Dockets (*.docket)"), (".docket",),
        )  # fmt: skip

    def open_table(self, parent: QWidget, title: str, folder: Path) -> Path | None:
        """A table to read; None if called off."""
        kinds = translate("dialogs", "Tables (*.csv *.tsv *.txt *.xlsx *.xls *.ods);;All files (*)")
        return self._open(parent, title, folder, kinds)

    def save_table(self, parent: QWidget, title: str, suggestion: Path) -> Path | None:
        """Where to write a table; None if called off."""
        kinds = translate("dialogs", "CSV (*.csv);;Spreadsheet (*.xlsx)")
        return self._save(parent, title, suggestion, kinds, (".csv", ".xlsx"))

    def save_pdf(self, parent: QWidget, title: str, suggestion: Path) -> Path | None:
        """Where to write a PDF file; None if called off."""
        kinds = translate("dialogs", "PDF document (*.pdf)")
        return self._save(parent, title, suggestion, kinds, (".pdf",))

    def open_picture(self, parent: QWidget, title: str, folder: Path) -> Path | None:
        """A photograph or scan; None if called off."""
        kinds = translate(
            "dialogs",
            "Pictures (*.png *.jpg *.jpeg *.tif *.tiff *.webp *.bmp *.gif);;All files (*)",
        )
        return self._open(parent, title, folder, kinds)

    def sheet(self, parent: QWidget, sheets: Sequence[str]) -> str | None:
        """Which sheet of a spreadsheet is meant; None if called off."""
        title = translate("dialogs", "Several sheets")
        text = translate("dialogs", "Which sheet is meant?")
        name, agreed = QInputDialog.getItem(parent, title, text, list(sheets), 0, False)
        return name if agreed else None

    def unsaved(self, parent: QWidget, title: str) -> str:
        """``save``, ``discard`` or ``cancel``."""
        text = translate("dialogs", "“{title}” is not saved.")
        text = text.format(title=visible(title, 200))
        box = message_box(parent, QMessageBox.Icon.Question, text)
        box.setInformativeText(translate("dialogs", "Without saving, the changes are lost."))
        buttons = QMessageBox.StandardButton
        box.setStandardButtons(buttons.Save | buttons.Discard | buttons.Cancel)
        box.setDefaultButton(buttons.Save)
        answer = {buttons.Save: "save", buttons.Discard: "discard"}
        return answer.get(buttons(box.exec()), "cancel")

    def refused(self, parent: QWidget, words: Sequence[str]) -> bool:
        """Whether what was typed and cannot be taken may be given up; ``words`` say each."""
        text = translate("dialogs", "Something that was typed here could not be taken as it is.")
        box = message_box(parent, QMessageBox.Icon.Question, text)
        told = [*words[:_TOLD], *(["…"] if len(words) > _TOLD else [])]
        box.setInformativeText("\n".join(told))
        leave = box.addButton(
            translate("dialogs", "Give it up"), QMessageBox.ButtonRole.DestructiveRole
        )
        back = box.addButton(
            translate("dialogs", "Go back to it"), QMessageBox.ButtonRole.RejectRole
        )
        box.setDefaultButton(back)
        box.exec()
        return box.clickedButton() is leave

    def about(self, parent: QWidget, title: str, text: str) -> None:
        """Something to read."""
        box = message_box(parent, QMessageBox.Icon.Information, text)
        box.setWindowTitle(title)
        box.exec()

    def _open(self, parent: QWidget, title: str, folder: Path, kinds: str) -> Path | None:
        name, _ = QFileDialog.getOpenFileName(parent, title, str(folder), kinds)
        return Path(name) if name else None

    def _save(
        self, parent: QWidget, title: str, suggestion: Path, kinds: str, suffixes: tuple[str, ...]
    ) -> Path | None:
        """A file to write, with one of the suffixes. Where the suffix was added after the question
        whether to write over a file, the question is asked again for the name as it now is."""
        while True:
            name, _ = QFileDialog.getSaveFileName(parent, title, str(suggestion), kinds)
            if not name:
                return None
            chosen = with_suffix(Path(name), suffixes)
            if str(chosen) == name or not chosen.exists() or self.overwrite(parent, chosen):
                return chosen
            suggestion = chosen

    def overwrite(self, parent: QWidget, path: Path) -> bool:
        """True if a file that is there may be written over."""
        text = translate("dialogs", "“{name}” is there already. Write over it?")
        text = text.format(name=visible(path.name, 200))
        box = message_box(parent, QMessageBox.Icon.Warning, text)
        buttons = QMessageBox.StandardButton
        box.setStandardButtons(buttons.Yes | buttons.No)
        box.setDefaultButton(buttons.No)
        return buttons(box.exec()) == buttons.Yes

    def read(self, parent: QWidget, title: str, text: str) -> None:
        """A longer text to read and to copy."""
        dialog = QDialog(parent)
        dialog.setWindowTitle(title)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        column = QVBoxLayout(dialog)
        shown = QPlainTextEdit(text)
        shown.setReadOnly(True)
        column.addWidget(shown)
        close = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        close.rejected.connect(dialog.reject)
        column.addWidget(close)
        dialog.resize(760, 480)
        dialog.open()


def with_suffix(path: Path, suffixes: tuple[str, ...]) -> Path:
    """The path, with the first of the suffixes added unless it ends in one of them."""
    if path.name.lower().endswith(suffixes):
        return path
    return path.with_name(path.name + suffixes[0])
