"""
The command `intake`, from end to end: what it shows, what it writes, and when it writes nothing.
"""

import csv
import json
import os
import pty
import subprocess
import sys
from pathlib import Path

import pytest

from support.exports import RECORD

ROOT = Path(__file__).resolve().parents[2]
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
NEW = "intake-2026-03-14-to-2026-03-15.cyl"


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "record").mkdir()
    (tmp_path / "record" / "all.cyl").write_text(RECORD)
    (tmp_path / "map.toml").write_text(MAP)
    (tmp_path / "good.csv").write_text(GOOD)
    (tmp_path / "bad.csv").write_text(BAD)
    return tmp_path


def intake(folder, *arguments, columns="map.toml", record="record", **others):
    return subprocess.run(
        [
            sys.executable, "-m", "cylfile", "import", *arguments, *(["--columns", columns] if columns else []),
            "--as-of", "2026-11-25", *([record] if record else []),
        ],
        cwd=folder, capture_output=True, text=True, encoding="utf-8",
        env={**os.environ, "PYTHONPATH": str(ROOT)}, **others,
    )  # fmt: skip


def files(folder):
    """What is in the files of a folder, the lock left out."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file() and path.name != ".cylfile.lock"
    }


def test_a_look_shows_sentences_and_writes_nothing(folder):
    before = files(folder)
    done = intake(folder, "good.csv")
    assert done.returncode == 0 and done.stderr == ""
    assert "good.csv   3 rows, utf-8, comma between the cells" in done.stdout
    assert "row 2       2026-03-14 09:42 filled K-7 to 4500 psi\n" in done.stdout
    assert 'row 4       2026-03-15 09:00 filled 114 to 2200 psi remark "slow"\n' in done.stdout
    assert "3 fills of 3 cylinders, from 2026-03-14 to 2026-03-15, can be entered." in done.stdout
    assert "Nothing has been written yet" in done.stdout
    assert files(folder) == before


def test_every_row_that_cannot_be_taken_is_shown_with_its_reason(folder):
    done = intake(folder, "bad.csv")
    assert done.returncode == 1
    assert "no cylinder has the tag `NOBODY`\n      rows 5, 7\n" in done.stdout
    assert "the pressure after the fill `full` is no number\n      row 6\n" in done.stdout


def test_entering(folder):
    done = intake(folder, "good.csv", "--enter")
    assert done.returncode == 0 and f"Entered into record/{NEW}." in done.stdout
    assert (folder / "record" / NEW).read_text() == (
        "fill sheet 2026-03-14\n  09:42  K-7     to 4500 psi\n  10:00  K-8     to 4480 psi\n\n"
        'fill sheet 2026-03-15\n  09:00  114     to 2200 psi  remark "slow"\n'
    )
    again = intake(folder, "good.csv", "--enter")
    assert again.returncode == 0 and "3 rows skipped" in again.stdout and "Nothing was written." in again.stdout


def test_what_is_entered_is_tidy(folder):
    intake(folder, "good.csv", "--enter")
    tidy = subprocess.run(
        [sys.executable, "-m", "cylfile", "neaten", "--check", f"record/{NEW}"],
        cwd=folder, capture_output=True, env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    assert tidy.returncode == 0


def test_all_or_nothing(folder):
    before = files(folder)
    done = intake(folder, "bad.csv", "--enter")
    assert done.returncode == 1 and "Nothing was written, for not every row can be taken." in done.stdout
    assert files(folder) == before


def test_taking_the_good_rows_leaves_the_others_in_a_file(folder):
    done = intake(folder, "bad.csv", "--skip-unreadable")
    assert done.returncode == 1 and "bad-not-taken.csv" in done.stdout
    assert (folder / "record" / NEW).read_text().count("\n  ") == 3
    with open(folder / "bad-not-taken.csv", newline="", encoding="utf-8") as opened:
        rows = list(csv.DictReader(opened))
    assert [(row["row"], row["Tag"], row["Note"]) for row in rows] == [
        ("5", "NOBODY", "'=1+1"), ("6", "E2007", ""), ("7", "NOBODY", ""),
    ]  # fmt: skip
    assert "no cylinder" in rows[0]["why not taken"]


def test_the_rows_not_taken_are_read_by_the_same_map_once_they_are_put_right(folder):
    (folder / "map.toml").write_text(MAP + '[file]\nheading = 3\nseparator = "semicolon"\n')
    (folder / "bad.csv").write_text("A title\n\n" + BAD.replace(",", ";"))
    intake(folder, "bad.csv", "--skip-unreadable")
    left = folder / "bad-not-taken.csv"
    left.write_text(left.read_text().replace("NOBODY", "E2008").replace("full", "4500"))
    done = intake(folder, "bad-not-taken.csv")
    assert done.returncode == 0
    assert '2026-03-16 09:00 filled K-8 to 4500 psi remark "=1+1"' in done.stdout


def test_a_file_of_rows_not_taken_is_never_written_over(folder):
    (folder / "bad-not-taken.csv").write_text("mine")
    before = files(folder)
    done = intake(folder, "bad.csv", "--skip-unreadable")
    assert done.returncode == 2 and "is there already" in done.stderr
    assert files(folder) == before


@pytest.mark.parametrize("newline", ["\n", "\r\n"])
def test_into_a_file_that_is_there(folder, newline):
    there = folder / "record" / "fills.cyl"
    text = f"# Fills of 2026{newline}fill sheet 2026-03-01{newline}  K-8  to 4500 psi"
    there.write_bytes(b"\xef\xbb\xbf" + text.encode())
    done = intake(folder, "good.csv", "--enter", "--into", "record/fills.cyl")
    assert done.returncode == 0, done.stderr
    data = there.read_bytes()
    assert data.startswith(b"\xef\xbb\xbf" + text.encode() + 2 * newline.encode() + b"fill sheet 2026-03-14")
    assert data.count(b"\n") == data.count(newline.encode()) == 10


def test_into_a_new_file_of_a_name(folder):
    done = intake(folder, "good.csv", "--enter", "--into", "record/fills/2026.cyl")
    assert done.returncode == 0 and (folder / "record/fills/2026.cyl").exists()


@pytest.mark.parametrize(
    "into, why",
    [
        ("record/fills.txt", "would be no ledger"),
        ("elsewhere.cyl", "no part of the record"),
        ("record/../up.cyl", "no part"),
    ],
)
def test_into_what_is_no_part_of_the_record(folder, into, why):
    before = files(folder)
    done = intake(folder, "good.csv", "--enter", "--into", into)
    assert done.returncode == 2 and why in done.stderr and files(folder) == before


def test_a_record_named_by_its_file_takes_no_new_file(folder):
    done = intake(folder, "good.csv", "--enter", record="record/all.cyl")
    assert done.returncode == 2 and "no part of the record" in done.stderr
    into = intake(folder, "good.csv", "--enter", "--into", "record/all.cyl", record="record/all.cyl")
    assert into.returncode == 0 and "fill sheet 2026-03-15" in (folder / "record/all.cyl").read_text()


def test_a_file_that_cannot_be_read_keeps_all_from_being_written(folder):
    (folder / "record" / "odd.cyl").write_bytes(b"\xff\xfe\x00")
    before = files(folder)
    done = intake(folder, "good.csv", "--enter", "--into", "record/odd.cyl")
    assert done.returncode == 2 and files(folder) == before


def test_late_rows(folder):
    (folder / "record" / "seal.cyl").write_text(f"sealed 2026-03-14 by ash 3 entries {'0' * 64}\n")
    done = intake(folder, "good.csv")
    assert done.returncode == 1 and "sealed through 2026-03-14" in done.stdout
    late = intake(folder, "good.csv", "--late", "export came late", "--by", "ash", "--enter")
    assert late.returncode == 0
    text = (folder / "record" / NEW).read_text()
    assert text.count('late 2026-11-25 by ash "export came late"') == 2


def test_json(folder):
    value = json.loads(intake(folder, "bad.csv", "--skip-unreadable", "--as", "json").stdout)
    assert value["fills"] == 3 and [each["row"] for each in value["refused"]] == [5, 6, 7]
    assert value["written"] == f"record/{NEW}" and value["rejected"] == "bad-not-taken.csv"
    assert json.loads(intake(folder, "good.csv", "--as", "json").stdout)["doubles"] == [2, 3, 4]


def test_an_export_from_standard_input(folder):
    done = intake(folder, "-", input=GOOD)
    assert done.returncode == 0 and "the export   3 rows" in done.stdout


@pytest.mark.parametrize(
    "arguments, columns, why",
    [
        (["good.csv"], None, "--columns MAP.toml"),
        (["none.csv"], "map.toml", "the export `none.csv` cannot be read"),
        (["good.csv"], "none.toml", "the map `none.toml` cannot be read"),
        (["good.csv"], "good.csv", "is no TOML"),
        (["record/all.cyl"], "map.toml", "no column is headed"),
        (["good.csv", "--late", "x"], "map.toml", "give both"),
        (["good.csv", "--late", "x", "--by", "nobody"], "map.toml", "no person `nobody`"),
        (["good.csv", "--late", "a\nb", "--by", "ash"], "map.toml", "one line of plain words"),
    ],
)
def test_what_cannot_be_done(folder, arguments, columns, why):
    done = intake(folder, *arguments, columns=columns)
    assert done.returncode == 2 and done.stdout == "" and why in done.stderr and done.stderr.count("\n") == 1


@pytest.mark.parametrize(
    "more, why",
    [
        ('[file]\nzone = "Mars/Base"\n', "no time zone `Mars/Base`"),
        ('[person]\nalways = "nobody"\n', "declares no such person"),
        ('[file]\nencoding = "utf-99"\n', "no encoding `utf-99`"),
        ("[prsn]\ncolumn = 1\n", "Did you mean `person`"),
    ],
)
def test_maps_that_cannot_be_used(folder, more, why):
    (folder / "map.toml").write_text(MAP + more)
    done = intake(folder, "good.csv")
    assert done.returncode == 2 and why in done.stderr and done.stderr.count("\n") == 1


def test_a_sketch_is_a_map_that_works(folder):
    (folder / "good.csv").write_text(GOOD.replace("End", "End psi"))
    done = intake(folder, "good.csv", "--draft-map", columns=None)
    assert done.returncode == 0 and 'by     = "tag"' in done.stdout and 'form   = "month/day/year"' in done.stdout
    (folder / "sketch.toml").write_text(done.stdout)
    assert intake(folder, "good.csv", columns="sketch.toml").stdout.count("filled") == 3


def test_the_help_shows_a_map_and_examples(folder):
    text = intake(folder, "--help").stdout
    assert "cylfile import export.csv --draft-map" in text and 'form   = "month/day/year"' in text


def test_a_bar_is_drawn_on_a_terminal_only_and_taken_away(folder, monkeypatch):
    """The bar is asked for directly: how long a reading lasts is nothing to rely on."""
    script = (
        "import cylfile.show.terminal.progress as progress\n"
        "progress._BEFORE_THE_BAR = progress._BETWEEN_BARS = 0\n"
        "with progress.counted_off(1024, 'reading rows') as tell:\n"
        "    for _ in range(1024): tell()\n"
    )
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    reader, terminal = pty.openpty()
    subprocess.run([sys.executable, "-c", script], stderr=terminal, env=environment, check=True)
    os.close(terminal)
    shown = b""
    try:
        while piece := os.read(reader, 65536):
            shown += piece
    except OSError:
        pass
    os.close(reader)
    assert b"512 of 1,024" in shown and shown.endswith(b" \r")
    piped = subprocess.run([sys.executable, "-c", script], capture_output=True, env=environment, check=True)
    assert piped.stderr == b""
