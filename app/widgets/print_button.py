"""A button that opens one of the prints, for the page it belongs to."""

from __future__ import annotations

from PySide6.QtWidgets import QPushButton

from bobweight.app.widgets.plain import set_tip


class PrintButton(QPushButton):
    """Asks the window for a print by its key; see :data:`app.prints.kinds.KINDS`."""

    def __init__(self, key: str, text: str, tip: str) -> None:
        super().__init__(text)
        self.key = key
        set_tip(self, tip)
        self.clicked.connect(self._ask)

    def _ask(self) -> None:
        window = self.window()
        if hasattr(window, "show_print"):
            window.show_print(self.key)
