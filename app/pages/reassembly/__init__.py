"""The Reassembly page and its parts."""

from bobweight.app.pages.reassembly.page import ReassemblyPage

__all__ = ["ReassemblyPage"]
