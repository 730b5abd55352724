"""How a stored value is described, once.

A :class:`Record` is a dataclass that never changes, marked :data:`stored`, whose fields are made
with :func:`number`, :func:`whole`, :func:`text`, :func:`choice`, :func:`flag`, :func:`one` and
:func:`many`. The description travels with the field, so the table of parameters, the forms and
their tips, the docket file and its published schema, and the sheet all derive from the same line.

Every record also carries

``u``
    standard uncertainties of its own numbers, by field name. A missing entry means *not stated*;
    it never means zero.
``other``
    keys of a file that this version does not know. They are kept and written back.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator, Mapping
from dataclasses import MISSING, Field, FrozenInstanceError, dataclass, field, fields, replace
from functools import partial
from types import MappingProxyType
from typing import Any, ClassVar, Self, TypeVar, dataclass_transform

from bobweight.core.frozen import frozen
from bobweight.core.problems import BobweightError, Path, Problem, as_in_file, path_text
from bobweight.core.units import NUMBER, Quantity

_KEY = "bobweight"
Stored = TypeVar("Stored", bound="Record")
LIST_LIMIT = 20_000
"""The most entries of a list that states no limit of its own."""
TEXT_LIMIT = 2_000_000
"""The most characters of a text."""
_LEAST_U_SHARE = 1e-10  # of the distance between the hard limits


@frozen
class Parameter:
    """The one description of a stored value.

    Parameters
    ----------
    kind : str
        ``number``, ``whole``, ``text``, ``choice``, ``flag``, ``one`` or ``many``.
    label, help : str
        What it is called, and the tip, in the words of the trade (source text for translation).
    quantity : Quantity
        For numbers: the quantity, whose first unit is the stored one.
    default : object
        None means "not known yet", which is allowed only for numbers and choices that are
        ``optional``.
    hard : (float, float)
        Limits beyond which the value is refused.
    usual : (float, float) or None
        Common practice: outside it the value is accepted with advice. Also the prior of the fit.
    uncertain : bool
        True if a standard uncertainty may be stated for it.
    trade_u : float or None
        The standard uncertainty assumed when none is stated, in the stored unit; None means the
        usual range is all that is known.
    options : mapping of key to label
        For choices.
    assumed : object
        Of a value that is optional: what most units have (common practice), taken by :func:`taken`
        where nobody entered it.
    record : type
        For ``one`` and ``many``: the record type inside.
    frame : str
        For angles and speeds that are always at one shaft: ``distributor`` or ``crank``. Empty
        where it is neither, or where the record says itself which.
    step : float or None
        How far a key stroke takes a number, in the stored unit; None takes the quantity's own.
    most : int
        For ``many``: the most entries that the list may have.
    """

    key: str
    kind: str
    label: str
    help: str = ""
    quantity: Quantity = NUMBER
    default: Any = None
    optional: bool = False
    hard: tuple[float, float] = (-math.inf, math.inf)
    usual: tuple[float, float] | None = None
    uncertain: bool = False
    trade_u: float | None = None
    options: Mapping[str, str] = field(default_factory=dict)
    record: type[Record] | None = None
    long: bool = False
    frame: str = ""
    step: float | None = None
    most: int = LIST_LIMIT
    assumed: Any = None

    def check(self, value: Any) -> Problem | None:
        """What is wrong with a value for this parameter, or None."""
        place: Path = (self.key,)
        if value is None:
            return None if self.optional else Problem("missing", place)
        if self.kind in ("number", "whole"):
            if isinstance(value, bool) or not isinstance(value, int | float):
                return Problem("not-a-number", place, {"value": as_in_file(value)})
            if not math.isfinite(value):
                return Problem("not-finite", place, {"value": str(value)})
            if self.kind == "whole" and value != int(value):
                return Problem("not-whole", place, {"value": value})
            facts = {"value": value, "unit": self.quantity.stored.symbol}
            if value < self.hard[0]:
                return Problem("below-limit", place, facts | {"limit": self.hard[0]})
            if value > self.hard[1]:
                return Problem("above-limit", place, facts | {"limit": self.hard[1]})
        elif self.kind == "text":
            if not isinstance(value, str):
                return Problem("not-text", place, {"value": as_in_file(value)})
            if len(value) > TEXT_LIMIT:
                return Problem("text-too-long", place, {"value": len(value), "limit": TEXT_LIMIT})
        elif self.kind == "many" and len(value) > self.most:
            return Problem("list-too-long", place, {"value": len(value), "limit": self.most})
        elif self.kind == "flag" and not isinstance(value, bool):
            return Problem("not-yes-or-no", place, {"value": as_in_file(value)})
        elif self.kind == "choice" and (not isinstance(value, str) or value not in self.options):
            known = ", ".join(self.options)
            return Problem("not-an-option", place, {"value": as_in_file(value), "known": known})
        return None

    @property
    def inner(self) -> type[Record]:
        """The record type inside, for ``one`` and ``many``.

        Raises
        ------
        TypeError
            For a plain value, which has none inside.
        """
        if self.record is None:
            raise TypeError(f"{self.key} holds no records")
        return self.record

    @property
    def nudge(self) -> float | None:
        """How far a key stroke takes it, in the stored unit; None takes a share of the value."""
        return self.quantity.step if self.step is None else self.step

    @property
    def u_limits(self) -> tuple[float, float]:
        """Between which its standard uncertainty may be stated: more than the whole range says
        nothing, and a ten-thousand-millionth of it is more than any hand can know."""
        span = self.hard[1] - self.hard[0]
        return (_LEAST_U_SHARE * span, span) if math.isfinite(span) else (1e-12, 1e12)

    def check_u(self, u: Any) -> Problem | None:
        """What is wrong with a standard uncertainty stated for it, or None."""
        place: Path = ("u", self.key)
        if isinstance(u, bool) or not isinstance(u, int | float):
            return Problem("not-a-number", place, {"value": as_in_file(u)})
        if not u > 0:
            return Problem("uncertainty-not-positive", place, {"value": u})
        low, high = self.u_limits
        facts = {"value": u, "unit": self.quantity.stored.symbol}
        if u > high:
            return Problem("uncertainty-above-limit", place, facts | {"limit": high})
        if u < low:
            return Problem("uncertainty-below-limit", place, facts | {"limit": low})
        return None

    def advise(self, value: Any) -> Problem | None:
        """Advice (not grave) where a number lies outside common practice, or None."""
        if self.usual is None or value is None or self.usual[0] <= value <= self.usual[1]:
            return None
        facts = {"value": value, "low": self.usual[0], "high": self.usual[1]}
        facts["unit"] = self.quantity.stored.symbol
        return Problem("unusual", (self.key,), facts, grave=False)


def _made(parameter: Parameter, default: Any) -> Any:
    if parameter.kind == "one":
        return field(default_factory=parameter.inner, metadata={_KEY: parameter})
    return field(default=default, metadata={_KEY: parameter})


def number(label: str, quantity: Quantity = NUMBER, default: float | None = None, *, help: str = "",
           hard: tuple[float, float] = (-math.inf, math.inf),
           usual: tuple[float, float] | None = None,
           uncertain: bool = False, trade_u: float | None = None,
           frame: str = "", step: float | None = None,
           assumed: float | None = None) -> Any:  # fmt: skip
    """A real number in the stored unit of its quantity; without a default it starts unknown."""
    parameter = Parameter("", "number", label, help, quantity, default, default is None, hard,
                          usual, uncertain, trade_u, frame=frame, step=step,
                          assumed=assumed)  # fmt: skip
    return _made(parameter, default)


def whole(label: str, default: int | None, hard: tuple[int, int], *, help: str = "",
          assumed: int | None = None) -> Any:  # fmt: skip
    """A count; without a default it starts unknown."""
    return _made(Parameter("", "whole", label, help, NUMBER, default, default is None, hard,
                           assumed=assumed), default)  # fmt: skip


def text(label: str, *, help: str = "", long: bool = False) -> Any:
    """Free text; ``long`` asks for several lines."""
    return _made(Parameter("", "text", label, help, default="", long=long), "")


def choice(label: str, options: Mapping[str, str], default: str | None, *, help: str = "",
           assumed: str | None = None) -> Any:  # fmt: skip
    """One of several keys, each with the words shown for it; without a default it starts
    unknown."""
    parameter = Parameter("", "choice", label, help, default=default, optional=default is None,
                          options=MappingProxyType(dict(options)), assumed=assumed)  # fmt: skip
    return _made(parameter, default)


def flag(label: str, default: bool = False, *, help: str = "") -> Any:
    """Yes or no."""
    return _made(Parameter("", "flag", label, help, default=default), default)


def one(label: str, record: type[Record]) -> Any:
    """A record inside the record."""
    return _made(Parameter("", "one", label, "", record=record), None)


def many(label: str, record: type[Record], *, help: str = "", most: int = LIST_LIMIT) -> Any:
    """A tuple of at most so many records, empty to begin with."""
    return _made(Parameter("", "many", label, help, default=(), record=record, most=most), ())


def same_as(record: type[Record], key: str) -> Any:
    """What another record describes under that key: the same figure, stored in two places."""
    parameter = parameters(record)[key]
    return _made(parameter, parameter.default)


stored = dataclass_transform(frozen_default=True, kw_only_default=True, field_specifiers=(
    number, whole, text, choice, flag, one, many, same_as,
))(partial(dataclass, init=False, eq=False, repr=False))  # fmt: skip
"""Makes a class a record: a dataclass whose methods are those of :class:`Record`. Written out anew
for each of forty records they would delay every start."""


_NOTHING: Mapping[str, Any] = MappingProxyType({})  # one for all: a long log has many records


@stored
class Record:
    """Base of everything stored; see the module's text. Compares by value; never changes."""

    __dataclass_fields__: ClassVar[dict[str, Field[Any]]]
    u: Mapping[str, float] = field(default_factory=dict)
    other: Mapping[str, Any] = field(default_factory=dict)

    def __init__(self, **values: Any) -> None:
        own = self.__dict__
        for key, described in self.__dataclass_fields__.items():
            if key in values:
                own[key] = values.pop(key)
            elif described.default is not MISSING:
                own[key] = described.default
            elif described.default_factory is not MISSING:
                own[key] = described.default_factory()
        if values:
            raise TypeError(f"{type(self).__qualname__} has no {', '.join(values)}")
        for key in ("u", "other"):
            own[key] = MappingProxyType(dict(own[key])) if own[key] else _NOTHING

    def __setattr__(self, key: str, _value: object) -> None:
        raise FrozenInstanceError(f"a record never changes: {key}")

    def __delattr__(self, key: str) -> None:
        raise FrozenInstanceError(f"a record never changes: {key}")

    def __eq__(self, other: object) -> bool:
        if type(other) is not type(self):
            return NotImplemented
        return self.__dict__ == other.__dict__

    def __hash__(self) -> int:  # its two mappings have none; equal records still share theirs
        return hash(tuple(v for k, v in self.__dict__.items() if k not in ("u", "other")))

    def __repr__(self) -> str:
        values = ", ".join(f"{key}={value!r}" for key, value in self.__dict__.items())
        return f"{type(self).__qualname__}({values})"

    def with_changes(self, **changes: Any) -> Self:
        """A copy with other values; an uncertainty that belonged to a changed number is dropped,
        unless ``u`` is given too."""
        if "u" not in changes:
            gone = {k for k in self.u if k in changes and changes[k] != getattr(self, k)}
            if gone:
                changes["u"] = {k: v for k, v in self.u.items() if k not in gone}
        return replace(self, **changes)


def parameters(record: type[Record] | Record) -> dict[str, Parameter]:
    """The parameters of a record type, by key, in the order they are written."""
    kind = record if isinstance(record, type) else type(record)
    found = _PARAMETERS.get(kind)
    if found is None:
        found = {
            f.name: dataclasses.replace(f.metadata[_KEY], key=f.name)
            for f in fields(kind)
            if _KEY in f.metadata
        }
        _PARAMETERS[kind] = found
    return found


_PARAMETERS: dict[type, dict[str, Parameter]] = {}


def parameter_at(record: Record, path: Path) -> Parameter:
    """The description of the value at a path (of the list itself where the path ends on one).

    Raises
    ------
    KeyError
        If the path names nothing that is described.
    """
    here: Any = record
    found: Parameter | None = None
    for step in path:
        if isinstance(step, int):
            here = here[step]
        else:
            found = parameters(here)[step]
            here = getattr(here, step)
    if found is None:
        raise KeyError(path)
    return found


def check_path(record: Record, path: Path) -> Parameter:
    """The description of the value at a path, once it is sure that the path leads to one.

    Raises
    ------
    BobweightError
        ``no-such-value`` with the part of the path that leads nowhere, as ``value``.
    """
    here: Any = record
    found: Parameter | None = None
    for depth, step in enumerate(path, start=1):
        known = parameters(here) if isinstance(here, Record) else {}
        if step in known:
            found, here = known[str(step)], getattr(here, str(step))
        elif isinstance(here, tuple) and isinstance(step, int) and 0 <= step < len(here):
            here = here[step]
        else:
            raise BobweightError("no-such-value", tuple(path), value=path_text(path[:depth]))
    if found is None or not isinstance(path[-1], str):
        raise BobweightError("no-such-value", tuple(path), value=path_text(path))
    return found


def check_number_path(record: Record, path: Path) -> Parameter:
    """As :func:`check_path`, and that the value is a number.

    Raises
    ------
    BobweightError
        ``no-such-value``; ``no-such-number`` for a value of another kind.
    """
    found = check_path(record, path)
    if found.kind not in ("number", "whole"):
        raise BobweightError("no-such-number", tuple(path), value=path_text(path))
    return found


def checked(record: Record) -> None:
    """Refuse a record with a value beyond its hard limits.

    Raises
    ------
    BobweightError
        Of the first such value.
    """
    for problem in value_problems(record):
        if problem.grave:
            raise BobweightError.of(problem)


def get(record: Record, path: Path) -> Any:
    """The value at a path."""
    here: Any = record
    for step in path:
        here = here[step] if isinstance(step, int) else getattr(here, step)
    return here


def put(record: Stored, path: Path, value: Any) -> Stored:
    """A copy of the record with another value at a path.

    Raises
    ------
    BobweightError
        If the value is beyond its hard limits or of the wrong kind; the place is the path.
    """
    if path and isinstance(path[-1], str):
        parameter = parameter_at(record, path)
        if parameter.kind == "whole" and isinstance(value, float) and value == int(value):
            value = int(value)
        problem = None if parameter.kind in ("one", "many") else parameter.check(value)
        if problem:
            raise BobweightError.of(problem.at(*path[:-1]))
    made: Stored = _put(record, path, value)
    return made


def _put(record: Any, path: Path, value: Any) -> Any:
    if not path:
        return value
    step: Any = path[0]
    rest = path[1:]
    inner = getattr(record, step)
    if rest and isinstance(inner, tuple):
        index: Any = rest[0]
        rest = rest[1:]
        changed = _put(inner[index], rest, value)
        return replace(record, **{step: (*inner[:index], changed, *inner[index + 1 :])})
    return record.with_changes(**{step: _put(inner, rest, value)})


def put_uncertainty(record: Stored, path: Path, u: float | None) -> Stored:
    """A copy with the standard uncertainty of the number at a path stated, or (None) unstated.

    Raises
    ------
    BobweightError
        ``uncertainty-not-positive``, ``uncertainty-above-limit``, ``uncertainty-below-limit``; the
        place is the path.
    """
    problem = None if u is None else parameter_at(record, path).check_u(u)
    if problem:
        raise BobweightError(problem.code, path, **problem.facts)
    owner_path, key = path[:-1], path[-1]
    owner = get(record, owner_path)
    stated = {k: v for k, v in owner.u.items() if k != key}
    if u is not None:
        stated[key] = u
    return put(record, owner_path, replace(owner, u=stated))


def as_fine(value: float, u: float) -> tuple[float, float]:
    """A measured value no finer than its standard uncertainty tells, and that uncertainty in two
    figures (JCGM 100:2008, 7.2.6)."""
    if not (u > 0 and math.isfinite(u)):
        return value, u
    last = 1 - int(f"{u:.1e}".split("e")[1])
    return round(value, last), round(u, last)


def put_measured(record: Stored, path: Path, value: float, u: float) -> Stored:
    """A copy with a measured number at a path and its standard uncertainty (0 where it has none to
    state), both :func:`as_fine` as they are known.

    Raises
    ------
    BobweightError
        Those of :func:`put` and :func:`put_uncertainty`.
    """
    value, u = as_fine(value, u)
    return put_uncertainty(put(record, path, value), path, u if u > 0 else None)


def walk(record: Record, prefix: Path = ()) -> Iterator[tuple[Path, Parameter, Any]]:
    """Every plain value of a record and of those inside it: path, description, value."""
    for key, parameter in parameters(record).items():
        value = getattr(record, key)
        if parameter.kind == "one":
            yield from walk(value, (*prefix, key))
        elif parameter.kind == "many":
            for index, item in enumerate(value):
                yield from walk(item, (*prefix, key, index))
        else:
            yield (*prefix, key), parameter, value


def unknown_keys(record: Record, prefix: Path = ()) -> Iterator[Path]:
    """Where a file says something that no description knows: kept, and made nothing of."""
    for key, value in record.other.items():
        if key == "u" and isinstance(value, Mapping):
            yield from ((*prefix, key, inner) for inner in value)
        else:
            yield (*prefix, key)
    for key, parameter in parameters(record).items():
        if parameter.kind == "one":
            yield from unknown_keys(getattr(record, key), (*prefix, key))
        elif parameter.kind == "many":
            for index, item in enumerate(getattr(record, key)):
                yield from unknown_keys(item, (*prefix, key, index))


def value_problems(record: Record) -> list[Problem]:
    """Every value beyond its hard limits, and (not grave) outside common practice."""
    found = []
    for path, parameter, value in walk(record):
        problem = parameter.check(value) or parameter.advise(value)
        if problem:
            found.append(problem.at(*path[:-1]))
    return found


def taken(record: Record, key: str) -> Any:
    """The value of a field, or where it is blank what most units have: see :func:`is_assumed`."""
    value = getattr(record, key)
    return parameters(record)[key].assumed if value is None else value


def is_assumed(record: Record, key: str) -> bool:
    """Whether what :func:`taken` gives was entered by nobody, and must not be told as a fact."""
    return getattr(record, key) is None and parameters(record)[key].assumed is not None


class Taken:
    """An attribute of a record: what :func:`taken` gives for one of its numbers."""

    def __init__(self, key: str) -> None:
        self._key = key

    def __get__(self, record: Record, kind: type[Record] | None = None) -> float:
        return float(taken(record, self._key))


def taken_at(record: Record, path: Path) -> Any:
    """As :func:`get`, and of a value that nobody entered what most units have."""
    found = get(record, path)
    if found is not None or not path:
        return found
    return parameters(get(record, path[:-1]))[str(path[-1])].assumed


def standard_uncertainty(record: Record, key: str) -> float | None:
    """The standard uncertainty stated for a number, else the trade's; None where neither is."""
    stated = record.u.get(key)
    return stated if stated is not None else parameters(record)[key].trade_u
