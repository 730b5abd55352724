"""The session shown was read of a unit that could be computed; as it stands now it cannot."""

from __future__ import annotations

import pytest
from PySide6.QtWidgets import QApplication

from bobweight.app.pages.springs.page import PARTS
from bobweight.app.paper.output import describe, pdf_bytes, with_judgement
from bobweight.app.prints.kinds import KINDS, Asked
from bobweight.core.design.fitted import with_spring_as
from bobweight.core.design.tray import TraySpring
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.states import with_session_after
from bobweight.core.facade import judge, predict, sheet_rows
from bobweight.core.figure.view import view_of
from bobweight.core.judgement.outcome import outcome
from bobweight.core.problems import BobweightError
from bobweight.core.record import put
from bobweight.core.sheet.workshop import Workshop
from tests.samples import sample

NEW = TraySpring(label="tin", rate_n_per_mm=2.6, free_length_mm=22.0)


def added() -> Docket:
    """A spring of a role that was not there: its post and peg are still to be measured."""
    docket = sample("motorcycle_twin")
    return with_session_after(docket, with_spring_as(docket, NEW, "further"), 0, "Fitted")


def broken() -> Docket:
    """A figure altered to what cannot be, and one taken out."""
    docket = sample("weak_primary")
    altered = put(docket, ("mechanism", "springs", 0, "rate_n_per_mm"), 9.0)
    altered = put(altered, ("mechanism", "springs", 0, "post_radius_mm"), None)
    return with_session_after(docket, altered, 0, "Fitted")


@pytest.mark.parametrize("make", [added, broken])
def test_every_page_is_shown(qtbot, window, make):
    window.store.open_docket(make(), None)
    window.display.session = 0
    assert window.feed.outcome.prediction is not None
    for key in window.titles:
        window.show_page(key)
        for part in PARTS if key == "springs" else ():
            window.page("springs").show_part(part.key)
            QApplication.processEvents()
        qtbot.wait(20)
        for picture in ("curves", "plan", "pane"):
            window.board.show_large(picture)
            window.grab()


@pytest.mark.parametrize("make", [added, broken])
def test_everything_is_made_or_refused(make):
    docket = make()
    known, view = outcome(docket, 0), view_of(docket)
    options = with_judgement(known)
    asked = Asked(known, view, "a4", Workshop(), options.said)
    acts = [lambda: predict(docket), lambda: judge(docket), lambda: sheet_rows(docket)]
    acts.append(lambda: pdf_bytes(describe(known, "a4", view, options)))
    for kind in KINDS.values():
        ask = kind.asks(docket) if kind.asks else None
        acts.append(lambda kind=kind, ask=ask: pdf_bytes(kind.describe(asked, ask)))
    for act in acts:
        try:
            act()
        except BobweightError as error:
            assert error.problem.code not in ("not-computed", "unheard-of")
