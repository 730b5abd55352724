"""Taking in a table: understood, shown, agreed to, and only then put into the docket as one edit."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from PySide6.QtWidgets import QWidget

from bobweight.app.messages.table_words import row_sentences, table_sentence
from bobweight.app.store import Store
from bobweight.app.store.display import Display
from bobweight.app.words import translate
from bobweight.core.problems import BobweightError, Problem
from bobweight.core.tables.frames import Place, place_of_readings, place_of_target
from bobweight.core.tables.source import Source
from bobweight.core.tables.taking import docket_with
from bobweight.core.tables.understanding import understand_source
from bobweight.core.tables.understood import Choice, Understanding


@dataclass(frozen=True)
class Draft:
    """A table that may be taken in.

    Parameters
    ----------
    title : str
        Of the dialog.
    source : Source
    kind : str
        As for :func:`core.tables.understanding.understand`.
    place : Place
    """

    title: str
    source: Source
    kind: str
    place: Place

    def understood(self, chosen: Mapping[int, Choice] | None = None) -> Understanding:
        """What the table says, with what was chosen by hand."""
        return understand_source(self.source, self.kind, self.place, chosen)


def _asked(draft: Draft, parent: QWidget | None) -> Understanding | None:
    from bobweight.app.editors.table_dialog import ask

    return ask(draft, parent)


class TableTaker:
    """Takes tables of one kind into the open docket.

    Parameters
    ----------
    kind : {'readings', 'target', 'vacuum'}
    session : callable
        Index of the session that readings go to.
    """

    ask: Callable[[Draft, QWidget | None], Understanding | None] = staticmethod(_asked)
    """Shows a draft and gives what is agreed to; None if called off."""

    def __init__(
        self, kind: str, store: Store, display: Display, session: Callable[[], int] | None = None
    ) -> None:
        self.kind, self._store, self._display = kind, store, display
        self._session = session or (lambda: display.session_index(store.docket))

    def paste(self, text: str, parent: QWidget | None = None) -> list[str]:
        """Take a pasted text, as one edit; sentences on what was not taken."""
        title = translate("tables", "What was copied")
        return self.take(Source(text=text), title, translate("tables", "Paste"), parent) or []

    def take(
        self, source: Source, title: str, name: str, parent: QWidget | None = None
    ) -> list[str] | None:
        """Take a table, as one edit.

        Parameters
        ----------
        name : str
            Of the edit, before the number of rows.

        Returns
        -------
        list of str or None
            Sentences: how many rows were taken, and what was not; None if it was called off.
        """
        draft = Draft(title, source, self.kind, self._place())
        try:
            draft.understood()  # what is no table is told without a dialog
            found = self.ask(draft, parent)
        except BobweightError as error:
            return [table_sentence(error.problem, self._display)]
        if found is None:
            return None
        if not found.stored and not found.settings:
            return [table_sentence(Problem("nothing-to-take")), *row_sentences(found)]
        count = len(found.stored)
        edit = translate("tables", "{name}: {count} rows").format(name=name, count=count)
        self._store.replace(edit, docket_with(self._store.docket, found, self._session()))
        told = row_sentences(found, self._display)
        return [translate("tables", "{count} rows taken.").format(count=count), *told]

    def _place(self) -> Place:
        docket, unit = self._store.docket, self._display.depression_unit
        if self.kind == "readings":
            return place_of_readings(docket, self._session(), unit)
        return place_of_target(docket, self.kind == "vacuum", unit)
