"""
Maps of exports: what is wrong with one is said in words that tell what to write.
"""

import pytest

from cylfile.importing.column_map import column_map, file_form

HEADING = ["Day", "Time", "Cylinder", "End", "Operator", "Operator", "Result"]
GOOD = {
    "day": {"column": "Day", "form": "year-month-day"},
    "cylinder": {"column": "cylinder", "by": "tag"},
    "to": {"column": 4, "unit": "psi"},
}


def test_columns_are_found_by_heading_and_number():
    mapped, faults = column_map({**GOOD, "person": {"column": 5}, "site": {"always": "quay"}}, HEADING)
    assert faults == []
    cells = ["d", "t", "c", "e", "o"]
    assert {name: column.of(cells) for name, column in mapped.columns.items()} == {
        "day": "d", "cylinder": "c", "to": "e", "person": "o", "site": "quay",
    }  # fmt: skip
    assert mapped.columns["to"].of(["d"]) == "", "a row that is too short has empty cells"


@pytest.mark.parametrize(
    "change, why",
    [
        ({"day": None}, "nothing of the day"),
        ({"cylinder": None}, "nothing of the cylinder"),
        ({"to": None}, "nothing of the to"),
        ({"presure": {"column": 1}}, "no part of a fill"),
        ({"day": "Day"}, "is no table"),
        ({"day": {"column": "Day"}}, "needs its form"),
        ({"day": {"column": "Day", "form": "MM/DD/YYYY"}}, "none of the words"),
        ({"day": {"column": "Day", "form": "hour:minute"}}, "says no day"),
        ({"time": {"column": "Time", "form": "year-month-day"}}, "should say a time"),
        ({"day": {"column": "Day", "form": "year-month-day hour:minute"}, "time": {"column": "Time", "form": "hour:minute"}}, "one too many"),
        ({"to": {"column": "End", "unit": "psig"}}, "unit is one of psi, bar"),
        ({"to": {"column": "Fin"}}, "no column is headed `Fin`; the export has `Day`"),
        ({"to": {"column": 9}}, "columns 1 to 7"),
        ({"to": {"column": 0}}, "columns 1 to 7"),
        ({"to": {"column": True}}, "its heading in quotation marks"),
        ({"to": {"unit": "psi"}}, "says no column"),
        ({"to": {"always": "4500"}}, "takes a column"),
        ({"to": {"column": "End", "unti": "psi"}}, "Did you mean `unit`"),
        ({"cylinder": {"column": "Cylinder"}}, "one of name, tag, serial"),
        ({"person": {"column": "Operator"}}, "two columns are headed"),
        ({"person": {"column": 5, "always": "ash"}}, "both"),
        ({"person": {"column": 5, "means": "ash"}}, "table of texts"),
        ({"site": {"always": 5}}, "must be a text"),
        ({"rows": {"column": "Result"}}, "only"),
        ({"rows": {"column": "Result", "only": "OK"}}, "only"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_told(change, why):
    said = {name: table for name, table in {**GOOD, **change}.items() if table is not None}
    mapped, faults = column_map(said, HEADING)
    assert mapped is None
    assert len(faults) == 1 and why in faults[0]


@pytest.mark.parametrize(
    "table, why",
    [
        ({"heading": "1"}, "row number"),
        ({"heading": -1}, "row number"),
        ({"encoding": 8}, "a text"),
        ({"separator": "dot"}, "comma, semicolon, tab, bar"),
        ({"decimal": "x"}, "one sign"),
        ({"decimal": ",", "thousands": ","}, "the same sign"),
        ({"thousands": "."}, "the same sign"),
        ({"zone": True}, "a text"),
        ({"seperator": ";"}, "Did you mean `separator`"),
    ],
)
def test_what_is_wrong_with_the_file_table(table, why):
    _, faults = file_form({"file": table})
    assert len(faults) == 1 and why in faults[0]


def test_the_file_table():
    form, faults = file_form({"file": {"separator": "semicolon", "decimal": ",", "thousands": ".", "heading": 0}})
    assert not faults and (form.separator, form.decimal, form.thousands, form.heading) == (";", ",", ".", 0)
    assert file_form({"file": {"separator": "\t"}})[0].separator == "\t"
    assert file_form({"file": 3})[1]
