"""The questions about files that the parts ask besides those of the window."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtWidgets import QWidget

from bobweight.app.widgets.dialogs import Dialogs
from bobweight.app.words import translate


class SpringDialogs(Dialogs):
    """Asks for a PDF to write and for a photograph to read."""

    def save_pdf(self, parent: QWidget, title: str, suggestion: Path) -> Path | None:
        """Where to write a PDF file; None if called off."""
        chosen = self._save(parent, title, suggestion, translate("springs", "PDF document (*.pdf)"))
        return chosen.with_suffix(".pdf") if chosen is not None and not chosen.suffix else chosen

    def open_picture(self, parent: QWidget, title: str, folder: Path) -> Path | None:
        """A photograph; None if called off."""
        kinds = translate("springs", "Pictures (*.png *.jpg *.jpeg *.bmp *.gif);;All files (*)")
        return self._open(parent, title, folder, kinds)
