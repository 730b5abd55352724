"""Sessions taken out, and what one docket has that another had not."""

from __future__ import annotations

from bobweight.core.docket.changes import apply, changes
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.history import Alteration, without_session
from bobweight.core.docket.photographs import is_plain_name
from bobweight.core.docket.plain import to_plain
from bobweight.core.docket.readings import Reading, Session


def test_alterations_keep_pointing_at_the_sessions_they_spoke_of():
    docket = Docket(
        sessions=tuple(Session(title=title) for title in "ABC"),
        history=(
            Alteration(before_session=1, after_session=2),
            Alteration(before_session=2, after_session=3),
            Alteration(),
        ),
    )
    left = without_session(docket, 1)
    assert [session.title for session in left.sessions] == ["A", "C"]
    found = [(made.before_session, made.after_session) for made in left.history]
    assert found == [(1, None), (None, 2), (None, None)]


def test_a_row_that_came_or_went_is_told_alone():
    rows = tuple(Reading(speed_rpm=speed) for speed in (600.0, 900.0, 1200.0, 1500.0))
    whole, short = (
        Docket(sessions=(Session(readings=kept),)) for kept in (rows, (rows[0], *rows[2:]))
    )
    for before, after, out, came in ((short, whole, 0, 1), (whole, short, 1, 0)):
        (told,) = changes(before, after)
        assert (told["from"], told["out"], len(told["in"])) == (1, out, came)
        assert apply(to_plain(before), [told]) == to_plain(after)


def test_a_name_of_a_file_has_an_end():
    assert is_plain_name("a" * 196 + ".jpg") and not is_plain_name("a" * 197 + ".jpg")
