"""The physics, statistics and records of Bobweight. Imports no Qt and nothing of ``app``.

Rooms, each importing only those above it in this list:

``problems``, ``units``, ``statistics``
    What can go wrong (codes and numbers, never sentences); quantities and their units;
    straight lines, normal laws and other general mathematics.
``record``
    How a value is described once (label, unit, limits, help) so that forms, tips, files
    and sheets derive from it.
``docket``
    What is stored of one distributor, as immutable records, and its file.
``mechanics``
    Weights, linkage, springs, capsule; the curve in closed form; the total at the crank.
``judgement``
    Readings reduced and compared with the target; fit, diagnosis, advice.
``design``
    Springs from measurements, tray and tolerance.
``bench``
    Points, dwell, coil, atmosphere, tape: what surrounds the curve.
``sheet``
    What goes on paper, as a description without a painter.

For notebooks and other programs, :mod:`bobweight.core.facade`; its names are found here too, and
loaded when they are first asked for.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from bobweight.core.facade import (
        changed,
        columns,
        judge,
        open_docket,
        predict,
        records,
        search,
        sheet_rows,
    )

__all__ = [
    "changed", "columns", "judge", "open_docket", "predict", "records", "search", "sheet_rows",
]  # fmt: skip


def __getattr__(name: str) -> Any:
    if name in __all__:
        from bobweight.core import facade

        return getattr(facade, name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
