"""The states a unit has been in: as found, and after each alteration.

The docket's figures describe the unit as it stands, in its newest state. Each state after the first
says what the alteration before it changed, so that any earlier state follows by taking the changes
back: a value moved by an amount is moved back by it, a part that was replaced gets its old figures
again. What no alteration touched is the same in all states, so correcting a measurement corrects
them all.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from bobweight.core.docket.history import Alteration
from bobweight.core.docket.readings import Session
from bobweight.core.problems import BobweightError, Path, path_text
from bobweight.core.record import (
    Record,
    check_number_path,
    choice,
    get,
    many,
    number,
    parameter_at,
    parameters,
    put,
    stored,
    taken,
    taken_at,
    text,
)

if TYPE_CHECKING:
    from bobweight.core.docket.docket import Docket

MOVES = {"by": "By an amount", "from": "From other figures", "added": "Newly there"}
U_BY_HAND = {"tang_mm": 0.1, "slack_mm": 0.1, "stop_deg": 0.2, "mass_g": 0.1}
"""Values that a hand moves by an amount, and how surely it does (common practice)."""
_STEP = re.compile(r"\[(\d+)\]|([A-Za-z_0-9]+)")


@stored
class StateChange(Record):
    """One value that an alteration changed."""

    path: str = text("Value", help="Where it stands in the docket, as messages write it.")
    how: str = choice("Changed", MOVES, "by")
    amount: float | None = number(
        "By", hard=(-1e5, 1e5), uncertain=True, help="In the value’s stored unit."
    )
    before: float | None = number(
        "From", hard=(-1e5, 1e5), uncertain=True, help="In the value’s stored unit."
    )


@stored
class UnitState(Record):
    """The unit after an alteration, by what was changed from the state before."""

    title: str = text("State", help="Primary post bent out, another spring fitted, and so on.")
    date: str = text("Date", help="Year-month-day.")
    changes: tuple[StateChange, ...] = many("Changed", StateChange, most=200)


def path_of(text: str) -> Path:
    """The path that a text such as ``mechanism.springs[0].rate_n_per_mm`` writes."""
    return tuple(int(i) if i else name for i, name in _STEP.findall(text))


def newest_state(docket: Docket) -> int:
    """Number of the state that the docket's figures describe; 0 is as found."""
    return len(docket.states)


def state_of(docket: Docket, session: int) -> int:
    """Number of the state that a session (by its index) was read in."""
    if not docket.sessions:
        return newest_state(docket)
    return min(docket.sessions[session].state, newest_state(docket))


def unit_in_state(docket: Docket, state: int) -> Docket:
    """The docket with mechanism and capsules as they were in a state; all else as it stands."""
    unit = docket
    for made in reversed(docket.states[state:]):
        for change in reversed(made.changes):
            unit = _taken_back(unit, change)
    return unit


def unit_of(docket: Docket, session: int) -> Docket:
    """The docket with mechanism and capsules as they were when a session (by its index) was read.

    It is the docket itself where nothing was altered since.
    """
    return unit_in_state(docket, state_of(docket, session))


def with_new_state(docket: Docket, altered: Docket, title: str, date: str = "") -> Docket:
    """The altered docket with a state of its own, which says what was changed.

    A state that nobody has read yet is not kept apart: its changes and the new ones are one
    alteration, and in a unit that was never read there is nothing to keep apart at all.

    Parameters
    ----------
    docket : Docket
        Before the alteration.
    altered : Docket
        The same with the new figures of mechanism and capsules.
    title, date : str
        Of the new state.
    """
    newest = newest_state(docket)
    if any(s.readings and s.state >= newest for s in docket.sessions):
        changes = tuple(_changes(docket, altered))
        made = UnitState(title=title, date=date, changes=changes)
        return altered.with_changes(states=(*docket.states, made)) if changes else altered
    if newest == 0:
        return altered
    old = docket.states[-1]
    changes = tuple(_changes(unit_in_state(docket, newest - 1), altered))
    made = UnitState(title=f"{old.title}; {title}", date=date or old.date, changes=changes)
    return altered.with_changes(states=(*docket.states[:-1], made))


def with_session_after(
    docket: Docket, altered: Docket, session: int, title: str, date: str = "", note: str = ""
) -> Docket:
    """The altered docket in a state of its own, with an empty session for the readings after it
    and a line of history.

    Where nothing was read before it, no state and no session begin: the figures are put right
    before the first reading.

    Parameters
    ----------
    docket, altered : Docket
        As for :func:`with_new_state`.
    session : int
        Index of the session whose instruments the new one takes; −1 if there is none.
    title, date : str
        Of the state and of the session.
    note : str
        Of the line of history.
    """
    made = with_new_state(docket, altered, title, date)
    state = newest_state(made)
    if state == 0 or any(s.state == state for s in made.sessions):
        return made
    instrument = made.sessions[session].instrument
    after = Session(title=title, date=date, state=state, instrument=instrument)
    sessions = (*made.sessions, after)
    line = Alteration(
        date=date, what=title, before_session=session % len(made.sessions) + 1,
        after_session=len(sessions), note=note,
    )  # fmt: skip
    return made.with_changes(sessions=sessions, history=(*made.history, line))


def with_rows(docket: Docket, place: Path, rows: Sequence[int]) -> Docket:
    """The docket with springs or capsules taken out or doubled, as a correction of all states: what
    the states say of each goes with it.

    Parameters
    ----------
    place : Path
        Of the list.
    rows : sequence of int
        Of each that there is to be, the index it has now.
    """
    old = get(docket, place)
    states = tuple(
        replace(made, changes=tuple(m for c in made.changes for m in _moved(c, place, rows)))
        for made in docket.states
    )
    return put(docket, place, tuple(old[row] for row in rows)).with_changes(states=states)


def _moved(change: StateChange, place: Path, rows: Sequence[int]) -> list[StateChange]:
    """A change where its row now stands: nowhere, or at a doubled one twice."""
    path, depth = path_of(change.path), len(place)
    if path[:depth] != place or len(path) == depth:
        return [change]
    now = [row for row, was in enumerate(rows) if was == path[depth]]
    return [replace(change, path=path_text((*place, row, *path[depth + 1 :]))) for row in now]


def with_corrected(docket: Docket, session: int, unit: Docket) -> Docket:
    """The docket with corrected figures of the unit as a session found it.

    A correction is no alteration: what is the same in later states is corrected there too, what
    was moved by an amount moves with it, and of a part that was replaced the old figures are
    corrected.

    Parameters
    ----------
    session : int
        By its index.
    unit : Docket
        As :func:`unit_of` gives it, with other figures of mechanism and capsules.
    """
    state = state_of(docket, session)
    if state == newest_state(docket):
        return docket.with_changes(mechanism=unit.mechanism, capsules=unit.capsules)
    found = docket
    for path, old, new in differing(unit_of(docket, session), unit):
        found = _corrected(found, state, path, old, new)
    return found


def _corrected(docket: Docket, state: int, path: Path, old: float, new: float) -> Docket:
    where = path_text(path)
    for number_, made in enumerate(docket.states[state:], start=state):
        for row, change in enumerate(made.changes):
            if change.path == where and change.how == "from":
                return put(docket, ("states", number_, "changes", row, "before"), new)
    low, high = parameter_at(docket, path).hard
    return put(docket, path, min(max(taken_at(docket, path) + new - old, low), high))


def _taken_back(unit: Docket, change: StateChange) -> Docket:
    """The unit before one change; as it is where the value is not there any more, or is none of
    the unit's numbers (a file may say anything)."""
    path = path_of(change.path)
    if not path or path[0] not in ("mechanism", "capsules"):
        return unit
    try:
        if change.how == "added":
            parent, index = path[:-1], path[-1]
            if not isinstance(index, int) or parameter_at(unit, parent).kind != "many":
                return unit
            row = get(unit, parent)
            return put(unit, parent, (*row[:index], *row[index + 1 :]))
        check_number_path(unit, path)
        now = taken_at(unit, path)
        if change.how == "from":
            unit = put(unit, path, change.before)
            stated = change.u.get("before")
            owner = get(unit, path[:-1])
            u = {k: v for k, v in owner.u.items() if k != path[-1]}
            u |= {} if stated is None else {path[-1]: stated}
            return put(unit, path[:-1], replace(owner, u=u))
        if now is None or change.amount is None:
            return unit
        low, high = parameter_at(unit, path).hard
        return put(unit, path, min(max(now - change.amount, low), high))
    except (AttributeError, BobweightError, IndexError, KeyError, TypeError):
        return unit


def _changes(before: Docket, after: Docket) -> Iterator[StateChange]:
    for path, old, new in differing(before, after):
        key = str(path[-1])
        if key in U_BY_HAND and old is not None and new is not None:
            amount = round(new - old, 9)
            u = {"amount": U_BY_HAND[key]}
            yield StateChange(path=path_text(path), how="by", amount=amount, u=u)
        else:
            stated = get(before, path[:-1]).u.get(key)
            u = {} if stated is None or old is None else {"before": stated}
            yield StateChange(path=path_text(path), how="from", before=old, u=u)
    for index in range(len(before.mechanism.springs), len(after.mechanism.springs)):
        place: Path = ("mechanism", "springs", index)
        yield StateChange(path=path_text(place), how="added")


def differing(one: Docket, other: Docket) -> Iterator[tuple[Path, Any, Any]]:
    """Numbers of the unit that differ between two dockets, where both have a place for them."""
    yield from _differing_in(one.mechanism, other.mechanism, ("mechanism",))
    for index, (a, b) in enumerate(zip(one.capsules, other.capsules, strict=False)):
        yield from _differing_in(a, b, ("capsules", index))


def _differing_in(one: Record, other: Record, at: Path) -> Iterator[tuple[Path, Any, Any]]:
    if one is other:
        return
    for key, described in parameters(one).items():
        a, b = getattr(one, key), getattr(other, key)
        if key == "source":  # how a spring's figures are known; it makes no curve
            continue
        if described.kind == "one":
            yield from _differing_in(a, b, (*at, key))
        elif described.kind == "many":
            for index, (x, y) in enumerate(zip(a, b, strict=False)):
                yield from _differing_in(x, y, (*at, key, index))
        elif described.kind == "number" and a != b:
            a, b = taken(one, key), taken(other, key)
            if a != b:  # a blank and what is taken for it make the same unit
                yield (*at, key), a, b
