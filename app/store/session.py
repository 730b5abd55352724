"""What lasts between starts: settings and recent files."""

from __future__ import annotations

import json
import os
from pathlib import Path

from PySide6.QtCore import QByteArray, QLocale, QSettings, QStandardPaths

from bobweight.app.store.disk import Disk
from bobweight.app.store.display import SWITCHED_QUANTITIES, Display
from bobweight.app.theme import CONTRASTS, THEMES, ZOOMS
from bobweight.core.docket.file import read_bytes
from bobweight.core.figure.view import FRAMES
from bobweight.core.problems import BobweightError
from bobweight.core.units import QUANTITIES

ORGANISATION = "Bobweight"
RECENT_LIMIT = 10
CAUTIONS_LIMIT = 200
"""Dockets of which it is known what cautions were read; of older ones they are shown anew."""


def home_folder() -> Path:
    """The folder of settings, journal and log: BOBWEIGHT_HOME, else the platform's own."""
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
        self._disk = Disk()
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

    def number(self, key: str) -> int | None:
        """A whole number; None if there is none."""
        text = self.text(key)
        return int(text) if text.isdecimal() else None

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
    def contrast(self) -> str:
        """``system``, ``usual`` or ``high``."""
        kept = self.text("contrast", "system")
        return kept if kept in CONTRASTS else "system"

    @contrast.setter
    def contrast(self, contrast: str) -> None:
        self.set_text("contrast", contrast)

    @property
    def still(self) -> bool:
        """Whether nothing is to move by itself, whatever the system has."""
        return self.flag("motion/reduced")

    @still.setter
    def still(self, on: bool) -> None:
        self.set_flag("motion/reduced", on)

    @property
    def zoom(self) -> int:
        """Size of type, per cent of the system's; one of ``ZOOMS``."""
        zoom = self.number("zoom")
        return zoom if zoom in ZOOMS else 100

    @zoom.setter
    def zoom(self, zoom: int) -> None:
        self.set_text("zoom", str(zoom))

    def folder_for(self, what: str) -> Path:
        """Where something of a kind was saved last, else where the docket opened last lies."""
        kept = Path(self.text(f"folder/{what}") or "-")
        if kept.is_absolute() and self._disk.at_once(kept.is_dir, False):
            return kept
        return next((path.parent for path in self.recent), Path.home())

    def saved_to(self, what: str, path: Path) -> None:
        """Something of a kind was saved there."""
        self.set_text(f"folder/{what}", str(path.absolute().parent))

    @property
    def recent(self) -> list[Path]:
        """Files opened lately that are still there, newest first. A disk that does not answer
        within a moment has none."""
        paths = self._remembered()
        there: list[Path] = []

        def look() -> None:
            for path in paths:
                if path.exists():
                    there.append(path)

        self._disk.at_once(look, None)
        return list(there)

    def _remembered(self) -> list[Path]:
        """The same, those that are gone too: no disk is asked."""
        try:
            names = json.loads(self.text("recent", "[]"))
        except json.JSONDecodeError:
            return []
        if not isinstance(names, list):
            return []
        return [Path(name) for name in names if isinstance(name, str)]

    def remember(self, path: Path) -> None:
        """Put a file at the head of the recent ones."""
        path = path.absolute()
        others = [str(other) for other in self._remembered() if other != path]
        self.set_text("recent", json.dumps([str(path), *others][:RECENT_LIMIT]))

    def load_display(self, display: Display) -> None:
        """Give a display the frame and units kept; at first start those usual in the country."""
        frame = self.text("display/frame", "")
        display.frame = frame if frame in FRAMES else ""
        for key in SWITCHED_QUANTITIES:
            usual = units_of(QLocale.system()).get(key, QUANTITIES[key].stored.symbol)
            symbol = self.text(f"display/{key}", usual)
            try:
                display.set_unit(key, symbol)
            except BobweightError:
                continue  # a unit of another version: keep the stored one
        display.tab_to_uncertainty = self.flag("tab/uncertainty")

    def save_display(self, display: Display) -> None:
        """Keep a display's frame and units."""
        self.set_text("display/frame", display.frame)
        for key in SWITCHED_QUANTITIES:
            self.set_text(f"display/{key}", display.unit(QUANTITIES[key]))
        self.set_flag("tab/uncertainty", display.tab_to_uncertainty)

    def cautions_seen(self, path: Path | None) -> set[str]:
        """Acts whose cautions were read on this machine in the docket of a file; of another
        machine's reader nothing is known, so they stand here and not in the docket."""
        return set(self._cautions().get(str(path.absolute()), [])) if path else set()

    def keep_cautions_seen(self, path: Path | None, acts: set[str]) -> None:
        """Keep them; a docket without a file begins with all of them whole."""
        kept = self._cautions()
        if path is None or kept.get(str(path.absolute()), []) == sorted(acts):
            return
        kept.pop(str(path.absolute()), None)
        kept[str(path.absolute())] = sorted(acts)
        self.set_text("cautions/read", json.dumps(dict(list(kept.items())[-CAUTIONS_LIMIT:])))

    def _cautions(self) -> dict[str, list[str]]:
        try:
            kept = json.loads(self.text("cautions/read", "{}"))
        except json.JSONDecodeError:
            return {}
        if not isinstance(kept, dict):
            return {}
        return {
            path: [act for act in acts if isinstance(act, str)]
            for path, acts in kept.items()
            if isinstance(acts, list)
        }


_IMPERIAL_UNITS = {
    "depression": "inHg", "length": "thou", "spring_rate": "lbf/in", "force": "ozf", "mass": "oz",
}  # fmt: skip


def units_of(locale: QLocale) -> dict[str, str]:
    """Symbols of the units usual where a locale is from, by quantity, as far as they are not the
    stored ones: what a first start shows."""
    metric = locale.measurementSystem() == QLocale.MeasurementSystem.MetricSystem
    return {} if metric else _IMPERIAL_UNITS


def fingerprint(path: Path) -> str | None:
    """What tells a file's content from another's; None if it cannot be read."""
    try:
        return fingerprint_of(read_bytes(path))
    except BobweightError:
        return None


def fingerprint_of(data: bytes) -> str:
    """The same of what was written."""
    import hashlib

    return hashlib.sha256(data).hexdigest()
