"""Classes that never change, held against those of the standard library's ``dataclass``."""

from __future__ import annotations

import copy
import pickle
from collections.abc import Callable
from dataclasses import FrozenInstanceError, dataclass, field, fields, replace
from functools import cached_property

import pytest

from bobweight.core.frozen import frozen


class Doubling:
    speed_rpm: float

    @cached_property
    def twice(self) -> float:
        return 2.0 * self.speed_rpm


@dataclass(frozen=True)
class Standard(Doubling):
    speed_rpm: float
    notes: tuple[str, ...] = field(default_factory=tuple, repr=False)
    way: str = "rising"


@frozen
class Shared(Doubling):
    speed_rpm: float
    notes: tuple[str, ...] = field(default_factory=tuple, repr=False)
    way: str = "rising"


@frozen
class Further(Shared):
    depression_kpa: float = 0.0

    def __post_init__(self) -> None:
        if self.depression_kpa < 0:
            raise ValueError("less than none")


MAKERS: list[Callable[[type], object]] = [
    lambda made: made(600.0),
    lambda made: made(600.0, ("odd",)),
    lambda made: made(600.0, (), "falling"),
    lambda made: made(way="falling", speed_rpm=600.0),
    lambda made: made(600.0, way="falling"),
    lambda made: replace(made(600.0), speed_rpm=750.0),
    lambda made: copy.copy(made(600.0, ("odd",))),
    lambda made: pickle.loads(pickle.dumps(made(600.0, ("odd",)))),
]


@pytest.mark.parametrize("make", MAKERS)
def test_made_of_the_same_they_hold_and_say_the_same(make):
    ours, theirs = make(Shared), make(Standard)
    assert [getattr(ours, f.name) for f in fields(ours)] == [
        getattr(theirs, f.name) for f in fields(theirs)
    ]
    assert repr(ours) == repr(theirs).replace("Standard", "Shared")
    assert hash(ours) == hash(theirs)
    assert ours.twice == theirs.twice and ours == make(Shared)


@pytest.mark.parametrize("one", MAKERS)
@pytest.mark.parametrize("other", MAKERS)
def test_two_are_equal_where_the_standard_librarys_are(one, other):
    assert (one(Shared) == other(Shared)) == (one(Standard) == other(Standard))
    assert one(Shared) != one(Standard)


@pytest.mark.parametrize("make", [
    lambda made: made(),
    lambda made: made(way="falling"),
    lambda made: made(600.0, (), "falling", 1),
    lambda made: made(600.0, sped_rpm=600.0),
    lambda made: made(sped_rpm=600.0),
    lambda made: made(600.0, speed_rpm=600.0),
])  # fmt: skip
def test_what_does_not_fit_is_refused(make):
    for made in (Shared, Standard):
        with pytest.raises(TypeError):
            make(made)


def test_none_changes():
    for one in (Shared(600.0), Standard(600.0)):
        with pytest.raises(FrozenInstanceError):
            one.speed_rpm = 700.0
        with pytest.raises(FrozenInstanceError):
            del one.way
        assert one.speed_rpm == 600.0 and one.way == "rising"


def test_one_that_adds_to_another_has_its_fields_first_and_is_checked():
    assert Further(600.0, depression_kpa=20.0) == Further(600.0, (), "rising", 20.0)
    assert Further(600.0) != Shared(600.0)
    with pytest.raises(ValueError):
        replace(Further(600.0), depression_kpa=-1.0)


def test_one_without_equality_equals_itself_alone():
    @frozen(eq=False)
    class Alone:
        speed_rpm: float

    one = Alone(600.0)
    assert one == one and one != Alone(600.0)
    assert len({one, Alone(600.0)}) == 2
