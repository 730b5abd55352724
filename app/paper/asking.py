"""Questions of the system's own dialogs before something is printed or saved."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QDialog, QFileDialog, QWidget

from bobweight.app.words import QT_TRANSLATE_NOOP, translate

KINDS = {
    "pdf": QT_TRANSLATE_NOOP("pages", "PDF document"),
    "svg": QT_TRANSLATE_NOOP("pages", "SVG drawing"),
    "png": QT_TRANSLATE_NOOP("pages", "PNG image"),
    "csv": QT_TRANSLATE_NOOP("pages", "CSV table"),
}

if TYPE_CHECKING:
    from PySide6.QtPrintSupport import QPrinter


def ask_printer(printer: QPrinter, parent: QWidget, title: str) -> bool:
    """Ask with the system's dialog whether and how to print."""
    from PySide6.QtPrintSupport import QPrintDialog

    dialog = QPrintDialog(printer, parent)
    dialog.setWindowTitle(title)
    return dialog.exec() == QDialog.DialogCode.Accepted


def save_path(parent: QWidget, title: str, suggestion: Path, suffix: str) -> Path | None:
    """Ask with the system's dialog, which also asks before it overwrites."""
    dialog = QFileDialog(parent, title, str(suggestion.parent))
    dialog.setAcceptMode(QFileDialog.AcceptMode.AcceptSave)
    dialog.setNameFilter(f"{translate('pages', KINDS[suffix])} (*.{suffix})")
    dialog.setDefaultSuffix(suffix)
    dialog.selectFile(suggestion.name)
    if dialog.exec() != QDialog.DialogCode.Accepted:
        return None
    return Path(dialog.selectedFiles()[0])
