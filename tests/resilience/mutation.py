"""Broken files of every kind that is read, from seeds: byte by byte, and value by value."""

from __future__ import annotations

import contextlib
import copy
import json
import random
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import Any

from bobweight.app.store.journal import read_leftover
from bobweight.core.design.tray import Tray, TraySpring
from bobweight.core.design.tray_file import tray_from_text, tray_to_text
from bobweight.core.docket.file import docket_from_text, docket_to_text, text_of
from bobweight.core.judgement.outcome import outcome
from bobweight.core.problems import BobweightError
from bobweight.core.tables.source import decoded
from bobweight.core.tables.understanding import understand_text
from tests.samples import FOLDER

ODD: tuple[Any, ...] = (
    None, True, False, 0, -1, 1, 1e-300, 1e300, -1e300, 1e308, 5e-324, 0.1, 1e-9, 1e9, 2**63,
    10**30,
    "", "x", "0", "\u202e", "\x00", "<b>", "x" * 3000, [], {}, [[]], [{}], [None], {"u": 1},
    {"u": {"x": 1}}, 90.0, 0.5, 179.9, 60, 1000.0, 20000.0, -360.0, 1e-6,
)  # fmt: skip
BYTES = (b"\x00", b"\xff", b'"', b"{", b"}", b"[", b"]", b",", b":", b"\\", b"\n", b"e", b"-",
         b"9", b".", b"\xef\xbb\xbf", b"\\ud800", b"1e999", b"NaN", b"\xe2\x80\xae")  # fmt: skip
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
                    stated[rng.choice(numbers)] = rng.choice(ODD)
        elif kind == 3 and isinstance(owner, list):
            owner.insert(path[-1], copy.deepcopy(owner[path[-1]]))
        elif kind in (4, 5) and isinstance(owner[path[-1]], int | float):
            factor = rng.choice((0, -1, 1e-3, 0.1, 0.5, 2, 10, 1e3, 1.0001))
            with contextlib.suppress(OverflowError):
                owner[path[-1]] = owner[path[-1]] * factor
        else:
            owner[path[-1]] = rng.choice(ODD)
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


class Material:
    """What is broken, and by what it is checked."""

    def __init__(self) -> None:
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

    def case(self, seed: int) -> tuple[str, bytes, Check]:
        """One broken file: its kind, its bytes, its check."""
        rng = random.Random(seed)
        kind = rng.choices(("docket values", "docket bytes", "tray", "table"), (12, 4, 2, 2))[0]
        if kind == "docket values":
            plain = values_changed(rng, json.loads(rng.choice(self.dockets)))
            return kind, json.dumps(plain).encode("utf-8", "surrogatepass"), check_docket
        if kind == "docket bytes":
            return kind, bytes_changed(rng, rng.choice(self.dockets)), check_docket
        if kind == "tray":
            if rng.random() < 0.5:
                return kind, bytes_changed(rng, self.tray), check_tray
            plain = values_changed(rng, json.loads(self.tray))
            return kind, json.dumps(plain).encode("utf-8", "surrogatepass"), check_tray
        what = rng.choice(sorted(self.tables))
        return kind, bytes_changed(rng, self.tables[what]), partial(check_table, what)


def check_journal(path: Path, data: bytes) -> None:
    """A journal is read, or said to be damaged; it never raises."""
    path.write_bytes(data)
    read_leftover(path)
