"""Whether there is a screen, and Qt without one."""

from __future__ import annotations

import contextlib
import os
import re
import socket
import sys
from collections.abc import Iterator

_OFFSCREEN_ALWAYS_SAYS = "does not support propagateSizeHints"
"""A warning of Qt's own about its offscreen platform, at every window with a least size."""


def has_screen() -> bool:
    """True if a window can be shown: Qt ends the process where it is asked to and none answers."""
    if not sys.platform.startswith("linux"):
        return True
    chosen = os.environ.get("QT_QPA_PLATFORM")
    if chosen and not re.match(r"(xcb|wayland)", chosen):
        return True  # offscreen, vnc and their like
    return _wayland_answers() or _x_answers(os.environ.get("DISPLAY", ""))


def _wayland_answers() -> bool:
    name = os.environ.get("WAYLAND_DISPLAY")
    if not name:
        return False
    return _answers(os.path.join(os.environ.get("XDG_RUNTIME_DIR", ""), name))


def _x_answers(display: str) -> bool:
    match = re.fullmatch(r"([^:]*):(\d+)(?:\.\d+)?", display)
    if not match:
        return False
    host, number = match.groups()
    if host not in ("", "unix"):
        return True  # on another machine: asking would take time
    place = f"/tmp/.X11-unix/X{number}"
    return _answers(place) or _answers("\0" + place)


def _answers(place: str) -> bool:
    with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as line:
        line.settimeout(2)
        try:
            line.connect(place)
        except OSError:
            return False
    return True


@contextlib.contextmanager
def offscreen(scale: float = 1.0) -> Iterator[object]:
    """A Qt application that paints in memory, whatever screen there is.

    Parameters
    ----------
    scale : float
        Device pixels per logical pixel, for symbols that widgets keep as images.
    """
    os.environ["QT_QPA_PLATFORM"] = "offscreen"
    if scale != 1.0:
        os.environ["QT_SCALE_FACTOR"] = str(scale)
    from PySide6.QtCore import qInstallMessageHandler
    from PySide6.QtWidgets import QApplication

    def handle(kind: object, context: object, message: str) -> None:
        if _OFFSCREEN_ALWAYS_SAYS not in message:
            print(message, file=sys.stderr)

    before = qInstallMessageHandler(handle)
    try:
        yield QApplication.instance() or QApplication(["bobweight"])
    finally:
        qInstallMessageHandler(before)
