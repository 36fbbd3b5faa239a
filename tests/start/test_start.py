"""`cylfile start` as its users run it: the record has nothing wrong with it, and every tool that comes with it works."""

import os
import re
import shlex
import shutil
import subprocess
from datetime import date, timedelta
from pathlib import Path

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from cylfile.files.new_record import first_files
from cylfile.record.reader import read_record
from cylfile.rewriting.neatening import neaten
from cylfile.text.source import Source

PROJECT = Path(__file__).resolve().parent.parent.parent
CLEAN = "DANGER 0    WARNING 0    CAUTION 0    NOTICE 0\n"


@pytest.fixture
def begun(here):
    assert (
        here("start", "air", "--name", 'The "Old" Mill', "--zone", "America/Denver", "--as-of", "2026-05-31").status
        == 0
    )
    here.folder = here.folder / "air"
    return here


def test_what_is_made(here):
    status, out, err = here("start", "air", "--as-of", "2026-05-31", TZ="Pacific/Apia")
    assert (status, err) == (0, "")
    files = out.split("\n")[:-2]
    assert files == [f"air/{path}" for path in first_files("x", "UTC", date(2026, 5, 31))]
    assert sorted(files) == sorted(
        path.relative_to(here.folder).as_posix() for path in here.folder.rglob("*.*") if path.is_file()
    )
    assert "zone          Pacific/Apia\n" in (here.folder / "air" / "department.cyl").read_text()
    assert 'department "Our fire department"' in (here.folder / "air" / "department.cyl").read_text()


def test_nothing_is_wrong_with_it(begun):
    status, out, _ = begun("lint", "--fail-at", "notice", "--as-of", "2026-05-31")
    assert status == 0 and CLEAN in out and out.startswith('The "Old" Mill')
    assert begun("neaten", "--check") == (0, "", "")


@pytest.mark.parametrize(
    "as_of, neglected",
    [
        ("2026-07-31", {"monthly-check-missed"}),
        ("2027-09-30", {"monthly-check-missed"}),
        ("2032-10-31", {"monthly-check-missed", "test-overdue"}),
    ],
)
def test_years_later_it_lacks_what_nobody_did(begun, as_of, neglected):
    out = begun("lint", "--as", "lines", "--as-of", as_of).out
    assert {line.split(": ")[2] for line in out.splitlines()} == neglected


@settings(max_examples=60, deadline=None)
@given(st.dates(date(1970, 1, 1), date(2200, 1, 1)))
def test_it_can_begin_on_any_day(today):
    sources = [Source(path, text) for path, text in first_files("D", "UTC", today).items() if path.endswith(".cyl")]
    record = read_record(sources)
    assert record.faults == [] and record.entry_count == 6
    assert all(neaten(source, record).text == source.text for source in sources)
    assert max(entry.day for entry in record.entries["E-1"]) == today
    assert min(entry.day for entry in record.entries["E-1"]) >= record.cylinders["E-1"].made + timedelta(28)


def test_it_is_kept_with_the_commands_of_its_readme(begun):
    readme = (begun.folder / "README.md").read_text()
    commands = [line.strip() for line in readme.split("\n") if line.startswith("    cylfile ")]
    assert len(commands) == 6 and readme.startswith('# The breathing-air record of The "Old" Mill\n')
    for command in commands:
        assert begun(*shlex.split(command.partition("     ")[0])[1:]).status == 0, command


def test_nothing_is_written_over(begun):
    before = {path: path.read_bytes() for path in begun.folder.rglob("*.*") if path.is_file()}
    status, out, err = begun("start", ".")
    assert (status, out) == (2, "") and "`.` is where you are; name a new folder" in err and err.count("\n") == 1
    for folder in ("../air", "fills", "README.md"):
        status, out, err = begun("start", folder)
        assert (status, out) == (2, "") and err.count("\n") == 1, folder
    assert {path: path.read_bytes() for path in begun.folder.rglob("*.*") if path.is_file()} == before
    (begun.folder.parent / "empty").mkdir()
    assert begun("start", "../empty").status == 0


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (("--zone", "America/Denvr"), "America/Denver"),
        (("--zone", ""), None),
        (("--name", "a\x1bb"), "U+001B"),
        (("--name", "a\nb"), "--name"),
        (("--name", "x" * 2001), "2,001 characters"),
        (("--as-of", "31.5.2026"), "2026-03-14"),
    ],
)
def test_what_cannot_be_is_told_in_one_line(here, options, told):
    status, out, err = here("start", "air", *options)
    if told is None:
        assert status == 0
    else:
        assert (status, out) == (2, "") and told in err and err.count("\n") == 1 and not (here.folder / "air").exists()


@pytest.mark.skipif(shutil.which("git") is None, reason="git is not installed")
def test_git_shows_the_cylinder_of_a_change_and_finds_bad_blanks(begun):
    def git(*arguments):
        done = subprocess.run(
            ["git", *arguments], cwd=begun.folder, capture_output=True, text=True,
            env={**os.environ, "HOME": str(begun.folder), "GIT_CONFIG_NOSYSTEM": "1"},
        )  # fmt: skip
        return done.returncode, done.stdout

    git("init", "-q")
    git("-c", "core.safecrlf=false", "add", ".")
    git("-c", "user.name=A", "-c", "user.email=a@b.invalid", "commit", "-q", "-m", "begin")
    cards = begun.folder / "cards.cyl"
    more = "".join(f'  2026-06-{n:02}        remarked "{n}"\n' for n in range(1, 20))
    cards.write_text(cards.read_text() + more)
    git("-c", "user.name=A", "-c", "user.email=a@b.invalid", "commit", "-q", "-a", "-m", "more")
    cards.write_text(cards.read_text().replace('remarked "12"', 'remarked "twelve"'))
    assert "@@ cylinder E-1" in git("diff")[1]
    assert git("diff", "--check")[0] == 0
    cards.write_text(cards.read_text() + '\t2026-06-20 remarked "x" \n')
    assert git("diff", "--check")[0] == 2
    (begun.folder / ".cylfile.lock").touch()
    (begun.folder / ".cards.cyl.writing").touch()
    assert git("status", "--porcelain")[1] == " M cards.cyl\n"


def test_a_sample_with_its_mark_taken_away_leaves_the_record_clean(begun):
    pack = begun.folder / "rules" / "house.cylpack"
    plain = re.sub("(?m)^# (?=setting|suspend)", "", pack.read_text())
    assert "\nsetting due-soon" in plain and "\nsuspend fill-without-temperature" in plain
    pack.write_text(plain)
    status, out, _ = begun("lint", "--fail-at", "notice", "--as-of", "2026-05-31")
    assert status == 0 and CLEAN in out


def test_the_hooks_run_what_there_is(here):
    assert here("start", "plain").status == here("start", "air", "--hooks", "--as-of", "2026-05-31").status == 0
    assert not (here.folder / "plain" / ".pre-commit-config.yaml").exists()
    here.folder = here.folder / "air"
    begun = here
    local = yaml.safe_load((begun.folder / ".pre-commit-config.yaml").read_text())["repos"][0]["hooks"]
    shared = yaml.safe_load((PROJECT / ".pre-commit-hooks.yaml").read_text())
    assert [hook["id"] for hook in shared] == ["cylfile-compare", "cylfile-lint", "cylfile-neaten"]
    assert all(hook["require_serial"] for hook in shared)
    for words in (["init", "--quiet"], ["add", "--all"]):
        subprocess.run(["git", *words], cwd=begun.folder, check=True, capture_output=True)
    for hook in (*local, *shared):
        program, *words = hook["entry"].split()
        assert program == "cylfile" and begun(*words).status == 0
        if hook["id"] == "cylfile-lint":
            assert hook["pass_filenames"] is False
    (begun.folder / "cards.cyl").write_text("cylinder E-1\n\t2026-02-30 remarked\n")
    assert begun(*local[0]["entry"].split()[1:]).status == 0
    subprocess.run(["git", "add", "--all"], cwd=begun.folder, check=True, capture_output=True)
    assert begun(*local[1]["entry"].split()[1:]).status == 1


def test_from_the_first_command_to_the_first_entry(here):
    """As somebody would do it who has just installed it."""
    assert here("start", "air").status == 0
    here.folder = here.folder / "air"
    assert CLEAN in here("lint").out
    assert here("enter", "now filled E-1 from 900 psi to 2250 psi at 72 F by keeper on air-room").status == 0
    assert CLEAN in here("lint").out and here("neaten", "--check").status == 0
    assert "cylfile start FOLDER" in here("start", "--help").out
