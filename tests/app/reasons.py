"""Whatever cannot be used says why, wherever it stands."""

from __future__ import annotations

from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QAbstractSpinBox,
    QComboBox,
    QLineEdit,
    QPlainTextEdit,
    QSlider,
    QWidget,
)

_KINDS = (
    QAbstractButton, QAbstractItemView, QAbstractSpinBox, QComboBox, QLineEdit, QPlainTextEdit,
    QSlider,
)  # fmt: skip


def unexplained(shown: QWidget) -> list[str]:
    """Names of what is seen, cannot be used, and tells no reason, nor does what it stands in. A
    tip that says what it would do is none: a reason is given by ``allow``."""
    found = []
    for kind in _KINDS:
        for made in shown.findChildren(kind):
            if made.isEnabled() or not made.isVisible() or made.objectName().startswith("qt_"):
                continue
            here: QWidget | None = made
            while here is not None and not here.isEnabled() and not _tells(here):
                here = here.parentWidget()
            if here is None or here.isEnabled():
                found.append(made.accessibleName() or getattr(made, "text", str)() or repr(made))
    return found


def _tells(widget: QWidget) -> bool:
    told = bool(widget.toolTip()) and widget.property("own-tip") is not None
    return told and widget.toolTip() != widget.property("own-tip")
