"""
A proposed map: what the export tells is filled in, and what it does not tell is left open.
"""

import tomllib

import pytest

from cylfile.importing.column_map import column_map, file_form
from cylfile.importing.draft_map import draft_of, heading_of
from cylfile.importing.export_table import read_table


def drafted(text: str) -> tuple[dict, str]:
    map_text = draft_of(read_table(text.encode()), "export.csv")
    return tomllib.loads(map_text), map_text


def test_an_export_that_tells_all_gives_a_map_that_can_be_used():
    text = (
        "Fill Date;Fill Time;RFID Tag;Start Pressure (psi);End Pressure (psi);Operator;Station;Lot\n"
        "2026-03-14;09:42;E2007;900;4500;R. Ash;Quay;1\n"
    )
    said, map_text = drafted(text)
    mapped, faults = column_map(said, text.split("\n")[0].split(";"))
    assert not faults and not file_form(said)[1]
    assert {name: column.name for name, column in mapped.columns.items()} == {
        "day": "Fill Date",
        "time": "Fill Time",
        "cylinder": "RFID Tag",
        "from": "Start Pressure (psi)",
        "to": "End Pressure (psi)",
        "person": "Operator",
        "site": "Station",
    }
    assert said["cylinder"]["by"] == "tag" and said["to"]["unit"] == "psi"
    assert said["file"]["separator"] == "semicolon"
    assert "# Not used: Lot" in map_text


def test_a_day_that_could_be_two_is_left_open():
    said, map_text = drafted("Date,Cylinder,Final\n03/04/2026,K-7,4500\n05/06/2026,K-8,4500\n")
    assert said["day"]["form"] == ""
    assert '# form = "month/day/year"' in map_text and '# form = "day/month/year"' in map_text
    _, faults = column_map(said, ["Date", "Cylinder", "Final"])
    assert any("needs its form" in fault for fault in faults)


def test_one_row_that_tells_is_enough():
    said, _ = drafted("Date,Cylinder,Final\n03/04/2026,K-7,4500\n05/16/2026,K-8,4500\n")
    assert said["day"]["form"] == "month/day/year"


def test_units_that_no_heading_states_are_left_open():
    said, _ = drafted("Date,Cylinder,Final,Temp\n2026-03-04,K-7,4500,80\n")
    assert said["to"]["unit"] == "" and said["temperature"]["unit"] == "" and said["cylinder"]["by"] == ""


@pytest.mark.parametrize("heading", ["Remark", "Notes", "Comments"])
def test_what_was_noted_is_the_remark(heading):
    said, _ = drafted(f"Date,Cylinder,Final,{heading}\n2026-03-04,K-7,4500,lens fogged\n")
    assert said["remark"]["column"] == heading


def test_columns_that_are_not_there_are_left_open():
    said, _ = drafted("Alpha,Beta\n1,2\n")
    assert said["day"]["column"] == said["cylinder"]["column"] == said["to"]["column"] == ""


def test_of_two_pressures_that_no_word_tells_apart_neither_is_taken_for_the_end_of_the_fill():
    said, _ = drafted("Date,Tag,von (bar),bis (bar)\n2026-03-14,E2007,35,300\n")
    assert said["to"]["column"] == "" and "from" not in said
    said, _ = drafted("When,Tag,Pressure (bar),Who\n2026-03-14,E2007,300,ash\n")
    assert [said[part]["column"] for part in ("day", "to", "person")] == ["When", "Pressure (bar)", "Who"]


@pytest.mark.parametrize("odd", ['a"b', "back\\slash", "tab\there", "line\nend", "\x1b[31m", "\u202e", "] = [x"])
def test_odd_headings_and_cells_break_nothing(odd):
    import csv
    import io

    text = io.StringIO()
    csv.writer(text).writerows([["Date", f"Cylinder {odd}", "Final", odd], ["2026-03-04", odd, odd, odd]])
    said, map_text = drafted(text.getvalue())
    assert said["cylinder"]["column"] == f"Cylinder {odd}".strip()
    assert all(sign.isprintable() for sign in map_text.replace("\n", ""))


def test_units_in_headings_titles_above_them_and_decimal_commas_are_found():
    text = "Fills of the year;;;;;\n\nDate;Tag;start_kPa;End kPa;gas_temp_C;Duration (min)\n2026-03-14;E2007;6200,5;31000;20;5\n"
    rows = read_table(text.encode(), heading=0).rows
    heading = heading_of(rows)
    table = read_table(text.encode(), heading=heading)
    map_text = draft_of(table, "export.csv", heading=heading)
    said = tomllib.loads(map_text)
    assert said["file"]["heading"] == heading == 3 and said["file"]["decimal"] == ","
    assert said["from"] == {"column": "start_kPa", "unit": "kPa"} and said["to"] == {"column": "End kPa", "unit": "kPa"}
    assert said["temperature"]["unit"] == "C" and said["over"]["unit"] == "min"
    mapped, faults = column_map(said, table.heading)
    assert not faults and not file_form(said)[1]


def test_thousands_are_told_where_a_cell_tells_and_else_left_open():
    said, _ = drafted('Date,Tag,End psi\n2026-03-14,E2007,"4,500.5"\n')
    assert said["file"]["thousands"] == ","
    said, _ = drafted('Date,Tag,End psi\n2026-03-14,E2007,"4,500"\n')
    assert "thousands" not in said["file"] and "decimal" not in said["file"]
