"""What the program says of itself: the manual, the keys that no menu shows, what it is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject

from bobweight.app.words import translate, version

if TYPE_CHECKING:
    from bobweight.app.manual.view import ManualWindow
    from bobweight.app.window.main_window import MainWindow


class HelpActs(QObject):
    """Acts of the menu Help."""

    def __init__(self, window: MainWindow) -> None:
        super().__init__(window)
        self._window = window

    def manual(self) -> ManualWindow:
        """Open the manual at the chapter of the page in front."""
        from bobweight.app.manual.view import ManualWindow

        window = self._window
        manual = window.findChild(ManualWindow) or ManualWindow(window)
        built = window.stack.built
        manual.show_chapter(next((key for key, page in built.items() if page.isVisible()), ""))
        manual.show()
        manual.raise_()
        return manual

    def keys(self) -> None:
        """Say the keys that no menu shows."""
        self._window.notices.say(
            translate(
                "window",
                "Tab and Shift+Tab go from field to field, F6 from zone to zone, Ctrl with a "
                "number to a page. Up and Down step a number (with Shift, ten steps), Enter takes "
                "it, Escape brings the old one back. In a table Tab goes to the next cell, Enter "
                "to the next row, Delete empties a cell; a letter chooses in a column of choices, "
                "and 1200; 6.5 fills two cells at once. F8 opens the next part of the page.",
            ),
            kind="plain",
            topic="keys",
        )

    def about(self) -> None:
        """Say what the program is."""
        self._window.dialogs.about(
            self._window,
            translate("window", "About Bobweight"),
            f"Bobweight {version()}\n\n"
            + translate(
                "window",
                "Advance curves of contact-breaker ignition distributors: predict, measure, "
                "compare, and hand over.\n\nThe maker’s data, local rules and a qualified "
                "technician come first.",
            ),
        )
