"""
An inventory taken in: each row becomes a card, or is refused with its reason, and nothing is guessed.
"""

import io
import json
import tomllib

import pytest

from cylfile.importing.column_map import CARDS, column_map, file_form
from cylfile.importing.draft_map import draft_of, heading_of
from cylfile.importing.export_table import read_table
from support.exports import RECORD

MAP = """\
[cylinder]
column = "Unit"
[serial]
column = "Serial"
[marked]
column = "Marking"
[class]
column = "Type"
means  = { "carbon" = "carbon-wrapped" }
[made]
column = "Made"
form   = "month/year"
[holds]
column = "Liters"
unit   = "L"
[tag]
column = "Tag"
[entered]
column = "In service"
form   = "month/day/year"
[site]
column = "Station"
[visual]
column = "Visual"
form   = "month/day/year"
[inspector]
column = "By"
"""
HEADING = "Unit,Serial,Marking,Type,Made,Liters,Tag,In service,Station,Visual,By\n"
GOOD = (
    HEADING
    + "H-1,TV 101,DOT-SP 99123-4500,carbon,4/2021,6.8,E20031,6/1/2021,Quay Street,2/3/2026,ash\n"
    + "H-2,TV-102,DOT-SP 99123-4500,carbon,05/2023,6.8,,,,,\n"
)
CARDS_OF_GOOD = """\
cylinder H-1
  serial     "TV 101"
  marked     "DOT-SP 99123-4500"
  class      carbon-wrapped
  made       2021-04
  holds      6.8 L
  tag        E20031
  2021-06-01        entered service  at quay
  2026-02-03        visual pass  by ash

cylinder H-2
  serial     TV-102
  marked     "DOT-SP 99123-4500"
  class      carbon-wrapped
  made       2023-05
  holds      6.8 L
"""


@pytest.fixture
def shed(here):
    """A record in a folder beside a map and an inventory."""
    here.write("record/all.cyl", RECORD)
    here.write("map.toml", MAP)
    here.write("good.csv", GOOD)
    here.as_of = "2026-11-25"
    return here


def take_in(shed, export, *arguments):
    return shed("import", export, "--cards", "--columns", "map.toml", *arguments, "record")


def refused(shed, *rows):
    shed.write("bad.csv", HEADING + "".join(f"{row}\n" for row in rows))
    outcome = take_in(shed, "bad.csv", "--as", "json")
    assert (outcome.status, outcome.err) == (1, "")
    return {each["row"]: each["reason"] for each in json.loads(outcome.out)["refused"]}


def test_a_look_shows_the_cards_and_writes_nothing(shed):
    done = take_in(shed, "good.csv")
    assert (done.status, done.err) == (0, "")
    assert 'cylinder H-1  serial "TV 101"  marked "DOT-SP 99123-4500"  class carbon-wrapped  made 2021-04' in done.out
    assert "2 cards can be entered.\nNothing has been written yet" in done.out
    assert sorted(path.name for path in (shed.folder / "record").glob("*.cyl")) == ["all.cyl"]


def test_entered_cards_are_neat_and_read_as_what_the_inventory_says(shed):
    done = take_in(shed, "good.csv", "--enter")
    assert done.status == 0 and "2 cards are entered.\nEntered into record/cards-2026-11-25.cyl." in done.out
    assert (shed.folder / "record" / "cards-2026-11-25.cyl").read_text() == CARDS_OF_GOOD
    # The same inventory once more doubles nothing.
    again = take_in(shed, "good.csv", "--enter")
    assert "2 rows skipped: the record has that cylinder." in again.out and again.status == 0


def test_what_two_rows_or_the_record_have_is_refused(shed):
    assert refused(
        shed,
        "H-1,S-1,,,,,T-1,,,,", "H-2,S-1,,,,,T-2,,,,", "H-3,S-3,,,,,T-2,,,,", "H-4,S-4,,,,,T-4,,,,", "H-4,S-5,,,,,T-5,,,,",
        "K-7,S-6,,,,,,,,,", "H-7,0008,,,,,,,,,", "H-8,S-8,,,,,E2114,,,,", "ash,S-9,,,,,,,,,", "H-10,S-10,,,,,,,,,",
    ) == {
        2: "the serial `S-1` stands in more than one row",
        3: "the serial `S-1` stands in more than one row; the tag `T-2` stands in more than one row",
        4: "the tag `T-2` stands in more than one row",
        5: "the name `H-4` stands in more than one row",
        6: "the name `H-4` stands in more than one row",
        7: "the name `K-7` is that of K-7 already",
        8: "the serial `0008` is that of K-8 already",
        9: "the tag `E2114` is that of 114 already",
        10: "`ash` is a person of the record",
    }  # fmt: skip


def test_a_serial_number_is_the_same_in_capitals_or_not(shed):
    reasons = refused(shed, "H-1,S-1a,,,,,,,,,", "H-2,s-1A,,,,,,,,,")
    assert reasons == {
        2: "the serial `S-1a` stands in more than one row", 3: "the serial `s-1A` stands in more than one row",
    }  # fmt: skip


def test_reasons_that_differ_in_a_word_are_told_once(shed):
    rows = "".join(f"H-{number},,,,{made},,,,,,\n" for number, made in enumerate(("x", "y", "y", "z"), 1))
    shed.write("bad.csv", f"{HEADING}{rows}")
    page = take_in(shed, "bad.csv").out
    assert "  - the day of `made`, `_`, is not month/year\n      x: row 2; y: rows 3 to 4; z: row 5\n" in page


def test_a_name_that_a_refused_row_has_too_is_refused_since_either_may_be_the_right_one(shed):
    reasons = refused(shed, "H-4,S-4,,,,,T-4,,,,", "H-4,S-5,,no kind,,,T-5,,,,", "H-6,S-6,,,,,,,,,")
    assert reasons[2] == "the name `H-4` stands in more than one row" and "no kind" in reasons[3]


@pytest.mark.parametrize(
    "row, why",
    [
        (",S-1,,,,,,,,,", "no cylinder: the column `Unit` is empty"),
        ("Unit 12,S-1,,,,,,,,,", "the cylinder `Unit 12` is no name"),
        ("A-1 # old,S-1,,,,,,,,,", "the cylinder `A-1 # old` is no name"),
        ("filled,S-1,,,,,,,,,", "the cylinder `filled` is no name"),
        ("H-1,1.2E+11,,,,,,,,,", "a spreadsheet has made a number of the serial"),
        ("H-1,S-1,,big steel,,,,,,,", 'the class `big steel` is no name: letters and digits, and . _ / - between them; write under [class]'),
        ("H-1,S-1,,,13/2021,,,,,,", "the day of `made`, `13/2021`, is not month/year"),
        ("H-1,S-1,,,12/2026,,,,,,", "is after the day the record is judged for (2026-11-25)"),
        ("H-1,S-1,,,,6.8 gal,,,,,", "the volume `6.8 gal` is in gal, and the map says L"),
        ("H-1,S-1,,,,,,6/1/2021,Pier,,", "the record declares no site `Pier`"),
        ("H-1,S-1,,,,,,,,2/3/2026,nobody", "the record declares no person `nobody`"),
        ('H-1,S-1,"a\u202eb",,,,,,,,', "character"),
    ],
)  # fmt: skip
def test_a_row_that_cannot_be_a_card_has_its_reason(shed, row, why):
    assert why in refused(shed, row)[2]


def test_rows_not_taken_are_put_right_and_taken_by_the_same_map(shed):
    shed.write("bad.csv", GOOD + "Unit 12,TV-103,,carbon,05/2023,6.8,,,,,\n")
    done = take_in(shed, "bad.csv", "--enter")
    assert done.status == 1 and "Nothing was written, for not every row can be taken." in done.out
    assert take_in(shed, "bad.csv", "--skip-unreadable").status == 1
    left = shed.folder / "bad-not-taken.csv"
    left.write_text(left.read_text().replace("Unit 12", "U-12"))
    done = take_in(shed, "bad-not-taken.csv", "--enter", "--into", "record/all.cyl")
    assert done.status == 0 and "1 card is entered." in done.out
    assert (shed.folder / "record" / "all.cyl").read_text().endswith("\ncylinder U-12\n  serial     TV-103\n"
        "  class      carbon-wrapped\n  made       2023-05\n  holds      6.8 L\n")  # fmt: skip


def test_a_map_of_cards_says_what_is_wrong_with_it(shed):
    shed.write("map.toml", MAP.replace("[entered]", "[to]"))
    done = take_in(shed, "good.csv")
    assert done.status == 2 and "[to] is no part of a card; the map of fills is used without --cards" in done.err
    shed.write("map.toml", MAP)
    done = shed("import", "good.csv", "--columns", "map.toml", "record")
    assert done.status == 2 and "[serial] is no part of a fill; the map of an inventory is for --cards" in done.err
    shed.write("map.toml", MAP.replace('[visual]\ncolumn = "Visual"\nform   = "month/day/year"\n', ""))
    assert "[inspector] is of the day of [visual]" in take_in(shed, "good.csv").err


def test_a_workbook_gives_a_map_that_can_be_used():
    openpyxl = pytest.importorskip("openpyxl")
    from datetime import datetime

    book = openpyxl.Workbook()
    for row in (
        ["Inventory of Station 1"],
        [
            "Bottle",
            "Serial no.",
            "Manufacturer",
            "DOT marking",
            "Mfg date",
            "Water volume (L)",
            "Last hydro",
            "Barcode",
        ],
        ["H-1", 40117, "Norrkeld", "DOT-SP 99123-4500", datetime(2019, 6, 1), 6.8, datetime(2024, 6, 20), "00A7"],
    ):
        book.active.append(row)
    data = io.BytesIO()
    book.save(data)
    heading = heading_of(read_table(data.getvalue(), heading=0).rows, CARDS)
    table = read_table(data.getvalue(), heading=heading)
    said = tomllib.loads(draft_of(table, "inventory.xlsx", None, heading, CARDS))
    mapped, faults = column_map(said, table.heading, CARDS)
    assert not faults and not file_form(said)[1] and said["file"] == {"heading": 2}
    assert {name: column.name for name, column in mapped.columns.items()} == {
        "cylinder": "Bottle", "serial": "Serial no.", "maker": "Manufacturer", "marked": "DOT marking",
        "made": "Mfg date", "holds": "Water volume (L)", "tag": "Barcode", "test": "Last hydro",
    }  # fmt: skip
    assert mapped.columns["holds"].unit == "L" and mapped.columns["made"].form.words == "year-month-day"


def test_short_headings_and_months_as_a_spreadsheet_shows_them_are_known():
    table = read_table(b"ID,S/N,Mark,Kind,Born,Vol (L),Svc date\nH-1,TV-1,DOT-3AA2265,,Feb-21,6.8,2021-03-01\n")
    said = tomllib.loads(draft_of(table, "inventory.csv", None, 1, CARDS))
    assert {part: said[part]["column"] for part in ("cylinder", "serial", "marked", "holds", "entered")} == {
        "cylinder": "ID", "serial": "S/N", "marked": "Mark", "holds": "Vol (L)", "entered": "Svc date",
    }  # fmt: skip
    assert said["made"] == {"column": "Born", "form": "month-name-short-year"}
