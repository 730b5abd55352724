"""The Mechanism page and its parts."""

from bobweight.app.pages.mechanism.page import MechanismPage

__all__ = ["MechanismPage"]
