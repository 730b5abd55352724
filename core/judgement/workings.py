"""What a result was worked out from, and where each figure came from.

The formulas themselves stand beside the functions that hold them; here is only what went in.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from bobweight.core.docket.docket import Docket
from bobweight.core.docket.mechanism import Spring
from bobweight.core.frozen import frozen
from bobweight.core.judgement.assume import assume
from bobweight.core.problems import Path
from bobweight.core.record import Parameter, Record, get, parameter_at, parameters, walk

ORIGINS = ("typed", "measured", "hang", "dimensions", "table", "readings", "usual", "assumed")
"""Typed without an uncertainty; measured, with one stated; by a spring's hang test, or from its
wire and coils; the target; the readings; as the program begins with; blank, and assumed.
"""
_OF_ITS_SOURCE = ("rate_n_per_mm", "initial_tension_n", "free_length_mm")
_BUILD = (("mechanism",), ("particulars", "drive_ratio"), ("particulars", "stamped_maximum_deg"))
_TABLE = (("target", "points"), ("target", "vacuum_points"), ("target", "ceiling_deg"),
          ("target", "no_advance_below_rpm"))  # fmt: skip
RESULTS: dict[str, tuple[Path, ...]] = {
    "verdict": (*_TABLE, ("sessions",), ("setting_up", "static_deg"), *_BUILD),
    "capsule": (("capsules",), ("particulars", "drive_ratio"), ("target", "vacuum_points")),
    "setting": (("setting_up", "static_deg"), ("setting_up", "wanted_total_deg"),
                ("setting_up", "wanted_rpm"), ("setting_up", "wanted_kpa"),
                ("setting_up", "idle_rpm"), ("particulars", "drive_ratio"), ("capsules",)),
    "search": (*_TABLE, *_BUILD),
    "tolerance": (*_TABLE, *_BUILD),
    "hang": (),
    "tape": (),
}  # fmt: skip
"""Of each result, where in the docket its inputs stand; none where a record of its own holds them.
"""


@frozen
class Input:
    """One figure that went in.

    Attributes
    ----------
    path : Path
        In the record it belongs to.
    value : Any
        In the stored unit; for a list, how many entries it has.
    u : float or None
        Standard uncertainty as stated, or of what is assumed by amount.
    origin : str
        One of ``ORIGINS``.
    """

    path: Path
    parameter: Parameter
    value: Any
    u: float | None
    origin: str


def inputs(key: str, docket: Docket, session: int = -1) -> tuple[Input, ...]:
    """What one of ``RESULTS`` was worked out from in a docket, in the order of its pages."""
    found: list[Input] = []
    for prefix in RESULTS[key]:
        if prefix == ("sessions",):
            found += _readings(docket, session)
        elif _there(docket, prefix):
            found += _under(docket, prefix)
    if ("mechanism",) in RESULTS[key]:
        found += _assumed(docket)
    return tuple(found)


def record_inputs(record: Record, origin: str = "") -> tuple[Input, ...]:
    """Every figure of a record that holds all that a result was worked out from; all of one
    ``origin`` if that is named."""
    return tuple(
        Input(path, parameter, value, _u(record, path),
              origin or _origin(record, path, parameter, value))
        for path, parameter, value in _plain(record)
    )  # fmt: skip


def list_input(record: Record, key: str, origin: str) -> Input:
    """How many entries a list of a record has."""
    described = parameters(record)[key]
    return Input((key,), described, len(getattr(record, key)), None, origin)


def _there(docket: Docket, prefix: Path) -> bool:
    record: Any = docket
    for key in prefix:
        if key not in parameters(record):
            return False
        record = getattr(record, str(key))
    return True


def _under(docket: Docket, prefix: Path) -> Iterator[Input]:
    held, parameter = get(docket, prefix), parameter_at(docket, prefix)
    if prefix[0] == "target" and parameter.kind == "many":
        if held:
            yield Input(prefix, parameter, len(held), None, "table")
        return
    if parameter.kind == "number":
        if held is None and parameter.assumed:  # of a blank nothing but what is taken for it
            yield Input(prefix, parameter, parameter.assumed, None, "assumed")
        known = [] if held is None else [(prefix, parameter, held)]
        values: Iterator[tuple[Path, Parameter, Any]] = iter(known)
    elif parameter.kind == "one":
        values = ((prefix + path, p, value) for path, p, value in _plain(held))
    else:
        values = (
            ((*prefix, index, *path), p, value)
            for index, item in enumerate(held)
            for path, p, value in _plain(item)
        )
    for path, described, value in values:
        yield Input(path, described, value, _u(docket, path),
                    _origin(docket, path, described, value))  # fmt: skip


def _plain(record: Record) -> Iterator[tuple[Path, Parameter, Any]]:
    """Every number that is known and not left at nothing."""
    for path, parameter, value in walk(record):
        if (
            parameter.kind in ("number", "whole")
            and value not in (None, 0, 0.0)
            and (
                "source" not in path[:-1]
                and path[-1] != "weight"  # how it is known, and whose it is
            )
        ):
            yield path, parameter, value


def _holder(record: Record, path: Path) -> Record:
    held: Record = get(record, path[:-1]) if path[:-1] else record
    return held


def _u(record: Record, path: Path) -> float | None:
    holder = _holder(record, path)
    return dict(holder.u).get(str(path[-1]))


def _origin(record: Record, path: Path, parameter: Parameter, value: Any) -> str:
    if path[0] == "target":
        return "table"
    holder = _holder(record, path)
    if isinstance(holder, Spring) and path[-1] in _OF_ITS_SOURCE:
        known_from = holder.source.known_from
        if known_from != "typed":
            return str(known_from)
    if _u(record, path) is not None:
        return "measured"
    return "usual" if value == parameter.default else "typed"


def _readings(docket: Docket, session: int) -> Iterator[Input]:
    if not docket.sessions:
        return
    index = session % len(docket.sessions)
    path: Path = ("sessions", index, "readings")
    count = len(docket.sessions[index].readings)
    yield Input(path, parameter_at(docket, path), count, None, "readings")
    instrument: Path = ("sessions", index, "instrument")
    for inner, parameter, value in _plain(docket.sessions[index].instrument):
        whole = (*instrument, *inner)
        yield Input(whole, parameter, value, _u(docket, whole),
                    _origin(docket, whole, parameter, value))  # fmt: skip


def _assumed(docket: Docket) -> Iterator[Input]:
    """What is blank and was assumed."""
    assumed = assume(docket)
    for path in assumed.paths:
        inside = path[1:] if path[:1] == ("mechanism",) else path
        try:
            value = get(assumed.mechanism, inside)
            parameter = parameter_at(assumed.mechanism, inside)
        except (AttributeError, IndexError, KeyError, LookupError, ValueError):
            continue
        if parameter.kind in ("number", "whole") and value is not None:
            known = assumed.known.get(inside)
            u = known.u if known is not None and not known.by_share else None
            yield Input(("mechanism", *inside), parameter, value, u, "assumed")
