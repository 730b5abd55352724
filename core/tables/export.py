"""Tables out: readings, curves and verdicts as CSV or as a spreadsheet.

Texts never run as formulas: in CSV they are made harmless, in a spreadsheet they are written as
texts.
"""

from __future__ import annotations

import io
import math
import os
from pathlib import Path

from bobweight.core.docket.docket import Docket
from bobweight.core.docket.file import write_atomically
from bobweight.core.docket.readings import Session
from bobweight.core.judgement.compare import Comparison
from bobweight.core.judgement.judged import judged
from bobweight.core.mechanics.predict import Prediction, predict
from bobweight.core.problems import BobweightError
from bobweight.core.tables.own import (
    Rows,
    check_point_rows,
    csv_text,
    readings_rows,
    vacuum_point_rows,
)

SUFFIXES = (".csv", ".xlsx")


def curve_rows(prediction: Prediction) -> Rows:
    """The predicted curve at its knots, distributor figures: advance, rising and falling speed."""
    rows: Rows = [["direction", "distributor_speed_rpm", "distributor_advance_deg"]]
    for name, branch in (("rising", prediction.rising), ("falling", prediction.falling)):
        for speed, advance in zip(branch.speed_rpm, branch.advance_deg, strict=True):
            rows.append([name, float(speed), float(advance)])
    return rows


def verdict_rows(comparison: Comparison) -> Rows:
    """What is judged of each check point, and predicted there; distributor figures."""
    rows: Rows = [[
        "kind", "distributor_speed_rpm", "depression_kpa", "low_deg", "high_deg", "estimate_deg",
        "u_deg", "probability_inside", "verdict", "predicted_deg", "predicted_inside",
    ]]  # fmt: skip
    for p in comparison.all_points:
        inside = None if p.predicted_inside is None else "yes" if p.predicted_inside else "no"
        values = (
            p.kind, p.speed_rpm, p.depression_kpa, p.low_deg, p.high_deg, p.estimate_deg, p.u_deg,
            p.probability_inside, p.verdict.value, p.predicted_deg, inside,
        )  # fmt: skip
        rows.append(["" if v is None or v in (math.inf, -math.inf) else v for v in values])
    return rows


def table_rows(docket: Docket, what: str, session: int = -1) -> Rows:
    """One of the tables of a docket.

    Parameters
    ----------
    what : {'readings', 'target', 'vacuum', 'curve', 'verdict'}
    session : int
        Index of the session of ``readings`` and ``verdict``.

    Raises
    ------
    BobweightError
        Of ``curve``: as :func:`core.mechanics.predict.predict`.
    """
    target = docket.target
    if what == "target":
        return check_point_rows(target.points, target.frame_taken)
    if what == "vacuum":
        return vacuum_point_rows(target.vacuum_points, target.vacuum_frame_taken)
    if what == "curve":
        return curve_rows(predict(docket.mechanism))
    if what == "verdict":
        return verdict_rows(judged(docket, session).comparison)
    chosen = docket.sessions[session] if docket.sessions else Session()
    return readings_rows(chosen.readings, chosen.instrument.kind_taken)


TABLES = ("readings", "target", "vacuum", "curve", "verdict")
"""What :func:`table_rows` gives."""
OF_A_SESSION = ("readings", "verdict")
"""Those of them that need one."""


def write_table(rows: Rows, path: str | os.PathLike[str], title: str = "Table") -> None:
    """Write rows to a file, whole or not at all; the name's ending says as what.

    Raises
    ------
    BobweightError
        ``table-suffix-unknown``; those of :func:`core.docket.file.write_atomically`.
    """
    suffix = Path(path).suffix.lower()
    if suffix == ".csv":
        write_atomically(path, csv_text(rows).encode("utf-8"))
    elif suffix == ".xlsx":
        write_atomically(path, _workbook(rows, title))
    else:
        raise BobweightError("table-suffix-unknown", (), known=", ".join(SUFFIXES))


def _workbook(rows: Rows, title: str) -> bytes:
    import xlsxwriter  # only where a spreadsheet is wanted

    out = io.BytesIO()
    options = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}
    with xlsxwriter.Workbook(out, options) as book:
        sheet = book.add_worksheet(
            "".join(c for c in title if c not in "[]:*?/\\'")[:31] or "Table"
        )
        bold = book.add_format({"bold": True})
        for at, row in enumerate(rows):
            for column, value in enumerate(row):
                if isinstance(value, int | float) and not isinstance(value, bool):
                    sheet.write_number(at, column, value)
                elif value not in ("", None):
                    sheet.write_string(at, column, str(value), bold if at == 0 else None)
        sheet.freeze_panes(1, 0)
        sheet.autofit()
    return out.getvalue()
