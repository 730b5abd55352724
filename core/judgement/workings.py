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
from bobweight.core.judgement.blanks import blanks
from bobweight.core.problems import Path
from bobweight.core.record import (
    Parameter,
    Record,
    get,
    is_assumed,
    parameter_at,
    parameters,
    taken_at,
    walk,
)

ORIGINS = ("typed", "measured", "hang", "dimensions", "table", "readings", "usual", "assumed")
"""Typed without an uncertainty; measured, with one stated; by a spring's hang test, or from its
wire and coils; the target; the readings; as the program begins with; blank, and assumed.
"""
_ASKED_ELSEWHERE = ("count", "stop_rate_nmm_per_deg")
"""Of which a blank tells nothing here: :func:`_assumed` counts the weights where that matters, and
there is no rubber where nobody entered one.
"""
_OF_ITS_SOURCE = ("rate_n_per_mm", "initial_tension_n", "free_length_mm")
_BUILD = (("mechanism",), ("particulars", "drive_ratio"), ("particulars", "stamped_maximum_deg"))
_TABLE = (("target", "points"), ("target", "frame"), ("target", "vacuum_points"),
          ("target", "vacuum_frame"), ("target", "ceiling_deg"),
          ("target", "no_advance_below_rpm"))  # fmt: skip
_FRAMES = {"frame": ("points", "ceiling_deg", "no_advance_below_rpm"),
           "vacuum_frame": ("vacuum_points",)}  # fmt: skip
"""What of the target is told in each frame."""
RESULTS: dict[str, tuple[Path, ...]] = {
    "verdict": (*_TABLE, ("sessions",), ("setting_up", "static_deg"), *_BUILD),
    "capsule": (("capsules",), ("particulars", "drive_ratio"), ("target", "vacuum_points"),
                ("target", "vacuum_frame")),
    "setting": (("setting_up", "static_deg"), ("setting_up", "wanted_total_deg"),
                ("setting_up", "wanted_rpm"), ("setting_up", "wanted_kpa"),
                ("setting_up", "idle_rpm"), ("setting_up", "altitude_m"),
                ("particulars", "drive_ratio"), ("capsules",)),
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
        solved = {given.path: given for given in _assumed(docket)}
        found = [given for given in found if given.path not in solved]
        found += solved.values()
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
    if parameter.kind == "choice":
        told = (getattr(docket.target, key) for key in _FRAMES[str(prefix[-1])])
        if any(each not in ((), None) for each in told):
            origin = "assumed" if held is None else "table"
            yield Input(prefix, parameter, taken_at(docket, prefix), None, origin)
        return
    if parameter.kind == "number":
        value = taken_at(docket, prefix)
        known = [] if value is None else [(prefix, parameter, value)]
        values: Iterator[tuple[Path, Parameter, Any]] = iter(known)
    elif parameter.kind == "one":
        values = ((prefix + path, p, value) for path, p, value in _plain(held))
    else:
        values = (
            ((*prefix, index, *path), p, value)
            for index, item in enumerate(held)
            if getattr(item, "given_as", "") != "none"
            for path, p, value in _plain(item)
        )
    for path, described, value in values:
        yield Input(path, described, value, _u(docket, path),
                    _origin(docket, path, described, value))  # fmt: skip


def _plain(record: Record) -> Iterator[tuple[Path, Parameter, Any]]:
    """Every number that is known, or taken where nobody entered it, and not left at nothing."""
    for path, parameter, value in walk(record):
        if (
            parameter.kind in ("number", "whole")
            and "source" not in path[:-1]
            and path[-1] != "weight"  # how it is known, and whose it is
            and not (value == 0 == parameter.default)
        ):
            if value is None and path[-1] not in _ASKED_ELSEWHERE:
                value = parameter.assumed
            if value is not None:
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
    if is_assumed(holder, str(path[-1])):
        return "assumed"
    if isinstance(holder, Spring) and path[-1] in _OF_ITS_SOURCE:
        known_from = holder.source.known_from
        if known_from != "typed":
            return str(known_from)
    if _u(record, path) is not None:
        return "measured"
    return "usual" if value == parameter.default else "typed"


def _readings(docket: Docket, session: int) -> Iterator[Input]:
    if not docket.sessions or not docket.sessions[session % len(docket.sessions)].readings:
        return
    index = session % len(docket.sessions)
    path: Path = ("sessions", index, "readings")
    count = len(docket.sessions[index].readings)
    yield Input(path, parameter_at(docket, path), count, None, "readings")
    if docket.sessions[index].instrument.kind_taken == "lamp":
        yield from _under(docket, ("particulars", "backlash_deg"))
    instrument: Path = ("sessions", index, "instrument")
    origin = "assumed" if docket.sessions[index].instrument.kind is None else "typed"
    kind: Path = (*instrument, "kind")
    yield Input(kind, parameter_at(docket, kind), taken_at(docket, kind), None, origin)
    for inner, parameter, value in _plain(docket.sessions[index].instrument):
        whole = (*instrument, *inner)
        yield Input(whole, parameter, value, _u(docket, whole),
                    _origin(docket, whole, parameter, value))  # fmt: skip


def _assumed(docket: Docket) -> Iterator[Input]:
    """What is blank in the mechanism and was assumed by more than what most have."""
    for path, blank in blanks(docket).items():
        if blank.value is not None:
            parameter = parameter_at(assume(docket).mechanism, path[1:])
            yield Input(path, parameter, blank.value, blank.u, "assumed")
