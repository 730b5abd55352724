"""The tray of springs: a store with its own undo, kept as one file beside the settings."""

from __future__ import annotations

import contextlib
import os
from datetime import datetime
from pathlib import Path

from PySide6.QtCore import QObject, QTimer, Signal

from bobweight.app.store import RecordStore
from bobweight.app.store.journal import lock_of
from bobweight.app.store.session import fingerprint, home_folder
from bobweight.core.design.tray import Tray
from bobweight.core.design.tray_file import read_tray, write_tray
from bobweight.core.problems import BobweightError, Problem

FILE_NAME = "springs.tray"
_WRITE_AFTER_MS = 400
_ASIDE = "springs-aside-"


class TrayStore(RecordStore[Tray]):
    """The user's tray. Every edit is named and undoable, and is on the disk a moment later.

    A file that cannot be read, or that another program has altered, is never written over: the
    problem is told until the user decides. Until then this tray is written beside the file, and a
    later start takes it up again with the same question.

    Signals
    -------
    changed(Change)
        As of :class:`app.store.docket_store.RecordStore`; ``before`` and ``after`` are trays.
    trouble_changed()
        What stands between the tray and its file is another.
    """

    trouble_changed = Signal()

    def __init__(self, folder: Path | None = None, parent: QObject | None = None) -> None:
        super().__init__(Tray(), parent)
        self.path = (folder or home_folder()) / FILE_NAME
        self._trouble: Problem | None = None
        self._on_disk: str | None = None
        self._written = self.tray
        self._aside = self.path.with_name(f"{_ASIDE}{os.urandom(6).hex()}.json")
        self._aside_lock = lock_of(self._aside)
        self._timer = QTimer(self, singleShot=True, interval=_WRITE_AFTER_MS)
        self._timer.timeout.connect(self.write)
        self._read()
        self.changed.connect(self._tray_changed)

    @property
    def tray(self) -> Tray:
        """The tray as it stands."""
        return self._docket

    @property
    def trouble(self) -> Problem | None:
        """Why the tray is not being kept; None if all is well."""
        return self._trouble

    def write(self) -> None:
        """Put the tray on the disk now, if it differs from what is there."""
        self._timer.stop()
        if self.tray == self._written:
            return
        if self._trouble is None and fingerprint(self.path) != self._on_disk:
            self._tell(Problem("tray-changed-elsewhere", (), {"file": str(self.path)}))
        if self._trouble is not None:
            self._write_aside()
            return
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)
            write_tray(self.tray, self.path)
        except BobweightError as error:
            self._tell(error.problem)
            self._write_aside()
        except OSError as error:
            self._tell(Problem("file-not-writable", (), {"reason": error.strerror or str(error)}))
        else:
            self._kept()

    def _write_aside(self) -> None:
        """Put the tray beside its file while it must not be written there."""
        with contextlib.suppress(BobweightError):
            self._aside_lock.tryLock(0)
            write_tray(self.tray, self._aside)

    def _drop_aside(self) -> None:
        with contextlib.suppress(OSError):
            self._aside.unlink(missing_ok=True)
        self._aside_lock.unlock()

    def take_from_disk(self, name: str) -> None:
        """Take the tray that is on the disk in place of the present one, as one undoable edit.

        Raises
        ------
        BobweightError
            If the file cannot be read; nothing changes.
        """
        found = read_tray(self.path) if self.path.exists() else Tray()
        self._tell(None)
        self._on_disk, self._written = fingerprint(self.path), found
        self.replace(name, found)
        self._drop_aside()

    def keep_this(self) -> Path | None:
        """Keep the present tray; the file in its way is kept too, under another name, which is
        handed back."""
        moved = None
        if self.path.exists():
            stamp = datetime.now().strftime("%Y%m%d-%H%M%S")
            moved = self.path.with_name(f"{self.path.stem}-{stamp}{self.path.suffix}")
            os.replace(self.path, moved)
        self._on_disk, self._written = None, Tray()
        self._tell(None)
        self.write()
        return moved

    def close(self) -> None:
        """Write what is not yet on the disk, and stop."""
        self.write()
        self._timer.stop()
        self.changed.disconnect(self._tray_changed)
        self._aside_lock.unlock()

    def _read(self) -> None:
        """Take up the tray, or one that was left beside it with its question open."""
        self._read_file()
        for path in sorted(self.path.parent.glob(f"{_ASIDE}*.json")):
            lock = lock_of(path)
            if not lock.tryLock(0):
                continue
            try:
                aside = read_tray(path)
            except BobweightError:
                lock.unlock()
                continue
            self._aside, self._aside_lock = path, lock
            if aside == self._docket and self._trouble is None:
                self._drop_aside()
                continue
            self._docket = aside
            if self._trouble is None:
                facts = {"file": str(self.path)}
                self._trouble = Problem("tray-changed-elsewhere", (), facts)
            return

    def _read_file(self) -> None:
        if not self.path.exists():
            return
        try:
            found = read_tray(self.path)
        except BobweightError as error:
            facts = {"file": str(self.path), **error.problem.facts}
            self._trouble = Problem(error.problem.code, error.problem.path, facts)
            return
        self._docket = self._written = found
        self._on_disk = fingerprint(self.path)

    def _kept(self) -> None:
        self._on_disk, self._written = fingerprint(self.path), self.tray
        self.undo_stack.setClean()
        self._drop_aside()

    def _tell(self, problem: Problem | None) -> None:
        if problem != self._trouble:
            self._trouble = problem
            self.trouble_changed.emit()

    def _tray_changed(self, _change: object) -> None:
        if not self._timer.isActive():  # further edits do not put it off
            self._timer.start()
