"""
The commands `due` and `coming`, from end to end.
"""

import csv
import io
import json
from datetime import date

import icalendar
import pytest

from cylfile.show.terminal.bars import put_bars
from cylfile.show.terminal.layout import Layout
from support.station import RECORD


def page(station, *arguments, **environment):
    done = station(*arguments, **environment)
    assert done.status == 0 and done.err == ""
    return done.out


def test_by_month_and_site(station):
    text = page(station, "due")
    assert text.startswith("Pinewater, Fire; Department    due by 2027-02-23    as of 2026-11-25")
    overdue, december, january = text.index("\nOVERDUE"), text.index("\n2026-12"), text.index("\n2027-01")
    assert overdue < december < january
    assert "by 2026-03-31    239 days ago  last 2021-03-20 + 5 years\n      K-10\n" in text
    assert "Quay Street\n    air sample         by 2026-12-10" in text[december:january]
    assert (
        "by 2027-01-31      in 67 days  last 2022-01-20 + 5 years; its life ends on 2027-02-28\n      K-9\n"
        in text[january:]
    )
    assert "made 2012-02" not in text, "its life ends after the days that were asked for"
    assert "S-3" in text[text.index("No due day is known for these") :]
    assert "1 cylinder that is out of service is not listed." in text


def test_bars_by_month(station):
    head = page(station, "due").split("\n\n")[1].split("\n")
    assert [line.split()[0] for line in head[:-1]] == ["overdue", "2026-11", "2026-12", "2027-01", "2027-02"]
    assert head[0].endswith("█ 1") and head[1].endswith("-")
    ascii_head = page(station, "due", PYTHONIOENCODING="ascii").split("\n\n")[1]
    assert "# 1" in ascii_head and ascii_head.isascii()


@pytest.mark.parametrize(
    "period, until",
    [
        ("30d", "2026-12-25"),
        ("2w", "2026-12-09"),
        ("3m", "2027-02-25"),
        ("1y", "2027-11-25"),
        ("6 months", "2027-05-25"),
    ],
)
def test_how_far_ahead(station, period, until):
    assert json.loads(page(station, "due", "--within", period, "--as", "json"))["until"] == until


@pytest.mark.parametrize("period", ["soon", "90", "-3d", "1.5y", "\u0663m"])
def test_what_is_no_period(station, period):
    done = station("due", f"--within={period}")
    assert done.status == 2 and "is not a period" in done.err and done.err.count("\n") == 1


def test_a_period_longer_than_the_calendar(station):
    assert json.loads(page(station, "due", "--within", "9999y", "--as", "json"))["until"] == "9999-12-31"
    assert "2030-01" in page(station, "due", "--within", "9999w")


def test_as_a_calendar(station):
    done = station("due", "--within", "1y", "--as", "ics")
    assert done.status == 0 and "no known due day" in done.err
    assert done.out.count("\n") == done.out.count("\r\n")
    events = {str(event["UID"]): event for event in icalendar.Calendar.from_ical(done.out).walk("VEVENT")}
    test = next(event for uid, event in events.items() if uid.startswith("test.K-10."))
    assert test.decoded("DTSTART") == date(2026, 3, 31) and str(test["SUMMARY"]) == "Hydrostatic test due: K-10"
    assert "last 2021-03-20 + 5 years" in str(test["DESCRIPTION"]) and "Hill Road" in str(test["DESCRIPTION"])
    assert any(uid.startswith("air-sample.C1.") for uid in events)
    again = station("due", "--within", "1y", "--as", "ics")
    assert again.out == done.out


def test_the_same_event_after_the_test_has_been_made(station):
    before = station("due", "--within", "9y", "--as", "ics").out
    text = RECORD.replace(
        "  2021-03-20  hydro pass  by Z999\n", "  2021-03-20  hydro pass  by Z999\n  2026-11-25  hydro pass  by Z999\n"
    )
    (station.folder / "all.cyl").write_text(text)
    after = station("due", "--within", "9y", "--as", "ics").out
    uid = next(line for line in before.split("\r\n") if line.startswith("UID:test.K-10"))
    assert uid in after and "20260331" in before and "20260331" not in after


def test_csv(station):
    rows = list(csv.DictReader(io.StringIO(page(station, "due", "--within", "9y", "--as", "csv"), newline="")))
    by_subject = {(row["what"], row["subject"]): row for row in rows}
    assert by_subject["test", "'114"]["due by"] == "2030-01-31"
    assert by_subject["test", "K-10"]["days away"] == "-239"
    assert by_subject["test", "S-3"]["due by"] == ""
    assert ("test", "S-2") not in by_subject and ("test", "R-1") not in by_subject


def test_json(station):
    value = json.loads(page(station, "due", "--as", "json"))
    assert [(each["what"], each["subject"]) for each in value["due"]] == [
        ("test", "K-10"), ("air-sample", "C1"), ("test", "K-9"), ("cartridge", "C1"),
    ]  # fmt: skip
    assert {each["subject"] for each in value["untold"]} == {"S-3"}
    assert value["out_of_service"] == 1


def test_nothing_due(here):
    here.write("a.cyl", 'department "Pinewater"\n  rules us-dot\n')
    assert "Nothing falls due." in page(here, "due")
    assert "No test and no replacement falls due." in page(here, "coming")


# What is coming.


def test_coming(station):
    text = page(station, "coming")
    assert text.startswith("Pinewater, Fire; Department    2026 to 2031    as of 2026-11-25")
    tests = text[text.index("Hydrostatic tests   4") : text.index("Replacements")].split("\n")
    assert tests[1].split() == ["class", "2026", "2027", "2028", "2029", "2030", "2031"]
    assert tests[2].split() == ["carbon-wrapped", "1", "1", "-", "-", "-", "1"]
    assert tests[3].split() == ["dot-3aa", "-", "-", "-", "-", "1", "-"]
    assert tests[4].split() == ["all", "1", "1", "-", "-", "1", "1"]
    assert "carbon-wrapped     -     1" in text[text.index("Replacements   1") :]
    assert "Overdue already, and counted in 2026: K-10" in text
    assert "Not counted, because their due days are not known: S-3." in text


def test_coming_for_machines(station):
    rows = list(csv.DictReader(io.StringIO(page(station, "coming", "--as", "csv"), newline="")))
    origin = rows[0].pop("origin")
    assert origin.startswith("as of 2026-11-25; cylfile ") and len(origin.rpartition("rules SHA-256 ")[2]) == 64
    assert rows[0] == {"year": "2026", "class": "carbon-wrapped", "what": "test", "count": "1", "of these overdue": "1"}
    value = json.loads(page(station, "coming", "--years", "8", "--as", "json"))
    assert value["years"] == list(range(2026, 2035)) and value["untold"] == ["S-3"]
    assert {
        "year": 2034,
        "class": "carbon-wrapped",
        "what": "replacement",
        "count": 1,
        "overdue": 0,
        "cylinders": ["K-10"],
    } in value["outlays"]


@pytest.mark.parametrize("years", ["0", "51", "five", "-1", "99999999999", "\u0665"])
def test_what_is_no_number_of_years(station, years):
    done = station("coming", f"--years={years}")
    assert done.status == 2 and "not a number of years" in done.err and done.err.count("\n") == 1


# Bars.


def bars(width, counts):
    layout = Layout(width)
    put_bars(layout, {"a": "apples", "b": "pears"}, [("one", counts), ("two", {})])
    return ["".join(text for text, _ in line) for line in layout.lines]


def test_one_sign_for_one_thing():
    assert bars(80, {"a": 3, "b": 2}) == ["  one  ###== 5", "  two   -", "  # apples   = pears"]


def test_several_things_a_sign_where_there_is_no_room_and_none_vanishes():
    first, _, legend = bars(40, {"a": 900, "b": 1})
    assert len(first) <= 40 and "=" in first and "one sign for" in legend
