"""Bytes of what Qt paints."""

from __future__ import annotations

from PySide6.QtCore import QBuffer, QByteArray, QIODevice
from PySide6.QtGui import QImage

from bobweight.core.problems import BobweightError


def byte_buffer() -> tuple[QByteArray, QBuffer]:
    """A byte array and a buffer that writes into it; both must be kept."""
    data = QByteArray()
    buffer = QBuffer(data)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    return data, buffer


def image_bytes(image: QImage, form: str = "PNG") -> bytes:
    """An image as a file of that form.

    Raises
    ------
    BobweightError
        ``cannot-paint``
    """
    data, buffer = byte_buffer()
    # The stubs of PySide ask for bytes where Qt takes, and PySide documents, a text.
    saved = image.save(buffer, form)  # type: ignore[call-overload]
    buffer.close()
    if not saved:
        raise BobweightError("cannot-paint")
    return bytes(data.data())
