"""The physics, statistics and records of Bobweight. Imports no Qt and nothing of ``app``.

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
