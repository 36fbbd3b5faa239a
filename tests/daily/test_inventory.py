"""
The command `inventory`, from end to end.
"""

import csv
import io
import json

import pytest

from cylfile.show.terminal.layout import Layout
from cylfile.show.terminal.table import Column, put_table


def lines_of(station, *arguments):
    done = station("inventory", *arguments)
    assert done.status == 0 and done.err == ""
    return done.out.split("\n")


def test_all_cylinders_by_site(station):
    lines = lines_of(station)
    assert lines[0].startswith(
        "Pinewater, Fire; Department    6 cylinders    as of 2026-11-25    record: .    rules: us-dot"
    )
    order = [line.split()[0] for line in lines if line[:2] == "  " and not line.startswith("  cylinder")]
    assert order == ["K-10", "R-1", "114", "K-9", "S-2", "S-3"], "by site and name, numbers as people count"
    assert "Quay Street   3 cylinders" in lines and "No site   1 cylinder" in lines
    rows = {line.split()[0]: line for line in lines if line.startswith("  ")}
    assert rows["K-9"].split() == [
        "K-9",
        "in-service",
        "yes",
        "2027-01-31",
        "2027-02-28",
        "2026-03-01",
        "carbon-wrapped",
    ]
    assert rows["K-10"].split()[1:5] == ["in-service", "no:", "test", "overdue"]
    assert rows["114"].split()[3:5] == ["2030-01-31", "no"]
    assert rows["R-1"].split() == ["R-1", "retired", "dot-3al"], "nothing comes for what is gone"
    assert rows["S-2"].split()[1] == "out-of-service"
    assert rows["S-3"].count("  not known") == 3
    assert "in-service 4   out-of-service 1   retired 1   DO NOT FILL 3" in lines


@pytest.mark.parametrize(
    "options, names",
    [
        (["--site", "hill"], ["K-10", "R-1"]),
        (["--class", "dot-3aa"], ["114", "S-2"]),
        (["--state", "in-service"], ["114", "K-9", "K-10", "S-3"]),
        (["--state", "retired"], ["R-1"]),
        (["--site", "quay", "--class", "dot-3aa", "--state", "out-of-service"], ["S-2"]),
        (["--state", "condemned"], []),
    ],
)
def test_only_some(station, options, names):
    done = station("inventory", *options, "--as", "json")
    assert [each["cylinder"] for each in json.loads(done.out)["cylinders"]] == names
    assert "only" in "".join(lines_of(station, *options))


@pytest.mark.parametrize(
    "options, why",
    [
        (["--site", "hil"], "there is no site `hil`. Did you mean `hill`?"),
        (["--class", "carbon"], "there is no class `carbon`"),
        (["--state", "broken"], "--state"),
    ],
)
def test_what_there_is_not(station, options, why):
    done = station("inventory", *options)
    assert done.status == 2 and done.out == "" and why in done.err and done.err.count("\n") == 1


def test_csv(station):
    done = station("inventory", "--as", "csv")
    assert done.out.count("\n") == done.out.count("\r\n") == 7
    rows = {row["cylinder"]: row for row in csv.DictReader(io.StringIO(done.out, newline=""))}
    assert set(rows) == {"'114", "K-9", "K-10", "S-2", "S-3", "R-1"}, "114 stays a text"
    assert rows["K-9"]["serial"] == "'00123" and rows["K-10"]["serial"] == "'=1+1"
    assert rows["K-9"]["may be filled"] == "yes" and rows["K-10"]["may be filled"] == "no"
    assert rows["'114"]["end of life"] == "" and rows["'114"]["last fill to psi"] == "2216"


def test_json(station):
    value = json.loads(station("inventory", "--as", "json").out)
    by_name = {each["cylinder"]: each for each in value["cylinders"]}
    assert by_name["K-10"]["tags"] == ["AA10"] and by_name["K-10"]["serial"] == "=1+1"
    assert by_name["K-9"]["may_be_filled"] is True and by_name["K-9"]["next_test"] == "2027-01-31"
    assert by_name["114"]["end_of_life"] is None and by_name["114"]["fills"] == 1


def test_columns_that_have_no_room_stand_under_their_row():
    columns = [Column("name"), Column("first", gives_way=1), Column("second", gives_way=2), Column("none")]
    rows = [[("K-1", ""), ("one", ""), ("two", ""), ("", "")], [("K-10", ""), ("", ""), ("", ""), ("", "")]]
    for width, expected in (
        (20, ["  name  first  second", "  K-1   one    two", "  K-10"]),
        (19, ["  name  first", "  K-1   one", "      second two", "  K-10"]),
        (8, ["  name", "  K-1", "      first", "      one,", "      second", "      two", "  K-10"]),
    ):
        layout = Layout(width + 1)
        put_table(layout, columns, rows)
        assert ["".join(text for text, _ in line).rstrip() for line in layout.lines] == expected


AT_THE_TESTER = """\
department "D"
  rules  us-dot
site s1 "Station 1"
tester A123 "Invented Requalifiers"
cylinder K-1
  serial  K-1-S
  class   carbon-wrapped
  rated   4500 psi
  made    2021-12
  2022-01-03  entered service  at s1
  2026-10-05  moved  to s1
  2026-11-02  moved  to A123
"""


def test_a_cylinder_at_the_tester_is_said_to_be_there_and_since_when(here):
    (here.folder / "all.cyl").write_text(AT_THE_TESTER)
    page = here("inventory", "--as-of", "2026-11-25").out
    assert "At the tester, Invented Requalifiers   1 cylinder\n" in page and "  2026-11-02  " in page
    (row,) = json.loads(here("inventory", "--as-of", "2026-11-25", "--as", "json").out)["cylinders"]
    assert (row["site"], row["at_the_tester_since"]) == ("A123", "2026-11-02")
    due = here("due", "--as-of", "2026-11-25").out
    assert "  At the tester, Invented Requalifiers\n" in due and "K-1 (at the tester since 2026-11-02)\n" in due


def test_beside_the_state_stands_whether_it_may_be_filled_and_why_not(here):
    (here.folder / "all.cyl").write_text(AT_THE_TESTER.replace("made    2021-12", "made    2001-12"))
    page = here("inventory", "--as-of", "2026-11-25").out
    assert "  K-1       in-service  no: past its life +1  " in page and "DO NOT FILL 1\n" in page
    (row,) = json.loads(here("inventory", "--as-of", "2026-11-25", "--as", "json").out)["cylinders"]
    assert row["why_not"] == "past its life; test overdue" and row["may_be_filled"] is False


def test_what_is_at_the_tester_says_since_when_and_whom_to_call_where_something_is_to_come_out_of_use(station):
    text = station.text("all.cyl").replace(
        'site hill "Hill Road"\n', 'site hill "Hill Road"\n  contact "Ash, 555-0100"\n'
    )
    text += '2026-11-02 moved K-9 to Z999\n2026-11-03 damaged K-10 "dropped" by ash\n'
    station.write("all.cyl", text.replace("2020-01-20  retired", "2020-01-20  remarked"))
    for width in ("60", "120"):
        out = station("inventory", COLUMNS=width).out
        at_tester = out[out.index("At the tester, Tests") :].split("\n\n")[0]
        assert "at the tester since" in at_tester and "2026-11-02" in at_tester, out
        assert "Hill Road   2 cylinders   call Ash, 555-0100" in out and out.count("call ") == 1
        due = station("due", COLUMNS=width).out
        assert "K-9 (at the tester since 2026-11-02)" in " ".join(due.split())
        overdue, _, rest = due.partition("OVERDUE")[2].partition("\n2026-")
        assert "Hill Road   call Ash, 555-0100" in overdue and "call" not in rest
