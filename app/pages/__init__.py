"""The pages, in the order of the work.

Each is a :class:`app.pages.page.Page` in a file or a folder named by its key. ``PAGES`` names them
without importing them: the first page shown must not wait for the others.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING

from bobweight.app.words import QT_TRANSLATE_NOOP, translate
from bobweight.core.frozen import frozen

if TYPE_CHECKING:
    from bobweight.app.pages.page import Page


@frozen
class PageEntry:
    """A page's place in the strip: ``app/pages/<key>`` holds the class ``<Key>Page``."""

    key: str
    title: str

    def shown_title(self) -> str:
        """The title in the user's language."""
        return translate("pages", self.title)

    def load(self) -> type[Page]:
        """The page's class; its file is imported at the first call."""
        name = "".join(word.capitalize() for word in self.key.split("_")) + "Page"
        return getattr(importlib.import_module(f"bobweight.app.pages.{self.key}"), name)


PAGES = (
    PageEntry("particulars", QT_TRANSLATE_NOOP("pages", "Particulars")),
    PageEntry("findings", QT_TRANSLATE_NOOP("pages", "Findings")),
    PageEntry("mechanism", QT_TRANSLATE_NOOP("pages", "Mechanism")),
    PageEntry("vacuum", QT_TRANSLATE_NOOP("pages", "Vacuum")),
    PageEntry("target", QT_TRANSLATE_NOOP("pages", "Target")),
    PageEntry("readings", QT_TRANSLATE_NOOP("pages", "Readings")),
    PageEntry("springs", QT_TRANSLATE_NOOP("pages", "Springs")),
    PageEntry("verdict", QT_TRANSLATE_NOOP("pages", "Verdict")),
    PageEntry("reassembly", QT_TRANSLATE_NOOP("pages", "Reassembly")),
    PageEntry("setting_up", QT_TRANSLATE_NOOP("pages", "Setting up")),
    PageEntry("sheet", QT_TRANSLATE_NOOP("pages", "Sheet")),
)
ENTRIES = {entry.key: entry for entry in PAGES}
