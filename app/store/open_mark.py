"""Which dockets are open in which windows, so that the second is told."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterator
from pathlib import Path

from PySide6.QtCore import QLockFile

from bobweight.app.store.journal import FOLDER

_WAIT_MS = 3000


class OpenMark:
    """Marks one file as open in this window, as long as the program lives."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder / FOLDER
        self._lock: QLockFile | None = None
        self._path: Path | None = None

    def take(self, path: Path | None) -> bool:
        """Mark a file, and let go of the one before. False if another window has it open."""
        if path is not None and self._path == path and self._lock is not None:
            return True
        self.release()
        if path is None:
            return True
        with contextlib.suppress(OSError):
            self._folder.mkdir(parents=True, exist_ok=True)
        lock = QLockFile(str(self._folder / f"open-{_name(path)}.lock"))
        lock.setStaleLockTime(0)
        if lock.tryLock(0):
            self._lock, self._path = lock, path
            return True
        return lock.error() != QLockFile.LockError.LockFailedError  # a folder that takes no locks

    def release(self) -> None:
        """Nothing is open here."""
        if self._lock is not None:
            self._lock.unlock()
        self._lock = self._path = None

    @contextlib.contextmanager
    def alone(self) -> Iterator[None]:
        """For a moment no other window looks at a file and writes it."""
        lock = QLockFile(str(self._folder / "saving.lock"))
        held = lock.tryLock(_WAIT_MS)
        try:
            yield
        finally:
            if held:
                lock.unlock()


def _name(path: Path) -> str:
    import hashlib  # late: a docket that is no file yet has no mark

    return hashlib.sha256(os.path.realpath(path).encode("utf-8", "replace")).hexdigest()[:20]
