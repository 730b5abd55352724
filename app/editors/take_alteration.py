"""The alteration that is done taken into the docket, from wherever it is said to be done."""

from __future__ import annotations

from PySide6.QtCore import QDate, Qt

from bobweight.app.messages.explanations import session_after, step_text, steps_text
from bobweight.app.store import Store
from bobweight.app.store.display import Display
from bobweight.app.store.outcome_feed import OutcomeFeed


def take_alteration(store: Store, feed: OutcomeFeed, display: Display, index: int = 0) -> bool:
    """Take a list of alterations into the docket and its history, and begin a session for the
    readings after it, as one edit. False if there is no such list for the docket as it stands."""
    found = feed.decisions.current
    if found is None or not 0 <= index < len(found.options):
        return False
    from bobweight.core.judgement.consequences import altered

    option, docket = found.options[index], store.docket
    name = steps_text(option.steps, docket, display)
    session = found.decision.session
    title = session_after(option.steps, docket)
    today = QDate.currentDate().toString(Qt.DateFormat.ISODate)
    texts = tuple(step_text(step, docket, display) for step in option.steps)
    store.set_ghost()
    store.replace(name, altered(docket, option, session, texts, title, today))
    display.session = len(docket.sessions)
    display.compared = session
    return True
