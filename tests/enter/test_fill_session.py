"""What a session knows after each of its rows is what the whole record, read anew, says."""

import shutil
from datetime import date, datetime

import pytest

from cylfile.files.fill_session import FillSession, Override, SheetHead
from cylfile.files.neighbors import county_of
from cylfile.judging.judge import judge
from cylfile.record.entries import plain_form
from support.air_records import FillAir
from support.running import PROJECT

DAY = date(2026, 11, 27)
HEAD = SheetHead("quell", "comp1", "mill")


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    copy = tmp_path_factory.mktemp("demo") / "clean"
    shutil.copytree(PROJECT / "examples" / "clean", copy)
    return str(copy)


def said(findings):
    return sorted((finding.rule, finding.text, finding.working, finding.span.line) for finding in findings)


def test_each_row_is_judged_as_in_the_whole_record(folder):
    session = FillSession([folder], DAY)
    session.begin(HEAD)
    signed = Override("brisco", "to see what is said")
    for number, (name, clauses, refused) in enumerate(
        [
            ("H22-01", "from 500 psi to 4400 psi at 80 F", False),
            ("H22-02", "to 4400 psi", False),
            ("H22-01", "from 100 psi to 4500 psi at 70 F", False),
            ("H11-01", "to 4400 psi at 70 F", True),
            ("H22-03", "to 6000 psi at 70 F", True),
            ("H22-03", "to 4100 psi at 70 F", False),
        ]
    ):
        if number == 3:
            session.begin(HEAD._replace(on="bank1"))
        done = session.write(name, clauses)
        assert bool(done.refusing) == refused and bool(done.place) != refused
        if refused:
            done = session.write(name, clauses, signed)
        whole = FillSession([folder], DAY)
        judged = judge(whole.record, whole.case.rules, DAY)
        assert said(session._findings(name, session._verdict(name))) == said(judged.of_cylinder.get(name, []))
        # The cartridge and the storage count the row as the record read anew does.
        row, mine = (
            max((each for each in record.entries[name] if each.day == DAY), key=lambda each: each.start)
            for record in (whole.record, session.record)
        )
        facts = [FillAir(log, fill).given for log, fill in ((judged.air, row), (session.air, mine))]
        assert facts[0] == facts[1] and facts[0] != (None, None, None)
        path, _, line = done.place.rpartition(":")
        assert (row.source.path, str(row.span.line), plain_form(row)) == (path, line, plain_form(mine))


def test_after_midnight_rows_go_to_the_sheet_of_the_next_day_with_their_times(entered):
    moment = [datetime(2026, 3, 15, 23, 58)]
    session = FillSession([str(entered.folder)], clock=lambda zone: moment[0])
    session.begin(SheetHead("ayla", "C1", "quay"))
    session.write("T-1", "to 4400 psi at 70 F")
    moment[0] = datetime(2026, 3, 16, 0, 4)
    assert session.answer("T-1")[0].as_of == date(2026, 3, 16)
    session.write("T-1", "to 4300 psi at 70 F")
    assert entered.text("fills.cyl").endswith(
        "\nfill sheet 2026-03-15  at quay  on C1  by ayla\n  23:58  T-1     to 4400 psi  at 70 F\n"
        "\nfill sheet 2026-03-16  at quay  on C1  by ayla\n  00:04  T-1     to 4300 psi  at 70 F\n"
    )


def test_what_other_records_of_the_county_have_against_a_cylinder_bars_its_rows(entered, monkeypatch):
    serial, other = '  serial     "SN \\\\ 1"\n', entered.folder / "other"
    cards = entered.text("cards.cyl").replace("cylinder T-1\n", f"cylinder T-1\n  rated  4500 psi\n{serial}")
    for name in ("department.cyl", "cards.cyl", "fills.cyl", "house.cylpack"):
        entered.write(f"own/{name}", entered.text(name))
        (entered.folder / name).unlink()
    entered.write("own/cards.cyl", cards)
    (entered.folder / ".git").mkdir()
    monkeypatch.chdir(entered.folder)
    other.mkdir()
    # The name there is the serial number of nobody, and its card is not the first with that number on it.
    theirs = f'cylinder T-1\n  serial  T-9\ncylinder N-9\n{serial}  made  2024-01\n  2026-02-01  damaged  "dropped"\n'
    entered.write("other/department.cyl", f'department "Other Fire"\n  rules  us-dot\n{theirs}')
    looks = []
    monkeypatch.setattr(
        "cylfile.files.fill_session.county_of",
        lambda folders: looks.append(folders) or county_of(folders),
    )
    session = FillSession(["own"], date(2026, 3, 15))
    session.begin(SheetHead("ayla", "C1", "quay"))
    (reason,) = session.answer("T-1")[0].reasons
    assert (reason.rule, reason.text) == ("barred-elsewhere", "in `other`, as N-9: damaged on 2026-02-01: dropped")
    assert [finding.rule for finding in session.write("T-1", "to 4400 psi at 70 F").refusing] == ["barred-elsewhere"]
    assert session.write("T-1", "to 4400 psi at 70 F", Override("ben", "looked at")).place == "own/fills.cyl:6"
    assert session.answer("T-2")[0].life is not None
    # Its copy bars by itself, and where it is cleared nothing bars.
    entered.write("own/copied.cyl", '2026-02-01 damaged T-1 "dropped"\n2026-02-02 hydro T-1 pass by A123\n')
    assert session.answer("T-1")[0].may and len(looks) == 1, "the neighbors are read once"
    # A line there that cannot be read may bar it.
    entered.write("other/odd.cyl", '2026-02-03 damged N-9 "dropped again"\n')
    (reason,) = FillSession(["own"], date(2026, 3, 15)).answer("T-1")[0].reasons
    assert reason.text.startswith("in `other`, as N-9: a line cannot be read: ") and reason.rule == "barred-elsewhere"
