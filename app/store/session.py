"""What lasts between starts: settings, recent files, and the autosave of unsaved work."""

from __future__ import annotations

import json
import os
from dataclasses import dataclass
from pathlib import Path

from PySide6.QtCore import QByteArray, QLockFile, QObject, QSettings, QStandardPaths, QTimer

from bobweight.app.store import Store
from bobweight.app.store.display import FRAMES, SWITCHED_QUANTITIES, Display
from bobweight.app.theme import THEMES
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.file import docket_from_text, docket_to_text
from bobweight.core.problems import BobweightError
from bobweight.core.units import QUANTITIES

ORGANISATION = "Bobweight"
RECENT_LIMIT = 10
AUTOSAVE_AFTER_MS = 2000


def home_folder() -> Path:
    """The folder of settings and autosave: BOBWEIGHT_HOME, else the platform's own."""
    chosen = os.environ.get("BOBWEIGHT_HOME")
    if chosen:
        return Path(chosen)
    base = QStandardPaths.writableLocation(QStandardPaths.StandardLocation.GenericConfigLocation)
    return Path(base) / ORGANISATION


class Settings:
    """Typed access to the settings file. Values are read with a type, since a new process gets
    texts back for booleans and short lists."""

    def __init__(self, folder: Path | None = None) -> None:
        self.folder = folder or home_folder()
        self.folder.mkdir(parents=True, exist_ok=True)
        self._file = QSettings(str(self.folder / "settings.ini"), QSettings.Format.IniFormat)

    def text(self, key: str, default: str = "") -> str:
        """A text."""
        value = self._file.value(key, default)
        return value if isinstance(value, str) else default

    def set_text(self, key: str, value: str) -> None:
        """Keep a text."""
        self._file.setValue(key, value)

    def flag(self, key: str, default: bool = False) -> bool:
        """Yes or no."""
        return self.text(key, "yes" if default else "no") == "yes"

    def set_flag(self, key: str, value: bool) -> None:
        """Keep yes or no."""
        self.set_text(key, "yes" if value else "no")

    def bytes(self, key: str) -> QByteArray:
        """Bytes, such as a window's place; empty if there are none."""
        value = self._file.value(key)
        return value if isinstance(value, QByteArray) else QByteArray()

    def set_bytes(self, key: str, value: QByteArray) -> None:
        """Keep bytes."""
        self._file.setValue(key, value)

    def sync(self) -> None:
        """Write what was kept."""
        self._file.sync()

    @property
    def theme(self) -> str:
        """``light``, ``dark`` or ``system``."""
        name = self.text("theme", "system")
        return name if name in THEMES else "system"

    @theme.setter
    def theme(self, name: str) -> None:
        self.set_text("theme", name)

    @property
    def recent(self) -> list[Path]:
        """Files opened lately that are still there, newest first."""
        try:
            names = json.loads(self.text("recent", "[]"))
        except json.JSONDecodeError:
            return []
        if not isinstance(names, list):
            return []
        paths = [Path(name) for name in names if isinstance(name, str)]
        return [path for path in paths if path.exists()]

    def remember(self, path: Path) -> None:
        """Put a file at the head of the recent ones."""
        path = path.absolute()
        others = [str(other) for other in self.recent if other != path]
        self.set_text("recent", json.dumps([str(path), *others][:RECENT_LIMIT]))

    def load_display(self, display: Display) -> None:
        """Give a display the frame and units kept."""
        frame = self.text("display/frame", "distributor")
        display.frame = frame if frame in FRAMES else "distributor"
        for key in SWITCHED_QUANTITIES:
            symbol = self.text(f"display/{key}", QUANTITIES[key].stored.symbol)
            try:
                display.set_unit(key, symbol)
            except BobweightError:
                continue  # a unit of another version: keep the stored one
        display.cautions_seen = set(filter(None, self.text("cautions/seen").split(",")))

    def save_display(self, display: Display) -> None:
        """Keep a display's frame and units, and whose cautions were seen."""
        self.set_text("display/frame", display.frame)
        for key in SWITCHED_QUANTITIES:
            self.set_text(f"display/{key}", display.unit(QUANTITIES[key]))
        self.set_text("cautions/seen", ",".join(sorted(display.cautions_seen)))


@dataclass(frozen=True)
class Recovered:
    """Work that was not saved when the program last ended."""

    docket: Docket
    file_path: Path | None


class Autosave(QObject):
    """Writes unsaved work beside the settings a moment after each edit, and gives it back.

    One file a running program, held by a lock; files whose lock is free are what a crash left.
    """

    def __init__(self, store: Store, folder: Path, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._store = store
        self._folder = folder / "autosave"
        self._folder.mkdir(parents=True, exist_ok=True)
        self._own = self._folder / f"{os.urandom(16).hex()}.json"
        self._lock = _lock_of(self._own)
        self._lock.tryLock(0)
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setInterval(AUTOSAVE_AFTER_MS)
        self._timer.timeout.connect(self.write)
        store.changed.connect(self._store_changed)
        store.file_changed.connect(self._file_changed)

    def write(self) -> None:
        """Write the docket now, or remove the file if there is nothing unsaved."""
        self._timer.stop()
        if not self._store.dirty:
            self.clear()
            return
        path = self._store.file_path
        try:
            record = {
                "file": str(path) if path else None,
                "docket": json.loads(docket_to_text(self._store.docket)),
            }
            part = self._own.with_suffix(".part")
            part.write_text(json.dumps(record, ensure_ascii=False), encoding="utf-8")
            os.replace(part, self._own)
        except (OSError, BobweightError):
            return  # a full or read-only disk must not disturb the work in the window

    def clear(self) -> None:
        """Nothing is unsaved: remove the file."""
        self._timer.stop()
        self._own.unlink(missing_ok=True)

    def recover(self) -> Recovered | None:
        """The newest work left by a program that ended without saving. It stays on the disk until
        :meth:`forget`."""
        for path in self._left():
            try:
                record = json.loads(path.read_text(encoding="utf-8"))
                docket = docket_from_text(json.dumps(record["docket"]))
                name = record.get("file")
            except (OSError, ValueError, KeyError, TypeError, AttributeError, BobweightError):
                continue
            return Recovered(docket, Path(name) if isinstance(name, str) else None)
        return None

    def forget(self) -> None:
        """Remove what earlier programs left."""
        for path in self._left():
            path.unlink(missing_ok=True)

    def close(self) -> None:
        """Stop; unsaved work was saved or given up on purpose."""
        self._store.changed.disconnect(self._store_changed)
        self._store.file_changed.disconnect(self._file_changed)
        self.clear()
        self._lock.unlock()

    def _left(self) -> list[Path]:
        found = []
        for path in self._folder.glob("*.json"):
            lock = _lock_of(path)
            if path != self._own and lock.tryLock(0):
                lock.unlock()
                found.append(path)
        return sorted(found, key=lambda path: path.stat().st_mtime, reverse=True)

    def _store_changed(self, _change: object) -> None:
        self._timer.start()

    def _file_changed(self) -> None:
        if not self._store.dirty:
            self.clear()


def _lock_of(autosave: Path) -> QLockFile:
    """The lock of an autosave; one left by a process that is gone can be taken."""
    lock = QLockFile(str(autosave.with_suffix(".lock")))
    lock.setStaleLockTime(0)
    return lock


def fingerprint(path: Path) -> str | None:
    """What tells a file's content from another's; None if it cannot be read."""
    try:
        import hashlib

        return hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError:
        return None
