"""
Tables for spreadsheets: nothing in them becomes a formula, and a name stays a name.
"""

import csv
import io
from datetime import date

import pytest

from cylfile.show.machine.spreadsheet import Identifier, csv_lines


def cell(value) -> str:
    """A cell as a reader of the table finds it."""
    (row,) = csv.reader(list(csv_lines([value], [])))
    return row[0] if row else ""


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\uff1d", "\uff0b", "\uff0d", "\uff20"])
def test_a_text_is_no_formula(start):
    assert cell(f'{start}HYPERLINK("http://x")') == f'\'{start}HYPERLINK("http://x")'


@pytest.mark.parametrize("start", ["\r", "\n"])
def test_line_ends_are_shown_and_end_nothing(start):
    text = "".join(csv_lines([f"{start}=1+1"], []))
    assert text == "\\u{d}=1+1\r\n" if start == "\r" else text == "\\u{a}=1+1\r\n"


def test_no_formula_after_another_separator():
    assert cell("dent;=1+1") == "dent;'=1+1"
    assert cell("dent; shallow") == "dent; shallow"


@pytest.mark.parametrize(
    "name", ["00123", "1042", "1E5", "12-3", "3/4", "MAR-1", "sept2", "TRUE", "false", "-7", ".5", "7A"]
)
def test_an_identifier_stays_text(name):
    assert cell(Identifier(name)) == f"'{name}"


@pytest.mark.parametrize("name", ["K-1042", "Marlow", "AA01", "trueblood", "e2003412"])
def test_an_identifier_that_is_text_anyway_stays_bare(name):
    assert cell(Identifier(name)) == name


def test_numbers_days_and_nothing_are_written_as_they_are():
    assert (
        "".join(csv_lines(["a", "b", "c", "d"], [[-5, 4.5, date(2026, 3, 1), None]]))
        == "a,b,c,d\r\n-5,4.5,2026-03-01,\r\n"
    )


def test_a_text_comes_back_from_its_quotation_marks():
    text = 'Said "stop", then left'
    assert next(csv.reader(io.StringIO("".join(csv_lines([text], []))))) == [text]


def test_hidden_characters_are_shown():
    assert cell("a\u202eb\x1b[31m") == "a\\u{202e}b\\u{1b}[31m"
