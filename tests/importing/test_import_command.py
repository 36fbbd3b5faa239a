"""
The command `import`, from end to end: what it shows, what it writes, and when it writes nothing.
"""

import csv
import io
import json
import os
import sys

import pytest

from cylfile.show.terminal import progress
from support.exports import RECORD

MAP = """\
[day]
column = "Day"
form   = "month/day/year"
[time]
column = "Time"
form   = "hour:minute"
[cylinder]
column = "Tag"
by     = "tag"
[to]
column = "End"
unit   = "psi"
[remark]
column = "Note"
"""
GOOD = (
    "Day,Time,Tag,End,Note\n3/14/2026,9:42,E2007,4500,\n3/14/2026,10:00,E2008,4480,\n3/15/2026,9:00,E2114,2200,slow\n"
)
BAD = GOOD + "3/16/2026,9:00,NOBODY,4500,=1+1\n3/16/2026,9:30,E2007,full,\n3/17/2026,9:00,NOBODY,4500,\n"
NEW = "import-2026-03-14-to-2026-03-15.cyl"


@pytest.fixture
def station(here):
    """A record in a folder beside a map and two exports."""
    here.write("record/all.cyl", RECORD)
    here.write("map.toml", MAP)
    here.write("good.csv", GOOD)
    here.write("bad.csv", BAD)
    here.as_of = "2026-11-25"
    return here


def take_in(station, *arguments, columns="map.toml", record="record", **others):
    named = ["--columns", columns] if columns else []
    return station("import", *arguments, *named, *([record] if record else []), **others)


def files(folder):
    """What is in the files of a folder, the lock left out."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file() and path.name != ".cylfile.lock"
    }


def test_a_look_shows_sentences_and_writes_nothing(station):
    before = files(station.folder)
    done = take_in(station, "good.csv")
    assert done.status == 0 and done.err == ""
    assert "good.csv   3 rows, utf-8, comma between the cells" in done.out
    assert "row 2       2026-03-14 09:42 filled K-7 to 4500 psi\n" in done.out
    assert 'row 4       2026-03-15 09:00 filled 114 to 2200 psi remark "slow"\n' in done.out
    assert "3 fills of 3 cylinders, from 2026-03-14 to 2026-03-15, can be entered." in done.out
    assert "Nothing has been written yet" in done.out
    assert files(station.folder) == before


def test_every_row_that_cannot_be_taken_is_shown_with_its_reason(station):
    done = take_in(station, "bad.csv")
    assert done.status == 1
    assert "no cylinder has the tag `NOBODY`\n      rows 5, 7\n" in done.out
    assert "the pressure after the fill `full` is not a number\n      row 6\n" in done.out


def test_entering(station):
    done = take_in(station, "good.csv", "--enter")
    assert done.status == 0 and f"Entered into record/{NEW}." in done.out
    assert (station.folder / "record" / NEW).read_text() == (
        "fill sheet 2026-03-14\n  09:42  K-7     to 4500 psi\n  10:00  K-8     to 4480 psi\n\n"
        'fill sheet 2026-03-15\n  09:00  114     to 2200 psi  remark "slow"\n'
    )
    again = take_in(station, "good.csv", "--enter")
    assert again.status == 0 and "3 rows skipped" in again.out and "Nothing was written." in again.out


def test_what_is_entered_is_tidy(station):
    take_in(station, "good.csv", "--enter")
    assert station("neaten", "--check", f"record/{NEW}", as_of=None).status == 0


def test_all_or_nothing(station):
    before = files(station.folder)
    done = take_in(station, "bad.csv", "--enter")
    assert done.status == 1 and "Nothing was written, for not every row can be taken." in done.out
    assert files(station.folder) == before


def test_taking_the_good_rows_leaves_the_others_in_a_file(station):
    done = take_in(station, "bad.csv", "--skip-unreadable")
    assert done.status == 1 and "bad-not-taken.csv" in done.out
    assert (station.folder / "record" / NEW).read_text().count("\n  ") == 3
    with open(station.folder / "bad-not-taken.csv", newline="", encoding="utf-8") as opened:
        rows = list(csv.DictReader(opened))
    assert [(row["row"], row["Tag"], row["Note"]) for row in rows] == [
        ("5", "NOBODY", "'=1+1"), ("6", "E2007", ""), ("7", "NOBODY", ""),
    ]  # fmt: skip
    assert "no cylinder" in rows[0]["why not taken"]


def test_the_rows_not_taken_are_read_by_the_same_map_once_they_are_put_right(station):
    (station.folder / "map.toml").write_text(MAP + '[file]\nheading = 3\nseparator = "semicolon"\n')
    (station.folder / "bad.csv").write_text("A title\n\n" + BAD.replace(",", ";"))
    take_in(station, "bad.csv", "--skip-unreadable")
    left = station.folder / "bad-not-taken.csv"
    left.write_text(left.read_text().replace("NOBODY", "E2008").replace("full", "4500"))
    done = take_in(station, "bad-not-taken.csv")
    assert done.status == 0
    assert '2026-03-16 09:00 filled K-8 to 4500 psi remark "=1+1"' in done.out


def test_a_file_of_rows_not_taken_is_never_written_over(station):
    (station.folder / "bad-not-taken.csv").write_text("mine")
    before = files(station.folder)
    done = take_in(station, "bad.csv", "--skip-unreadable")
    assert done.status == 2 and "is there already" in done.err
    assert files(station.folder) == before


@pytest.mark.parametrize("newline", ["\n", "\r\n"])
def test_into_a_file_that_is_there(station, newline):
    there = station.folder / "record" / "fills.cyl"
    text = f"# Fills of 2026{newline}fill sheet 2026-03-01{newline}  K-8  to 4500 psi"
    there.write_bytes(b"\xef\xbb\xbf" + text.encode())
    done = take_in(station, "good.csv", "--enter", "--into", "record/fills.cyl")
    assert done.status == 0, done.err
    data = there.read_bytes()
    assert data.startswith(b"\xef\xbb\xbf" + text.encode() + 2 * newline.encode() + b"fill sheet 2026-03-14")
    assert data.count(b"\n") == data.count(newline.encode()) == 10


def test_into_a_new_file_of_a_name(station):
    done = take_in(station, "good.csv", "--enter", "--into", "record/fills/2026.cyl")
    assert done.status == 0 and (station.folder / "record/fills/2026.cyl").exists()


@pytest.mark.parametrize(
    "into, why",
    [
        ("record/fills.txt", "would not be a ledger"),
        ("elsewhere.cyl", "not be part of the record"),
        ("record/../up.cyl", "not be part"),
    ],
)
def test_into_what_is_no_part_of_the_record(station, into, why):
    before = files(station.folder)
    done = take_in(station, "good.csv", "--enter", "--into", into)
    assert done.status == 2 and why in done.err and files(station.folder) == before


def test_a_record_may_be_named_by_its_file(station):
    done = take_in(station, "good.csv", "--enter", record="record/all.cyl")
    assert done.status == 0 and (station.folder / "record" / "import-2026-03-14-to-2026-03-15.cyl").exists()
    (station.folder / "record" / "import-2026-03-14-to-2026-03-15.cyl").unlink()
    into = take_in(station, "good.csv", "--enter", "--into", "record/all.cyl", record="record/all.cyl")
    assert into.status == 0 and "fill sheet 2026-03-15" in (station.folder / "record/all.cyl").read_text()


def test_a_file_that_cannot_be_read_keeps_all_from_being_written(station):
    (station.folder / "record" / "odd.cyl").write_bytes(b"\xff\xfe\x00")
    before = files(station.folder)
    done = take_in(station, "good.csv", "--enter", "--into", "record/odd.cyl")
    assert done.status == 2 and files(station.folder) == before


def test_what_is_no_map_and_no_export_is_said(station):
    (station.folder / "map.toml").write_text("x = " + "[" * 5000 + "]" * 5000)
    assert "is nested too deeply to be one; `--draft-map` proposes one" in take_in(station, "good.csv").err
    (station.folder / "map.toml").write_bytes(b'[day]\ncolumn = "Da\0y"\n')
    assert "the map `map.toml` is not TOML: Illegal character" in take_in(station, "good.csv").err
    (station.folder / "map.toml").unlink()
    os.mkfifo(station.folder / "map.toml")
    assert "the map `map.toml` cannot be read (it is a pipe, and no file)" in take_in(station, "good.csv").err
    os.mkfifo(station.folder / "pipe.csv")
    done = station("import", "pipe.csv", "--draft-map", as_of=None)
    assert done.status == 2 and "the export `pipe.csv` cannot be read (it is a pipe, and no file)" in done.err


def test_late_rows(station):
    (station.folder / "record" / "seal.cyl").write_text(f"sealed 2026-03-14 by ash 3 entries {'0' * 64}\n")
    done = take_in(station, "good.csv")
    assert done.status == 1 and "sealed through 2026-03-14" in done.out
    late = take_in(station, "good.csv", "--late", "export came late", "--by", "ash", "--enter")
    assert late.status == 0
    text = (station.folder / "record" / NEW).read_text()
    assert text.count('late 2026-11-25 by ash "export came late"') == 2


def test_json(station):
    value = json.loads(take_in(station, "bad.csv", "--skip-unreadable", "--as", "json").out)
    assert value["fills"] == 3 and [each["row"] for each in value["refused"]] == [5, 6, 7]
    assert value["written"] == f"record/{NEW}" and value["rejected"] == "bad-not-taken.csv"
    assert json.loads(take_in(station, "good.csv", "--as", "json").out)["doubles"] == [2, 3, 4]


def test_an_export_from_standard_input(station):
    done = take_in(station, "-", given=GOOD.encode())
    assert done.status == 0 and "the export   3 rows" in done.out


@pytest.mark.parametrize(
    "arguments, columns, why",
    [
        (["good.csv"], None, "--columns MAP.toml"),
        (["none.csv"], "map.toml", "the export `none.csv` cannot be read"),
        (["good.csv"], "none.toml", "the map `none.toml` cannot be read"),
        (["good.csv"], "good.csv", "is not TOML"),
        (["record/all.cyl"], "map.toml", "no column is headed"),
        (["good.csv", "--late", "x"], "map.toml", "give both"),
        (["good.csv", "--late", "x", "--by", "nobody"], "map.toml", "no person `nobody`"),
        (["good.csv", "--late", "a\nb", "--by", "ash"], "map.toml", "one line of plain words"),
    ],
)
def test_what_cannot_be_done(station, arguments, columns, why):
    done = take_in(station, *arguments, columns=columns)
    assert done.status == 2 and done.out == "" and why in done.err and done.err.count("\n") == 1


@pytest.mark.parametrize(
    "more, why",
    [
        ('[file]\nzone = "Mars/Base"\n', "no time zone `Mars/Base`"),
        ('[person]\nalways = "nobody"\n', "declares no such person"),
        ('[file]\nencoding = "utf-99"\n', "no encoding `utf-99`"),
        ("[prsn]\ncolumn = 1\n", "Did you mean `person`"),
    ],
)
def test_maps_that_cannot_be_used(station, more, why):
    (station.folder / "map.toml").write_text(MAP + more)
    done = take_in(station, "good.csv")
    assert done.status == 2 and why in done.err and done.err.count("\n") == 1


def test_a_draft_is_a_map_that_works(station):
    (station.folder / "good.csv").write_text(GOOD.replace("End", "End psi"))
    done = take_in(station, "good.csv", "--draft-map", columns=None)
    assert done.status == 0 and 'by     = "tag"' in done.out and 'form   = "month/day/year"' in done.out
    (station.folder / "draft.toml").write_text(done.out)
    assert take_in(station, "good.csv", columns="draft.toml").out.count("filled") == 3


def test_the_help_shows_a_map_and_examples(station):
    text = take_in(station, "--help").out
    assert "cylfile import export.csv --draft-map" in text and 'form   = "month/day/year"' in text


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize("stream, is_shown", [(Terminal(), True), (io.StringIO(), False)])
def test_a_bar_is_drawn_on_a_terminal_only_and_taken_away(monkeypatch, stream, is_shown):
    """The bar is asked for directly: how long a reading lasts is nothing to rely on."""
    monkeypatch.setattr(progress, "_BEFORE_THE_BAR", 0)
    monkeypatch.setattr(progress, "_BETWEEN_BARS", 0)
    monkeypatch.setattr(sys, "stderr", stream)
    with progress.counted_off(1024, "reading rows") as tell:
        for _ in range(1024):
            tell()
    shown = stream.getvalue()
    if is_shown:
        assert "512 of 1,024" in shown and shown.endswith(" \r")
    else:
        assert shown == ""


def test_figures_of_twenty_digits_are_refused_with_their_rows(station):
    station.write("long.csv", GOOD.replace("4480", "9" * 20))
    done = take_in(station, "long.csv")
    assert done.status == 1 and "a number of 20 digits" in done.out and "      row 3\n" in done.out


@pytest.mark.parametrize("text", ["a=" + "[" * 5000 + "]" * 5000, 'a = "\0"', "\0"])
def test_a_map_that_is_none_is_told_in_one_line(station, text):
    (station.folder / "odd.toml").write_text(text)
    done = station("import", "good.csv", "record", "--columns", "odd.toml")
    assert (done.status, done.out) == (2, "") and done.err.startswith("cylfile: the map `odd.toml` is ")
    assert done.err.count("\n") == 1


def test_a_fill_that_would_not_be_read_back_is_told_with_its_row(station, monkeypatch):
    monkeypatch.setattr("cylfile.importing.import_fills.sentence", lambda fill: "something else")
    before = files(station.folder)
    done = take_in(station, "good.csv", "--enter")
    assert (done.status, files(station.folder)) == (2, before)
    assert "row 2 would not read as what it says, which is a fault of the program" in done.err


def test_rows_not_taken_are_written_by_a_second_run_where_the_first_was_broken_off(station):
    """A kill after the fills were written, before the other rows were; half of these may lie about."""
    done = take_in(station, "bad.csv", "--skip-unreadable")
    first = (station.folder / "bad-not-taken.csv").read_bytes()
    (station.folder / "bad-not-taken.csv").rename(station.folder / ".bad-not-taken.csv.writing")
    again = take_in(station, "bad.csv", "--skip-unreadable")
    assert (done.status, again.status) == (1, 1) and "The rows not taken are in bad-not-taken.csv." in again.out
    assert (station.folder / "bad-not-taken.csv").read_bytes() == first
    assert "cleared away `.bad-not-taken.csv.writing`" in again.err


def test_a_workbook_gives_what_the_same_table_as_text_gives(station):
    from datetime import date, time

    from openpyxl import Workbook

    book = Workbook()
    sheet = book.active
    sheet.append(["Fills"])
    sheet.append(["Day", "Time", "Tag", "End psi"])
    sheet.append([date(2026, 3, 14), time(9, 42), "E2007", 4500])
    sheet.append([date(2026, 3, 14), time(10, 0), 20251231235959123456, 4480])
    book.create_sheet("Notes")
    book.save(station.folder / "fills.xlsx")
    drafted = station("import", "fills.xlsx", "--draft-map", "record")
    station.write("drafted.toml", drafted.out)
    shown = take_in(station, "fills.xlsx", columns="drafted.toml")
    assert "2026-03-14 09:42 filled K-7 to 4500 psi" in shown.out and "only its first sheet was read" in shown.out
    assert "a spreadsheet has made a number of the tag" in shown.out
    station.write("broken.xlsx", "PK\x03\x04 no workbook")
    assert "no workbook that can be read" in take_in(station, "broken.xlsx").err


def test_what_is_entered_after_an_import_does_not_go_into_its_file(station):
    take_in(station, "good.csv", "--enter")
    imported = (station.folder / "record" / NEW).read_bytes()
    entered = station("enter", "2026-03-15 11:00 filled K-8 to 4000 psi at 70 F by ash on C1", "record")
    assert entered.status == 0, entered
    assert (station.folder / "record" / NEW).read_bytes() == imported
    assert "all.cyl:" in entered.out
