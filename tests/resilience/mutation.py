"""Broken files of every kind that is read, from seeds: byte by byte, and value by value."""

from __future__ import annotations

import contextlib
import copy
import io
import json
import random
import zipfile
import zlib
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import Any

from PySide6.QtCore import QSize

from bobweight.app.messages.pasting import numbers_parser
from bobweight.app.messages.recovery import leftover_words
from bobweight.app.store.display import Display
from bobweight.app.store.journal import read_leftover
from bobweight.app.store.session import Settings
from bobweight.app.theme import THEMES, ZOOMS
from bobweight.app.widgets import picture_file as widget_picture
from bobweight.core.design.tray import Tray, TraySpring
from bobweight.core.design.tray_file import tray_from_text, tray_to_text
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.file import docket_from_text, docket_to_text, text_of
from bobweight.core.docket.spring_source import HangRow
from bobweight.core.figure.view import FRAMES
from bobweight.core.judgement.outcome import outcome
from bobweight.core.photo import picture_file as measured_picture
from bobweight.core.problems import BobweightError
from bobweight.core.tables.export import write_table
from bobweight.core.tables.source import decoded, read_source
from bobweight.core.tables.taking import docket_with, tray_with
from bobweight.core.tables.understanding import understand_source, understand_text
from bobweight.core.tables.understood import Understanding
from tests.samples import FOLDER

ODD: tuple[Any, ...] = (
    None, True, False, 0, -1, 1, 1e-300, 1e300, -1e300, 1e308, 5e-324, 0.1, 1e-9, 1e9, 2**63,
    10**30,
    "", "x", "0", "\u202e", "\x00", "<b>", "x" * 3000, [], {}, [[]], [{}], [None], {"u": 1},
    {"u": {"x": 1}}, 90.0, 0.5, 179.9, 60, 1000.0, 20000.0, -360.0, 1e-6,
)  # fmt: skip
BYTES = (b"\x00", b"\xff", b'"', b"{", b"}", b"[", b"]", b",", b":", b"\\", b"\n", b"e", b"-",
         b"9", b".", b"\xef\xbb\xbf", b"\\ud800", b"1e999", b"NaN", b"\xe2\x80\xae")  # fmt: skip
CELLS = (
    "", " ", "1e9", "-5", "1,234.5", "1.234,5", "12 inHg", "nan", "inf", "=1+1", "\u202e12", "½",
    "3 - 5", "5 ± 0.2", "1e400", "0x10", "rising", "rpm", "<b>9</b>", "x" * 3000, "９", "1/0",
    "12\u00a0500", "\x0b", "\ufeff7", "A1", "true", "10°", "8-10-12",
)  # fmt: skip
Check = Callable[[bytes], None]


def bytes_changed(rng: random.Random, data: bytes) -> bytes:
    """A few bytes put in, taken out, doubled or turned over."""
    changed = bytearray(data)
    for _ in range(rng.choice((1, 1, 2, 5))):
        place = rng.randrange(len(changed) + 1)
        kind = rng.randrange(5)
        if kind == 0:
            changed[place:place] = rng.choice(BYTES)
        elif kind == 1:
            del changed[place : place + rng.choice((1, 2, 10, 500))]
        elif kind == 2 and place < len(changed):
            changed[place] ^= 1 << rng.randrange(8)
        elif kind == 3:
            changed[place:place] = changed[place : place + rng.choice((5, 50, 500))]
        else:
            del changed[place + rng.choice((0, 1000, 10**6)) :]
    return bytes(changed)


def places(plain: Any, path: tuple = ()) -> Iterator[tuple]:
    """Every place in plain values."""
    if path:
        yield path
    if isinstance(plain, dict | list):
        for step, value in plain.items() if isinstance(plain, dict) else enumerate(plain):
            yield from places(value, (*path, step))


def values_changed(rng: random.Random, plain: Any) -> Any:
    """A few values replaced by odd ones, taken out, or swapped with another of the same file."""
    plain = copy.deepcopy(plain)
    for _ in range(rng.choice((1, 1, 2, 4))):
        all_places = list(places(plain))
        path = rng.choice(all_places)
        owner = plain
        for step in path[:-1]:
            owner = owner[step]
        kind = rng.randrange(8)
        if kind == 0:
            del owner[path[-1]]
        elif kind == 1:
            other = plain
            for step in rng.choice(all_places):
                other = other[step]
            owner[path[-1]] = copy.deepcopy(other)
        elif kind == 2 and isinstance(owner, dict):
            numbers = [k for k, v in owner.items() if isinstance(v, int | float)]
            if numbers:
                stated = owner.setdefault("u", {})
                if isinstance(stated, dict):
                    stated[rng.choice(numbers)] = copy.deepcopy(rng.choice(ODD))
        elif kind == 3 and isinstance(owner, list):
            owner.insert(path[-1], copy.deepcopy(owner[path[-1]]))
        elif kind in (4, 5) and isinstance(owner[path[-1]], int | float):
            factor = rng.choice((0, -1, 1e-3, 0.1, 0.5, 2, 10, 1e3, 1.0001))
            with contextlib.suppress(OverflowError):
                owner[path[-1]] = owner[path[-1]] * factor
        else:
            owner[path[-1]] = copy.deepcopy(rng.choice(ODD))
    return plain


def check_docket(data: bytes) -> None:
    """What loads is computed, written, and read again as it is."""
    try:
        docket = docket_from_text(text_of(data))
    except BobweightError:
        return
    found = outcome(docket)
    assert not [problem for problem in found.problems if problem.code == "not-computed"]
    assert docket_from_text(docket_to_text(docket)) == docket


def check_tray(data: bytes) -> None:
    """Likewise a tray."""
    try:
        tray = tray_from_text(text_of(data))
    except BobweightError:
        return
    assert tray_from_text(tray_to_text(tray)) == tray


def check_table(kind: str, data: bytes) -> None:
    """A table of any kind, as it would be taken from a file."""
    try:
        text, _ = decoded(data)
        understand_text(text, kind)
    except BobweightError:
        return


def check_pasted(kind: str, data: bytes) -> None:
    """Pasted text of any kind: what is taken of it makes a docket (a tray) that can be kept."""
    text = data.decode("utf-8", errors="replace")
    with contextlib.suppress(BobweightError):
        numbers_parser(HangRow, ("load_n", "length_mm"), Display())(text)
    try:
        _taken(kind, understand_text(text, kind))
    except BobweightError:
        return


def check_spreadsheet(kind: str, suffix: str, folder: Path, data: bytes) -> None:
    """A spreadsheet, as far as the docket (the tray) that it makes."""
    path = folder / f"table{suffix}"
    path.write_bytes(data)
    try:
        _taken(kind, understand_source(read_source(path), kind))
    except BobweightError:
        return


def _taken(kind: str, found: Understanding) -> None:
    if kind == "tray":
        tray = tray_with(Tray(), found)
        assert tray_from_text(tray_to_text(tray)) == tray
    else:
        docket = docket_with(Docket(), found)
        outcome(docket)
        assert docket_from_text(docket_to_text(docket)) == docket


def check_photograph(suffix: str, folder: Path, data: bytes) -> None:
    """A picture, by both that read one: the window's and the one that is measured on."""
    path = folder / f"photograph{suffix}"
    path.write_bytes(data)
    shown = widget_picture.read_picture(path, QSize(120, 90))
    assert shown is None or shown.width() <= 120
    try:
        assert measured_picture.read_picture(path).grey().size
    except BobweightError:
        return


def check_settings(folder: Path, data: bytes) -> None:
    """Settings are read as far as they can be; nothing raises."""
    (folder / "settings.ini").write_bytes(data)
    settings = Settings(folder)
    display = Display()
    settings.load_display(display)
    assert settings.theme in THEMES and settings.zoom in ZOOMS
    assert all(isinstance(path, Path) for path in settings.recent)
    settings.folder_for("print")
    settings.bytes("window/geometry")
    assert display.frame in ("", *FRAMES)


def check_journal(folder: Path, data: bytes) -> None:
    """A journal never raises; what it gives back is computed, worded and written."""
    path = folder / "one.journal"
    path.write_bytes(data)
    left = read_leftover(path)
    leftover_words(left)
    if left.docket is not None:
        check_docket(docket_to_text(left.docket).encode())


def zipped_changed(rng: random.Random, data: bytes) -> bytes:
    """A zipped file with one of its parts broken and packed again: what is in it is reached."""
    made = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(made, "w") as new:
        broken = rng.choice(old.namelist())
        for name in old.namelist():
            part = old.read(name)
            new.writestr(name, bytes_changed(rng, part) if name == broken else part)
    return made.getvalue()


def lines_changed(rng: random.Random, data: bytes) -> bytes:
    """A journal with values of a line replaced, and the line's checksum right again."""
    lines = data.splitlines()
    for _ in range(rng.choice((1, 1, 2))):
        number = rng.randrange(len(lines))
        plain = values_changed(rng, json.loads(lines[number][9:]))
        text = json.dumps(plain).encode("utf-8", "surrogatepass")
        lines[number] = b"%08x %s" % (zlib.crc32(text), text)
    if rng.random() < 0.3:
        rng.shuffle(lines)
    return b"\n".join(lines) + b"\n"


def broken_further(rng: random.Random, kind: str, data: bytes) -> bytes:
    """A broken file broken once more: by its structure if it still has one."""
    try:
        if kind in ("docket values", "tray"):
            plain = values_changed(rng, json.loads(data))
            return json.dumps(plain).encode("utf-8", "surrogatepass")
        if kind == "journal":
            return lines_changed(rng, data)
        if kind in ("xlsx", "ods"):
            return zipped_changed(rng, data)
    except Exception:
        pass  # it has none any more
    return bytes_changed(rng, data)


_ODS = """<?xml version="1.0" encoding="UTF-8"?>
<office:document-content office:version="1.2"
 xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0"
 xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0"
 xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0"><office:body><office:spreadsheet>
<table:table table:name="S">{}</table:table>
</office:spreadsheet></office:body></office:document-content>"""


def _ods(rows: list[list[str]]) -> bytes:
    def cell(value: str) -> str:
        text = f"<text:p>{value}</text:p>"
        if value.replace(".", "").isdigit():
            kind = f'office:value-type="float" office:value="{value}"'
        else:
            kind = 'office:value-type="string"'
        return f"<table:table-cell {kind}>{text}</table:table-cell>"

    body = "".join(
        f"<table:table-row>{''.join(cell(value) for value in row)}</table:table-row>"
        for row in rows
    )
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as file:
        file.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        file.writestr("content.xml", _ODS.format(body))
        file.writestr("META-INF/manifest.xml", "<manifest/>")
    return made.getvalue()


def _journal(docket: bytes) -> bytes:
    plain = json.loads(docket)
    head = {"line": 0, "at": "2020-01-01T10:00:00+00:00", "format": 1, "number": 3,
            "file": "/nowhere/x.docket", "fingerprint": "0" * 64, "docket": plain,
            "typed": []}  # fmt: skip
    typed = {"path": ["particulars", "notes"], "place": "Notes", "text": "half a word"}
    made = [
        head,
        {"line": 1, "at": head["at"], "typed": [typed],
         "changes": [[["particulars", "title"], "another"]]},
        {"line": 2, "at": head["at"], "typed": [],
         "changes": [[["mechanism", "stop_deg"], 11.5]]},
    ]  # fmt: skip
    texts = [json.dumps(each).encode() for each in made]
    return b"".join(b"%08x %s\n" % (zlib.crc32(text), text) for text in texts)


_SETTINGS = rb"""[General]
theme=dark
zoom=125
recent="[\"/a.docket\", \"/b.docket\"]"

[display]
frame=crank
depression=inHg
length=thou

[window]
geometry=@ByteArray(\x1\xd9\xd0\xcb\0\x3\0\0)
page=verdict
"""
_SHARES = {
    "docket values": 30, "docket bytes": 10, "tray": 6, "table": 8, "pasted text": 10, "xlsx": 6,
    "ods": 6, "PNG": 6, "JPEG": 6, "settings": 6, "journal": 10,
}  # fmt: skip


class Material:
    """What is broken, and by what it is checked."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.learnt: dict[str, list[tuple[bytes, Check]]] = {}
        self.dockets = [path.read_bytes() for path in sorted(FOLDER.glob("*.docket"))]
        springs = (
            TraySpring(label="A1", count=2, rate_n_per_mm=0.9, u={"rate_n_per_mm": 0.02}),
            TraySpring(label="B", rate_n_per_mm=11.0, free_length_mm=17.5, note="n"),
        )
        self.tray = tray_to_text(Tray(springs=springs)).encode()
        self.tables = {
            "tray": b"label;count;rate [N/mm];u rate;length\nA1;2;0,9;0,02;19\nB2;1;11;;17,5\n",
            "readings": b"speed,angle,direction\n500,2.5,rising\n1000,8,rising\n2000,14,falling\n",
            "target": b"rpm\tmin\tmax\n500\t0\t2\n1000\t5\t7\n1500\t8 - 10\n",
            "vacuum": b"kPa;least;most\n10;0;1\n20;4,5;6\n",
        }
        self.sheets: dict[tuple[str, str], bytes] = {}
        for kind, table in self.tables.items():
            lines = table.decode().splitlines()
            mark = next(sign for sign in "\t;," if sign in lines[0])
            rows = [line.split(mark) for line in lines]
            write_table(list(rows), folder / "whole.xlsx")
            self.sheets[kind, ".xlsx"] = (folder / "whole.xlsx").read_bytes()
            self.sheets[kind, ".ods"] = _ods(rows)
        self.pictures = {".png": self._picture("PNG"), ".jpg": self._picture("JPEG")}
        self.journals = [_journal(docket) for docket in self.dockets]

    def _picture(self, kind: str) -> bytes:
        from PIL import Image

        made = Image.effect_noise((240, 210), 60).convert("RGB")
        exif = Image.Exif()
        exif[0x0112] = 6
        file = io.BytesIO()
        made.save(file, kind, dpi=(300, 300), exif=exif)
        return file.getvalue()

    def case(self, seed: int) -> tuple[str, bytes, Check]:
        """One broken file: its kind, its bytes, its check. Half are made from what was learnt, if
        anything was."""
        rng = random.Random(seed)
        kind = rng.choices(list(_SHARES), list(_SHARES.values()))[0]
        if self.learnt.get(kind) and rng.random() < 0.5:
            data, check = rng.choice(self.learnt[kind])
            return kind, broken_further(rng, kind, data), check
        return kind, *getattr(self, "_" + kind.lower().replace(" ", "_"))(rng)

    def learn(self, kind: str, data: bytes, check: Check) -> None:
        """A file that did something new: break it further."""
        self.learnt.setdefault(kind, []).append((data, check))

    def _docket_values(self, rng: random.Random) -> tuple[bytes, Check]:
        plain = values_changed(rng, json.loads(rng.choice(self.dockets)))
        return json.dumps(plain).encode("utf-8", "surrogatepass"), check_docket

    def _docket_bytes(self, rng: random.Random) -> tuple[bytes, Check]:
        return bytes_changed(rng, rng.choice(self.dockets)), check_docket

    def _tray(self, rng: random.Random) -> tuple[bytes, Check]:
        if rng.random() < 0.5:
            return bytes_changed(rng, self.tray), check_tray
        plain = values_changed(rng, json.loads(self.tray))
        return json.dumps(plain).encode("utf-8", "surrogatepass"), check_tray

    def _table(self, rng: random.Random) -> tuple[bytes, Check]:
        what = rng.choice(sorted(self.tables))
        return bytes_changed(rng, self.tables[what]), partial(check_table, what)

    def _pasted_text(self, rng: random.Random) -> tuple[bytes, Check]:
        what = rng.choice(sorted(self.tables))
        lines = [line.split("\t") for line in _tabbed(self.tables[what]).splitlines()]
        for _ in range(rng.choice((1, 2, 5))):
            row = rng.choice(lines)
            row[rng.randrange(len(row))] = rng.choice(CELLS)
        if rng.random() < 0.3:
            rng.shuffle(lines)
        if rng.random() < 0.2:
            lines = lines[1:]
        text = rng.choice(("\n", "\r\n")).join("\t".join(row) for row in lines)
        return text.encode("utf-8", "replace"), partial(check_pasted, what)

    def _xlsx(self, rng: random.Random) -> tuple[bytes, Check]:
        return self._spreadsheet(rng, ".xlsx")

    def _ods(self, rng: random.Random) -> tuple[bytes, Check]:
        return self._spreadsheet(rng, ".ods")

    def _spreadsheet(self, rng: random.Random, suffix: str) -> tuple[bytes, Check]:
        what = rng.choice(sorted(self.tables))
        break_it = rng.choice((zipped_changed, zipped_changed, bytes_changed))
        check = partial(check_spreadsheet, what, suffix, self.folder)
        return break_it(rng, self.sheets[what, suffix]), check

    def _png(self, rng: random.Random) -> tuple[bytes, Check]:
        return bytes_changed(rng, self.pictures[".png"]), self._photograph(".png")

    def _jpeg(self, rng: random.Random) -> tuple[bytes, Check]:
        return bytes_changed(rng, self.pictures[".jpg"]), self._photograph(".jpg")

    def _photograph(self, suffix: str) -> Check:
        return partial(check_photograph, suffix, self.folder)

    def _settings(self, rng: random.Random) -> tuple[bytes, Check]:
        return bytes_changed(rng, _SETTINGS), partial(check_settings, self.folder)

    def _journal(self, rng: random.Random) -> tuple[bytes, Check]:
        break_it = rng.choice((bytes_changed, lines_changed, lines_changed))
        return break_it(rng, rng.choice(self.journals)), partial(check_journal, self.folder)


def _tabbed(table: bytes) -> str:
    return table.decode().replace(";", "\t").replace(",", "\t" if b";" not in table else ",")
