"""Files of tables: encodings, spreadsheets (written by independent libraries), and what is none."""

from __future__ import annotations

import datetime
import zipfile
from pathlib import Path

import pytest
import xlsxwriter

from bobweight.core.problems import BobweightError
from bobweight.core.tables.source import decoded, read_source
from bobweight.core.tables.understanding import understand_source
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


def test_an_open_document_spreadsheet_is_read(tmp_path):
    """A minimal ods, put together by hand from OpenDocument 1.3, part 3, section 9."""
    names = 'xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0" ' \
            'xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0" ' \
            'xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0"'  # fmt: skip

    def cell(value) -> str:
        if isinstance(value, str):
            return (f'<table:table-cell office:value-type="string"><text:p>{value}</text:p>'
                    "</table:table-cell>")  # fmt: skip
        return f'<table:table-cell office:value-type="float" office:value="{value}"/>'

    rows = "".join(
        f"<table:table-row>{''.join(map(cell, row))}</table:table-row>"
        for row in (["rpm", "rising", "falling"], [1200, 12.5, 13], [1500, 14.25, 15])
    )
    content = (
        f'<?xml version="1.0"?><office:document-content {names} office:version="1.3"><office:body>'
        f'<office:spreadsheet><table:table table:name="One">{rows}</table:table>'
        "</office:spreadsheet></office:body></office:document-content>"
    )
    path = tmp_path / "t.ods"
    with zipfile.ZipFile(path, "w") as book:
        book.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        book.writestr("content.xml", content)
        manifest = '<?xml version="1.0"?><manifest:manifest xmlns:manifest=' \
                   '"urn:oasis:names:tc:opendocument:xmlns:manifest:1.0"/>'  # fmt: skip
        book.writestr("META-INF/manifest.xml", manifest)
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
