"""What one docket has that another had not, as plain values: small, ordered, and put back exactly.

Records never change, so what an edit did not touch is the same object and is passed over by
identity: the cost is that of the edit, not of the docket.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from bobweight.core.docket.plain import to_plain
from bobweight.core.problems import BobweightError, Path
from bobweight.core.record import Record, parameters

Change = dict[str, Any]
"""``{"at": path, "put": value}``, or of a list ``{"at": path, "from": i, "out": n, "in": [...]}``:
from row i, n rows went out and these came in."""


def changes(before: Record, after: Record) -> list[Change]:
    """What turns the plain values of ``before`` into those of ``after``."""
    return list(_changes(before, after, ()))


def _changes(before: Record, after: Record, path: Path) -> Iterable[Change]:
    if before is after:
        return
    if before.u != after.u or before.other != after.other:
        yield {"at": list(path), "put": to_plain(after)}
        return
    for key, parameter in parameters(after).items():
        old, new = getattr(before, key), getattr(after, key)
        if old is new:
            continue
        if parameter.kind == "one":
            yield from _changes(old, new, (*path, key))
        elif parameter.kind == "many":
            yield from _of_list(old, new, (*path, key))
        elif old != new or type(old) is not type(new):
            yield {"at": [*path, key], "put": new}


def _of_list(old: tuple[Record, ...], new: tuple[Record, ...], path: Path) -> Iterable[Change]:
    if len(old) == len(new):
        for index, (one, other) in enumerate(zip(old, new, strict=True)):
            yield from _changes(one, other, (*path, index))
        return
    least = min(len(old), len(new))
    first = next((i for i in range(least) if old[i] is not new[i]), least)
    rest = least - first
    last = next((i for i in range(rest) if old[-1 - i] is not new[-1 - i]), rest)
    came = [to_plain(row) for row in new[first : len(new) - last]]
    yield {"at": list(path), "from": first, "out": len(old) - first - last, "in": came}


def apply(plain: Any, made: Iterable[Mapping[str, Any]]) -> Any:
    """Plain values with changes made in them, in place where it can be; the whole is handed back.

    Raises
    ------
    BobweightError
        ``damaged-change`` if a change does not fit.
    """
    for change in made:
        try:
            at = change["at"]
            if not at:
                plain = change["put"]
                continue
            here = plain
            for step in at[:-1]:
                here = here[step]
            if "put" in change:
                here[at[-1]] = change["put"]
            else:
                begins = change["from"]
                here[at[-1]][begins : begins + change["out"]] = change["in"]
        except (KeyError, IndexError, TypeError, AttributeError) as error:
            raise BobweightError("damaged-change", ()) from error
    return plain
