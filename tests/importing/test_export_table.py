"""
Exports as tables: encodings, separators, headings and odd cells.
"""

import pytest

from cylfile.importing.export_table import TableRefused, cleaned, read_table

TEXT = "Day,Cylinder,Note\r\n2026-03-01,K-7,Größe\r\n2026-03-02,K-8,\r\n"


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le"])
def test_encodings_are_found_out(encoding):
    data = TEXT.encode(encoding)
    if encoding == "utf-16-le":
        data = b"\xff\xfe" + data
    table = read_table(data)
    assert table.heading == ["Day", "Cylinder", "Note"]
    assert [row.cells[2] for row in table.rows] == ["Größe", ""]
    assert table.remarks == []


def test_what_is_not_utf8_is_read_as_windows_1252_and_says_so():
    table = read_table(TEXT.encode("cp1252"))
    assert table.rows[0].cells[2] == "Größe"
    assert "windows-1252" in table.remarks[0]


def test_a_stated_encoding_is_used_and_not_doubted():
    assert read_table(TEXT.encode("cp437"), "cp437").rows[0].cells[2] == "Größe"
    with pytest.raises(TableRefused, match="not utf-8"):
        read_table(TEXT.encode("cp1252"), "utf-8")
    with pytest.raises(TableRefused, match="no encoding"):
        read_table(b"a,b", "utf-99")


def test_a_stated_utf8_loses_its_byte_order_mark():
    assert read_table(TEXT.encode("utf-8-sig"), "utf-8").heading[0] == "Day"


@pytest.mark.parametrize("separator", [",", ";", "\t", "|"])
def test_separators_are_found_out(separator):
    assert read_table(TEXT.replace(",", separator).encode()).heading == ["Day", "Cylinder", "Note"]


def test_a_comma_in_the_figures_is_not_the_separator():
    table = read_table(b"Day;End\n2026-03-01;310,5\n2026-03-02;300,0\n")
    assert table.separator == ";" and table.rows[0].cells == ["2026-03-01", "310,5"]


def test_a_line_that_states_the_separator():
    assert read_table(b"sep=|\r\nDay|End\r\n1,2|3,4\r\n").heading == ["Day", "End"]


def test_rows_are_numbered_as_a_spreadsheet_numbers_them():
    table = read_table(b'Title of the export\n\nDay,Note\n1,"two\nlines"\n\n2,x\n', heading=3)
    assert table.heading == ["Day", "Note"]
    assert [(row.number, row.cells[0]) for row in table.rows] == [(4, "1"), (6, "2")]


def test_without_a_heading():
    table = read_table(b"1,2\n3,4\n", heading=0)
    assert table.heading == [] and [row.number for row in table.rows] == [1, 2]


@pytest.mark.parametrize(
    "data, why", [(b"", "no row"), (b"\n \n", "no row"), (b"\0\1\0", "not text"), (b"PK\x03\x04\0\0", "no workbook")]
)
def test_what_is_no_table(data, why):
    with pytest.raises(TableRefused, match=why):
        read_table(data)


def test_a_heading_that_is_not_there():
    with pytest.raises(TableRefused, match="row 9"):
        read_table(b"a,b\n", heading=9)


def test_a_cell_larger_than_any_cell():
    with pytest.raises(TableRefused, match="no table of cells"):
        read_table(b'a,b\n"' + b"x" * 200_000 + b'",1\n')


def test_cells_lose_their_blanks_and_the_apostrophe_of_a_spreadsheet():
    assert cleaned(" \u00a000123 ") == "00123"
    assert cleaned("'00123") == "00123"
    assert cleaned("O'Hara") == "O'Hara"
