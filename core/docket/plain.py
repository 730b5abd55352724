"""Records as plain JSON values and back, for any record type.

Knows the description of a record (:mod:`core.record`) and nothing of a particular file, so that
every file the program keeps is checked with the same care.

Two decisions:

* A number that is not known is written as ``null``, and every field is written even where it has
  its default. A file then names everything that can be known of a unit, and a default altered in
  a later version cannot alter what an old file says.
* Keys that are not known are kept in ``Record.other`` and written back at the same level, entries
  of ``u`` for fields that are not known included.
"""

from __future__ import annotations

import json
import math
from typing import Any

from bobweight.core.problems import BobweightError, Path
from bobweight.core.record import Parameter, Record, parameters

LIST_LIMIT = 20_000
DEPTH_LIMIT = 40
LINE_WIDTH = 140
_INDENT = "  "


class _Pairs(dict):
    """An object of a file that remembers a key written twice."""

    twice: str | None = None


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


def from_plain(kind: type[Record], plain: Any, path: Path = ()) -> Any:
    """The record of a type that plain values describe, each value checked.

    Parameters
    ----------
    kind : record type
    plain : dict
        As :func:`to_plain` gives; keys left out take their defaults.
    path : path
        Where the record stands, for messages.

    Raises
    ------
    BobweightError
        At the first value that is of the wrong kind or beyond its limits; its path is the place.
    """
    _need(plain, dict, "not-an-object", path)
    known = parameters(kind)
    values = {
        key: _value(parameter, plain[key], path) for key, parameter in known.items() if key in plain
    }
    other = {key: value for key, value in plain.items() if key not in known and key != "u"}
    u, unknown_u = _uncertainties(known, plain.get("u"), (*path, "u"))
    if unknown_u:
        other["u"] = unknown_u
    return kind(**values, u=u, other=other)


def _value(parameter: Parameter, value: Any, path: Path) -> Any:
    place = (*path, parameter.key)
    if parameter.kind == "one":
        return from_plain(parameter.record, value, place)
    if parameter.kind == "many":
        _need(value, list, "not-a-list", place)
        if len(value) > LIST_LIMIT:
            raise BobweightError("list-too-long", place, value=len(value), limit=LIST_LIMIT)
        return tuple(
            from_plain(parameter.record, item, (*place, index)) for index, item in enumerate(value)
        )
    problem = parameter.check(value)
    if problem:
        raise BobweightError.of(problem.at(*path))
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
            if isinstance(value, bool) or not isinstance(value, int | float):
                raise BobweightError("not-a-number", (*path, key), value=_shown(value))
            if not value > 0:
                raise BobweightError("uncertainty-not-positive", (*path, key), value=value)
            u[key] = float(value)
    return u, unknown


def _need(value: Any, kind: type, code: str, path: Path) -> None:
    if not isinstance(value, kind):
        raise BobweightError(code, path, value=_shown(value))


def _shown(value: Any) -> Any:
    if value is None or isinstance(value, bool | int | float):
        return value
    return str(value)[:40]


def parse_json(text: str) -> Any:
    """The plain values in a JSON text (RFC 8259), checked for what JSON libraries let through.

    Raises
    ------
    BobweightError
        ``empty-file``, ``not-json``, ``damaged-json`` (line and column), ``too-deep``,
        ``key-twice``, ``not-finite``, ``not-text`` (half of a surrogate pair), with the place.
    """
    if not text.strip():
        raise BobweightError("empty-file")
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


def _pairs(pairs: list[tuple[str, Any]]) -> _Pairs:
    found = _Pairs(pairs)
    if len(found) < len(pairs):
        keys = [key for key, _ in pairs]
        found.twice = next(key for index, key in enumerate(keys) if key in keys[:index])
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
    waiting: list[tuple[Any, Path]] = [(value, ())]
    while waiting:
        value, path = waiting.pop()
        if isinstance(value, dict):
            if isinstance(value, _Pairs) and value.twice is not None:
                raise BobweightError("key-twice", (*path, value.twice), key=value.twice)
            for key in value:
                _check_text(key, path)
            inner = [(item, (*path, key)) for key, item in value.items()]
        elif isinstance(value, list):
            inner = [(item, (*path, index)) for index, item in enumerate(value)]
        else:
            inner = []
            if isinstance(value, float) and not math.isfinite(value):
                raise BobweightError("not-finite", path, value=str(value))
            if isinstance(value, str):
                _check_text(value, path)
        if inner and len(path) >= DEPTH_LIMIT:
            raise BobweightError("too-deep", path[:4], limit=DEPTH_LIMIT)
        waiting.extend(reversed(inner))


def _check_text(value: str, path: Path) -> None:
    try:
        value.encode("utf-8")
    except UnicodeEncodeError:
        shown = value[:40].encode("ascii", "backslashreplace").decode()
        raise BobweightError("not-text", path, value=shown) from None


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
