"""The Findings page and its parts."""

from bobweight.app.pages.findings.page import FindingsPage

__all__ = ["FindingsPage"]
