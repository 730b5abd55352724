"""The Verdict page and its parts."""

from bobweight.app.pages.verdict.page import VerdictPage

__all__ = ["VerdictPage"]
