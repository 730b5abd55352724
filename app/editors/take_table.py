"""A table taken in: understood, shown, agreed to, and only then put into the docket."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QWidget

from bobweight.app.store import Store
from bobweight.app.store.display import Display
from bobweight.app.words import counted, translate
from bobweight.core.frozen import frozen
from bobweight.core.problems import BobweightError, Problem

if TYPE_CHECKING:  # the tables' room is loaded when a table is taken in, not with a page
    from bobweight.core.tables.frames import Place
    from bobweight.core.tables.source import Source
    from bobweight.core.tables.understood import Choice, Understanding


@frozen
class TakenDraft:
    """A table that may be taken in.

    Parameters
    ----------
    title : str
        Of the dialog.
    kind : str
        As for :func:`core.tables.understanding.understand`.
    """

    title: str
    source: Source
    kind: str
    place: Place

    def understood(self, chosen: Mapping[int, Choice] | None = None) -> Understanding:
        """What the table says, with what was chosen by hand."""
        from bobweight.core.tables.understanding import understand_source

        return understand_source(self.source, self.kind, self.place, chosen)


def _asked(draft: TakenDraft, parent: QWidget | None) -> Understanding | None:
    from bobweight.app.editors.table_dialog import ask

    return ask(draft, parent)


class TableTaker:
    """Takes tables of one kind into the open docket.

    Parameters
    ----------
    kind : str
        As for :func:`core.tables.understanding.understand`.
    place : callable
        How figures are kept where a table of a kind goes.
    put : callable
        ``put(name, understanding)`` makes the edit.
    """

    ask: Callable[[TakenDraft, QWidget | None], Understanding | None] = staticmethod(_asked)
    """Shows a draft and gives what is agreed to; None if called off."""

    def __init__(
        self, kind: str, place: Callable[[str], Place], put: Callable[[str, Understanding], None],
        display: Display,
    ) -> None:  # fmt: skip
        self.kind, self._place, self._put, self._display = kind, place, put, display

    def paste(self, text: str, parent: QWidget | None = None) -> list[str]:
        """Take a pasted text, as one edit; sentences on what was not taken."""
        from bobweight.core.tables.source import Source

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
        from bobweight.app.messages.table_words import row_sentences, table_sentence

        draft = TakenDraft(title, source, self.kind, self._place(self.kind))
        try:
            kind = draft.understood().kind  # what is no table is told without a dialog
            if kind != self.kind:  # vacuum check points among the others: in their own frame
                draft = TakenDraft(title, source, kind, self._place(kind))
            found = self.ask(draft, parent)
        except BobweightError as error:
            return [table_sentence(error.problem, self._display)]
        if found is None:
            return None
        if not found.stored and not found.settings:
            return [table_sentence(Problem("nothing-to-take")), *row_sentences(found)]
        count = len(found.stored)
        edit = counted(
            count,
            translate("tables", "{name}: one row"),
            translate("tables", "{name}: {count} rows"),
            name=name,
        )
        self._put(edit, found)
        told = row_sentences(found, self._display)
        one, many = (
            translate("tables", "One row taken."),
            translate("tables", "{count} rows taken."),
        )
        return [counted(count, one, many), *told]


def docket_taker(
    kind: str, store: Store, display: Display, session: int | None = None
) -> TableTaker:
    """Takes tables into the open docket: readings into a session (the one shown if None), or
    ``target`` or ``vacuum`` check points."""

    def index() -> int:
        return display.session_index(store.docket) if session is None else session

    def place(of: str) -> Place:
        from bobweight.core.tables.frames import place_of_readings, place_of_target

        docket, unit = store.docket, display.depression_unit
        if of == "readings":
            return place_of_readings(docket, index(), unit)
        return place_of_target(docket, of == "vacuum", unit)

    def put(name: str, found: Understanding) -> None:
        from bobweight.core.tables.taking import docket_with

        store.replace(name, docket_with(store.docket, found, index()))

    return TableTaker(kind, place, put, display)
