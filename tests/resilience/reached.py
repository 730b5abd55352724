"""Which lines of the readers a file reaches: what reaches a new one is worth breaking further."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import CodeType, FrameType
from typing import Any

READERS = (
    "/core/docket/", "/core/record.py", "/core/tables/", "/core/units/", "/core/design/tray",
    "/core/photo/picture_file", "/app/store/journal", "/app/store/session",
    "/app/widgets/picture_file", "/app/messages/pasting", "/app/messages/recovery",
)  # fmt: skip


class Reached:
    """Steps from line to line of the readers that were seen so far.

    Attributes
    ----------
    steps : set
        Every step seen: code, line before, line.
    """

    def __init__(self) -> None:
        self.steps: set[tuple[CodeType, int, int]] = set()
        self._now: set[tuple[CodeType, int, int]] = set()
        self._readers: dict[CodeType, bool] = {}

    @property
    def lines(self) -> int:
        """How many lines that is."""
        return len({(code, line) for code, _, line in self.steps})

    @contextmanager
    def watching(self) -> Iterator[None]:
        """Take down what is reached meanwhile."""
        self._now.clear()
        sys.settrace(self._called)
        try:
            yield
        finally:
            sys.settrace(None)

    def news(self) -> int:
        """How many steps were new, counted once."""
        fresh = self._now - self.steps
        self.steps |= fresh
        return len(fresh)

    def _called(self, frame: FrameType, _event: str, _argument: Any) -> Callable | None:
        code = frame.f_code
        reader = self._readers.get(code)
        if reader is None:
            reader = any(part in code.co_filename for part in READERS)
            self._readers[code] = reader
        if not reader:
            return None
        before, now = 0, self._now

        def line(frame: FrameType, event: str, _argument: Any) -> Callable:
            nonlocal before
            if event == "line":
                now.add((code, before, frame.f_lineno))
                before = frame.f_lineno
            return line

        return line
