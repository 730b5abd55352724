"""What was made of the records asked for last, kept while the same ones are asked for again."""

from __future__ import annotations

from collections.abc import Callable
from typing import Generic, TypeVar

Made = TypeVar("Made")


class Latest(Generic[Made]):
    """Keeps one thing that was made of records which never change, and knows them by identity: to
    compare them would take as long as to make it. Several threads may ask."""

    def __init__(self) -> None:
        self._kept: tuple[tuple[object, ...], Made] | None = None

    def of(self, *records: object, make: Callable[[], Made]) -> Made:
        """What was made of these records; made now if others were asked for last."""
        kept = self._kept
        if kept is None or any(a is not b for a, b in zip(kept[0], records, strict=True)):
            self._kept = kept = records, make()
        return kept[1]
