"""Copies of photographs beside the docket's file, or with the settings while it has none."""

from __future__ import annotations

import contextlib
import os
import re
import shutil
from pathlib import Path

from PySide6.QtCore import QObject, Signal

from bobweight.app.store import Store
from bobweight.app.store.session import home_folder
from bobweight.core.docket.file import part_in
from bobweight.core.docket.photographs import Photograph, is_plain_name, photographs_folder
from bobweight.core.problems import BobweightError

KINDS = (".jpg", ".jpeg", ".png", ".webp", ".bmp", ".gif", ".tif", ".tiff")
LARGEST_BYTES = 60_000_000
_CHUNK = 1 << 20


class Photographs(QObject):
    """Keeps the copies of one store's docket.

    A copy is named after its picture and what is in it, so that two pictures of one name never meet
    and undo always finds its file again; a photograph taken out of the docket stays in the folder.

    Signals
    -------
    failed(problem)
        A copy could not be brought beside the file that was just saved.
    """

    failed = Signal(object)

    def __init__(self, store: Store, folder: Path | None = None) -> None:
        super().__init__(store)
        self._store = store
        self._pending = (folder or home_folder()) / "photographs"
        store.saved.connect(self._saved)

    @classmethod
    def of(cls, store: Store) -> Photographs:
        """The keeper of a store; made if it has none."""
        found = store.findChild(cls)
        return found if found is not None else cls(store)

    @property
    def folder(self) -> Path:
        """Where a new copy goes: beside the docket's file, else with the settings."""
        path = self._store.file_path
        return self._pending if path is None else folder_of(path)

    def path_of(self, photograph: Photograph) -> Path | None:
        """Where the copy lies; None if it is missing (or its name is not a plain one)."""
        return self.path_of_name(photograph.file)

    def path_of_name(self, name: str) -> Path | None:
        """As :meth:`path_of`, by the name of the copy."""
        if not is_plain_name(name):
            return None
        for folder in (self.folder, self._pending):
            path = folder / name
            if is_own_file(path):
                return path
        return None

    def attach(self, picture: Path) -> Photograph:
        """Copy a picture into the folder; the record that refers to the copy.

        Raises
        ------
        BobweightError
            ``photograph-not-a-picture``, ``photograph-too-large``, ``photograph-not-copied``.
        """
        if picture.suffix.lower() not in KINDS:
            known = ", ".join(kind.removeprefix(".") for kind in KINDS)
            raise BobweightError("photograph-not-a-picture", (), file=picture.name, known=known)
        try:
            size = picture.stat().st_size
            if size > LARGEST_BYTES:
                raise BobweightError(
                    "photograph-too-large", (), file=picture.name, size=round(size / 1e6),
                    most=round(LARGEST_BYTES / 1e6),
                )  # fmt: skip
            name = copy_name(picture)
            _copy(picture, self.folder / name)
        except OSError as error:
            raise BobweightError(
                "photograph-not-copied", (), file=picture.name, reason=error.strerror or str(error)
            ) from error
        return Photograph(file=name, caption=picture.stem)

    def _saved(self, before: Path | None) -> None:
        """Bring every copy the docket refers to beside the file just written."""
        path = self._store.file_path
        if path is None:
            return
        sources = [self._pending, *([folder_of(before)] if before else [])]
        docket = self._store.docket
        names = [photograph.file for photograph in docket.photographs]
        for name in [*names, *(picture.photograph for picture in docket.pictures)]:
            if not is_plain_name(name) or is_own_file(folder_of(path) / name):
                continue
            source = next((f / name for f in sources if is_own_file(f / name)), None)
            if source is None:
                continue  # missing already; the page says so
            try:
                _copy(source, folder_of(path) / name)
            except OSError as error:
                reason = error.strerror or str(error)
                wrong = BobweightError("photograph-not-copied", (), file=name, reason=reason)
                self.failed.emit(wrong.problem)


def is_own_file(path: Path) -> bool:
    """True for a plain file in a plain folder: a link in a folder that came by mail leads to
    what it likes."""
    try:
        return not (path.is_symlink() or path.parent.is_symlink()) and path.is_file()
    except (OSError, ValueError):
        return False


def folder_of(docket_path: Path) -> Path:
    """The folder of photographs beside a docket's file."""
    return docket_path.parent / photographs_folder(docket_path.name)


def copy_name(picture: Path) -> str:
    """The name of a picture's copy: its own, made plain, and eight digits of what is in it."""
    import hashlib

    digest = hashlib.sha256()
    with picture.open("rb") as file:
        while chunk := file.read(_CHUNK):
            digest.update(chunk)
    stem = re.sub(r"[^\w-]+", "-", picture.stem).strip("-")[:40] or "photograph"
    return f"{stem}-{digest.hexdigest()[:8]}{picture.suffix.lower()}"


def _copy(source: Path, target: Path) -> None:
    """Copy by way of a part, down to the disk, so that what is there is always whole."""
    if is_own_file(target):
        return
    target.parent.mkdir(parents=True, exist_ok=True)
    part = part_in(target.parent)
    try:
        with source.open("rb") as read, part.open("xb") as made:
            shutil.copyfileobj(read, made, _CHUNK)
            made.flush()
            os.fsync(made.fileno())
        part.replace(target)
    finally:
        with contextlib.suppress(OSError):
            part.unlink(missing_ok=True)
