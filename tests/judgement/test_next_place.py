"""One place for the next reading, whoever asks for it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bobweight.core.docket.docket import Docket
from bobweight.core.docket.mechanism import Mechanism, Spring
from bobweight.core.docket.readings import Instrument, Session
from bobweight.core.judgement.advise import Advice, PossibleReading
from bobweight.core.judgement.answer import LOOKS_INSIDE, Help, PointJudgement
from bobweight.core.judgement.next_place import agreed, wanted

MARK = Help("prove-mark", 0.4, ("sessions", 0, "instrument", "mark_error_deg"), u=0.5)
READ = Help("read", 0.3, (), 2000.0, "rising")
ASKED = Help("measure", 0.2, ("mechanism", "springs", 0, "slack_mm"), u=0.1)


def possible(speed: float, way: str = "rising", kpa: float | None = None) -> PossibleReading:
    return PossibleReading(speed, way, kpa, 0.1, 0.1, ())


def advice(*candidates: PossibleReading, worth_taking: bool = False) -> Advice:
    return Advice(candidates[0], worth_taking, (), candidates)


def point(speed, chance, advance=6.0, branch=None) -> PointJudgement:
    return PointJudgement("check", 0, speed, None, 5.0, 7.0, advance, 0.3, chance, LOOKS_INSIDE,
                          None, None, branch=branch)  # fmt: skip


@pytest.mark.parametrize(("made", "kept"), [
    (Docket(), [MARK, READ, ASKED]),  # neither the session nor the spring is there yet
    (Docket(sessions=(Session(),), mechanism=Mechanism(springs=(Spring(),))), [MARK, READ, ASKED]),
    (Docket(sessions=(Session(instrument=Instrument(u={"mark_error_deg": 0.6})),)),
     [MARK, READ, ASKED]),
    (Docket(sessions=(Session(instrument=Instrument(u={"mark_error_deg": 0.5})),)),
     [READ, ASKED]),
    (Docket(mechanism=Mechanism(springs=(Spring(u={"slack_mm": 0.05}),))), [MARK, READ]),
])  # fmt: skip
def test_what_is_known_as_well_as_it_would_be_measured_is_not_asked_for(made, kept):
    assert list(wanted(made, (MARK, READ, ASKED))) == kept


def test_an_advice_is_the_reading_that_is_asked_for_at_a_place_that_was_weighed():
    """The nearest on the same branch with the pipe as it is to be."""
    weighed = [
        possible(900.0), possible(1500.0), possible(2100.0), possible(2000.0, "falling"),
        possible(2000.0, kpa=20.0), possible(1400.0, kpa=40.0), possible(1500.0, kpa=30.0),
    ]  # fmt: skip
    given, helps = agreed(advice(*weighed), (MARK, READ), "alter", (), 2.0)
    assert given.best is weighed[2] and given.worth_taking
    assert helps == (MARK, replace(READ, speed_rpm=2100.0))
    pumped = Help("read", 0.3, (), 1500.0, "rising", 36.0)
    given, helps = agreed(advice(*weighed), (pumped,), "alter", (), 2.0)
    assert given.best is weighed[5] and given.worth_taking
    assert helps == (replace(pumped, speed_rpm=1400.0, depression_kpa=40.0),)
    only = advice(weighed[3])
    given, helps = agreed(only, (READ,), "alter", (), 2.0)  # none is near: as it was asked for
    assert given.best is weighed[3] and given.worth_taking and helps == (READ,)


def test_where_no_reading_is_asked_for_none_is_advised():
    made = advice(possible(900.0), worth_taking=True)
    given, helps = agreed(made, (MARK, ASKED), "alter", (point(1000.0, 0.5),), 2.0)
    assert given.best is made.best and not given.worth_taking and helps == (MARK, ASKED)
    nowhere = replace(READ, speed_rpm=None)
    given, helps = agreed(made, (nowhere,), "alter", (), 2.0)
    assert not given.worth_taking and helps == (nowhere,)


def test_what_is_to_be_done_now_stands_first():
    assert agreed(None, (MARK, READ), "read-more", (), 2.0) == (None, (READ, MARK))
    assert agreed(None, (MARK, READ), "alter", (), 2.0) == (None, (MARK, READ))


@pytest.mark.parametrize(("points", "speed", "way"), [
    ([point(800.0, 0.9), point(1000.0, 0.45, 6.2), point(1200.0, 0.2)], 2000.0, "falling"),
    ([point(800.0, 0.6, 5.9), point(1000.0, 0.35)], 1600.0, "rising"),
    ([point(800.0, 0.5, 6.5, "rising"), point(None, 0.5), point(700.0, None)], 1600.0, "rising"),
    ([point(800.0, 0.99, 6.0)], 1600.0, "rising"),
])  # fmt: skip
def test_where_no_single_reading_decides_several_are_taken_where_it_is_most_in_doubt(
    points, speed, way
):
    """On the branch that is nearer its limit: above the middle of 5 to 7 the falling one, which
    lies higher by what the unit sticks (common practice)."""
    _, (first, *others) = agreed(None, (MARK,), "read-more", tuple(points), 2.0)
    assert (first.what, first.speed_rpm, first.direction) == ("read-again", speed, way)
    assert first.gain == 0.0 and others == [MARK]


def test_without_any_point_in_doubt_nothing_is_asked_for_again():
    nothing = point(None, 0.5), point(800.0, None)
    assert agreed(None, (MARK,), "read-more", nothing, 2.0) == (None, (MARK,))
