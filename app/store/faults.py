"""The log of faults, and the marks by which a start knows how the last one ended."""

from __future__ import annotations

import contextlib
import faulthandler
import json
import logging
import os
import platform
from datetime import datetime
from logging.handlers import RotatingFileHandler
from pathlib import Path
from typing import Any, TextIO

from PySide6.QtCore import QLockFile

from bobweight.app import guard
from bobweight.app.store.journal import lock_of
from bobweight.core.docket.file import part_in
from bobweight.core.frozen import frozen
from bobweight.core.problems import BobweightError

HOLDS = (
    "This file holds where in the program a fault arose and of what kind it was, when, and with "
    "which versions. It holds no numbers and no words of any docket. Names of folders on this "
    "computer may be in it. Nothing is sent anywhere."
)
"""What a log file says of itself in its first line."""
_LARGEST_BYTES = 200_000
_OLD_FILES = 3
_ALIKE = 5  # of one fault so many are written; then only the tenth, the hundredth, …


class _Rotating(RotatingFileHandler):
    def _open(self) -> Any:
        file = super()._open()
        if file.tell() == 0:
            file.write(f"{HOLDS}\n\n")
        return file

    def handleError(self, record: logging.LogRecord) -> None:
        """A full disk must not disturb the work in the window."""


class FaultLog:
    """Writes every fault that the guard tells of into a rotating file."""

    def __init__(self, folder: Path) -> None:
        self.path = folder / "log" / "faults.log"
        self._counts: dict[str, int] = {}
        self._handler: _Rotating | None = None
        with contextlib.suppress(OSError):
            self.path.parent.mkdir(parents=True, exist_ok=True)
            self._handler = _Rotating(
                self.path, maxBytes=_LARGEST_BYTES, backupCount=_OLD_FILES, encoding="utf-8"
            )
        guard.listen(self.write)

    def write(self, error: BaseException, where: str) -> None:
        """Write down an error; one that comes again and again, now and then."""
        if isinstance(error, BobweightError):
            return  # something refused, with a sentence of its own
        said = guard.account(error, where)
        count = self._counts[said] = self._counts.get(said, 0) + 1
        if count <= _ALIKE or str(count).strip("0") == "1":
            self.say(f"{said}\n  {count}. time" if count > 1 else said)

    def say(self, text: str) -> None:
        """Write something down."""
        if self._handler is not None:
            now = datetime.now().astimezone().isoformat(timespec="seconds")
            head = f"{now} Python {platform.python_version()} {platform.system()}"
            record = logging.makeLogRecord({"msg": f"{head}\n{text}\n"})
            self._handler.emit(record)

    def text(self) -> str:
        """What the log holds now, the newest last."""
        try:
            return self.path.read_text("utf-8", errors="replace")
        except OSError:
            return ""

    def close(self) -> None:
        """The program ends."""
        guard.unlisten(self.write)
        if self._handler is not None:
            self._handler.close()
        self._handler = None


@frozen
class Ended:
    """A program that ended without saying so.

    Attributes
    ----------
    starting : bool
        True if it ended before its window had been in use.
    file : str
        What it was opening; empty for nothing.
    account : str
        What the system's signal left: the lines of the program at which it ended.
    """

    starting: bool
    file: str
    account: str


class RunMark:
    """Stands in a folder while the program runs, and says how far it came."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder / "running"
        self._path: Path | None = None
        self._lock: QLockFile | None = None
        self._fatal: TextIO | None = None

    def ended(self) -> list[Ended]:
        """The programs that ended without saying so; each is told of once."""
        found = []
        for path in sorted(self._folder.glob("*.json")):
            lock = lock_of(path)
            if not lock.tryLock(0):
                continue
            fatal = path.with_suffix(".fatal")
            try:
                record = json.loads(path.read_text("utf-8"))
                record = record if isinstance(record, dict) else {}
            except (OSError, ValueError):
                record = {}
            try:
                account = fatal.read_text("utf-8", errors="replace")[:20_000]
            except OSError:
                account = ""
            file = record.get("file")
            name = file if isinstance(file, str) else ""
            found.append(Ended(record.get("phase") == "starting", name, account))
            with contextlib.suppress(OSError):
                path.unlink(missing_ok=True)
                fatal.unlink(missing_ok=True)
            lock.unlock()
        return found

    def begin(self, file: Path | None) -> None:
        """The program begins, with a file or none; an end by a signal is written down."""
        with contextlib.suppress(OSError):
            self._folder.mkdir(parents=True, exist_ok=True)
            self._path = self._folder / f"{os.urandom(8).hex()}.json"
            self._lock = lock_of(self._path)
            self._lock.tryLock(0)
            self._write("starting", str(file or ""))
            self._fatal = self._path.with_suffix(".fatal").open("w", encoding="utf-8")
            faulthandler.enable(self._fatal)

    def settled(self) -> None:
        """The window was painted and answers."""
        with contextlib.suppress(OSError):
            self._write("running", "")

    def end(self) -> None:
        """The program ends as it should."""
        if self._fatal is not None:
            faulthandler.disable()
            self._fatal.close()
        if self._path is not None:
            with contextlib.suppress(OSError):
                self._path.with_suffix(".fatal").unlink(missing_ok=True)
                self._path.unlink(missing_ok=True)
        if self._lock is not None:
            self._lock.unlock()
        self._path = self._lock = self._fatal = None

    def _write(self, phase: str, file: str) -> None:
        if self._path is not None:
            part = part_in(self._folder)
            part.write_text(json.dumps({"phase": phase, "file": file}), "utf-8")
            part.replace(self._path)
