"""Records as plain JSON values and back, for any record type.

Knows the description of a record (:mod:`core.record`) and nothing of a particular file, so that
every file the program keeps is checked with the same care.

Two decisions:

* A value that is not known is written as ``null``, and every field is written even where it has
  its default. A file then names everything that can be known of a unit, and a default altered in
  a later version cannot alter what an old file says.
* Keys that are not known are kept in ``Record.other`` and written back at the same level, entries
  of ``u`` for fields that are not known included.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Iterator, Sequence
from typing import Any

from bobweight.core.problems import BobweightError, Path, as_in_file
from bobweight.core.record import Parameter, Record, Stored, parameters

RECORD_LIMIT = 100_000
"""The most records that one file may hold, in all its lists together."""
_OPEN_LIMIT = 4 * RECORD_LIMIT  # a record has uncertainties and lists of its own
_VALUE_LIMIT = 15 * RECORD_LIMIT  # a reading has eleven
_STRING = re.compile(r'"[^"\\]*(?:\\.[^"\\]*)*"')
DEPTH_LIMIT = 40
LINE_WIDTH = 140
_INDENT = "  "


class _Pairs(dict[str, Any]):
    """An object of a file that remembers a key written twice."""

    __slots__ = ("twice",)
    twice: str | None


def to_plain(record: Record) -> dict[str, Any]:
    """The record as nested dicts, lists, strings and numbers, in the order of its description."""
    plain: dict[str, Any] = {}
    for key, parameter in parameters(record).items():
        value = getattr(record, key)
        if parameter.kind == "one":
            plain[key] = to_plain(value)
        elif parameter.kind == "many":
            plain[key] = [to_plain(item) for item in value]
        elif parameter.kind == "number" and type(value) is int:
            plain[key] = float(value)  # one way to write a number, whatever it was typed as
        else:
            plain[key] = value
    stated = {key: record.u[key] for key in plain if key in record.u}
    unknown = record.other.get("u", {})
    if stated or unknown:
        plain["u"] = {**stated, **unknown}
    for key, value in record.other.items():
        plain.setdefault(key, value)
    return plain


def from_plain(kind: type[Stored], plain: Any, path: Path = ()) -> Stored:
    """The record of a type that plain values describe, each value checked.

    Parameters
    ----------
    plain : dict
        As :func:`to_plain` gives; keys left out take their defaults.
    path : path
        Where the record stands, for messages.

    Raises
    ------
    BobweightError
        At the first value that is of the wrong kind or beyond its limits; its path is the place.
    """
    return _record(kind, plain, path, _Count())


class _Count:
    """How many records a file has had so far."""

    def __init__(self) -> None:
        self.records = 0

    def one_more(self, path: Path) -> None:
        self.records += 1
        if self.records > RECORD_LIMIT:
            raise BobweightError("too-many-records", path[:3], limit=RECORD_LIMIT)


def _record(kind: type[Stored], plain: Any, path: Path, count: _Count) -> Stored:
    _need(plain, dict, "not-an-object", path)
    count.one_more(path)
    known = parameters(kind)
    values = {
        key: _value(parameter, plain[key], path, count)
        for key, parameter in known.items()
        if key in plain
    }
    other = {key: value for key, value in plain.items() if key not in known and key != "u"}
    u, unknown_u = _uncertainties(known, plain.get("u"), (*path, "u"))
    if unknown_u:
        other["u"] = unknown_u
    return kind(**values, u=u, other=other)


def _value(parameter: Parameter, value: Any, path: Path, count: _Count) -> Any:
    place = (*path, parameter.key)
    if parameter.kind == "one":
        return _record(parameter.inner, value, place, count)
    if parameter.kind == "many":
        _need(value, list, "not-a-list", place)
    problem = parameter.check(value)
    if problem:
        raise BobweightError.of(problem.at(*path))
    if parameter.kind == "many":
        return tuple(
            _record(parameter.inner, item, (*place, index), count)
            for index, item in enumerate(value)
        )
    if value is None:
        return None
    if parameter.kind == "number":
        return float(value)
    return int(value) if parameter.kind == "whole" else value


def _uncertainties(
    known: dict[str, Parameter], stated: Any, path: Path
) -> tuple[dict[str, float], dict[str, Any]]:
    if stated is None:
        return {}, {}
    _need(stated, dict, "not-an-object", path)
    u, unknown = {}, {}
    for key, value in stated.items():
        if key not in known or known[key].kind not in ("number", "whole"):
            unknown[key] = value
        elif value is not None:
            problem = known[key].check_u(value)
            if problem:
                raise BobweightError.of(problem.at(*path[:-1]))
            u[key] = float(value)
    return u, unknown


def left_out(kind: type[Record], plain: Any, path: Path = ()) -> Iterator[tuple[Path, Any]]:
    """What a file of a record does not say, and what stands for it where that is more than nothing:
    its default, or what is assumed where it is blank; of a record that is not there at all, nothing
    is told."""
    for key, parameter in parameters(kind).items():
        place = (*path, key)
        if parameter.kind == "one" and key in plain:
            yield from left_out(parameter.inner, plain[key], place)
        elif parameter.kind == "many":
            for index, item in enumerate(plain.get(key, ())):
                yield from left_out(parameter.inner, item, (*place, index))
        elif parameter.kind != "one" and key not in plain:
            stands = parameter.default or parameter.assumed
            if stands:
                yield place, stands


def _need(value: Any, kind: type, code: str, path: Path) -> None:
    if not isinstance(value, kind):
        raise BobweightError(code, path, value=as_in_file(value))


def parse_json(text: str) -> Any:
    """The plain values in a JSON text (RFC 8259), checked for what JSON libraries let through.

    Raises
    ------
    BobweightError
        ``empty-file``, ``not-json``, ``damaged-json`` (line and column), ``too-deep``,
        ``key-twice``, ``not-finite``, ``not-text`` (half of a surrogate pair), with the place;
        ``too-many-records`` before anything is built of it, since twenty million bytes of empty
        lists would take a gigabyte.
    """
    if not text.strip():
        raise BobweightError("empty-file")
    if _holds_too_much(text) and _holds_too_much(_STRING.sub("", text)):
        raise BobweightError("too-many-records", (), limit=RECORD_LIMIT)
    try:
        found = json.loads(text, object_pairs_hook=_pairs, parse_int=_whole)
    except json.JSONDecodeError as error:
        if text.lstrip()[0] not in "{[":
            raise BobweightError("not-json") from None
        raise BobweightError("damaged-json", (), line=error.lineno, column=error.colno) from None
    except RecursionError:
        raise BobweightError("too-deep", (), limit=DEPTH_LIMIT) from None
    check_plain(found)
    return found


def _holds_too_much(text: str) -> bool:
    """More lists, records or values than the largest docket has."""
    return text.count("{") + text.count("[") > _OPEN_LIMIT or text.count(",") > _VALUE_LIMIT


def _pairs(pairs: list[tuple[str, Any]]) -> _Pairs:
    found = _Pairs(pairs)
    found.twice = None
    if len(found) < len(pairs):
        seen: set[str] = set()
        for key, _ in pairs:
            if key in seen:
                found.twice = key
                break
            seen.add(key)
    return found


def _whole(digits: str) -> int | float:
    # more digits than the largest float has: infinite, and refused as such with its place
    return int(digits) if len(digits) <= 300 else float(digits)


def check_plain(value: Any) -> None:
    """Refuse plain values that a JSON file cannot hold or that no record needs.

    Raises
    ------
    BobweightError
        ``too-deep``, ``key-twice``, ``not-finite`` or ``not-text``, with the place.
    """
    place: list[str | int] = []
    open_: list[Iterator[tuple[str | int, Any]]] = []

    def look(value: Any) -> None:
        """Check one value, and open it if there is something in it."""
        if isinstance(value, dict):
            if isinstance(value, _Pairs) and value.twice is not None:
                raise BobweightError("key-twice", (*place, value.twice), key=value.twice)
            for key in value:
                _check_text(key, place)
        elif isinstance(value, float) and not math.isfinite(value):
            raise BobweightError("not-finite", tuple(place), value=str(value))
        elif isinstance(value, str):
            _check_text(value, place)
        if value and isinstance(value, dict | list):
            if len(place) >= DEPTH_LIMIT:
                raise BobweightError("too-deep", tuple(place[:4]), limit=DEPTH_LIMIT)
            open_.append(iter(value.items()) if isinstance(value, dict) else enumerate(value))

    look(value)
    while open_:
        del place[len(open_) - 1 :]
        for step, inner in open_[-1]:
            before = len(open_)
            place.append(step)
            look(inner)
            if len(open_) > before:
                break
            place.pop()
        else:
            open_.pop()


def _check_text(value: str, place: Sequence[str | int]) -> None:
    try:
        value.encode("utf-8")
    except UnicodeEncodeError:
        shown = value[:40].encode("ascii", "backslashreplace").decode()
        raise BobweightError("not-text", tuple(place), value=shown) from None


def to_json(plain: Any) -> str:
    """Plain values as indented JSON; a short record without records in it takes one line."""
    return _json(plain, "") + "\n"


def _json(value: Any, indent: str) -> str:
    if not isinstance(value, dict | list):
        return json.dumps(value, ensure_ascii=False, allow_nan=False)
    items = value.values() if isinstance(value, dict) else value
    if not any(isinstance(item, dict | list) and item for item in items):
        line = json.dumps(value, ensure_ascii=False, allow_nan=False)
        if len(indent) + len(line) <= LINE_WIDTH:
            return line
    deeper = indent + _INDENT
    if isinstance(value, dict):
        lines = [
            f"{deeper}{json.dumps(key, ensure_ascii=False)}: {_json(item, deeper)}"
            for key, item in value.items()
        ]
        return "{\n" + ",\n".join(lines) + f"\n{indent}}}"
    lines = [deeper + _json(item, deeper) for item in value]
    return "[\n" + ",\n".join(lines) + f"\n{indent}]"
