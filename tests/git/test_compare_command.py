"""`cylfile compare` from end to end: what names a state, what is printed, and the exit status."""

import csv
import io
import json

import pytest

from support.keeping import CARD, HEAD, SHEET

STRUCK = '  09:00  K-1  to 2200 psi  at 68 F  struck 2023-03-02 by vale "gauge stuck"\n'


def counts(keeping, *arguments) -> dict:
    return json.loads(keeping("compare", "--as", "json", *arguments).out)["counts"]


# What names a state.


def test_without_a_new_state_it_is_what_is_on_disk(keeping):
    keeping.append("sheets.cyl", "  10:00  K-1  to 2100 psi\n")
    status, out, err = keeping("compare", "HEAD")
    assert (status, err) == (0, "")
    assert "added   1 in the order of days, 2023-03-02: 1 filled" in out
    assert "Nothing was altered or removed" in out


def test_revisions_by_every_kind_of_name(keeping):
    keeping.git("tag", "--annotate", "--message", "Audited", "audit-2023")
    keeping.git("branch", "kept/old")
    keeping.append("sheets.cyl", "  10:00  K-1  to 2100 psi\n")
    keeping.commit("A fill")
    for old in (
        "HEAD~1",
        "audit-2023",
        ":/Begin the record",
        "kept/old",
        "main^",
        keeping.git("rev-parse", "HEAD~1").strip()[:8],
    ):
        for named in ([old], [old, "main"], [f"{old}..main"], [f"{old}.."], [f"{old}...main"]):
            assert counts(keeping, *named)["added"] == 1, named
    assert counts(keeping, "main..kept/old")["removed"] == 1
    assert counts(keeping, "HEAD", ".")["added"] == 0


def test_three_dots_compare_with_what_both_have_in_common(keeping):
    keeping.git("checkout", "--quiet", "-b", "station-2")
    keeping.append("sheets.cyl", "  10:00  K-1  to 2100 psi\n")
    keeping.commit("A fill at station 2")
    keeping.git("checkout", "--quiet", "main")
    keeping.append("cards.cyl", "  2023-03-03  gauged 2200 psi\n")
    keeping.commit("A gauge reading")
    # Beside main itself, what only main has is missing, and the fill is dated before it.
    two_dots = counts(keeping, "main..station-2")
    assert (two_dots["removed"], two_dots["backdated"], two_dots["added"]) == (1, 1, 0)
    assert counts(keeping, "main...station-2")["added"] == 1
    assert counts(keeping, "main...station-2")["removed"] == 0


def test_the_working_tree_is_left_alone(keeping):
    keeping.append("sheets.cyl", "  10:00  K-1  to 2100 psi\n")
    keeping.write("untracked.cyl", "# new\n")
    before = everything_in(keeping.folder)
    keeping("compare", "HEAD")
    assert everything_in(keeping.folder) == before


def everything_in(folder) -> dict:
    """Every file of a folder, git's own among them, with its bytes and the time of its last change."""
    files = [path for path in folder.rglob("*") if path.is_file()]
    return {str(path): (path.read_bytes(), path.stat().st_mtime_ns) for path in files}


def test_folders_and_files(keeping, tmp_path):
    for name, sheet in (("was", SHEET), ("is", SHEET.replace("2216 psi", "2215 psi"))):
        keeping.write(f"../{name}/all.cyl", HEAD + CARD + sheet)
    assert counts(keeping, "../was", "../is")["changed"] == 1
    assert counts(keeping, "../was/all.cyl", "../is/all.cyl")["changed"] == 1
    assert counts(keeping, "HEAD", "../record")["changed"] == 0
    assert counts(keeping, "HEAD", "sheets.cyl")["changed"] == 0


def test_a_record_in_a_folder_of_its_repository(keeping):
    keeping.git("mv", "department.cyl", "cards.cyl", "sheets.cyl", "-k", ".")
    for name in ("department.cyl", "cards.cyl", "sheets.cyl"):
        keeping.write(f"air/ledgers/{name}", keeping.text(name))
        (keeping.folder / name).unlink()
    keeping.write("elsewhere/other.cyl", CARD.replace("K-1", "X-1"))
    keeping.write("air/ledgers/.hidden/other.cyl", CARD.replace("K-1", "H-1"))
    keeping.commit("Move the record")
    keeping.append("air/ledgers/sheets.cyl", "  10:00  K-1  to 2100 psi\n")
    assert counts(keeping, "HEAD", "air/ledgers")["added"] == 1
    assert counts(keeping, "HEAD", "--folder", "air/ledgers")["added"] == 1
    # With the whole repository for a record, moving its files is no change.
    (keeping.folder / "elsewhere" / "other.cyl").unlink()
    assert counts(keeping, "HEAD~1")["altered_or_removed"] == 0
    keeping.folder = keeping.folder / "air" / "ledgers"
    assert counts(keeping, "HEAD")["added"] == 1
    found = json.loads(keeping("compare", "HEAD", "--as", "json").out)["entries"]
    assert found[0]["new"]["file"] == "sheets.cyl"


def test_names_that_git_would_quote(keeping):
    keeping.write('odd "näme"\t é.cyl', SHEET.replace("2023", "2022"))
    keeping.commit("An odd name")
    keeping.replace('odd "näme"\t é.cyl', "2216 psi", "2214 psi")
    found = json.loads(keeping("compare", "HEAD", "--as", "json").out)["entries"]
    assert [change["kind"] for change in found] == ["changed"]
    assert found[0]["old"]["file"] == 'odd "näme"\t é.cyl'


def test_rules_are_those_of_the_later_state(keeping):
    pack = 'pack house "House"\n  over us-dot\nlevel filled-past-test  notice\n'
    keeping.write("rules/house.cylpack", pack)
    keeping.replace("department.cyl", "rules  us-dot", 'rules  "rules/house.cylpack"')
    keeping.commit("House rules")
    keeping.append("sheets.cyl", "fill sheet 2024-05-01\n  K-1 to 2216 psi\n")
    keeping.replace("cards.cyl", "2023-01-10        hydro", "2018-01-10        hydro")
    keeping.commit("Past its test")
    found = json.loads(keeping("compare", "HEAD~1..HEAD", "--as", "json").out)["appeared"]
    assert [finding["level"] for finding in found if finding["rule"] == "filled-past-test"] == ["notice"] * 3
    # The packs of a revision are those that it held, whatever is on disk.
    (keeping.folder / "rules" / "house.cylpack").unlink()
    again = json.loads(keeping("compare", "HEAD~1..HEAD", "--as", "json").out)["appeared"]
    assert again == found


# What cannot be done.


@pytest.mark.parametrize(
    "arguments, message",
    [
        (["nonsense"], "git knows no revision `nonsense`; `git log --oneline` lists those there are"),
        (["HEAD~99"], "git knows no revision `HEAD~99`; `git log --oneline` lists those there are"),
        (["HEAD", "-x"], "`cylfile compare` does not know `-x`."),
        (["HEAD:department.cyl"], "git knows no revision `HEAD:department.cyl`"),
        (["./nowhere"], "there is no file or folder `./nowhere`; check the name"),
        (["cards.cyl"], "`cards.cyl` and `.` hold the same files; name two folders that lie apart"),
        (["main"], "`main` is a revision and is on disk too; write ./main or refs/heads/main"),
        (["HEAD", "later"], "there was no *.cyl file in `later` at revision `HEAD`; name another revision"),
    ],
)
def test_what_cannot_be_done_is_one_line(keeping, arguments, message):
    keeping.write("main/all.cyl", CARD)
    keeping.write("later/all.cyl", 'department "Later Fire"\n' + CARD)
    status, out, err = keeping("compare", *arguments)
    assert (status, out) == (2, "")
    assert err.startswith(f"cylfile: {message}") and err.count("\n") == 1


def test_no_repository(keeping, tmp_path, monkeypatch):
    (tmp_path / "bare").mkdir()
    (tmp_path / "bare" / "all.cyl").write_text(CARD)
    keeping.folder = tmp_path / "bare"
    monkeypatch.setenv("GIT_CEILING_DIRECTORIES", str(tmp_path))
    status, _, err = keeping("compare", "HEAD")
    assert status == 2
    assert err == (
        "cylfile: `HEAD` is not a file or folder, and `.` is in no git repository; "
        "name two folders, or run this where git keeps the record\n"
    )


def test_no_git(keeping, monkeypatch):
    monkeypatch.setenv("PATH", "/nowhere")
    status, _, err = keeping("compare", "HEAD")
    assert status == 2
    assert err == (
        "cylfile: `HEAD` is not a file or folder, and git is not on this machine, or not on its PATH; "
        "install it, or name two folders\n"
    )


def test_a_shallow_clone_says_so(keeping, tmp_path):
    keeping.append("sheets.cyl", "  10:00  K-1  to 2100 psi\n")
    keeping.commit("A fill")
    shallow = tmp_path / "shallow"
    keeping.git("clone", "--quiet", "--depth", "1", f"file://{keeping.folder}", str(shallow))
    keeping.folder = shallow
    status, _, err = keeping("compare", "HEAD~1")
    assert status == 2
    assert "this clone holds only the newest part of the history: run `git fetch --unshallow` first" in err


def test_an_object_that_is_missing_says_so(keeping):
    blob = keeping.git("rev-parse", "HEAD:sheets.cyl").strip()
    (keeping.folder / ".git" / "objects" / blob[:2] / blob[2:]).unlink()
    status, _, err = keeping("compare", "HEAD")
    assert status == 2
    assert err.startswith(f"cylfile: git has no object {blob[:10]}; the clone is not whole")


def test_replaced_objects_are_not_believed(keeping):
    """With `git replace` one can show another history on one's own machine."""
    keeping.replace("sheets.cyl", "2216 psi", "2210 psi")
    other = keeping.git("hash-object", "-w", "sheets.cyl").strip()
    keeping.git("replace", keeping.git("rev-parse", "HEAD:sheets.cyl").strip(), other)
    assert "2210 psi" in keeping.git("show", "HEAD:sheets.cyl")
    assert counts(keeping, "HEAD")["changed"] == 1


# What is printed.


def alter(keeping):
    keeping.write("seals.cyl", f"sealed 2023-12-31 by vale 4 entries {'0' * 64}\n")
    keeping.commit("Seal")
    keeping.replace("sheets.cyl", "  09:00  K-1  to 2200 psi  at 68 F\n", STRUCK)
    keeping.replace("sheets.cyl", "K-1  to 2216 psi  at 70 F", "K-1  to 2116 psi  at 70 F")
    keeping.replace("cards.cyl", "  2018-02-01        entered service  at hc1\n", "")
    keeping.replace("cards.cyl", "made    2018-01", "made    2018-02")
    keeping.append("cards.cyl", "  2024-02-03  gauged 2100 psi\n")
    keeping.append("cards.cyl", '  2023-02-03  gauged 2100 psi  late 2024-02-03 by rowan "slip found"\n')
    keeping.append("cards.cyl", "  2023-02-04  gauged 2090 psi\n")


def test_the_page(keeping):
    alter(keeping)
    status, out, err = keeping("compare", "HEAD")
    assert (status, err) == (1, "")
    lines = [" ".join(line.split()) for line in out.splitlines()]
    assert lines[0] == "Hollin Creek Fire"
    assert lines[1].startswith("old HEAD (") and lines[1].endswith(", 2024-01-01)")
    assert lines[2:4] == ["new on disk", "both judged as of 2024-06-01, by the rules us-dot"]
    # What a seal with a made-up digest, a card and a sheet say: two entries, one card, two written in, one strike, one seal.
    assert "ALTERED OR REMOVED 6" in lines
    assert {"entries altered or removed: 2", "seals broken: 1"} <= set(lines[6:14])
    at = lines.index("K-1 2023-03-02 09:30 filled K-1 to 2216 psi at 70 F by vale on C1 at hc1 sheets.cyl:4")
    assert lines[at + 1 : at + 4] == ["old new", "to 2216 psi 2116 psi", "in the period sealed through 2023-12-31"]
    assert "K-1 removed was cards.cyl:5" in lines
    assert "made 2018-01 2018-02" in lines
    assert 'on 2023-03-02 by vale: "gauge stuck", BACKDATED: the old state tells of 2023-12-31' in lines
    assert 'on 2024-02-03 by rowan: "slip found"' in lines
    assert "backdated: 2 entries that are dated after it, and it has no `late`" in lines
    assert "added 1 in the order of days, 2024-02-03: 1 gauged" in lines
    assert any(line.startswith("DANGER 2018-01-31") or "Findings that are new" in line for line in lines)
    # What was altered or removed comes before all that follows the rules.
    assert out.index("ALTERED OR REMOVED") < out.index("gauge stuck")
    assert any(
        line.startswith("struck 1 answered 0 late 1 waived 0 backdated 1 added 1 cards and other blocks 1")
        for line in lines
    )


def test_every_entry_is_listed_when_asked_for(keeping):
    keeping.append("sheets.cyl", "  10:00  K-1  to 2100 psi\n  11:00  K-1  to 2101 psi\n")
    out = keeping("compare", "HEAD", "--all").out
    assert "2023-03-02 10:00 filled K-1 to 2100 psi" in out and "to 2101 psi" in out
    assert "2100 psi" not in keeping("compare", "HEAD").out


def test_nothing_differs(keeping):
    status, out, err = keeping("compare", "HEAD")
    assert (status, err) == (0, "")
    assert "\nBoth say the same.\n" in out


def test_json(keeping):
    alter(keeping)
    status, out, _ = keeping("compare", "HEAD", "--as", "json")
    assert status == 1 and out.isascii()
    said = json.loads(out)
    assert said["new"] == "on disk" and said["as_of"] == "2024-06-01" and said["rules"] == ["us-dot"]
    assert said["counts"] == {
        "changed": 1, "removed": 1, "struck": 1, "answered": 0, "late": 1, "backdated": 1, "added": 1, "altered_or_removed": 6,
        "appeared": len(said["appeared"]), "gone": len(said["gone"]),
    }  # fmt: skip
    changed = said["entries"][0]
    assert changed["clauses"] == [{"clause": "to", "old": "2216 psi", "new": "2116 psi"}]
    assert (changed["old"]["line"], changed["new"]["line"], changed["sealed_through"]) == (4, 4, "2023-12-31")
    struck = next(change for change in said["entries"] if change["kind"] == "struck")
    assert struck["new"]["struck"] == {"day": "2023-03-02", "by": "vale", "text": "gauge stuck"}
    assert said["blocks"] == [
        {
            "kind": "changed", "block": "cylinder", "name": "K-1",
            "properties": [{"property": "made", "old": ["2018-01"], "new": ["2018-02"]}],
            "altered_or_removed": True, "altered": ["made"], "struck": [],
            "old": {"file": "cards.cyl", "line": 1}, "new": {"file": "cards.cyl", "line": 1},
        }
    ]  # fmt: skip


def test_csv(keeping):
    alter(keeping)
    rows = list(csv.DictReader(io.StringIO(keeping("compare", "HEAD", "--as", "csv").out)))
    by_what = {(row["about"], row["what"]): row for row in rows}
    changed = by_what["entry", "changed"]
    assert [changed[key] for key in ("altered or removed", "name", "clause", "old", "new")] == [
        "altered or removed", "K-1", "to", "2216 psi", "2116 psi"
    ]  # fmt: skip
    assert by_what["entry", "late"]["why"] == "slip found" and by_what["entry", "late"]["by"] == "rowan"
    assert by_what["cylinder", "changed"]["clause"] == "made"
    assert ("finding", "appeared") in by_what


def test_csv_is_no_program(keeping):
    """Cells that a spreadsheet would run are disarmed, and names are no numbers."""
    keeping.append("cards.cyl", 'cylinder 0042\n  2024-01-02  remarked "=1+1"\n  owner "@SUM(A1)"\n')
    keeping.append("cards.cyl", '  2024-01-03  remarked "x"  late 2024-01-04 by vale "+1"\n')
    out = keeping("compare", "HEAD", "--as", "csv").out
    cells = [cell for row in csv.reader(io.StringIO(out)) for cell in row]
    assert not [cell for cell in cells if cell[:1] in tuple("=+-@\t\r\n") and cell]
    assert "'0042" in cells and "0042" not in cells
    assert "'+1" in cells and '"@SUM(A1)"' in cells


def test_text_of_the_record_is_made_visible(keeping):
    keeping.append("cards.cyl", '  2024-02-03  remarked "zero\u200bwidth [red]x[/red]"\n')
    keeping.append("cards.cyl", '  2023-02-03  remarked "\u2028[/nope]"\n')
    for form in ("page", "csv", "json"):
        for color in ("never", "always"):
            out = keeping("compare", "HEAD", "--all", "--as", form, "--color", color).out
            assert "\u200b" not in out and "\u2028" not in out
            assert "[red]x[/red]" in out and "[/nope]" in out


@pytest.mark.parametrize("columns", [30, 60, 100])
def test_old_and_new_stand_beside_each_other_where_there_is_room(keeping, columns):
    alter(keeping)
    status, out, _ = keeping.on_terminal(columns, "compare", "HEAD", TERM="xterm")
    lines = out.split("\n")
    assert status == 1
    assert all(len(line) <= columns for line in lines)
    beside = any(line.split() == ["to", "2216", "psi", "2116", "psi"] for line in lines)
    assert beside == (columns == 100)
    assert beside or "became" in out
