"""Layouts brought up to date at once, for what is about to be painted."""

from __future__ import annotations

from PySide6.QtCore import QCoreApplication, QEvent

_NESTED = 8
"""Layouts in layouts: each is told to lay out once the one inside it has."""


def lay_out() -> None:
    """Lay out now, before the paint that is due: what moves would be painted where it was too, and
    what is shown once more after it."""
    for _ in range(_NESTED):
        QCoreApplication.sendPostedEvents(None, QEvent.Type.LayoutRequest.value)
    QCoreApplication.sendPostedEvents(None, QEvent.Type.UpdateLater.value)
