"""
An export taken in: doubles, sealed periods, and sheets that read back as what was meant.
"""

import random
from datetime import date

from cylfile.importing.fill_rows import sentence
from cylfile.importing.import_fills import written
from cylfile.record.entries import plain_form
from cylfile.record.reader import read_record
from cylfile.text.source import Source
from support.exports import COLUMNS

HEAD = "Day,Time,Cylinder,End,Extra\n"


def test_what_the_record_has_is_skipped_and_counted(taken):
    rows = (
        "2026-03-01,08:00,K-7,4500\n"  # In the record.
        "2026-03-01,08:00,K-7,4499\n"  # To another pressure.
        "2026-03-01,09:00,K-8,4500\n"  # Struck out in the record: it is not wanted back.
        "2026-03-01,10:00,114,2216\n"  # In the record without its time.
        "2026-03-02,08:00,K-7,4500\n"
        "2026-03-02,08:00,K-7,4500\n"  # Twice in the export.
    )
    outcome = taken(HEAD + rows, COLUMNS)
    assert outcome.doubles == [2, 4, 7]
    assert outcome.likely_doubles == [5]
    assert [fill.row for fill in outcome.fills] == [3, 5, 6]


def test_seconds_and_units_do_not_make_another_fill(taken):
    columns = {
        **COLUMNS,
        "time": {"column": "Time", "form": "hour:minute:second"},
        "to": {"column": "End", "unit": "bar"},
    }
    assert taken(f"{HEAD}2026-03-01,08:00:31,K-7,310.264\n", columns).doubles == [2]


def test_what_was_taken_in_is_all_doubles_the_next_time(taken, exported_record):
    rows = "".join(f"2026-03-{day:02d},08:00,K-7,4500\n" for day in range(2, 20))
    first = taken(HEAD + rows, COLUMNS)
    new = read_record([Source("new.cyl", written(first.fills))])
    exported_record.entries["K-7"] += new.entries["K-7"]
    again = taken(HEAD + rows, COLUMNS)
    assert not again.fills and len(again.doubles) == len(first.fills) == 18


def test_sheets_by_day_say_once_what_holds_for_all_rows(taken):
    text = (
        "Day,Time,Cylinder,Start,End,Who\n"
        "2026-03-15,10:04,K-8,,4500,ash\n"
        "2026-03-14,09:58,114,500,2216,birch\n"
        "2026-03-15,09:42,K-7,900,4500,ash\n"
        "2026-03-14,,K-7,,4500,\n"
        "2026-03-14,08:00,K-8,900,4500,ash\n"
    )
    columns = {
        **COLUMNS,
        "from": {"column": "Start", "unit": "psi"},
        "person": {"column": "Who"},
        "site": {"always": "quay"},
        "source": {"always": "C1"},
    }
    assert written(taken(text, columns).fills) == (
        "fill sheet 2026-03-14  at quay  on C1\n"
        "  K-7     to 4500 psi\n"
        "  08:00  K-8     from 900 psi   to 4500 psi  by ash\n"
        "  09:58  114     from 500 psi   to 2216 psi  by birch\n"
        "\n"
        "fill sheet 2026-03-15  at quay  on C1  by ash\n"
        "  09:42  K-7     from 900 psi   to 4500 psi\n"
        "  10:04  K-8     to 4500 psi\n"
    )


def test_line_ends_as_asked(taken):
    text = written(taken(f"{HEAD}2026-03-14,09:42,K-7,4500\n2026-03-15,09:42,K-7,4500\n", COLUMNS).fills, "\r\n")
    assert text.count("\n") == text.count("\r\n") == 5


def test_a_sealed_period_takes_only_late_entries(taken, exported_record):
    sealed = read_record([Source("s.cyl", f"sealed 2026-03-31 by ash 3 entries {'0' * 64}")])
    exported_record.seals += sealed.seals
    rows = f"{HEAD}2026-03-31,09:42,K-7,4500\n2026-04-01,09:42,K-7,4500\n"
    outcome = taken(rows, COLUMNS)
    assert [refused.row.number for refused in outcome.refused] == [2]
    assert "sealed through 2026-03-31" in outcome.refused[0].reason
    late = taken(rows, COLUMNS, late='2026-11-25 by ash "export came late"')
    assert [sentence(fill) for fill in late.fills] == [
        '2026-03-31 09:42 filled K-7 to 4500 psi late 2026-11-25 by ash "export came late"',
        "2026-04-01 09:42 filled K-7 to 4500 psi",
    ]
    assert "late 2026-11-25 by ash" in written(late.fills)


def test_any_fills_read_back_as_what_was_meant(taken):
    """Exports made up at random, with holes in every column that may have some."""
    chance = random.Random(5)
    columns = {
        "day": {"column": "Day", "form": "month/day/year"},
        "time": {"column": "Time", "form": "hour:minute:second"},
        "cylinder": {"column": "Cylinder", "by": "serial"},
        "from": {"column": "Start", "unit": "kPa"},
        "to": {"column": "End", "unit": "MPa"},
        "temperature": {"column": "Temp"},
        "over": {"column": "Over", "unit": "s"},
        "person": {"column": "Who"},
        "source": {"column": "Air"},
        "site": {"column": "Where"},
        "remark": {"column": "Note"},
    }
    choices = (
        [f"{month}/{day}/2026" for month in (1, 2) for day in (3, 17)],
        ["", "7:05:00", "23:59:59", "12:00:30"],
        ["P 0007", "0008", "P-114"],
        ["", "0", "6205.50"],
        ["31.03", "30"],
        ["", "-3 C", "70 F"],
        ["", "90"],
        ["", "ash", "Lee Birch"],
        ["", "C1"],
        ["", "hill", "Quay Street"],
        ["", "plain", 'with ""marks""', "back\\slash # no comment"],
    )
    for _ in range(25):
        rows = [",".join(f'"{chance.choice(of)}"' for of in choices) for _ in range(chance.randrange(1, 60))]
        outcome = taken("Day,Time,Cylinder,Start,End,Temp,Over,Who,Air,Where,Note\n" + "\n".join(rows), columns)
        assert not outcome.refused and len(outcome.fills) + len(outcome.doubles) == len(rows)
        record = read_record([Source("new.cyl", written(outcome.fills))])
        entries = [plain_form(entry) for entries in record.entries.values() for entry in entries]
        assert sorted(entries) == sorted(map(sentence, outcome.fills))
        assert all(entry.day <= date(2026, 2, 17) for entries in record.entries.values() for entry in entries)
