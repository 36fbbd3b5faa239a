"""What papers that leave the house carry: the version, the commit, what differs from it, digests of packs, the making."""

import csv
import hashlib
import io
import json

import pytest

from cylfile import __version__
from cylfile.packs.shipped import open_shipped

COMMANDS = (["lint"], ["inventory"], ["due"], ["coming"], ["totals"], ["card", "K-1"], ["may-fill", "K-1"])


@pytest.mark.parametrize("command", COMMANDS, ids=" ".join)
def test_every_page_and_object_says_where_it_is_from(keeping, command):
    commit = keeping.git("rev-parse", "HEAD").strip()
    foot = keeping(*command).out.rstrip().rpartition("\n")[2]
    assert foot.startswith(f"cylfile {__version__}    commit {commit}    rules SHA-256 ")
    said = json.loads(keeping(*command, "--as", "json", "--stamp").out)
    assert (said["commit"], said["uncommitted"], said["department"]) == (commit, False, "Hollin Creek Fire")
    assert said["packs"]["us-dot"] == hashlib.sha256(open_shipped("us-dot").text.encode()).hexdigest()
    assert said["stamp"].endswith(" --as json --stamp`") and f" by `cylfile {command[0]} " in said["stamp"]


def test_rows_and_events_say_it_too(keeping):
    commit = keeping.git("rev-parse", "HEAD").strip()
    keeping.append("sheets.cyl", "  10:00  K-1  to 2100 psi\n")
    rows = {
        "inventory": [], "due": ["--within", "3000d"], "coming": [], "totals": ["--first", "2023-01-01"], "compare": ["HEAD"],
        "trace": ["C1", "--first", "2023-01-01"],
    }  # fmt: skip
    for command, arguments in rows.items():
        table = list(csv.DictReader(io.StringIO(keeping(command, *arguments, "--as", "csv", "--stamp").out)))
        assert table, command
        for row in table:
            said = row["origin"].split("; ")
            assert said[:4] == [
                "as of 2024-06-01",
                f"cylfile {__version__}",
                f"commit {commit}",
                "with uncommitted changes",
            ]
            assert len(said[4].removeprefix("rules SHA-256 ")) == 64 and f"by `cylfile {command} " in said[5]
    calendar = keeping("due", "--within", "3000d", "--as", "ics").out.replace("\r\n ", "")
    assert f"\nDESCRIPTION:as of 2024-06-01\\; cylfile {__version__}\\; commit {commit}\\; with" in calendar.replace(
        "\r", ""
    )


@pytest.mark.parametrize("change", ["a line", "a file", "a file gone", "a pack"])
def test_what_differs_from_the_commit_is_said(keeping, change):
    keeping.write("rules/own.cylpack", 'pack own "Own"\n  over us-dot\n')
    keeping.replace("department.cyl", "rules  us-dot", 'rules  "rules/own.cylpack"')
    keeping.write("more.cyl", "# more\n")
    keeping.commit("More")
    assert "uncommitted" not in keeping("lint").out
    if change == "a file gone":
        (keeping.folder / "more.cyl").unlink()
    else:
        name = {"a line": "more.cyl", "a file": "other.cyl", "a pack": "rules/own.cylpack"}[change]
        keeping.write(name, (keeping.text(name) if change != "a file" else "") + "# a word\n")
    assert "    with uncommitted changes    " in keeping("lint").out


def test_where_no_revision_holds_it_no_commit_is_named(here):
    here.write("a.cyl", 'department "A"\n')
    assert f"\ncylfile {__version__}    in no commit    rules SHA-256 " in here("lint").out
