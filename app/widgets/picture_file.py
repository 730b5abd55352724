"""A picture from a file that may come from a stranger: only what a camera makes, and only so large.

What a file is called says nothing of what is in it. A drawing (SVG) may name other files, so none
is read here; a picture's size is taken from its header before it is unpacked.
"""

from __future__ import annotations

import stat
from pathlib import Path

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QSize, Qt
from PySide6.QtGui import QImage, QImageReader

from bobweight.app.store.photographs import KINDS, LARGEST_BYTES

_LARGEST_SIDE_PX = 30_000
_LARGEST_PX = 150_000_000


def read_picture(path: Path, most: QSize | None = None) -> QImage | None:
    """The picture in a file, turned as the camera says; None if it cannot or must not be read.

    Parameters
    ----------
    most : QSize, optional
        As small as fits in it, and as large as it is if it is smaller.
    """
    try:
        state = path.lstat()
        if not stat.S_ISREG(state.st_mode) or state.st_size > LARGEST_BYTES:
            return None  # a link, a pipe and a device lead to what they like
        data = QByteArray(path.read_bytes())
    except (OSError, ValueError):
        return None
    buffer = QBuffer(data)
    buffer.open(QIODevice.OpenModeFlag.ReadOnly)
    kind = bytes(QImageReader.imageFormat(buffer).data()).decode("ascii", "replace")
    if f".{kind}" not in KINDS:
        return None
    reader = QImageReader(buffer, kind.encode())
    size = reader.size()
    sides = (size.width(), size.height())
    if not size.isValid() or max(sides) > _LARGEST_SIDE_PX or sides[0] * sides[1] > _LARGEST_PX:
        return None
    reader.setAutoTransform(True)
    if most is not None and (sides[0] > most.width() or sides[1] > most.height()):
        small = size.scaled(most, Qt.AspectRatioMode.KeepAspectRatio)
        reader.setScaledSize(small.expandedTo(QSize(1, 1)))
    image = reader.read()
    return None if image.isNull() else image
