"""What may enter: every record that is edited in is looked at before it becomes the docket.

Whatever is open can therefore be written, read back and computed. A record never changes, so each
is looked at once and only what an edit made anew costs anything.
"""

from __future__ import annotations

from typing import Any

from bobweight.core.docket.plain import RECORD_LIMIT, to_json
from bobweight.core.problems import BobweightError, Path
from bobweight.core.record import Parameter, Record, parameters

SIZE_LIMIT = 40_000_000
"""The most bytes of a file that is read or written: fifty logs of 1000 readings may need 22 million
bytes, and a docket with 1000 readings has 150 000."""
_INDENT = 22  # more than the deepest line of a file is set in
_NUMBER = 26  # more than the characters of any number


class Gate:
    """Lets records in, and remembers which it has seen."""

    def __init__(self) -> None:
        self._seen: dict[int, tuple[object, int, int]] = {}

    def check(self, record: Record) -> None:
        """Look at everything in a record that was not there last time.

        Raises
        ------
        BobweightError
            The first value, uncertainty or list beyond its limits, with its place;
            ``too-many-records``; ``docket-too-large``.
        """
        fresh: dict[int, tuple[object, int, int]] = {}
        size, count = self._record(record, (), fresh)
        if count > RECORD_LIMIT:
            raise BobweightError("too-many-records", (), limit=RECORD_LIMIT)
        if size > SIZE_LIMIT:
            raise BobweightError("docket-too-large", (), limit=SIZE_LIMIT)
        self._seen = fresh

    def _known(self, thing: object, fresh: dict[int, Any]) -> tuple[object, int, int] | None:
        known = self._seen.get(id(thing))  # what is remembered is held, so its id is its own
        if known is not None:
            fresh[id(thing)] = known
        return known

    def _record(self, record: Record, path: Path, fresh: dict[int, Any]) -> tuple[int, int]:
        """The most bytes that a record may take in a file, and how many records are in it."""
        known = self._known(record, fresh)
        if known is not None:
            self._keep_inside(record, fresh)
            return known[1:]
        size, count = 2 * _INDENT, 1
        described = parameters(record)
        for key, parameter in described.items():
            value = getattr(record, key)
            size += len(key) + 6 + _INDENT
            problem = parameter.check(value) if parameter.kind != "one" else None
            if problem:
                raise BobweightError.of(problem.at(*path))
            if parameter.kind == "one":
                inner, more = self._record(value, (*path, key), fresh)
            elif parameter.kind == "many":
                inner, more = self._list(value, (*path, key), fresh)
            else:
                inner, more = _plain_size(parameter, value), 0
            size, count = size + inner, count + more
        for key, u in record.u.items():
            problem = described[key].check_u(u) if key in described else None
            if problem:
                raise BobweightError.of(problem.at(*path))
            size += len(key) + 6 + _INDENT + _NUMBER
        if record.other:
            text = to_json(dict(record.other))
            size += len(text.encode("utf-8")) + _INDENT * (text.count("\n") + 1)
        fresh[id(record)] = (record, size, count)
        return size, count

    def _list(self, rows: tuple[Record, ...], path: Path, fresh: dict[int, Any]) -> tuple[int, int]:
        known = self._known(rows, fresh) if rows else None
        if known is not None:
            for row in rows:
                self._known(row, fresh)
                self._keep_inside(row, fresh)
            return known[1:]
        size, count = 2 * _INDENT, 0
        for index, row in enumerate(rows):
            inner, more = self._record(row, (*path, index), fresh)
            size, count = size + inner + 2 + _INDENT, count + more
        if rows:
            fresh[id(rows)] = (rows, size, count)
        return size, count

    def _keep_inside(self, record: Record, fresh: dict[int, Any]) -> None:
        """What stands in a record that stayed is remembered too."""
        for key in _holders(type(record)):
            value = getattr(record, key)
            if isinstance(value, tuple):
                if value:
                    self._list(value, (), fresh)
            else:
                self._known(value, fresh)
                self._keep_inside(value, fresh)


_HOLDERS: dict[type, tuple[str, ...]] = {}


def _holders(kind: type[Record]) -> tuple[str, ...]:
    """The keys of a record type that hold further records."""
    if kind not in _HOLDERS:
        _HOLDERS[kind] = tuple(
            key for key, p in parameters(kind).items() if p.kind in ("one", "many")
        )
    return _HOLDERS[kind]


def _plain_size(parameter: Parameter, value: Any) -> int:
    if not isinstance(value, str):
        return _NUMBER
    if value.isascii() and value.isprintable():
        return 2 + len(value) + value.count('"') + value.count("\\")
    try:
        return len(to_json(value).encode("utf-8"))
    except UnicodeEncodeError:  # half of a surrogate pair, which no file can hold
        raise BobweightError("not-text", (parameter.key,), value="…") from None
