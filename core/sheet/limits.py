"""How much of each part of a sheet is shown where it must fit one page."""

from __future__ import annotations

from dataclasses import replace

from bobweight.core.frozen import frozen

LEAST_ROWS = 4


@frozen
class Limits:
    """How many rows of each table and lines of notes are shown; how many lines of each part of
    the record; whether the settings are."""

    check: int
    vacuum: int
    springs: int
    notes: int
    record: int = 2
    settings: int = 1

    def cuts(self) -> list[Limits]:
        """The same with one row or line less: the record's second lines first, then the settings,
        the longest table, and the notes last."""
        names = sorted(("check", "vacuum", "springs"), key=lambda n: -getattr(self, n))
        cut = ["record"] if self.record > 1 else []
        cut += ["settings"] if self.settings else []
        cut += [n for n in names if getattr(self, n) > LEAST_ROWS]
        cut += ["notes"] if self.notes > 1 else []
        return [replace(self, **{name: getattr(self, name) - 1}) for name in cut]
