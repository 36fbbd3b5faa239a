"""
Several departments below one folder: each by its own rules, one after the other, then what all of them come to.
"""

import contextlib
import csv
import gc
import json
import os
import pickle
import re
import sys

import icalendar
import pytest

from support.house_record import BAD, DEPARTMENT, GOOD, PACK
from support.running import Here

SERIAL = "  class  steel\n  serial SN-1\n"


@pytest.fixture
def county(here) -> Here:
    """Two departments that both have a K-1 and a K-2, under a pack of the county; K-2 of Birch is past its test."""
    # Garbage is looked for once a record; what the tests hold is none.
    gc.freeze()
    here.write("common.cylpack", PACK)
    (here.folder / ".git").mkdir()
    for name, bad in (("ash", BAD.replace("2026-03-04  filled", "2016-03-04  filled")), ("birch", BAD)):
        title = DEPARTMENT.replace("Larkspur Valley", name.title()).replace("house.cylpack", "../common.cylpack")
        here.write(f"{name}/department.cyl", title)
        here.write(f"{name}/cards/good.cyl", GOOD)
        here.write(f"{name}/cards/bad.cyl", bad)
    here.as_of = "2026-11-25"
    return here


def test_each_is_judged_by_its_own_rules_and_names(county):
    lines = county("lint", "--as", "lines")
    assert lines == (1, "birch/cards/bad.cyl:6:3: danger: past-test: filled 1,858 days after its test fell due\n", "")
    text = (county.folder / "ash/department.cyl").read_text()
    county.write("ash/department.cyl", text.replace('  rules  "../common.cylpack"\n', ""))
    assert county("lint", "--as", "lines").out.split("\n")[0].startswith("ash/department.cyl:1:12: warning: no-rules: ")
    assert county("lint", "ash", "--as", "lines").out.count("\n") == 1


def test_pages_stand_one_after_the_other_and_then_the_sum(county):
    for command, sum_ in (
        ("lint", "All 2 records    4 cylinders, 6 entries    DANGER 1    WARNING 0    CAUTION 0    NOTICE 0"),
        ("inventory", "All 2 records    4 cylinders    2 with nothing against a fill"),
        ("due", "All 2 records    2 due"),
        (
            "briefing",
            "All 2 records    4 cylinders    take out of use now 0    DO NOT FILL 2    2 due    could not be read: 0 places",
        ),
        ("coming", "All 2 records    6 tests and replacements"),
    ):
        status, out, err = county(command)
        assert (status, err) == (int(command == "lint"), ""), command
        assert out.startswith("Ash ") and out.index("\n\nBirch ") < out.index(sum_), command
        alone = county(command, "birch").out
        assert alone and alone in out, command


@pytest.mark.parametrize("form", ["page", "lines", "json", "jsonl", "sarif"])
def test_records_judged_side_by_side_give_the_same(county, form):
    for name in ("cedar", "dogwood", "elder"):
        county.write(f"{name}/department.cyl", DEPARTMENT.replace("house.cylpack", "../common.cylpack"))
        county.write(f"{name}/cards.cyl", BAD)
    alone = county("lint", "--as", form)
    for jobs in ("2", "3", "9"):
        assert county("lint", "--as", form, "--jobs", jobs) == alone


def test_records_are_judged_side_by_side_where_that_pays_and_each_in_one_process(county, monkeypatch):
    started = []
    fork = os.fork
    monkeypatch.setattr(os, "fork", lambda: (started.append(1), fork())[1])
    alone = county("lint")
    assert started == []
    monkeypatch.setattr("cylfile.judging.processes._PAYS_FROM", 1)
    monkeypatch.setattr("cylfile.judging.processes.processors", lambda: 2)
    assert county("lint") == alone and len(started) == 1


@pytest.fixture
def cluster(monkeypatch) -> set[str]:
    """A cluster that is none: what is sent is packed and unpacked here. The folders that its workers fail on."""
    failing: set[str] = set()

    def on_cluster(address, work, things):
        for thing in things:
            task, here = pickle.loads(pickle.dumps(thing))
            with contextlib.chdir("/"):
                done = work((task, here))
            yield OSError("no such disk") if task.folder.shown in failing else done

    monkeypatch.setattr("cylfile.judging.cluster.on_cluster", on_cluster)
    return failing


@pytest.mark.parametrize("form", ["page", "lines", "json", "jsonl", "sarif"])
def test_workers_elsewhere_give_the_same(county, cluster, form):
    county.write("birch/odd.cyl", "").write_bytes(b"\xff")
    assert county("lint", "--as", form, "--cluster", "tcp://x:1") == county("lint", "--as", form)


def test_a_record_that_no_worker_could_judge_is_a_finding(county, cluster):
    cluster.add("ash")
    alone = county("lint", "--as", "lines")
    status, out, err = county("lint", "--as", "lines", "--cluster", "tcp://x:1")
    first, rest = out.split("\n", 1)
    assert (status, rest, err) == (1, alone.out, "")
    assert first == (
        "ash/department.cyl:1:1: danger: unreadable-folder: the workers of --cluster could not judge this record: "
        "OSError: no such disk"
    )
    page = county("lint", "--cluster", "tcp://x:1").out
    assert "could not judge this record" in page and "DANGER 2" in page
    assert county("lint", "--cluster", "tcp://x:1", "--jobs", "2").status == 2


def test_without_the_extra_one_line_says_how_to_have_it(county, monkeypatch):
    monkeypatch.setitem(sys.modules, "distributed", None)
    status, out, err = county("lint", "--cluster", "tcp://x:1")
    assert (status, out) == (2, "")
    assert err.startswith("cylfile: --cluster needs the extra `cluster`; ") and err.count("\n") == 1


def test_forms_for_machines_are_one_text(county):
    rows = list(csv.reader(county("inventory", "--as", "csv").out.splitlines()))
    assert [row[:2] for row in rows] == [
        ["record", "cylinder"],
        *([n, c] for n in ("ash", "birch") for c in ("K-1", "K-2")),
    ]
    records = json.loads(county("inventory", "--as", "json").out)["records"]
    assert [(each["folder"], len(each["cylinders"])) for each in records] == [("ash", 2), ("birch", 2)]
    assert [each["folder"] for each in json.loads(county("lint", "--as", "json").out)["records"]] == ["ash", "birch"]
    kinds = [list(json.loads(line)) for line in county("lint", "--as", "jsonl").out.splitlines()]
    assert kinds == [["record"], ["counts"], ["record"], ["finding"], ["counts"]]
    assert len(json.loads(county("lint", "--as", "sarif").out)["runs"]) == 2


def test_a_table_without_a_row_says_what_it_is_of_after_its_headings(county):
    origin = r"as of 2026-11-25; cylfile [0-9.]+; in no commit; rules SHA-256 [0-9a-f]{64}"
    for name in ("ash", "birch"):
        county.write(f"{name}/cards/bad.cyl", "")
    (one,) = csv.reader(county("due", "ash", "--within", "1d", "--as", "csv").out.splitlines())
    assert one[-2] == "origin" and re.fullmatch(origin, one[-1])
    (all_,) = csv.reader(county("due", "--within", "1d", "--as", "csv").out.splitlines())
    assert all_[:-2] == ["record", *one[:-1]]
    assert [re.fullmatch(f"(.*): {origin}", cell)[1] for cell in all_[-2:]] == ["ash", "birch"]
    # Where there are rows each says it.
    county.write("birch/cards/bad.cyl", BAD)
    head, *rows = csv.reader(county("due", "--within", "1d", "--as", "csv").out.splitlines())
    assert rows and {row[0] for row in rows} == {"birch"}
    assert head[-1] == "origin" and {len(row) for row in rows} == {len(head)}
    assert all(re.fullmatch(origin, row[-1]) for row in rows)


def test_a_calendar_says_in_each_entry_whose_it_is(county):
    text = county("due", "--within", "9y", "--as", "ics").out
    assert text.count("BEGIN:VCALENDAR") == text.count("END:VCALENDAR") == 1
    events = text.replace("\r\n ", "").split("BEGIN:VEVENT")[1:]
    assert [("Ash" in event, "Birch" in event) for event in events] == [(True, False)] * 2 + [(False, True)] * 2
    assert len({line for line in text.split("\r\n") if line.startswith("UID:")}) == 4
    # And its head, of what all of it was made.
    calendar = icalendar.Calendar.from_ical(text)
    said = str(calendar["DESCRIPTION"]).split("\n")
    assert not calendar.errors and [line.partition(": as of ")[0] for line in said[::2]] == ["Ash", "Birch"]
    assert "\r\nNAME:Ash\\, Birch\r\nX-WR-CALNAME:Ash\\, Birch\r\n" in text
    assert county("due", "ash", "--within", "9y", "--as", "ics").out.replace("\r\n ", "").count("in no commit") == 1
    assert text.replace("\r\n ", "").count("in no commit") == 2


def test_a_name_that_two_of_them_have_is_asked_about(county):
    message = "cylfile: `K-1` is in 2 records, `ash` and `birch`; name the folder of the one that is meant\n"
    for command in (("may-fill", "K-1"), ("card", "K-1"), ("lint", "--cylinder", "K-1")):
        assert county(*command) == (2, "", message)
    assert county("may-fill", "K-1", "ash").status == 0
    county.write("birch/cards/good.cyl", GOOD.replace("K-1", "K-9").replace("E200", "E201"))
    assert county("may-fill", "K-9").status == 0
    assert "K-9" in county("card", "K-9").out and county("lint", "--cylinder", "K-9").status == 0
    assert county("may-fill", "K-77") == (
        2, "", "cylfile: none of the 2 records here has a `K-77`; name it as on its card, or by its tag\n",
    )  # fmt: skip


def test_air_is_traced_in_the_one_record_that_has_its_source(county):
    for name in ("ash", "birch"):
        county.write(
            f"{name}/air.cyl", f'source C-{name} "Air room"\n  kind compressor\nsource BANK "Bank"\n  kind storage\n'
        )
    assert county("trace", "C-birch", "--first", "2020-01-01") == county(
        "trace", "C-birch", "birch", "--first", "2020-01-01"
    )
    assert county("trace", "C-birch", "--first", "2020-01-01").status == 0
    assert "`BANK` is in 2 records, `ash` and `birch`" in county("trace", "BANK", "--first", "2020-01-01").err
    assert "none of the 2 records here has a `C-elm`" in county("trace", "C-elm", "--first", "2020-01-01").err


def test_what_writes_asks_which_record(county):
    for command in (
        ("enter", "today emptied K-1"),
        ("neaten",),
        ("regroup", "cards", "--into", "x"),
        ("seal", "--through", "2026-01-01", "--by", "mora"),
    ):
        status, out, err = county(*command, as_of=None)
        assert (status, out, err) == (2, "", "cylfile: there are 2 records here: `ash`, `birch`; name one of them\n")


def test_a_serial_in_service_in_two_records_is_a_finding(county):
    for name in ("ash", "birch"):
        county.write(f"{name}/cards/good.cyl", GOOD.replace("  class  steel\n", SERIAL))
    line = (
        "birch/cards/good.cyl:3:3: caution: serial-in-two-records: serial SN-1 is in service here and in `ash` as K-1\n"
    )
    assert county("lint", "--as", "lines").out.endswith(line)
    assert "serial-in-two-records" in county("lint").out
    assert "serial-in-two-records" not in county("lint", "birch").out
    assert county("lint", "--as", "lines", "--only", "serial-in-two-records") == (0, line, "")
    county.write("ash/more.cyl", '2026-01-02 retired K-1 "given away"\n')
    assert "serial-in-two-records" not in county("lint", "--as", "lines").out


def test_one_record_is_nothing_for_a_cluster(county):
    said = "cylfile: --cluster shares out the records of a county, and there is one here; lint it without\n"
    assert county("lint", "ash", "--cluster", "tcp://127.0.0.1:1") == (2, "", said)


# What could not be read.


@pytest.mark.parametrize("command", [("inventory",), ("due",), ("coming",), ("card", "K-1")])
def test_a_list_that_could_not_read_all_says_so_first_and_exits_1(house, command):
    assert house(*command).status == 0
    house.write("cards/utf16.cyl", "").write_bytes("cylinder K-3\n".encode("utf-16"))
    house.write("more.cyl", "cylindr K-4\n  made 2020-01\n")
    (house.folder / "share").symlink_to("/no/such/share")
    status, out, err = house(*command)
    assert status == 1 and err == ""
    head = "\n".join(out.split("\n")[:3])
    assert "could not be read: 4 places, cards/utf16.cyl:1, share:1, more.cyl:1, ..." in head
    status, out, err = house(*command, "--as", "json")
    assert (status, err) == (1, "")
    if command[0] != "card":
        assert json.loads(out)["unread"][:2] == ["cards/utf16.cyl:1", "share:1"]
        status, out, err = house(*command, "--as", "csv")
        assert (
            status == 1 and err.startswith("cylfile: could not be read: cards/utf16.cyl:1, ") and err.count("\n") == 1
        )


def test_a_folder_of_texts_in_utf16_is_not_a_record_of_nothing(house):
    for path in (house.folder / "cards").iterdir():
        path.write_bytes(path.read_text().encode("utf-16"))
    assert house("inventory").status == house("due").status == house("due", "--as", "ics").status == 1


# A neighbor's cylinder.

LENT = 'site birch "BIRCH Fire District"\n2026-05-02 moved K-1 to birch\n'
BORROWED = """\
site ash "Ash Fire District"
cylinder N-1
  class  steel
  serial SN-1
  owner  "Ash Fire District"
  made   2023-01
  2026-05-03  entered service  at st1
  2026-06-01  damaged  "dropped from the rig"
"""


@pytest.fixture
def lending(county) -> Here:
    """Birch has a K-1 of Ash, and a card of its own for it."""
    for name in ("ash", "birch"):
        text = (county.folder / name / "department.cyl").read_text()
        title = text.split('"')[1]
        county.write(f"{name}/department.cyl", text.replace(title, f"{name.title()} Fire District"))
    county.write("ash/cards/good.cyl", GOOD.replace("  class  steel\n", SERIAL))
    county.write("birch/more.cyl", BORROWED)
    return county


def loans(lending) -> list[tuple]:
    records = json.loads(lending("inventory", "--as", "json").out)["records"]
    return [tuple(loan.values()) for each in records for loan in each["loans"]]


def test_what_is_lent_is_said_on_both_inventories(lending):
    lending.write("ash/more.cyl", LENT)
    assert loans(lending) == [("K-1", "SN-1", "Ash Fire District", "Birch Fire District")] * 2
    ash, birch = lending("inventory").out.split("\n\nBirch Fire District ")
    assert "Lent   1 cylinder\n  K-1 to Birch Fire District, serial SN-1\n" in ash and "On loan" not in ash
    assert "On loan here   1 cylinder\n  K-1 of Ash Fire District, serial SN-1\n" in birch and "Lent" not in birch
    assert "serial-in-two-records" not in lending("lint", "--as", "lines").out
    lent, borrowed = (("", "Birch Fire District"), ("Ash Fire District", ""))
    rows = csv.DictReader(lending("inventory", "--as", "csv").out.splitlines())
    assert [(row["record"], row["cylinder"], row["lent from"], row["lent to"]) for row in rows] == [
        ("ash", "K-1", *lent), ("ash", "K-2", "", ""), ("birch", "K-1", "", ""), ("birch", "K-2", "", ""), ("birch", "N-1", *borrowed),
    ]  # fmt: skip
    alone = json.loads(lending("inventory", "ash", "--as", "json").out)["cylinders"][0]
    assert (alone["lent_to"], alone["lent_from"]) == (None, None), "who has a site of this name is seen in the county"


def test_the_owner_on_the_keepers_card_will_do_and_so_will_a_site_of_the_keepers_alone(lending):
    (of_keeper,) = set(loans(lending))
    assert of_keeper == ("K-1", "SN-1", "Ash Fire District", "Birch Fire District")
    lending.write("birch/more.cyl", BORROWED[: BORROWED.index("  2026-06-01")])
    assert "serial-in-two-records" in lending("lint", "--as", "lines").out
    lending.write("birch/more.cyl", BORROWED.replace('  owner  "Ash Fire District"\n', ""))
    assert loans(lending) == []
    lending.write("birch/sites.cyl", 'site pond "Pond Station"\n')
    lending.write("ash/more.cyl", "2026-05-02 moved K-1 to pond\n")
    assert set(loans(lending)) == {("K-1", "SN-1", "Ash Fire District", "Birch Fire District")}


def test_when_it_is_back_its_card_shows_what_was_written_of_it_elsewhere(lending):
    lending.write("ash/more.cyl", LENT + "2026-07-02 moved K-1 to st1\n")
    lending.write("birch/more.cyl", BORROWED + "  2026-07-01  moved  to ash\n")
    assert loans(lending) == []
    assert "serial-in-two-records" not in lending("lint", "--as", "lines").out
    lending.write("birch/cards/good.cyl", "")
    page = lending("card", "K-1").out
    assert "Written by Birch Fire District   3\n" in page and 'damaged "dropped from the rig"' in page
    (other,) = json.loads(lending("card", "K-1", "--as", "json").out)["of_neighbors"]
    assert other["entries"][1] == '2026-06-01 damaged N-1 "dropped from the rig"'
    assert json.loads(lending("card", "K-1", "ash", "--as", "json").out)["of_neighbors"] == []


def test_what_bars_it_there_bars_it_here_until_it_is_copied(lending):
    lending.write("ash/more.cyl", LENT + "2026-07-02 moved K-1 to st1\n")
    borrowed = BORROWED.replace("serial SN-1", "serial SN-1  # as stamped") + "  2026-07-01  moved  to ash\n"
    lending.write("birch/more.cyl", borrowed)
    line = (
        "ash/cards/good.cyl:3:3: danger: barred-elsewhere: "
        "serial SN-1, in `birch` N-1: damaged on 2026-06-01: dropped from the rig\n"
    )
    assert lending("lint", "--as", "lines", "--only", "barred-elsewhere") == (1, line, "")
    asked = lending("may-fill", "SN-1", "ash", "birch")
    assert asked.status == 2 and "is in 2 records" in asked.err
    lending.write("ash/cards/good.cyl", GOOD.replace("K-1", "A-1").replace("  class  steel\n", SERIAL))
    lending.write("ash/more.cyl", (LENT + "2026-07-02 moved K-1 to st1\n").replace("K-1", "A-1"))
    asked = lending("may-fill", "A-1")
    assert asked.status == 1 and "in `birch`, as N-1: damaged on 2026-06-01: dropped from the rig" in asked.out
    # Whichever of them is named, or stood in: they lie in one work tree.
    assert lending("may-fill", "A-1", "ash").out == asked.out
    for where in ((), ("ash",)):
        row = next(csv.DictReader(lending("inventory", *where, "--as", "csv").out.splitlines()))
        assert (row["cylinder"], row["may be filled"], row["why not"]) == ("A-1", "no", "damaged")
        assert " TAKE OUT OF USE NOW 1\n  damaged: A-1\n" in lending("briefing", *where).out
    assert lending("card", "A-1", "ash").out.split("\n")[0].endswith("DO NOT FILL")
    lending("publish", "pages", "ash")
    page = (lending.folder / "pages/cylinders/a-1.html").read_text()
    assert "DO NOT FILL" in page and "damaged on 2026-06-01: dropped from the rig" in page
    entry = ("2026-11-25 filled A-1 to 2000 psi by vance", "ash")
    done = lending("enter", *entry)
    assert (
        done.status == 1 and "A-1: serial SN-1, in `birch` N-1: damaged on 2026-06-01: dropped from the rig" in done.out
    )
    assert lending("enter", "2026-11-25 gauged A-1 2000 psi", "ash").status == 0
    # Copied, it bars by itself, and where it is cleared there is nothing left to say.
    lending.write("ash/copied.cyl", '2026-06-01 damaged A-1 "dropped from the rig"\n')
    assert "barred-elsewhere" not in lending("lint", "--as", "lines").out
    lending.write("ash/copied.cyl", "")
    lending.write("birch/more.cyl", borrowed + "  2026-08-01  out of service\n  2026-09-01  hydro pass\n")
    assert "barred-elsewhere" not in lending("lint", "--as", "lines").out
    # Given back for good, it is nothing that is wrong with it.
    lending.write("birch/more.cyl", borrowed.replace('damaged  "dropped', 'retired  "dropped'))
    assert "barred-elsewhere" not in lending("lint", "--as", "lines").out


def test_a_serial_number_is_the_same_in_another_case(lending):
    back = LENT + "2026-07-02 moved K-1 to st1\n"
    lending.write("ash/more.cyl", back)
    lending.write("birch/more.cyl", BORROWED.replace("serial SN-1", 'serial "sn-1"'))
    lines = lending("lint", "--as", "lines").out
    assert "barred-elsewhere: serial SN-1, in `birch` N-1: damaged on 2026-06-01" in lines
    assert "in `birch`, as N-1: damaged on 2026-06-01" in lending("may-fill", "K-1", "ash").out
    assert "Written by Ash Fire District" in lending("card", "N-1").out


def test_suspect_air_that_it_took_there_bars_it_here_until_it_is_let_out(lending):
    fill = "  2026-06-02 10:00  filled  to 2000 psi  on pump\n"
    pump = 'source pump "Pump"\n  kind compressor\n  2026-06-05  air sample fail  CO 15 ppm\n'
    lending.write("birch/more.cyl", BORROWED[: BORROWED.index("  2026-06-01")] + fill + pump)
    back = LENT + "2026-07-02 moved K-1 to st1\n"
    lending.write("ash/more.cyl", back)
    line = (
        "ash/cards/good.cyl:3:3: danger: barred-elsewhere: "
        "serial SN-1, in `birch` N-1: holds suspect air since 2026-06-02: sample of pump failed 2026-06-05\n"
    )
    assert lending("lint", "--as", "lines", "--only", "barred-elsewhere") == (1, line, "")
    assert "Empty it and write `emptied` on its card here" in lending("may-fill", "K-1", "ash").out
    assert " TAKE OUT OF USE NOW 1\n  holds suspect air: K-1\n" in lending("briefing", "ash").out
    # Let out before it was filled there, it is not; nor by a line that was struck.
    emptied = "{} emptied K-1 {}\n"
    for day, struck, is_barred in (
        ("2026-05-20", "", True),
        ("2026-07-03", 'struck 2026-07-04 by vance "not yet"', True),
        ("2026-07-03", "", False),
    ):
        lending.write("ash/more.cyl", back + emptied.format(day, struck))
        assert ("barred-elsewhere" in lending("lint", "--as", "lines").out) == is_barred, day


def test_a_record_with_nothing_beside_it_in_its_work_tree_waits_for_no_search(house, monkeypatch):
    house.write("cards/good.cyl", GOOD.replace("  class  steel\n", SERIAL))
    monkeypatch.setattr("cylfile.files.neighbors.find_records", lambda tree, places: searched.append(places) or [])
    searched: list = []
    assert house("may-fill", "K-1").status == 0 and searched == []
    (house.folder / ".git").mkdir()
    assert house("may-fill", "K-1").status == 0 and searched == []
    (house.folder / ".git").rmdir()
    (house.folder.parent / ".git").mkdir()
    assert house("may-fill", "K-1").status == 0 and len(searched) == 1
