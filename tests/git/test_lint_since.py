"""`cylfile lint --since`: only what is new, told by what it is about and not by where it stands."""

import json

import pytest

OVERDUE = "2023-01-10        hydro"


@pytest.fixture
def overdue(keeping):
    """The record, with two fills past their test in it for a revision."""
    keeping.replace("cards.cyl", OVERDUE, "2018-01-10        hydro")
    keeping.replace("cards.cyl", "2018-02-01        entered", "2018-01-01        entered")
    keeping.commit("A test of another year")
    return keeping


def new(keeping, *arguments, **environment) -> dict:
    outcome = keeping("lint", "--as", "json", "--since", *arguments, **environment)
    assert outcome.err == ""
    return json.loads(outcome.out)


def rules(said: dict) -> list[str]:
    return sorted(finding["rule"] for finding in said["findings"])


def test_what_was_there_is_counted_and_not_told(overdue):
    all_of_it = json.loads(overdue("lint", "--as", "json").out)
    assert rules(all_of_it).count("filled-past-test") == 2
    said = new(overdue, "HEAD")
    assert said["findings"] == []
    assert said["since"]["known"] == len(all_of_it["findings"])
    assert said["since"]["revision"].startswith("HEAD (")
    assert overdue("lint").status == 1
    assert overdue("lint", "--since", "HEAD").status == 0


def test_what_is_new_is_told(overdue):
    overdue.append("sheets.cyl", "fill sheet 2024-05-01  by vale\n  K-1  to 2216 psi\n")
    said = new(overdue, "HEAD")
    (finding,) = (finding for finding in said["findings"] if finding["rule"] == "filled-past-test")
    assert (finding["file"], finding["line"]) == ("sheets.cyl", 6)
    out = overdue("lint", "--since", "HEAD").out
    assert "only what is new since HEAD (" in out and " from before left out" in out
    assert overdue("lint", "--since", "HEAD").status == 1


def test_moved_lines_layout_and_renamed_files_are_not_new(overdue):
    sheets = overdue.text("sheets.cyl")
    (overdue.folder / "sheets.cyl").unlink()
    loose = "2023-03-02 09:30 filled K-1 by vale  on C1 at hc1   to 2216psi at 70 F  # moved\n\n"
    overdue.write("new/name.cyl", "# here now\n\n" + loose + sheets.split("fill sheet 2023-03-02")[0])
    said = new(overdue, "HEAD")
    assert said["findings"] == [] and said["since"]["known"] >= 2


def test_narrowing_goes_with_it(overdue):
    overdue.append("sheets.cyl", "fill sheet 2024-05-01  by vale\n  K-1  to 2216 psi\n  K-9  to 9 psi\n")
    assert rules(new(overdue, "HEAD", "--only", "unknown-name")) == ["unknown-name"]
    assert "unknown-name" not in rules(new(overdue, "HEAD", "--cylinder", "K-1"))
    assert new(overdue, "HEAD", "--only", "filled-past-test")["since"]["known"] == 2


def test_both_are_judged_by_the_rules_and_the_day_of_now(overdue):
    """A rule that is new, or a day that has come, makes old entries no news."""
    overdue.replace("department.cyl", "rules  us-dot", "rules  us-dot\n  rules  practice\n  rules  air")
    assert [rule for rule in rules(new(overdue, "HEAD")) if rule.startswith("filled")] == []
    assert new(overdue, "HEAD", "--as-of", "2039-01-01")["findings"] == []


def test_a_pack_that_broke_is_new(overdue):
    overdue.write("house.cylpack", 'pack house "House"\n  over us-dot\n')
    overdue.replace("department.cyl", "rules  us-dot", 'rules  "house.cylpack"')
    overdue.commit("House rules")
    assert new(overdue, "HEAD")["findings"] == []
    overdue.write("house.cylpack", 'pack house "House"\n  over us-dot\nlevel no-such-rule  notice\n')
    assert "unreadable-line" in rules(new(overdue, "HEAD"))


def test_a_waiver_that_went_makes_its_finding_new(overdue):
    waiver = 'waived filled-past-test for K-1 until 2024-12-31 by vale "agreed"\n'
    overdue.append("department.cyl", waiver)
    assert rules(new(overdue, "HEAD")) == []
    overdue.commit("Waive it")
    overdue.replace("department.cyl", waiver, "")
    assert rules(new(overdue, "HEAD")) == ["filled-past-test", "filled-past-test"]


def test_sarif_of_what_is_new(overdue):
    log = json.loads(overdue("lint", "--as", "sarif", "--since", "HEAD").out)
    assert log["runs"][0]["results"] == []
    assert json.loads(overdue("lint", "--as", "sarif").out)["runs"][0]["results"]


@pytest.mark.parametrize(
    "arguments, message",
    [
        (["--since", "nonsense"], "git knows no revision `nonsense`"),
        (["--since", "HEAD", "-"], "what comes from standard input has no earlier revision"),
        (["--since", "HEAD", "later"], "there was no *.cyl file in `later` at revision `HEAD`"),
    ],
)
def test_what_cannot_be_done(overdue, arguments, message):
    if "later" in arguments:
        overdue.write("later/all.cyl", 'department "Later Fire"\n')
    status, out, err = overdue("lint", *arguments)
    assert (status, out) == (2, "") and err.startswith(f"cylfile: {message}")


def test_in_a_hook_of_git(overdue, program_on_path):
    """Git tells a hook where its repository is, as seen from the top; the record may stand in a folder below."""
    for name in ("department.cyl", "cards.cyl", "sheets.cyl"):
        overdue.write(f"air/{name}", overdue.text(name))
        (overdue.folder / name).unlink()
    overdue.commit("Move the record")
    hook = overdue.folder / ".git" / "hooks" / "pre-commit"
    hook.parent.mkdir(exist_ok=True)
    hook.write_text("#!/bin/sh\nexec cylfile lint --as-of 2024-06-01 --since HEAD air >&2\n")
    hook.chmod(0o755)
    overdue.append("air/cards.cyl", '  2024-05-02        remarked "looked at"\n')
    overdue.commit("Nothing new is wrong")
    overdue.append("air/sheets.cyl", "fill sheet 2024-05-01  by vale\n  K-1  to 2216 psi\n")
    with pytest.raises(AssertionError, match="filled-past-test"):
        overdue.commit("A fill past its test")


def test_where_git_says_that_its_repository_is(overdue):
    """Some hooks are given GIT_DIR as seen from the top, and are asked about a folder below it."""
    overdue.write("air/all.cyl", "# the record moves here\n")
    overdue.commit("A folder")
    said = new(overdue, "HEAD", "air", GIT_DIR=".git", GIT_INDEX_FILE=".git/index")
    assert said["findings"] == [] and said["since"]["revision"].startswith("HEAD (")
