"""The figures of a sheet as one CSV table, for spreadsheets and scripts; written and read back.

One row a figure. ``part`` says what the row is: ``check point``, ``start``, ``ceiling``,
``vacuum check point``, ``predicted``, ``capsule``, ``reading``, ``vacuum reading``. Distributor
rev/min and degrees, kPa; a cell that does not apply is empty; numbers are written in full, with a
decimal point.
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bobweight.core.judgement.compare import PointResult
    from bobweight.core.judgement.outcome import Outcome

COLUMNS = (
    "part", "direction", "speed_rpm", "depression_kpa", "advance_deg", "u_speed_rpm",
    "u_depression_kpa", "u_advance_deg", "low_deg", "high_deg", "predicted_deg",
    "probability_inside", "decision", "left_out",
)  # fmt: skip
_PARTS = {"check": "check point", "vacuum": "vacuum check point"}

Row = dict[str, object]


def rows(outcome: Outcome) -> Iterator[Row]:
    """The rows of the table, as numbers and strings; what does not apply is not in the row."""
    for result in outcome.comparison.all_points:
        yield _result(result)
    if outcome.prediction is not None:
        for direction in ("rising", "falling"):
            branch = getattr(outcome.prediction, direction)
            for speed, advance in zip(branch.speed_rpm, branch.advance_deg, strict=True):
                yield {"part": "predicted", "direction": direction, "speed_rpm": float(speed),
                       "advance_deg": float(advance)}  # fmt: skip
    if outcome.capsule_curve is not None:
        curve = outcome.capsule_curve
        for direction in ("rising", "falling"):
            degrees = getattr(curve, f"{direction}_deg")
            for depression, advance in zip(curve.depression_kpa, degrees, strict=True):
                yield {
                    "part": "capsule",
                    "direction": direction,
                    "depression_kpa": float(depression),
                    "advance_deg": float(advance),
                }
    yield from _readings(outcome)


def _result(result: PointResult) -> Row:
    row: Row = {
        "part": _PARTS.get(result.kind, result.kind),
        "speed_rpm": result.speed_rpm,
        "depression_kpa": result.depression_kpa,
        "low_deg": result.low_deg,
        "high_deg": result.high_deg,
        "predicted_deg": result.predicted_deg,
        "advance_deg": result.estimate_deg,
        "u_advance_deg": result.u_deg,
        "probability_inside": result.probability_inside,
        "decision": result.word,
    }
    return row


def _readings(outcome: Outcome) -> Iterator[Row]:
    reduced = outcome.reduced
    for i in range(len(reduced.index)):
        on = bool(reduced.pipe_on[i])
        yield {
            "part": "vacuum reading" if on else "reading",
            "direction": str(reduced.direction[i]),
            "speed_rpm": float(reduced.speed_rpm[i]),
            "u_speed_rpm": float(reduced.u_speed_rpm[i]),
            "depression_kpa": float(reduced.depression_kpa[i]),
            "u_depression_kpa": float(reduced.u_depression_kpa[i]),
            "advance_deg": float((reduced.vacuum_deg if on else reduced.advance_deg)[i]),
            "u_advance_deg": float((reduced.u_vacuum_deg if on else reduced.u_advance_deg)[i]),
            "left_out": "yes" if reduced.left_out[i] else "no",
        }


def csv_text(outcome: Outcome) -> str:
    """The table as CSV text with a heading row; the figures read back exactly."""
    out = io.StringIO()
    writer = csv.DictWriter(out, COLUMNS, restval="", lineterminator="\r\n")  # RFC 4180
    writer.writeheader()
    for row in rows(outcome):
        writer.writerow({key: _cell(value) for key, value in row.items()})
    return out.getvalue()


def _cell(value: object) -> object:
    if value is None or (isinstance(value, float) and not math.isfinite(value)):
        return ""
    return repr(value) if isinstance(value, float) else value
