"""The tray's own small file, kept with a docket's care: JSON in UTF-8 with a schema number, written
whole or not at all."""

from __future__ import annotations

import os
from pathlib import Path as FilePath

from bobweight.core.design.tray import Tray
from bobweight.core.docket.file import read_bytes, text_of, write_atomically
from bobweight.core.docket.plain import check_plain, from_plain, parse_json, to_json, to_plain
from bobweight.core.problems import BobweightError

SCHEMA = 1
KIND = "tray"


def tray_from_text(text: str) -> Tray:
    """The tray that a JSON text describes.

    Raises
    ------
    BobweightError
        Those of :func:`core.docket.plain.parse_json` and :func:`core.docket.plain.from_plain`;
        ``not-a-tray``, ``bad-schema``, ``newer-schema``.
    """
    plain = parse_json(text)
    if not isinstance(plain, dict) or plain.get("kind") != KIND:
        raise BobweightError("not-a-tray")
    schema = plain.get("schema")
    if isinstance(schema, bool) or not isinstance(schema, int) or schema < 1:
        raise BobweightError("bad-schema", ("schema",), value=str(schema)[:40], known=SCHEMA)
    if schema > SCHEMA:
        raise BobweightError("newer-schema", ("schema",), value=schema, known=SCHEMA)
    return from_plain(Tray, {k: v for k, v in plain.items() if k not in ("kind", "schema")})


def tray_to_text(tray: Tray) -> str:
    """The tray as JSON text; it is read back before it is given out."""
    plain = {"kind": KIND, "schema": SCHEMA, **to_plain(tray)}
    check_plain(plain)
    text = to_json(plain)
    tray_from_text(text)
    return text


def read_tray(path: str | os.PathLike[str]) -> Tray:
    """The tray in a file; an empty one where there is no such file yet.

    Raises
    ------
    BobweightError
        As :func:`tray_from_text`, and ``file-is-folder``, ``file-not-readable``,
        ``file-too-large``, ``wrong-encoding``; the file in the fact ``file``.
    """
    if not FilePath(path).exists():
        return Tray()
    try:
        return tray_from_text(text_of(read_bytes(FilePath(path))))
    except BobweightError as error:
        raise error.in_file(path) from error


def write_tray(tray: Tray, path: str | os.PathLike[str]) -> None:
    """Save the tray whole or not at all; see :func:`core.docket.file.write_atomically`."""
    write_atomically(path, tray_to_text(tray).encode("utf-8"))
