"""Copies of photographs beside the docket's file, or with the settings while it has none."""

from __future__ import annotations

import contextlib
import os
import re
import shutil
from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import QObject, Signal

from bobweight.app.store import Store
from bobweight.app.store.disk import Waits, without_window
from bobweight.app.store.session import home_folder
from bobweight.core.docket.file import part_in
from bobweight.core.docket.photographs import Photograph, is_plain_name, photographs_folder
from bobweight.core.problems import BobweightError, Problem

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
        self.waits: Waits = without_window
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

    @property
    def folders(self) -> tuple[Path, ...]:
        """Where copies are looked for."""
        return (self.folder, self._pending)

    def path_of_name(self, name: str) -> Path | None:
        """Where a copy lies; None if it is missing (or its name is not a plain one)."""
        folders = self.folders
        return self.waits(lambda: found_in(folders, name), self.folder)

    def attach(self, picture: Path) -> Photograph:
        """Copy a picture into the folder; the record that refers to the copy.

        Raises
        ------
        BobweightError
            ``photograph-not-a-picture``, ``photograph-too-large``, ``photograph-not-copied``;
        those of :attr:`waits`.
        """
        if picture.suffix.lower() not in KINDS:
            known = ", ".join(kind.removeprefix(".") for kind in KINDS)
            raise BobweightError("photograph-not-a-picture", (), file=picture.name, known=known)
        folder = self.folder
        name = self.waits(lambda: copy_into(picture, folder), picture)
        return Photograph(file=name, caption=picture.stem)

    def _saved(self, before: Path | None) -> None:
        """Bring every copy the docket refers to beside the file just written."""
        path = self._store.file_path
        if path is None:
            return
        sources = [self._pending, *([folder_of(before)] if before else [])]
        docket = self._store.docket
        names = [photograph.file for photograph in docket.photographs]
        names += [picture.photograph for picture in docket.pictures]
        target = folder_of(path)
        try:
            wrong = self.waits(lambda: _bring(names, sources, target), target) if names else []
        except BobweightError as error:  # waited for no more
            wrong = [error.problem]
        for problem in wrong:
            self.failed.emit(problem)


def found_in(folders: Sequence[Path], name: str) -> Path | None:
    """The copy of that name; None if it is missing (or its name is not a plain one)."""
    if not is_plain_name(name):
        return None
    return next((folder / name for folder in folders if is_own_file(folder / name)), None)


def _bring(names: Sequence[str], sources: Sequence[Path], target: Path) -> list[Problem]:
    """Bring the copies of those names into a folder; which could not be."""
    wrong = []
    for name in names:
        if not is_plain_name(name) or is_own_file(target / name):
            continue
        source = found_in(sources, name)
        if source is None:
            continue  # missing already; the page says so
        try:
            _copy(source, target / name)
        except OSError as error:
            wrong.append(_not_copied(name, error).problem)
    return wrong


def copy_into(picture: Path, folder: Path) -> str:
    """Copy a picture into a folder; the name of the copy.

    Raises
    ------
    BobweightError
        ``photograph-too-large``, ``photograph-not-copied``.
    """
    try:
        size = picture.stat().st_size
        if size > LARGEST_BYTES:
            raise BobweightError(
                "photograph-too-large", (), file=picture.name, size=round(size / 1e6),
                most=round(LARGEST_BYTES / 1e6),
            )  # fmt: skip
        name = copy_name(picture)
        _copy(picture, folder / name)
    except OSError as error:
        raise _not_copied(picture.name, error) from error
    return name


def _not_copied(name: str, error: OSError) -> BobweightError:
    reason = error.strerror or str(error)
    return BobweightError("photograph-not-copied", (), file=name, reason=reason)


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
