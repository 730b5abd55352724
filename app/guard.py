"""One boundary between the program and Qt: an error becomes an entry in the log and a notice.

An exception that leaves a virtual method called by Qt can end the process, above all while a
painter is at work. So every method of ours that Qt calls is :func:`guarded` (a test reads the
classes and insists), and what slots, threads and destructors raise comes here too once
:func:`install` was called. An error never carries words of a docket into the log: it holds where in
the program the error arose, and its kind.
"""

from __future__ import annotations

import sys
import threading
import traceback
from collections.abc import Callable
from functools import wraps
from types import TracebackType
from typing import Any, TypeVar, cast

from PySide6.QtCore import QModelIndex, QRectF, QSize, Qt

Listener = Callable[[BaseException, str], None]
F = TypeVar("F", bound=Callable[..., Any])

_BLANKS: dict[str, Callable[[], Any]] = {
    "None": lambda: None, "bool": lambda: False, "int": lambda: 0, "str": lambda: "",
    "Any": lambda: None, "object": lambda: None, "QSize": QSize, "QRectF": QRectF,
    "QModelIndex": QModelIndex, "Qt.ItemFlag": lambda: Qt.ItemFlag.NoItemFlags,
    "QWidget": lambda: None, "QWidget | None": lambda: None,
}  # fmt: skip
"""What Qt is given in place of an answer, by the annotation of the method."""

_listeners: list[Listener] = []


def guarded(function: F) -> F:
    """Have a method that Qt calls never raise: the error is told, Qt gets an empty answer."""
    returned = function.__annotations__.get("return", "None")
    blank = _BLANKS[str(returned)]

    @wraps(function)
    def call(*arguments: Any, **named: Any) -> Any:
        try:
            return function(*arguments, **named)
        except Exception as error:
            tell(error, function.__qualname__)
            return blank()

    vars(call)["__guarded__"] = True
    return cast(F, call)


def listen(listener: Listener) -> None:
    """Have every error told to ``listener(error, where)`` too, on whichever thread it arose."""
    if listener not in _listeners:
        _listeners.append(listener)


def unlisten(listener: Listener) -> None:
    """Tell it no more."""
    if listener in _listeners:
        _listeners.remove(listener)


def tell(error: BaseException, where: str) -> None:
    """An error arose in ``where``. Never raises."""
    for listener in list(_listeners):
        try:
            listener(error, where)
        except Exception:  # a listener in trouble must not start the same again
            continue
    # The frames hold what was at work, a painter above all: it must end before its device does.
    traceback.clear_frames(error.__traceback__)


def account(error: BaseException, where: str) -> str:
    """What the log says of an error: its kind, and the lines of the program it passed."""
    lines = [f"{type(error).__name__} in {where}"]
    for frame in traceback.extract_tb(error.__traceback__)[-12:]:
        lines.append(f"  {frame.filename}:{frame.lineno} {frame.name}")
    return "\n".join(lines)


def install() -> None:
    """Bring here what slots, other threads and destructors raise."""

    def raised(_kind: type[BaseException], error: BaseException, _tb: TracebackType | None) -> None:
        if isinstance(error, KeyboardInterrupt | SystemExit):
            sys.__excepthook__(type(error), error, error.__traceback__)
        else:
            tell(error, "slot")

    def on_thread(raised: threading.ExceptHookArgs) -> None:
        if raised.exc_value is not None:
            tell(raised.exc_value, "thread")

    def unraisable(raised: sys.UnraisableHookArgs) -> None:
        if raised.exc_value is not None:
            tell(raised.exc_value, "destructor")

    sys.excepthook = raised
    threading.excepthook = on_thread
    sys.unraisablehook = unraisable
