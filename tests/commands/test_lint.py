"""
`cylfile lint` from end to end: its options, its exit status, and that nothing of a record reaches a terminal raw.
"""

import json
import os
import re

import pytest

from support.house_record import BAD, DEPARTMENT, GOOD, PACK

HOSTILE = (
    "\x1b[31m\x9b7m [red]x[/red] [link=https://example.invalid]y[/link] [/nope] :fire: \u202egnp.exe\u2066\u200b\u2028"
)
SAFE = "[red]x[/red] [link=https://example.invalid]y[/link] [/nope] :fire:"


def test_a_record_in_order_is_status_0(house):
    (house.folder / "cards" / "bad.cyl").unlink()
    status, out, err = house("lint")
    assert (status, err) == (0, "")
    assert out.rpartition("cylfile ")[0] == (
        "Larkspur Valley    1 cylinder, 1 entry    as of 2026-11-25    record: .    rules: house.cylpack\n"
        "\n"
        "DANGER 0    WARNING 0    CAUTION 0    NOTICE 0\n"
        "No cylinder is marked DO NOT FILL.\n"
        "Checks the record, not the cylinder. The marking, its permit, local code and a qualified person decide.\n"
    )


def test_a_finding_is_status_1(house):
    status, out, err = house("lint")
    assert (status, err) == (1, "")
    assert "DANGER  filled 1,858 days after its test fell due" in out
    assert "\n1 cylinder must not be filled: K-2\n" in out


def test_paths_narrow_the_record(house):
    assert house("lint", "cards/good.cyl", "department.cyl").status == 0
    assert house("lint", "cards", "department.cyl").status == 1


@pytest.mark.parametrize(
    "level, least, status",
    [
        ("danger", "danger", 1), ("warning", "danger", 0), ("warning", "warning", 1), ("caution", "warning", 0),
        ("caution", "caution", 1), ("notice", "caution", 0), ("notice", "notice", 1),
    ],
)  # fmt: skip
def test_the_least_level_that_fails(house, level, least, status):
    (house.folder / "house.cylpack").write_text(PACK + f"level past-test  {level}\n")
    assert house("lint", "--fail-at", least).status == status


def test_warnings_fail_unless_something_else_is_said(house):
    (house.folder / "house.cylpack").write_text(PACK + "level past-test  warning\n")
    assert house("lint").status == 1
    (house.folder / "house.cylpack").write_text(PACK + "level past-test  caution\n")
    assert house("lint").status == 0


def test_a_waived_finding_is_listed_and_fails_nothing(house):
    waiver = 'waived past-test for K-2 until 2026-12-31 by vance "At the requalifier"\n'
    (house.folder / "department.cyl").write_text(DEPARTMENT + waiver)
    outcome = house("lint")
    assert outcome.status == 0
    assert " waived  filled 1,858 days after" in outcome.out and "waived 1\n" in outcome.out
    assert "DANGER, waived until 2026-12-31 by vance: At the requalifier" in outcome.out
    # It excuses the record and makes no cylinder sound.
    assert "1 cylinder must not be filled: K-2" in outcome.out
    assert json.loads(house("lint", "--as", "json").out)["counts"]["waived"] == 1


def test_one_cylinder(house):
    (house.folder / "extra.cyl").write_text("2026-03-05 filed K-2 to 9 psi\n2026-03-05 filled K-9 to 9 psi\n")
    outcome = house("lint", "--cylinder", "K-2")
    assert "1 cylinder, 2 entries" in outcome.out and "only cylinder K-2" in outcome.out
    assert "past-test" in outcome.out and "K-9" not in outcome.out
    # A line that nobody can read names it, so it may be about it.
    assert "`filed`" in outcome.out
    assert house("lint", "--cylinder", "K-1").status == 0


def test_one_cylinder_by_its_tag(house):
    assert "only cylinder K-1" in house("lint", "--cylinder", "E200").out


def test_a_cylinder_that_there_is_not(house):
    assert house("lint", "--cylinder", "K-22") == (
        2, "", "cylfile: there is no card for a cylinder `K-22`. Did you mean `K-2`?\n",
    )  # fmt: skip


def test_only_some_rules_and_all_but_some(house):
    (house.folder / "extra.cyl").write_text("2026-03-05 filled K-9 to 9 psi\n")
    outcome = house("lint", "--only", "past-test", "--only", "due-soon", "--as", "lines")
    assert re.findall(r"(?:danger|warning): ([a-z-]+): ", outcome.out) == ["past-test"]
    outcome = house("lint", "--without", "past-test", "--as", "lines")
    assert re.findall(r"(?:danger|warning): ([a-z-]+): ", outcome.out) == ["unknown-name"]
    outcome = house("lint", "--without", "past-test", "--without", "unknown-name")
    assert outcome.status == 0 and "\nwithout rules past-test, unknown-name\n" in outcome.out
    assert "K-2        out of service" not in outcome.out and "must not be filled: K-2" in outcome.out


@pytest.mark.parametrize("option", ["--only", "--without"])
def test_a_rule_that_there_is_not(house, option):
    message = "cylfile: these rules have no `past-tset`. Did you mean `past-test`?\n"
    assert house("lint", option, "past-tset") == (2, "", message)


def test_rules_of_the_reader_and_suspended_ones_have_names_too(house):
    (house.folder / "house.cylpack").write_text(PACK + 'suspend past-test "While the binder is copied"\n')
    assert house("lint", "--only", "unreadable-line", "--without", "past-test").status == 0
    out = house("lint").out
    assert "\n    made laxer by house: past-test suspended: While the binder is copied (house.cylpack:" in out


def test_lines_and_json_say_the_same(house):
    lines = house("lint", "--as", "lines").out
    found = json.loads(house("lint", "--as", "json").out)
    assert lines == "cards/bad.cyl:6:3: danger: past-test: filled 1,858 days after its test fell due\n"
    (finding,) = found["findings"]
    assert (finding["file"], finding["line"], finding["column"]) == ("cards/bad.cyl", 6, 3)
    assert (found["counts"]["danger"], found["counts"]["cylinders"]) == (1, 2)


def test_line_ends_and_a_byte_order_mark_change_nothing(house):
    forms = ("page", "lines", "json")
    unix = [house("lint", "--as", form).out for form in forms]
    for path in (
        house.folder / "department.cyl",
        house.folder / "cards" / "bad.cyl",
        house.folder / "cards" / "good.cyl",
    ):
        path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes().replace(b"\n", b"\r\n"))
    assert [house("lint", "--as", form).out for form in forms] == unix


def test_without_rules_only_reading_is_judged(house):
    (house.folder / "department.cyl").write_text('department "D"\nperson vance "V"\n')
    outcome = house("lint")
    assert outcome.status == 1 and "rules: none" in outcome.out and "no-rules" in outcome.out
    assert "There are no rules, so it cannot be told which cylinders may be filled." in outcome.out


def test_an_empty_file_is_a_record(house):
    (house.folder / "empty.cyl").write_text("")
    outcome = house("lint", "empty.cyl")
    assert outcome.status == 0 and "Larkspur Valley    0 cylinders, 0 entries" in outcome.out
    (house.folder / "department.cyl").unlink()
    outcome = house("lint", "empty.cyl")
    assert outcome.status == 1 and "A record without a department    0 cylinders, 0 entries" in outcome.out


@pytest.mark.parametrize("content", [b"\x00\x01\x02" * 100, b"\xff\xfe", b"cylinder K-3\n  made 20", b"x" * 10_000_000])
def test_no_file_is_too_broken_for_findings(house, content):
    (house.folder / "broken.cyl").write_bytes(content)
    outcome = house("lint", "--as", "lines")
    assert outcome.status == 1 and "broken.cyl:" in outcome.out and outcome.err == ""


@pytest.mark.parametrize("jobs", ["2", "3", "8"])
def test_the_outcome_is_the_same_however_many_processes_judge(house, jobs):
    cards = "".join(
        GOOD.replace("K-1", f"C-{number}").replace("  tag    E200\n", "")
        + f"  2026-0{number % 9 + 1}-04  filled  to 2216 psi  by vance\n"
        + ("  2026-10-01  filed\n" if number % 5 == 0 else "")
        + ('  2025-10-01  out of service "valve"\n' if number % 7 == 0 else "")
        for number in range(40)
    ).replace("2024-01", "2020-01")
    (house.folder / "cards" / "many.cyl").write_text(cards)
    for form in ("page", "lines", "json"):
        alone = house("lint", "--as", form)
        assert "past-test" in alone.out and "unreadable-line" in alone.out
        assert house("lint", "--as", form, "--jobs", jobs) == alone


def test_a_process_that_breaks_off_is_no_half_report(house, monkeypatch):
    from cylfile.judging import whole_record as judging

    judge_cylinder = judging.judge_cylinder

    def fail(record, rules, card, as_of):
        if card.name == "K-2":
            raise KeyError("a fault")
        return judge_cylinder(record, rules, card, as_of)

    monkeypatch.setattr(judging, "judge_cylinder", fail)
    order = house("lint", "--jobs", "2", "cards/good.cyl", "cards/bad.cyl")
    assert order.status == 2 and order.out == ""
    assert order.err.count("\n") == 1


# What reaches a terminal.


def hostile_record(folder) -> None:
    (folder / "department.cyl").write_text(DEPARTMENT.replace("Larkspur Valley", SAFE))
    (folder / "cards" / "bad.cyl").write_text(
        BAD + f'  2026-03-05  out of service "{HOSTILE}"\n  2026-03-06  remarked "{HOSTILE}"\n', encoding="utf-8"
    )
    waiver = 'waived past-test for K-2 until 2026-12-31 by vance "' + SAFE + '"\n'
    (folder / "waivers.cyl").write_text(waiver)
    with open(os.path.join(os.fsencode(folder), b"n\xff\x1b[1m\n.cyl"), "wb") as file:
        file.write(b"odd\n")


@pytest.mark.parametrize("form", ["page", "lines", "json"])
def test_text_of_a_record_is_inert(house, form):
    hostile_record(house.folder)
    outcome = house("lint", "--as", form)
    assert outcome.status == 1 and outcome.err == ""
    hidden = [
        sign for sign in outcome.out if sign in "\x1b\x9b\u202e\u2066\u200b\u2028" or 0xD800 <= ord(sign) < 0xE000
    ]
    assert hidden == []
    assert SAFE in outcome.out
    assert "n\\u{dcff}\\u{1b}[1m\\u{a}.cyl" in outcome.out.replace("\\\\", "\\")


def test_text_of_a_record_is_inert_in_color(house):
    hostile_record(house.folder)
    out = house("lint", "--color", "always").out
    bare = re.sub("\x1b\\[[0-9;]*m", "", out)
    assert len(bare) < len(out)
    assert not set(bare) & set("\x1b\x9b\u202e\u2066\u200b\u2028") and SAFE in bare
    assert bare == house("lint", "--color", "never").out


def test_a_terminal_of_few_letters_gets_all_the_same(house):
    (house.folder / "department.cyl").write_text(DEPARTMENT.replace("Larkspur Valley", "Ærø 東京"), encoding="utf-8")
    status, out, err = house("lint", PYTHONIOENCODING="ascii")
    assert (status, err) == (1, "")
    assert out.startswith("\\xc6r\\xf8 \\u6771\\u4eac    2 cylinders")


@pytest.mark.parametrize("columns", [60, 80, 140])
def test_a_terminal_gets_color_and_its_own_width(house, columns):
    out = house.on_terminal(columns, "lint", NO_COLOR="", COLUMNS="33").out
    assert "\x1b[" in out
    bare = re.sub("\x1b\\[[0-9;]*m", "", out)
    assert max(map(len, bare.split("\n"))) <= min(columns, 120)
    place = next(line for line in bare.split("\n") if "cards/bad.cyl:6" in line)
    assert len(place) == min(columns, 120) or (columns == 60 and "(cards/bad.cyl:6)" in place)


@pytest.mark.parametrize("environment", [{"NO_COLOR": "1"}, {"NO_COLOR": "", "TERM": "dumb"}])
def test_a_terminal_that_wants_no_color_gets_none(house, environment):
    out = house.on_terminal(80, "lint", **environment).out
    assert "\x1b" not in out and "DANGER  filled 1,858 days" in out
    assert max(map(len, out.split("\n"))) <= 80


def test_a_pipe_gets_plain_lines_whatever_the_environment_says(house):
    plain = house("lint").out
    assert "\x1b" not in plain
    for environment in ({"COLUMNS": "wide"}, {"TERM": "xterm-256color", "FORCE_COLOR": "1"}):
        assert house("lint", NO_COLOR="", **environment).out == plain


@pytest.mark.parametrize("columns", [60, 80, 120, 200])
def test_a_pipe_is_as_wide_as_columns_says(house, columns):
    out = house("lint", NO_COLOR="", COLUMNS=str(columns)).out
    assert max(map(len, out.split("\n"))) <= columns and "\x1b" not in out


@pytest.mark.parametrize("arguments", [["--as", "lines"], ["--as", "json"], []])
def test_rich_is_imported_for_color_only(house, arguments):
    with house.start("lint", *arguments, python=("-X", "importtime")) as running:
        _, err = running.communicate()
    imported = {line.rpartition(b"|")[2].strip() for line in err.split(b"\n")}
    assert b"cylfile.judging.judge" in imported
    assert b"rich" not in imported and b"rich.console" not in imported


def test_who_waits_at_a_terminal_is_told_what_for(house):
    (house.folder / "long.cyl").write_text("# a long comment\n" * 300_000)
    out = house.on_terminal(80, "lint", "--as", "lines").out
    note, judged = "cylfile: reading 4 files", "cylfile: judging 2 cylinders"
    assert out.startswith(f"{note}\r{' ' * len(note)}\r{judged}\r{' ' * len(judged)}\rcards/bad.cyl:6:3: danger: ")
    with house.start("lint") as running:
        assert running.communicate()[1] == b""
