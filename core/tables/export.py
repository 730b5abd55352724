"""Tables out: readings, curves and verdicts as CSV or as a spreadsheet.

Texts never run as formulas: in CSV they are made harmless, in a spreadsheet they are written as
texts.
"""

from __future__ import annotations

import io
import os
from pathlib import Path

from bobweight.core.docket.file import write_atomically
from bobweight.core.mechanics.predict import Prediction
from bobweight.core.problems import BobweightError
from bobweight.core.tables.own import Rows, csv_text

SUFFIXES = (".csv", ".xlsx")


def curve_rows(prediction: Prediction) -> Rows:
    """The predicted curve at its knots, distributor figures: advance, rising and falling speed."""
    rows: Rows = [["direction", "distributor_speed_rpm", "distributor_advance_deg"]]
    for name, branch in (("rising", prediction.rising), ("falling", prediction.falling)):
        for speed, advance in zip(branch.speed_rpm, branch.advance_deg, strict=True):
            rows.append([name, float(speed), float(advance)])
    return rows


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
