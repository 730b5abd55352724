"""The docket file: JSON in UTF-8, read with suspicion and saved without a moment of risk.

Errors are :class:`core.problems.BobweightError`, one at a time, with the place in the file as
its path and, from :func:`read_docket` and :func:`write_docket`, the file in the fact ``file``.
"""

from __future__ import annotations

import contextlib
import os
import stat
import time
from pathlib import Path as FilePath

from bobweight.core.docket.docket import Docket
from bobweight.core.docket.entry import SIZE_LIMIT, Gate
from bobweight.core.docket.migrations import SCHEMA, migrate
from bobweight.core.docket.plain import check_plain, from_plain, parse_json, to_json, to_plain
from bobweight.core.problems import BobweightError

_AT_WORK_S = 120.0


def docket_from_text(text: str) -> Docket:
    """The docket that a JSON text describes.

    Raises
    ------
    BobweightError
        Those of :func:`core.docket.plain.parse_json`, :func:`core.docket.migrations.migrate`,
        :func:`core.docket.plain.from_plain` and :meth:`core.docket.entry.Gate.check`.
    """
    plain = parse_json(text)
    docket = from_plain(Docket, migrate(plain))
    Gate().check(docket)
    return docket


def docket_to_text(docket: Docket) -> str:
    """The docket as JSON text in the present schema.

    Raises
    ------
    BobweightError
        If the docket holds something that could not be read back, with the place.
    """
    plain = {"schema": SCHEMA, **to_plain(docket)}
    check_plain(plain)
    from_plain(Docket, migrate(plain))
    return to_json(plain)


def read_docket(path: str | os.PathLike[str]) -> Docket:
    """The docket in a file.

    Raises
    ------
    BobweightError
        Besides those of :func:`docket_from_text`: ``file-missing``, ``file-is-folder``,
        ``file-not-readable``, ``file-too-large``, ``wrong-encoding``.
    """
    try:
        return docket_from_text(text_of(read_bytes(FilePath(path))))
    except BobweightError as error:
        raise error.in_file(path) from error


def read_bytes(path: FilePath) -> bytes:
    """The bytes of a plain file no larger than the limit.

    Raises
    ------
    BobweightError
        ``file-missing``, ``file-is-folder``, ``file-not-readable``, ``file-too-large``.
    """
    try:
        mode = path.stat().st_mode
        if stat.S_ISDIR(mode):
            raise BobweightError("file-is-folder")
        if not stat.S_ISREG(mode):  # a pipe or a device would be waited for without end
            raise BobweightError("file-not-readable", (), reason="not a plain file")
        with path.open("rb") as file:
            data = file.read(SIZE_LIMIT + 1)
    except FileNotFoundError:
        raise BobweightError("file-missing") from None
    except (OSError, ValueError) as error:  # ValueError: a NUL in the name
        raise BobweightError("file-not-readable", (), reason=_reason(error)) from None
    if len(data) > SIZE_LIMIT:
        raise BobweightError("file-too-large", (), limit=SIZE_LIMIT)
    return data


def text_of(data: bytes) -> str:
    """The text of a file: UTF-8, with or without a byte order mark.

    Raises
    ------
    BobweightError
        ``wrong-encoding``; ``not-json`` for what cannot be text.
    """
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise BobweightError("wrong-encoding", (), line=line) from None
    if "\0" in text:  # never in JSON: a binary file, or UTF-16 without its mark
        raise BobweightError("not-json")
    return text


def write_docket(docket: Docket, path: str | os.PathLike[str]) -> bytes:
    """Save the docket; the file holds the old text or the new one, never a part. What was written
    is handed back.

    Raises
    ------
    BobweightError
        Those of :func:`docket_to_text` and :func:`write_atomically`.
    """
    try:
        data = docket_to_text(docket).encode("utf-8")
        write_atomically(path, data)
    except BobweightError as error:
        raise error.in_file(path) from error
    return data


def write_atomically(path: str | os.PathLike[str], data: bytes) -> None:
    """Put data in a file whole or not at all; a symbolic link and the permissions stay.

    The data goes to a new file in the same folder, down to the disk, and then takes the old
    file's place in one step.

    Raises
    ------
    BobweightError
        ``file-is-folder``, ``folder-missing``, ``file-not-writable``.
    """
    try:
        os.stat(FilePath(path).parent)  # realpath would take "none/../old.docket" for "old.docket"
        _replace(FilePath(os.path.realpath(path)), data)
    except FileNotFoundError:
        raise BobweightError("folder-missing", (), file=os.fspath(path)) from None
    except (OSError, ValueError) as error:
        facts = {"file": os.fspath(path), "reason": _reason(error)}
        raise BobweightError("file-not-writable", (), **facts) from None


def _replace(target: FilePath, data: bytes) -> None:
    if target.is_dir():
        raise BobweightError("file-is-folder", (), file=str(target))
    old_mode = stat.S_IMODE(target.stat().st_mode) if target.exists() else None
    if old_mode is not None and not os.access(target, os.W_OK):
        raise PermissionError(13, "write-protected")  # replacing would ignore the protection
    new = part_in(target.parent)
    try:
        with new.open("xb") as file:
            clear_parts(new.parent, os.fstat(file.fileno()).st_mtime)
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        if old_mode is not None:
            new.chmod(old_mode)
        os.replace(new, target)
    except BaseException:
        new.unlink(missing_ok=True)
        raise
    sync_folder(target.parent)


def part_in(folder: FilePath) -> FilePath:
    """A name in a folder for what is being written there, before it takes its own."""
    return folder / f".bobweight-{os.urandom(6).hex()}.part"


def clear_parts(folder: FilePath, now_s: float | None = None) -> None:
    """Remove what programs that were killed as they wrote have left in a folder. What is younger
    than two minutes may be at work; ``now_s`` is the folder's own clock where it is known."""
    with contextlib.suppress(OSError):
        for left in folder.glob(".bobweight-*.part"):
            with contextlib.suppress(OSError):
                if (time.time() if now_s is None else now_s) - left.stat().st_mtime > _AT_WORK_S:
                    left.unlink()


def sync_folder(folder: FilePath) -> None:
    """Have the new name on the disk too, where the system lets a folder be opened."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    except OSError:  # some network folders refuse; the data itself is safe
        pass
    finally:
        os.close(handle)


def _reason(error: Exception) -> str:
    return getattr(error, "strerror", None) or str(error)
