"""The questions about files that the parts ask besides those of the window."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtWidgets import QWidget

from bobweight.app.widgets.dialogs import Dialogs
from bobweight.app.words import translate


class SpringDialogs(Dialogs):
    """Asks for a PDF to write."""

    def save_pdf(self, parent: QWidget, title: str, suggestion: Path) -> Path | None:
        """Where to write a PDF file; None if called off."""
        chosen = self._save(parent, title, suggestion, translate("springs", "PDF document (*.pdf)"))
        return chosen.with_suffix(".pdf") if chosen is not None and not chosen.suffix else chosen
