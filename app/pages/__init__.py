"""The pages, in the order of the work.

Each is a :class:`app.pages.page.Page` in a file of its own, named by its key. ``PAGES`` names them
without importing them: the first page shown must not wait for the others.
"""

from __future__ import annotations

import importlib
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bobweight.app.pages.page import Page


@dataclass(frozen=True)
class PageEntry:
    """A page's place in the strip: ``app/pages/<key>.py`` holds the class ``<Key>Page``."""

    key: str
    title: str

    def load(self) -> type[Page]:
        """The page's class; its file is imported at the first call."""
        name = "".join(word.capitalize() for word in self.key.split("_")) + "Page"
        return getattr(importlib.import_module(f"bobweight.app.pages.{self.key}"), name)


PAGES = (
    PageEntry("particulars", "Particulars"),
    PageEntry("findings", "Findings"),
    PageEntry("mechanism", "Mechanism"),
    PageEntry("vacuum", "Vacuum"),
    PageEntry("target", "Target"),
    PageEntry("readings", "Readings"),
    PageEntry("springs", "Springs"),
    PageEntry("verdict", "Verdict"),
    PageEntry("reassembly", "Reassembly"),
    PageEntry("setting_up", "Setting up"),
    PageEntry("sheet", "Sheet"),
)
