"""
Rows as fills: what is read, what is refused and for what reason.
"""

from datetime import date
from zoneinfo import ZoneInfo

import pytest

from cylfile.importing.column_map import column_map
from cylfile.importing.fill_rows import FillReader, sentence
from cylfile.record.blocks import Tag
from support.exports import COLUMNS

HEAD = "Day,Time,Cylinder,End,Extra\n"


def sentences(outcome):
    return [sentence(fill) for fill in outcome.fills]


def reasons(outcome):
    return [refused.reason for refused in outcome.refused]


def test_every_part_of_a_fill(taken):
    text = (
        "When;Bottle;Start;End;Temp;Minutes;Who;Air;Where;Remark\n"
        "14.03.2026 09:42;K-7;1.150,0;310,50 bar;29,5;6;R. Ash;C1;Hill Road;Said \"hot\"\n"
    )  # fmt: skip
    columns = {
        "file": {"decimal": ",", "thousands": "."},
        "day": {"column": "When", "form": "day.month.year hour:minute"},
        "cylinder": {"column": "Bottle", "by": "name"},
        "from": {"column": "Start", "unit": "psi"},
        "to": {"column": "End", "unit": "bar"},
        "temperature": {"column": "Temp", "unit": "C"},
        "over": {"column": "Minutes", "unit": "min"},
        "person": {"column": "Who", "means": {"R. Ash": "ash"}},
        "source": {"column": "Air"},
        "site": {"column": "Where"},
        "remark": {"column": "Remark"},
    }
    assert sentences(taken(text, columns)) == [
        "2026-03-14 09:42 filled K-7 from 1150 psi to 310.5 bar at 29.5 C over 6 min by ash on C1 at hill "
        'remark "Said \\"hot\\""'
    ]


@pytest.mark.parametrize(
    "by, cell", [("name", "K-7"), ("tag", "00A7"), ("tag", "E2007"), ("serial", "P 0007"), ("tag", "'00A7")]
)
def test_a_cylinder_by_name_tag_and_serial(taken, by, cell):
    columns = {**COLUMNS, "cylinder": {"column": "Cylinder", "by": by}}
    outcome = taken(f"{HEAD}2026-03-14,09:42,{cell},4500\n", columns)
    assert sentences(outcome) == ["2026-03-14 09:42 filled K-7 to 4500 psi"]


@pytest.mark.parametrize(
    "row, why",
    [
        ("2026-02-30,09:42,K-7,4500", "the day `2026-02-30` is not year-month-day"),
        ("3/14/2026,09:42,K-7,4500", "is not year-month-day"),
        (",09:42,K-7,4500", "no day: the column `Day` is empty"),
        ("2026-03-14,9.42,K-7,4500", "the time `9.42` is not hour:minute"),
        ("2026-12-01,09:42,K-7,4500", "after the day the record is judged for (2026-11-25)"),
        ("2026-03-14,09:42,K-9,4500", "no cylinder has the name `K-9`"),
        ("2026-03-14,09:42,k-7,4500", "no cylinder has the name `k-7`"),
        ("2026-03-14,09:42,,4500", "no cylinder: the column `Cylinder` is empty"),
        ("2026-03-14,09:42,1.2E+11,4500", "a spreadsheet has made a number"),
        ("2026-03-14,09:42,K-7,", "no pressure after the fill: the column `End` is empty"),
        ("2026-03-14,09:42,K-7", "no pressure after the fill"),
        ('2026-03-14,09:42,K-7,"4,500"', "if the comma is a decimal point"),
        ("2026-03-14,09:42,K-7,full", "is not a number"),
        ("2026-03-14,09:42,K-7,1e3", "is not a number"),
        ("2026-03-14,09:42,K-7,nan", "is not a number"),
        ("2026-03-14,09:42,K-7,-5", "below nothing"),
        ("2026-03-14,09:42,K-7,310 bar", "is in bar, and the map says psi"),
        ("2026-03-14,09:42,K-7,\u0664\u0665\u0660\u0660", "is not a number"),
        ("2026-03-14,09:42,K-7,4500.5.1", "is not a number"),
    ],
)
def test_a_row_that_cannot_be_read_has_its_reason(taken, row, why):
    outcome = taken(HEAD + row + "\n2026-03-14,10:00,K-7,4500\n", COLUMNS)
    assert len(outcome.refused) == 1 and why in outcome.refused[0].reason
    assert outcome.refused[0].row.number == 2
    assert sentences(outcome) == ["2026-03-14 10:00 filled K-7 to 4500 psi"], "the rows after it are read all the same"


def test_a_tag_on_two_cards_is_refused(taken, exported_record):
    exported_record.cylinders["K-8"].tags.append(Tag("E2007"))
    outcome = taken(
        f"{HEAD}2026-03-14,09:42,E2007,4500\n", {**COLUMNS, "cylinder": {"column": "Cylinder", "by": "tag"}}
    )
    assert reasons(outcome) == ["the tag `E2007` is on more than one card: K-7, K-8"]


def test_the_unit_may_stand_in_the_cell(taken):
    columns = {**COLUMNS, "to": {"column": "End"}}
    outcome = taken(
        f"{HEAD}2026-03-14,09:42,K-7,310 bar\n2026-03-14,10:00,K-7,4500PSI\n2026-03-14,11:00,K-7,45\n", columns
    )
    assert [line[-8:] for line in sentences(outcome)] == [" 310 bar", "4500 psi"]
    assert reasons(outcome) == ["the pressure after the fill `45` has no unit, and the map states none"]


@pytest.mark.parametrize(
    "cell, said", [("4500.00", "4500 psi"), ("+4500", "4500 psi"), ("0450.50", "450.5 psi"), ("0", "0 psi")]
)
def test_numbers_are_written_plainly(taken, cell, said):
    assert sentences(taken(f"{HEAD}2026-03-14,09:42,K-7,{cell}\n", COLUMNS)) == [
        f"2026-03-14 09:42 filled K-7 to {said}"
    ]


def test_an_empty_cell_that_need_not_be_there_leaves_its_clause_out(taken):
    columns = {**COLUMNS, "temperature": {"column": "Extra", "unit": "F"}}
    outcome = taken(f"{HEAD}2026-03-14,,K-7,4500,\n2026-03-15,09:00,K-7,4500,-12\n", columns)
    assert sentences(outcome) == [
        "2026-03-14 filled K-7 to 4500 psi",
        "2026-03-15 09:00 filled K-7 to 4500 psi at -12 F",
    ]


def test_a_person_by_name_and_title_and_nobody_else(taken):
    columns = {**COLUMNS, "person": {"column": "Extra"}}
    rows = "".join(
        f"2026-03-14,0{hour}:00,K-7,4500,{who}\n" for hour, who in enumerate(("birch", "lee BIRCH", "Someone"))
    )
    outcome = taken(HEAD + rows, columns)
    assert [line.split(" by ")[1] for line in sentences(outcome)] == ["birch", "birch"]
    assert "declares no person `Someone`" in reasons(outcome)[0] and "means" in reasons(outcome)[0]


@pytest.mark.parametrize(
    "table", [{"column": "Extra", "means": {"x": "nobody"}}, {"always": "nobody"}], ids=["means", "always"]
)
def test_a_map_that_names_nobody_of_the_record(exported_record, table):
    mapped, faults = column_map({**COLUMNS, "person": table}, HEAD.strip().split(","))
    assert not faults
    from cylfile.importing.column_map import FileForm

    reader = FillReader(mapped, FileForm(), exported_record, date(2026, 11, 25))
    assert len(reader.faults) == 1 and "nobody" in reader.faults[0]


def test_only_the_rows_that_count(taken):
    columns = {**COLUMNS, "rows": {"column": "Extra", "only": ["OK", "Done"]}}
    rows = "".join(f"2026-03-14,0{hour}:00,K-7,4500,{word}\n" for hour, word in enumerate(("OK", "Aborted", "Done")))
    outcome = taken(HEAD + rows, columns)
    assert len(outcome.fills) == 2 and outcome.left_out == 1 and not outcome.refused


DENVER = ZoneInfo("America/Denver")


def test_times_of_another_zone_are_turned_into_the_departments(taken):
    outcome = taken(f"{HEAD}2026-03-14,02:30,K-7,4500\n", COLUMNS, zone=ZoneInfo("UTC"), home=DENVER)
    assert sentences(outcome) == ["2026-03-13 20:30 filled K-7 to 4500 psi"]


def test_an_offset_in_the_form_is_turned_too(taken):
    columns = {**COLUMNS, "day": {"column": "Day", "form": "year-month-dayThour:minuteoffset"}}
    del columns["time"]
    outcome = taken(f"{HEAD}2026-07-01T23:30-04:00,,K-7,4500\n", columns, home=DENVER)
    assert sentences(outcome) == ["2026-07-01 21:30 filled K-7 to 4500 psi"]


@pytest.mark.parametrize("row", ["2026-11-01,01:30", "2026-03-08,02:30"], ids=["twice", "never"])
def test_a_time_that_a_clock_change_makes_two_or_none_is_refused(taken, row):
    outcome = taken(f"{HEAD}{row},K-7,4500\n", COLUMNS, zone=ZoneInfo("America/New_York"), home=DENVER)
    assert len(outcome.refused) == 1 and "no single time" in outcome.refused[0].reason


def test_local_times_are_kept_as_they_are(taken):
    outcome = taken(f"{HEAD}2026-11-01,01:30,K-7,4500\n", COLUMNS, home=DENVER)
    assert sentences(outcome) == ["2026-11-01 01:30 filled K-7 to 4500 psi"]


@pytest.mark.parametrize(
    "zones, form, why",
    [
        ({"zone": DENVER}, "year-month-day hour:minute", "it has none"),
        ({}, "year-month-day hour:minuteoffset", "it has none"),
        ({"zone": DENVER, "home": DENVER}, "year-month-day hour:minuteoffset", "keep one"),
        ({"zone": DENVER, "home": DENVER}, "year-month-day", "needs times"),
    ],
)
def test_zones_that_cannot_be_turned(exported_record, zones, form, why):
    columns = {**COLUMNS, "day": {"column": "Day", "form": form}}
    del columns["time"]
    from cylfile.importing.column_map import FileForm

    mapped, _ = column_map(columns, HEAD.strip().split(","))
    reader = FillReader(mapped, FileForm(), exported_record, date(2026, 11, 25), **zones)
    assert len(reader.faults) == 1 and why in reader.faults[0]


def test_a_quotation_mark_that_is_not_closed_is_found(taken):
    text = HEAD + '2026-03-14,09:42,K-7,4500,"oops\n' + "2026-03-14,10:00,K-7,4500,\n" * 9
    outcome = taken(text, COLUMNS)
    assert not outcome.fills and "quotation mark" in reasons(outcome)[0]


def test_a_note_is_one_line_and_nothing_hidden(taken):
    columns = {**COLUMNS, "remark": {"column": "Extra"}}
    outcome = taken(f'{HEAD}2026-03-14,09:42,K-7,4500,"two\nlines"\n2026-03-14,10:00,K-7,4500,a\u202eb\n', columns)
    assert sentences(outcome) == ['2026-03-14 09:42 filled K-7 to 4500 psi remark "two lines"']
    assert reasons(outcome) == ["its remark holds control characters"]
