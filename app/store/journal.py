"""The journal of unsaved work: what was done since the last save, safe on the disk within moments.

One file for each open docket, to which lines are only added. The first line holds the docket as
it then was; each further one what changed since the line before, and what stands typed in a field
but is not yet taken. A line begins with a checksum, so one that was cut off is told from a whole
one. The order is that of the numbers in lines and journals, never that of a clock.
"""

from __future__ import annotations

import contextlib
import json
import os
import zlib
from collections.abc import Callable, Iterable
from dataclasses import asdict
from datetime import datetime
from pathlib import Path
from typing import Any

from PySide6.QtCore import QLockFile, QObject, QTimer, Signal

from bobweight.app.store.docket_store import Store
from bobweight.core.docket.changes import apply, changes
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.file import docket_from_text, docket_to_text, sync_folder
from bobweight.core.frozen import frozen
from bobweight.core.problems import BobweightError, Problem

WRITE_AFTER_MS = 1500
"""After the first key that is not on the disk yet."""
AGAIN_AFTER_MS = 10_000
"""When the disk refused."""
FOLDER = "journal"
_FORMAT = 1
_LONGEST_BYTES = 4_000_000
_SUFFIX = ".journal"


@frozen
class Typed:
    """What stands in a field and is not taken yet.

    Attributes
    ----------
    path : list of str and int
        The value that the field edits; empty where it edits none of the docket's.
    place : str
        What the field is called.
    """

    path: list[str | int]
    place: str
    text: str


@frozen
class Leftover:
    """What a program that ended without saving had written down.

    Attributes
    ----------
    path : Path
        The journal.
    number : int
        Its place in the order of all journals.
    docket : Docket or None
        None where the journal is too damaged to say.
    file_path : Path or None
        The file that the docket belongs to.
    fingerprint : str or None
        What that file was when this work was begun on it.
    at : str
        When the last line was written, by that day's clock.
    whole : bool
        False if lines at the end could not be read: the work up to them is here.
    """

    path: Path
    number: int
    docket: Docket | None
    file_path: Path | None
    fingerprint: str | None
    at: str
    typed: tuple[Typed, ...] = ()
    whole: bool = True


class Journal(QObject):
    """Writes the journal of one store's docket.

    Signals
    -------
    failed(problem)
        The disk refuses: what is done now would not outlive a crash.
    kept()
        It takes again what it refused.
    """

    failed = Signal(object)
    kept = Signal()

    def __init__(self, store: Store, folder: Path, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._store = store
        self._folder = folder / FOLDER
        self.typed: Callable[[], Iterable[Typed]] = tuple
        self.fingerprint: Callable[[], str | None] = lambda: None
        self._handle = -1
        self._path: Path | None = None
        self._lock: QLockFile | None = None
        self._line = self._length = 0
        self._written: Docket | None = None
        self._written_typed: list[dict[str, Any]] = []
        self._written_file: str | None = None
        self._trouble: Problem | None = None
        self._timer = QTimer(self, singleShot=True)
        self._timer.timeout.connect(self.write)
        store.changed.connect(self._store_changed)
        store.file_changed.connect(self._file_changed)

    @property
    def path(self) -> Path | None:
        """The journal's file; None while nothing is unsaved."""
        return self._path

    @property
    def trouble(self) -> Problem | None:
        """Why nothing is written; None if all is well."""
        return self._trouble

    def poke(self) -> None:
        """Something was typed: write it soon. Further keys do not put that off."""
        if not self._timer.isActive():
            self._timer.start(WRITE_AFTER_MS)

    def write(self) -> None:
        """Write down what is not on the disk yet, or end the journal if nothing is unsaved."""
        self._timer.stop()
        typed = [asdict(each) for each in self.typed()]
        if not self._store.dirty and not typed:
            self.clear()
            return
        docket, file = self._store.docket, str(self._store.file_path or "") or None
        unchanged = self._written is docket and self._written_file == file
        if self._path is not None and unchanged and typed == self._written_typed:
            return
        try:
            if self._path is None or self._length > _LONGEST_BYTES or self._written_file != file:
                self._begin(docket, file, typed)
            else:
                made = changes(self._written, docket) if self._written is not None else []
                self._add({"changes": made, "typed": typed})
        except (OSError, BobweightError) as error:
            self._refused(error)
            return
        self._written, self._written_typed, self._written_file = docket, typed, file
        if self._trouble is not None:
            self._trouble = None
            self.kept.emit()

    def clear(self) -> None:
        """Nothing is unsaved: end the journal."""
        self._timer.stop()
        self._drop(self._path, self._handle, self._lock)
        self._path, self._handle, self._lock = None, -1, None
        self._written, self._written_typed = None, []

    def close(self) -> None:
        """Stop; unsaved work was saved or given up on purpose."""
        self._store.changed.disconnect(self._store_changed)
        self._store.file_changed.disconnect(self._file_changed)
        self.clear()

    def _begin(self, docket: Docket, file: str | None, typed: list[dict[str, Any]]) -> None:
        """Begin a journal; the one before goes once the new one is safe."""
        old = (self._path, self._handle, self._lock)
        self._folder.mkdir(parents=True, exist_ok=True)
        path = self._folder / f"{os.urandom(12).hex()}{_SUFFIX}"
        lock = lock_of(path)
        lock.tryLock(0)
        flags = os.O_WRONLY | os.O_APPEND | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
        handle = os.open(path, flags, 0o600)
        before = (self._line, self._length)
        self._path, self._handle, self._lock, self._line, self._length = path, handle, lock, 0, 0
        head = {
            "format": _FORMAT, "number": _next_number(self._folder), "file": file,
            "fingerprint": self.fingerprint(), "docket": json.loads(docket_to_text(docket)),
            "typed": typed,
        }  # fmt: skip
        try:
            self._add(head)
            sync_folder(self._folder)
        except BaseException:
            self._drop(path, handle, lock)
            self._path, self._handle, self._lock = old
            self._line, self._length = before
            raise
        self._drop(*old)

    def _add(self, record: dict[str, Any]) -> None:
        """Add one line, down to the disk; what a full disk took of it is taken back."""
        now = datetime.now().astimezone().isoformat(timespec="seconds")
        data = _line({"line": self._line, "at": now, **record})
        try:
            done = 0
            while done < len(data):
                done += os.write(self._handle, data[done:])
            os.fsync(self._handle)
        except OSError:
            with contextlib.suppress(OSError):
                os.ftruncate(self._handle, self._length)
            raise
        self._line += 1
        self._length += len(data)

    def _drop(self, path: Path | None, handle: int, lock: QLockFile | None) -> None:
        if handle >= 0:
            with contextlib.suppress(OSError):
                os.close(handle)
        if path is not None:
            with contextlib.suppress(OSError):
                path.unlink(missing_ok=True)
        if lock is not None:
            lock.unlock()

    def _refused(self, error: OSError | BobweightError) -> None:
        if isinstance(error, BobweightError):
            problem = error.problem
        else:
            facts = {"reason": error.strerror or str(error), "folder": str(self._folder)}
            problem = Problem("journal-not-written", (), facts)
        self._timer.start(AGAIN_AFTER_MS)
        if problem != self._trouble:
            self._trouble = problem
            self.failed.emit(problem)

    def _store_changed(self, _change: object) -> None:
        self.poke()

    def _file_changed(self) -> None:
        if not self._store.dirty and not any(True for _ in self.typed()):
            self.clear()


def leftovers(folder: Path) -> list[Path]:
    """The journals of programs that run no more, in no order."""
    found = []
    for path in (folder / FOLDER).glob(f"*{_SUFFIX}"):
        lock = lock_of(path)
        if lock.tryLock(0):
            lock.unlock()
            found.append(path)
    return found


def read_leftover(path: Path) -> Leftover:
    """What a journal says. Never raises: of a damaged one what can still be read."""
    try:
        data = path.read_bytes()
    except OSError:
        data = b""
    lines = data.split(b"\n")
    records, whole = [], lines[-1] == b""
    for number, line in enumerate(lines[:-1]):
        record = _read_line(line)
        if record is None or record.get("line") != number:
            whole = False
            break
        records.append(record)
    head = records[0] if records else {}
    place = head.get("number")
    name, fingerprint = head.get("file"), head.get("fingerprint")
    docket, last, whole = _replay(records, whole)
    return Leftover(
        path,
        place if isinstance(place, int) else 0,
        docket,
        Path(name) if isinstance(name, str) and name else None,
        fingerprint if isinstance(fingerprint, str) else None,
        str(last.get("at", ""))[:40],
        tuple(_typed(last.get("typed"))),
        whole,
    )


def _replay(
    records: list[dict[str, Any]], whole: bool
) -> tuple[Docket | None, dict[str, Any], bool]:
    """The last state that makes a docket, and the line that it is of."""
    if not records or records[0].get("format") != _FORMAT:
        return None, {}, False
    end = len(records)
    while end:
        try:
            plain = json.loads(json.dumps(records[0]["docket"]))
            for record in records[1:end]:
                plain = apply(plain, record.get("changes", ()))
            return docket_from_text(json.dumps(plain)), records[end - 1], whole
        except (BobweightError, KeyError, TypeError, ValueError):
            end, whole = (end - 1 if end < 4 else end // 2), False
    return None, {}, False


def _typed(found: Any) -> Iterable[Typed]:
    for each in found if isinstance(found, list) else ():
        if isinstance(each, dict) and isinstance(each.get("text"), str):
            path = each.get("path")
            place = each.get("place")
            yield Typed(
                path if isinstance(path, list) else [],
                place if isinstance(place, str) else "",
                each["text"],
            )


def delete_leftover(path: Path) -> None:
    """Take a journal from the disk."""
    path.unlink(missing_ok=True)
    path.with_suffix(".lock").unlink(missing_ok=True)


def lock_of(path: Path) -> QLockFile:
    """The lock beside a file; one left by a process that is gone can be taken."""
    lock = QLockFile(str(path.with_suffix(".lock")))
    lock.setStaleLockTime(0)
    return lock


def _line(record: dict[str, Any]) -> bytes:
    text = json.dumps(record, ensure_ascii=True, separators=(",", ":")).encode("ascii")
    return b"%08x %s\n" % (zlib.crc32(text), text)


def _read_line(line: bytes) -> dict[str, Any] | None:
    stated, _, text = line.partition(b" ")
    try:
        if int(stated, 16) != zlib.crc32(text):
            return None
        record = json.loads(text)
    except (ValueError, RecursionError):
        return None
    return record if isinstance(record, dict) else None


def _next_number(folder: Path) -> int:
    """One more than any journal was given in this folder so far."""
    kept = folder / "last-number"
    try:
        number = int(kept.read_text("ascii")) + 1
    except (OSError, ValueError):
        numbers = (read_leftover(path).number for path in folder.glob(f"*{_SUFFIX}"))
        number = 1 + max(numbers, default=0)
    with contextlib.suppress(OSError):
        kept.write_text(str(number), "ascii")
    return number
