"""Files of tables: encodings, spreadsheets (written by independent libraries), and what is none."""

from __future__ import annotations

import datetime
import zipfile
from pathlib import Path

import pytest
import xlsxwriter

from bobweight.core.problems import BobweightError
from bobweight.core.tables import workbook
from bobweight.core.tables.source import decoded, read_source
from bobweight.core.tables.understanding import understand_source
from bobweight.core.tables.understood import Choice
from tests.tables.dialects import DISTRIBUTOR, LAMP

TEXT = "rpm;advance °;note\r\n1200;12,5;Vergaser geprüft ±½\r\n1500;14,25;\r\n"


@pytest.mark.parametrize(
    ("encoding", "told"),
    [("utf-8", ""), ("utf-8-sig", ""), ("utf-16", "utf-16"), ("utf-16-le", "utf-16-le"),
     ("utf-16-be", "utf-16-be"), ("cp1252", "cp1252"), ("latin-1", "cp1252"), ("cp850", "cp850")],
)  # fmt: skip
def test_text_in_any_encoding_is_read_and_an_old_one_is_told(encoding, told, tmp_path):
    path = tmp_path / "table.csv"
    path.write_bytes(TEXT.encode(encoding))
    table = understand_source(read_source(path), "readings", LAMP)
    assert table.encoding == told
    assert [(r.speed_rpm, r.angle_deg) for r in table.stored] == [(1200.0, 12.5), (1500.0, 14.25)]
    assert table.stored[0].note == "Vergaser geprüft ±½"


def test_the_mac_s_own_degree_sign():
    text = "rpm\tadvance °\n1200\t5–7\n"
    assert decoded(text.encode("mac_roman")) == (text, "mac_roman")


def test_another_script_is_left_to_the_statistics_of_letters():
    text = "обороты двигателя;угол опережения зажигания\n" * 20
    found, encoding = decoded(text.encode("cp1251"))
    assert found == text and encoding == "cp1251"


@pytest.mark.parametrize("data", [b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR" + bytes(range(256)) * 8,
                                  b"%PDF-1.7\n" + bytes(range(256)) * 9])  # fmt: skip
def test_what_is_no_text_is_told(data, tmp_path):
    path = tmp_path / "table.csv"
    path.write_bytes(data)
    with pytest.raises(BobweightError, match="not-a-table"):
        read_source(path)


def _workbook(path: Path, **sheets) -> Path:
    with xlsxwriter.Workbook(path) as book:
        date = book.add_format({"num_format": "d-mmm"})
        for name, rows in sheets.items():
            sheet = book.add_worksheet(name)
            for r, row in enumerate(rows):
                for c, value in enumerate(row):
                    if isinstance(value, datetime.date):
                        sheet.write_datetime(r, c, datetime.datetime(2024, 7, 5), date)
                    else:
                        sheet.write(r, c, value)
    return path


ROWS = [["Readings", "", ""], ["rpm", "deg", "inHg"], [1200, 12.5, ""], [1500, 14.25, 5]]


def test_a_workbook_is_read_by_its_cells(tmp_path):
    source = read_source(_workbook(tmp_path / "t.xlsx", Bench=ROWS))
    assert source.sheet == "Bench"
    table = understand_source(source, "readings", LAMP)
    assert table.sure and [row.line for row in table.rows] == [3, 4]
    assert [(r.speed_rpm, r.angle_deg, r.depression_kpa) for r in table.stored] == [
        (1200.0, 12.5, None),
        (1500.0, 14.25, pytest.approx(5 * 3.386389)),
    ]


def test_of_several_sheets_one_must_be_named(tmp_path):
    path = _workbook(tmp_path / "t.xlsx", Up=ROWS, Empty=[], Down=[["rpm", "deg"], [900, 3]])
    with pytest.raises(BobweightError) as told:
        read_source(path)
    assert told.value.problem.code == "several-sheets"
    assert told.value.problem.facts["sheets"] == ("Up", "Down")
    table = understand_source(read_source(path, "Down"), "readings", LAMP)
    assert [r.speed_rpm for r in table.stored] == [900.0]
    with pytest.raises(BobweightError, match="no-such-sheet"):
        read_source(path, "Empty")


def test_a_range_that_the_spreadsheet_made_a_date_of_is_refused(tmp_path):
    rows = [["rpm", "deg"], [1200, datetime.date(2024, 7, 5)], [1500, "8-9"]]
    table = understand_source(
        read_source(_workbook(tmp_path / "t.xlsx", T=rows)), "target", DISTRIBUTOR
    )
    assert [(row.line, row.problem.code) for row in table.refused] == [(2, "cell-is-date")]
    assert [(p.least_deg, p.most_deg) for p in table.stored] == [(8.0, 9.0)]


def _told(source):
    table = understand_source(source, "readings", LAMP)
    return (
        [(r.speed_rpm, r.angle_deg) for r in table.stored],
        [(row.line, row.problem.code) for row in table.refused],
        [(p.code, p.facts["column"]) for p in table.problems],
    )


def test_a_cell_shown_as_a_percentage_is_no_eighth_of_a_degree(tmp_path):
    """ECMA-376, part 1, 18.8.30: formats 9 and 10 are percentages, others where % is not quoted."""
    with xlsxwriter.Workbook(tmp_path / "t.xlsx") as book:
        sheet = book.add_worksheet()
        sheet.write_row(0, 0, ["rpm", "deg"])
        for row, form in enumerate(("0%", "0.00%", "0.0 %;[Red]-0.0 %", '0.0"%"', "[$%]0.0"), 1):
            sheet.write(row, 0, 1000 + row)
            sheet.write(row, 1, 12.5 if row > 3 else 0.125, book.add_format({"num_format": form}))
    taken, refused, _ = _told(read_source(tmp_path / "t.xlsx"))
    assert taken == [(1004.0, 12.5), (1005.0, 12.5)]
    assert refused == [(2, "unknown-unit"), (3, "unknown-unit"), (4, "unknown-unit")]


@pytest.mark.parametrize("result", ["", 0])
def test_a_formula_that_was_never_reckoned_is_no_speed_of_nought(result, tmp_path):
    """What writes a workbook without reckoning leaves no result, or 0, and asks that all be
    reckoned on opening (ECMA-376, part 1, 18.2.2)."""
    with xlsxwriter.Workbook(tmp_path / "t.xlsx") as book:
        sheet = book.add_worksheet()
        sheet.write_row(0, 0, ["rpm", "deg", "inHg", "hours"])
        sheet.write_row(1, 0, ["", 12, "", ""])
        sheet.write_formula(1, 0, "=2*600", None, result)
        sheet.write_row(2, 0, [1500, 14, ""])
        sheet.write_formula(2, 2, "=2+3", None, result)
        sheet.write_row(3, 1, [15])
        sheet.write_formula(3, 0, "=2*900", None, 1800)
        sheet.write_formula(3, 3, "=1+1", None, result)
    taken, refused, _ = _told(read_source(tmp_path / "t.xlsx"))
    assert taken == [(1800.0, 15.0)]
    assert refused == [(2, "formula-without-result"), (3, "formula-without-result")]


def test_hidden_and_filtered_rows_are_left_out_and_told(tmp_path):
    with xlsxwriter.Workbook(tmp_path / "t.xlsx") as book:
        sheet = book.add_worksheet()
        for row, cells in enumerate((["rpm", "deg"], [1200, 12], [1500, 99], [1800, 15])):
            sheet.write_row(row, 0, cells)
        sheet.autofilter("A1:B4")
        sheet.set_row(2, None, None, {"hidden": True})
        sheet.set_row(8, None, None, {"hidden": True})  # nothing stands there
    taken, refused, doubted = _told(read_source(tmp_path / "t.xlsx"))
    assert taken == [(1200.0, 12.0), (1800.0, 15.0)]
    assert refused == [(3, "row-hidden")] and not doubted


def test_hidden_columns_are_asked_about_where_only_they_hold_what_is_needed(tmp_path):
    with xlsxwriter.Workbook(tmp_path / "t.xlsx") as book:
        sheet = book.add_worksheet()
        for row, cells in enumerate((["rpm", "deg", "deg 2", "inHg"], [1200, 12, 13, 5])):
            sheet.write_row(row, 0, cells)
        sheet.set_column(2, 3, None, None, {"hidden": True})
    source = read_source(tmp_path / "t.xlsx")
    taken, refused, doubted = _told(source)
    assert taken == [(1200.0, 12.0)] and not refused
    assert doubted == [("column-hidden", 4)]
    table = understand_source(source, "readings", LAMP, {4: Choice("ignored")})
    assert table.sure and table.stored[0].depression_kpa is None


_NAMES = (
    'xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0" '
    'xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0" '
    'xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0"'
)


def _open_document(path: Path, inside: str, head: str = "") -> Path:
    """A minimal ods, put together by hand from OpenDocument 1.3, part 3, section 9."""
    content = (
        f'<?xml version="1.0"?>{head}<office:document-content {_NAMES} office:version="1.3">'
        f'<office:body><office:spreadsheet><table:table table:name="One">{inside}</table:table>'
        "</office:spreadsheet></office:body></office:document-content>"
    )
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as book:
        book.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        book.writestr("content.xml", content)
        manifest = '<?xml version="1.0"?><manifest:manifest xmlns:manifest=' \
                   '"urn:oasis:names:tc:opendocument:xmlns:manifest:1.0"/>'  # fmt: skip
        book.writestr("META-INF/manifest.xml", manifest)
    return path


def _ods_row(*cells: object, of: str = "") -> str:
    made = (
        f'<table:table-cell office:value-type="string"><text:p>{cell}</text:p></table:table-cell>'
        if isinstance(cell, str) and not cell.startswith("<")
        else cell if isinstance(cell, str)
        else f'<table:table-cell office:value-type="float" office:value="{cell}"/>'
        for cell in cells
    )  # fmt: skip
    return f"<table:table-row {of}>{''.join(made)}</table:table-row>"


def test_percentages_formulas_and_hidden_rows_of_an_open_document(tmp_path):
    """OpenDocument 1.3, part 3: 19.387 office:value-type, 19.740 table:visibility."""
    percent = '<table:table-cell office:value-type="percentage" office:value="0.125"/>'
    formula = '<table:table-cell table:formula="of:=2*600"/>'
    collapsed = 'table:visibility="collapse"'
    inside = (
        f'<table:table-column table:number-columns-repeated="2"/><table:table-column {collapsed}/>'
        + _ods_row("rpm", "deg", "inHg") + _ods_row(1200, percent, 5) + _ods_row(formula, 12, 5)
        + _ods_row(1300, 99, 5, of='table:visibility="filter" table:number-rows-repeated="2"')
        + _ods_row(1500, 14, 5)
    )  # fmt: skip
    taken, refused, doubted = _told(read_source(_open_document(tmp_path / "t.ods", inside)))
    assert taken == [(1500.0, 14.0)]
    assert refused == [(2, "unknown-unit"), (3, "formula-without-result"), (4, "row-hidden"),
                       (5, "row-hidden")]  # fmt: skip
    assert doubted == [("column-hidden", 3)]


def test_a_workbook_that_swells_or_declares_entities_is_refused(tmp_path, monkeypatch):
    head = '<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;">]>'
    path = _open_document(tmp_path / "t.ods", _ods_row("rpm", "&b;"), head)
    with pytest.raises(BobweightError, match="not-a-table"):
        read_source(path)
    monkeypatch.setattr(workbook, "PART_LIMIT", 1000)
    path = _open_document(tmp_path / "u.ods", _ods_row("rpm", "deg") * 100)
    with pytest.raises(BobweightError, match="table-too-large"):
        read_source(path)


def test_an_open_document_spreadsheet_is_read(tmp_path):
    rows = (["rpm", "rising", "falling"], [1200, 12.5, 13], [1500, 14.25, 15])
    path = _open_document(tmp_path / "t.ods", "".join(_ods_row(*row) for row in rows))
    table = understand_source(read_source(path), "readings", LAMP)
    assert [(r.angle_deg, r.direction) for r in table.stored] == [
        (12.5, "rising"), (13.0, "falling"), (14.25, "rising"), (15.0, "falling"),
    ]  # fmt: skip


@pytest.mark.parametrize("name", ["t.xlsx", "t.csv", "t.ods"])
def test_a_damaged_workbook_is_told(name, tmp_path):
    path = tmp_path / name
    path.write_bytes(b"PK\x03\x04" + b"\0" * 400)
    with pytest.raises(BobweightError, match="not-a-table"):
        read_source(path)
