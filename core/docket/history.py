"""What was altered between one session of readings and the next."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from bobweight.core.record import Record, number, stored, text, whole

if TYPE_CHECKING:
    from bobweight.core.docket.docket import Docket

_SESSIONS = (1, 9999)


@stored
class Alteration(Record):
    """One thing that a hand altered: when, what, by how much, and the readings around it.

    Sessions are counted from 1, as they are numbered in the list of sessions.
    """

    date: str = text("Date", help="Year-month-day.")
    what: str = text("What was altered", help="Primary post bent out, stop filed, and so on.")
    amount: float | None = number("Amount", hard=(-1e6, 1e6), help="In the unit beside it.")
    unit: str = text("Unit", help="mm, °, g and so on.")
    before_session: int | None = whole(
        "Before", None, _SESSIONS, help="Number of the session of readings taken before it."
    )
    after_session: int | None = whole(
        "After", None, _SESSIONS, help="Number of the session of readings taken after it."
    )
    note: str = text("Note")


def without_session(docket: Docket, index: int) -> Docket:
    """A copy of the docket without a session (by its index from 0); the alterations keep pointing
    at the sessions they spoke of, and at none where that is the one taken out."""

    def moved(number: int | None) -> int | None:
        if number is None or number - 1 < index:
            return number
        return None if number - 1 == index else number - 1

    sessions = (*docket.sessions[:index], *docket.sessions[index + 1 :])
    history = tuple(
        replace(
            alteration,
            before_session=moved(alteration.before_session),
            after_session=moved(alteration.after_session),
        )
        for alteration in docket.history
    )
    return replace(docket, sessions=sessions, history=history)
