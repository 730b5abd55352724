"""Dataclasses that never change, which share their methods.

``dataclass(frozen=True)`` writes out six methods for every class and has them compiled; over a
hundred classes that is a twentieth of every start.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import MISSING, FrozenInstanceError, dataclass, field, fields
from functools import partial
from typing import Any, dataclass_transform


@dataclass_transform(frozen_default=True, field_specifiers=(field,))
def frozen(kind: type | None = None, /, *, eq: bool = True) -> Any:
    """As ``dataclass(frozen=True)``, for classes of which every field may be given.

    Parameters
    ----------
    eq : bool
        Whether two are equal whose fields are; else each equals itself alone.
    """
    return partial(_made, eq=eq) if kind is None else _made(kind, eq)


def _made(kind: Any, eq: bool) -> Any:
    kind = dataclass(init=False, repr=False, eq=False)(kind)
    found = fields(kind)
    given: dict[str, Any] = {
        "_names": tuple(f.name for f in found),
        "_known": {f.name for f in found},
        "_checked": hasattr(kind, "__post_init__"),
        "_shown": tuple(f.name for f in found if f.repr),
        "_usual": {f.name: f.default for f in found if f.default is not MISSING},
        "_makers": {
            f.name: f.default_factory for f in found if f.default_factory is not MISSING
        },
    }  # fmt: skip
    for name, value in (given | _OF_ALL | (_OF_EQUALS if eq else {})).items():
        setattr(kind, name, value)
    return kind


def _init(self: Any, *given: object, **named: object) -> None:
    names = self._names
    values: dict[str, object] = dict(zip(names, given, strict=False), **named)
    fits = len(values) == len(given) + len(named)  # none twice, and not too many
    if len(values) < len(names):
        values = self._usual | values
        for name, make in self._makers.items():
            if name not in values:
                values[name] = make()
    if not fits or values.keys() != self._known:
        raise TypeError(f"{type(self).__qualname__} takes {', '.join(names)}")
    self.__dict__.update(values)
    if self._checked:
        self.__post_init__()


def _set(self: object, name: str, _value: object) -> None:
    raise FrozenInstanceError(f"{type(self).__qualname__} never changes: {name}")


def _delete(self: object, name: str) -> None:
    raise FrozenInstanceError(f"{type(self).__qualname__} never changes: {name}")


def _repr(self: Any) -> str:
    shown = ", ".join(f"{name}={getattr(self, name)!r}" for name in self._shown)
    return f"{type(self).__qualname__}({shown})"


def _values(one: Any) -> tuple[object, ...]:
    return tuple(getattr(one, name) for name in one._names)


def _equal(self: object, other: object) -> bool:
    return _values(self) == _values(other) if type(other) is type(self) else NotImplemented


def _hash(self: object) -> int:
    return hash(_values(self))


_OF_ALL: dict[str, Callable[..., object]] = {
    "__init__": _init, "__repr__": _repr, "__setattr__": _set, "__delattr__": _delete,
}  # fmt: skip
_OF_EQUALS: dict[str, Callable[..., object]] = {"__eq__": _equal, "__hash__": _hash}
