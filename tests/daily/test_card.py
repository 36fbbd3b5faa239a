"""
The command `card`, from end to end, and the line of a life.
"""

import json
from datetime import date
from itertools import groupby

import pytest

from cylfile.history.fold import steps_of
from cylfile.packs.layering import load_rules
from cylfile.record.reader import read_record
from cylfile.show.terminal.layout import Layout, cells
from cylfile.show.terminal.life_line import life_line_of, put_life_line
from cylfile.text.source import Source

MORE = """\
fill sheet 2026-04-01  at quay  on C1  by ash
  08:00  K-10  from 500 psi  to 4500 psi  at 70 F
  09:00  K-9   to 4400 psi  remark "slow"
fill sheet 2026-04-02  at quay  on C1  by ash
  08:00  K-9   to 4400 psi
  09:00  K-9   to 4450 psi
  10:00  K-9   to 4500 psi
  11:00  K-9   to 4410 psi
  12:00  K-9   to 4420 psi
  13:00  K-9   to 5400 psi  struck 2026-04-03 by ash "typed 5400 for 4500"
2027-01-05  visual K-9 pass  by ash
2026-05-01  fild K-9 to 4500 psi
waived filled-past-test for K-10 until 2026-12-31 by ash "drill only"
"""


@pytest.fixture
def station(station):
    (station.folder / "more.cyl").write_text(MORE)
    return station


def page(station, *arguments, **environment):
    """A page, or another form, of a record of which one line cannot be read."""
    done = station("card", *arguments, **environment)
    assert done.status == 1 and done.err == "" and "more.cyl:12" in done.out
    return done.out


def test_a_plus_behind_the_marking_is_said_back_as_that_of_a_test(station):
    card = 'cylinder P-1\n  marked "DOT-3AA2265 +*"\n  made 2020-01\n'
    (station.folder / "plus.cyl").write_text(card)
    out = page(station, "P-1")
    assert "the +* behind the marking is that of a test: it counts where a hydro says it" in " ".join(out.split())
    assert "behind the marking" not in page(station, "K-10")


def test_what_it_is(station):
    lines = page(station, "K-10").split("\n")
    assert (
        lines[0].startswith("K-10 ")
        and "4500 psi, made 2019-06, Hill Road" in lines[0]
        and lines[0].endswith("DO NOT FILL")
    )
    assert "serial =1+1   class carbon-wrapped   tag AA10" in lines[3]
    assert any(line.startswith("  - would be filled 239 days after") for line in lines)
    assert page(station, "AA10") == page(station, "K-10"), "by its tag too"
    assert page(station, "R-1").split("\n")[0].endswith("retired 2020-01-20")
    assert page(station, "114").split("\n")[0].endswith("in-service")


def test_what_comes_next(station):
    text = page(station, "K-9")
    assert "  - hydrostatic test by 2027-01-31, in 67 days   2022-01-20 + 5 years\n" in text
    assert "  - replacement by 2027-02-28, in 95 days   2012-02 + 15 years\n" in text
    assert "`made` is not written down" not in text
    assert "not known, `class` is not written down" in page(station, "S-3")
    assert "Coming up" not in page(station, "R-1")


def test_what_it_has_been_through(station):
    text = page(station, "K-9")
    assert "  - 7 fills, from 2026-03-01 to 2026-04-02\n" in text, "the struck one is none"
    assert "ft3 of free air taken" in text
    assert "  - 1 hydrostatic test passed\n" in text and "  - 1 visual inspection passed\n" in text
    assert "  - never filled\n" in page(station, "S-3")


def test_every_entry_in_order_with_its_place(station):
    lines = page(station, "K-9", "--every-fill").split("\n")
    at = next(number for number, line in enumerate(lines) if line.startswith("Entries"))
    entries = [line for line in lines[at + 1 :] if line[:2] == "20"]
    assert [line[:10] for line in entries] == sorted(line[:10] for line in entries) and len(entries) == 11
    assert entries[0].endswith("all.cyl:21") and "entered service at quay" in entries[0]
    assert "08:00 filled from 500 psi to 4500 psi at 70 F by ash on C1 at quay" in entries[2], (
        "what the sheet says for all"
    )
    assert 'struck 2026-04-03 by ash "typed 5400 for 4500"' in entries[-2]
    assert entries[-1].startswith("2027-01-05  visual pass by ash") and entries[-1].endswith("more.cyl:11")


def test_ordinary_fills_in_a_row_are_told_together(station):
    text = page(station, "K-9")
    assert "2026-04-02  to 2026-04-02   5 fills, to 4400 psi to 4500 psi\n" in text
    assert 'remark "slow"' in text and "typed 5400" in text, "those with something to say stand alone"


def test_findings_stand_beside_their_entries(station):
    lines = page(station, "K-10").split("\n")
    entry = next(number for number, line in enumerate(lines) if "filled from 500 psi" in line)
    at = next(number for number, line in enumerate(lines) if line.startswith("   waived   "))
    assert entry < at < entry + 12 and not any(line[:2] == "20" for line in lines[entry + 1 : at])
    assert lines[at] == "   waived   filled 1 day after its test fell due (2026-03-31)"
    assert lines[at + 1].strip() == "DANGER, waived until 2026-12-31 by ash: drill only"
    assert lines[at + 2].strip() == "last test 2021-03-20 + 5 years = due by 2026-03-31"


def test_lines_that_cannot_be_read_are_told(station):
    text = page(station, "K-9")
    wrong = text[text.index("Findings on the card") : text.index("Entries")]
    assert "DANGER" in wrong and "more.cyl:12" in wrong
    assert text.split("\n")[0].endswith("DO NOT FILL")


def test_advice_is_given_once(station):
    (station.folder / "more.cyl").write_text(
        MORE.replace("waived filled", "# waived filled") + "2026-05-03  filled K-10 to 4000 psi\n"
    )
    text = page(station, "K-10")
    assert text.count("after its test fell due") == 3, "because, and beside both fills"
    assert text.count("Take out of service; requalify.") == 1


def test_json(station):
    value = json.loads(page(station, "K-9", "--as", "json"))
    assert value["cylinder"] == "K-9" and value["fills"] == 7 and value["may_be_filled"] is False
    assert value["coming"][0] == {"what": "replacement", "due_by": "2027-02-28", "working": "2012-02 + 15 years"}
    assert len(value["entries"]) == 11 and value["entries"][-1]["findings"][0]["rule"] == "future-entry"
    assert any(finding["rule"] == "unreadable-line" for finding in value["findings"])
    assert value["entries"][0]["file"] == "all.cyl" and value["entries"][0]["line"] == 21


def test_a_name_that_nobody_has(station):
    done = station("card", "K-1")
    assert done.status == 2 and done.out == "" and "there is no card for a cylinder `K-1`" in done.err


def test_ascii(station):
    assert page(station, "K-9", PYTHONIOENCODING="ascii").isascii()


# The line of a life.


def drawn(*lines, width=72, as_of=date(2026, 11, 25)):
    rules, _ = load_rules(["us-dot"], lambda name: None)
    text = "cylinder K-1\n  class  carbon-wrapped\n  rated  4500 psi\n  made  2016-01\n" + "".join(
        f"  {line}\n" for line in lines
    )
    record = read_record([Source("a.cyl", text)])
    layout = Layout(width)
    put_life_line(layout, life_line_of(steps_of(record, rules, record.cylinders["K-1"], as_of)))
    assert all(cells("".join(piece for piece, _ in line)) <= max(width, 30) for line in layout.lines)
    rows = ["".join(piece for piece, _ in line).rstrip() for line in layout.lines]
    return {row[:10].strip() or number: row[10:] for number, row in enumerate(rows)}


def test_marks_stand_where_their_days_are():
    """From 2016-01 to the end of its life in 2031-01 there are 15 years on 62 columns: 4 a year."""
    rows = drawn(
        "2016-02-01 entered service", "2021-01-10 hydro pass", "2024-01-05 visual fail", "2024-06-01 visual pass"
    )
    assert rows["tests"].index("T") == 20 and rows["tests"].endswith("E") and len(rows["tests"]) == 62
    assert rows["tests"][0] == "M" and rows["tests"].count("D") == 1 and rows["tests"].index("D") == 40
    assert rows["visuals"].index("x") == 32 and rows["visuals"].index("v") == 34
    assert rows[0].split()[0] == "2016"
    assert any("^ 2026-11-25" in str(row) or "2026-11-25 ^" in str(row) for row in rows.values())


def test_service_tells_what_kept_it_from_use():
    rows = drawn(
        "2016-02-01 entered service", "2020-12-10 hydro pass", '2022-06-01 out of service "valve"',
        "2023-06-01 returned to service", '2024-06-01 damaged "dropped"', "2025-06-01 hydro pass", "2025-12-01 retired",
    )  # fmt: skip
    runs = [sign for sign, _ in groupby(rows["service"].strip())]
    assert runs == ["-", ".", "-", "!", "-"]


def test_service_is_barred_from_the_day_its_test_runs_out():
    service = drawn("2016-02-01 entered service")["service"]
    assert service.index("!") == 20 and service.endswith("!")


def test_the_most_fills_are_the_greatest_height():
    fills = [f"2024-01-{day:02d} filled to 4500 psi" for day in range(1, 9)] + ["2020-01-01 filled to 4500 psi"]
    row = drawn("2016-02-01 entered service", *fills)["fills"]
    assert row.split() == [".", "@"]


def test_a_cylinder_of_which_no_day_is_known_has_no_line():
    rules, _ = load_rules(["us-dot"], lambda name: None)
    record = read_record([Source("a.cyl", "cylinder K-1\n")])
    layout = Layout(80)
    put_life_line(layout, life_line_of(steps_of(record, rules, record.cylinders["K-1"], date(2026, 1, 1))))
    assert layout.lines == []


@pytest.mark.parametrize("width", [30, 60, 80, 140, 200])
@pytest.mark.parametrize("made", ["0001-01", "1950-01", "2026-11", "9999-01"])
def test_any_width_and_any_age(width, made):
    rules, _ = load_rules(["us-dot"], lambda name: None)
    record = read_record(
        [Source("a.cyl", f"cylinder K-1\n  class dot-3aa\n  made {made}\n  2026-11-25 entered service\n")]
    )
    layout = Layout(width)
    put_life_line(layout, life_line_of(steps_of(record, rules, record.cylinders["K-1"], date(2026, 11, 25))))
    assert layout.lines
