"""What is said of readings that look like misreadings."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from bobweight.app.words import significant, translate

if TYPE_CHECKING:
    from bobweight.core.judgement.fit import FittedReading

_MOST = 3  # that are told one by one


def slip_sentence(reading: FittedReading) -> str:
    """That a reading looks like a misreading, and what to do about it."""
    words = translate(
        "explanations",
        "Reading {row} looks like a misreading: it lies {distance} times its ± from the fitted "
        "curve and counts for almost nothing. Take it again, or leave it out and say why.",
    )
    return words.format(row=reading.row + 1, distance=significant(abs(reading.distance), 2))


def slip_sentences(readings: Sequence[FittedReading]) -> list[tuple[str, int]]:
    """A sentence for each slip with the reading's row; of many the furthest, then how many more
    there are, at the row of the next."""
    order = sorted(readings, key=lambda r: -abs(r.distance))
    shown = sorted(order[:_MOST], key=lambda r: r.row)
    found = [(slip_sentence(reading), reading.row) for reading in shown]
    if len(order) > _MOST:
        words = translate("explanations", "{count} more readings look like misreadings.")
        found.append((words.format(count=len(order) - _MOST), order[_MOST].row))
    return found
