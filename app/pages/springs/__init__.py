"""The Springs page and its parts."""

from bobweight.app.pages.springs.page import SpringsPage

__all__ = ["SpringsPage"]
