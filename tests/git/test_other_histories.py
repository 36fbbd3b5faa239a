"""A clone that shows another history, a name that means two things, a record that has moved: nothing is passed over."""

import json
import subprocess

import pytest

from support.keeping import CARD, HEAD, SHEET


@pytest.fixture
def grown(keeping):
    """Three revisions; the middle one takes a fill away, the last one brings it back."""
    sheets = keeping.text("sheets.cyl")
    keeping.write("sheets.cyl", sheets.split("fill sheet 2023-03-02")[0])
    keeping.commit("A fill taken away", "2023-04-01")
    keeping.write("sheets.cyl", sheets)
    keeping.commit("Brought back", "2023-05-01")
    return keeping


def test_a_graft_shows_no_other_history(grown):
    ids = grown.git("rev-list", "HEAD").split()
    grafts = grown.folder / ".git" / "info" / "grafts"
    grafts.parent.mkdir(exist_ok=True)
    grafts.write_text(f"{ids[0]} {ids[2]}\n")
    status, out, err = grown("compare", "HEAD~1", "HEAD")
    assert ids[1] in out and "added   1" in out
    note = "cylfile: this clone has grafts (.git/info/grafts), which show another history; they are not followed\n"
    assert err == note
    assert grown("lint", "--since", "HEAD~1").err == note


def test_a_replacement_shows_no_other_file(grown):
    grown.git("replace", "HEAD~1", "HEAD~2")
    status, out, err = grown("compare", "HEAD~1", "HEAD")
    assert "added   1" in out
    assert err.startswith("cylfile: this clone has replacements (`git replace -l`)") and err.count("\n") == 1


def test_a_shallow_clone_says_so(grown, tmp_path):
    clone = tmp_path / "clone"
    grown.git("clone", "--quiet", "--depth=2", f"file://{grown.folder}", str(clone))
    grown.folder = clone
    status, out, err = grown("compare", "HEAD~1")
    assert "added   1" in out and "holds only the newest part of the history" in err
    status, out, err = grown("compare", "HEAD~2")
    assert (status, out) == (2, "") and "run `git fetch --unshallow` first" in err


@pytest.mark.parametrize("shadow", ["refs/audit", ".git/audit", "refs/heads/audit"])
def test_nothing_shadows_a_tag(grown, shadow):
    grown.git("tag", "audit", "HEAD~1")
    other = grown.git("rev-parse", "HEAD").strip()
    if shadow == ".git/audit":
        (grown.folder / ".git" / "audit").write_text(f"{other}\n")
    else:
        grown.git("update-ref", shadow, other)
    status, out, err = grown("compare", "audit", "HEAD")
    message = "cylfile: `audit` is the name of more than one thing in git; write refs/tags/audit or refs/heads/audit\n"
    assert (status, out, err) == (2, "", message)
    assert "added   1" in grown("compare", "refs/tags/audit", "HEAD").out


def test_a_file_in_gits_folder_is_no_revision(grown):
    (grown.folder / ".git" / "audit").write_text(grown.git("rev-parse", "HEAD"))
    status, out, err = grown("compare", "audit~1", "HEAD")
    assert (status, out) == (2, "") and "`audit` is no tag and no branch but a file in git's own folder" in err


def test_a_record_whose_folder_had_another_name_is_found(keeping):
    top = keeping.folder
    keeping.git("tag", "begun")
    (keeping.folder / "Blue y").mkdir()
    for name in ("department.cyl", "cards.cyl", "sheets.cyl"):
        (keeping.folder / name).rename(keeping.folder / "Blue y" / name)
    keeping.commit("Moved")
    (keeping.folder / "Blue y").rename(keeping.folder / "Red")
    for revision in ("begun", "HEAD"):
        for place, where in ((".", "Red"), ("Red", ".")):
            keeping.folder = top / place
            status, out, err = keeping("compare", revision, where)
            assert (status, err) == (0, "") and "Both say the same" in out, (revision, place)
            assert keeping("compare", revision, "--folder", where).status == 0


def test_a_bare_clone_and_a_second_work_tree(grown, tmp_path):
    bare, tree = tmp_path / "bare.git", tmp_path / "second"
    grown.git("clone", "--quiet", "--bare", str(grown.folder), str(bare))
    grown.git("worktree", "add", "--quiet", "--detach", str(tree), "HEAD~1")
    grown.folder = bare
    status, out, err = grown("compare", "HEAD~1", "HEAD")
    assert "added   1" in out and err == ""
    status, out, err = grown("compare", "HEAD~1")
    assert (status, out) == (2, "") and "name two revisions" in err
    grown.folder = tree
    assert "Both say the same" in grown("compare", "HEAD").out
    assert "added   1" in grown("compare", "HEAD", "main").out


def test_a_repository_of_sha256(keeping, tmp_path):
    folder = tmp_path / "long"
    folder.mkdir()
    for name in ("department.cyl", "cards.cyl", "sheets.cyl"):
        (folder / name).write_text(keeping.text(name))
    for arguments in (("init", "--quiet", "--object-format=sha256"), ("add", "."), ("commit", "--quiet", "-m", "x")):
        subprocess.run(["git", *arguments], cwd=folder, check=True, env=keeping.environment())
    keeping.folder = folder
    status, out, err = keeping("compare", "HEAD")
    assert (status, err) == (0, "") and "Both say the same" in out
    for was, now in (("2216 psi", "2116 psi"), ("2116 psi", "2216 psi")):
        keeping.replace("sheets.cyl", was, now)
        keeping.commit("Altered")
    out = keeping("compare", "HEAD~2..HEAD", "--each-revision").out
    assert "things altered between the two that neither shows: 2" in out and len(keeping.git("rev-parse", "HEAD")) == 65


def test_a_repository_within_is_read_where_it_is_here_and_said_where_not(grown, tmp_path):
    inner, fill = tmp_path / "inner", "2023-04-01 filled K-1 to 2100 psi\n"
    inner.mkdir()
    (inner / "more.cyl").write_text(fill)
    for arguments in (("init", "--quiet"), ("add", "."), ("commit", "--quiet", "-m", "x")):
        subprocess.run(["git", *arguments], cwd=inner, check=True, env=grown.environment())
    grown.git("-c", "protocol.file.allow=always", "submodule", "--quiet", "add", str(inner), "inner")
    start = grown.commit("A repository within")
    status, out, err = grown("compare", "HEAD")
    assert (status, err) == (0, "") and "Both say the same.\n" in out and "uncommitted" not in out
    grown.write("inner/more.cyl", fill.replace("2100", "2050"))
    assert grown("compare", "HEAD").status == 1
    grown.git("-C", "inner", "commit", "--quiet", "--all", "--message", "Altered there")
    assert grown("compare", "HEAD", "--staged").status == 0
    bad = grown.commit("Altered here")
    for command in (("HEAD~1..HEAD",), ("HEAD~1..HEAD", "--each-revision"), ("HEAD~1", "--staged")):
        status, out, err = grown("compare", *command)
        assert (status, err) == (1, "") and "entries altered or removed: 1" in out, command
        assert ("--each-revision" in command) == (f"commit {bad}\n" in out)
    grown.git("clone", "--quiet", str(grown.folder), str(tmp_path / "apart"))
    grown.folder = tmp_path / "apart"
    status, out, err = grown("compare", f"{start}..HEAD")
    assert (
        status == 1
        and err.count("inner: this is another repository within this one, and the revision does not hold its files")
        == 2
    )
    assert out.count("could not be read: 1 place, inner:1") == 2 and "as far as they could be read" in out
    assert grown("compare", "HEAD").status == grown("lint", "--fail-at", "danger", as_of="2026-01-01").status == 1
    (grown.folder / "inner").rmdir()
    (grown.folder / "inner").mkdir()
    lines = grown("lint", "--as", "lines", as_of="2026-01-01").out
    assert (
        "inner:1:1: danger: unreadable-folder: this is another repository within this one, and is not checked out\n"
        in lines
    )
    (grown.folder / "empty").mkdir()
    assert "\nempty:" not in grown("lint", "--as", "lines", as_of="2026-01-01").out


def test_a_folder_that_a_link_names(keeping, tmp_path):
    """Inside the repository, from elsewhere on the disk, and in a bare clone."""
    top = keeping.folder
    keeping.write("real/.data/old.cyl", "2023-04-01 filled K-1 to 2100 psi\n")
    (top / "real" / "fills").symlink_to(".data")
    for name in ("department.cyl", "cards.cyl", "sheets.cyl"):
        (top / name).rename(top / "real" / name)
    (top / "now").symlink_to("real")
    keeping.commit("Links")
    keeping.replace("real/.data/old.cyl", "2100", "2050")
    keeping.commit("Altered")
    keeping.git("clone", "--quiet", "--bare", str(top), str(tmp_path / "bare.git"))
    (tmp_path / "elsewhere").symlink_to(top / "real")
    for place, arguments in (
        (top, ["HEAD~1", "now"]),
        (top, ["HEAD~1", "real"]),
        (top, ["HEAD~1", "HEAD", "--folder", "now", "--each-revision"]),
        (top / "now", ["HEAD~1", "."]),
        (tmp_path, ["HEAD~1", "elsewhere", "--each-revision"]),
        (tmp_path / "bare.git", ["HEAD~1..HEAD", "--each-revision"]),
        (tmp_path / "bare.git", ["HEAD~1", "HEAD", "--folder", "now"]),
        (tmp_path, ["HEAD~1..HEAD", "--folder", "bare.git/real", "--each-revision"]),
        (tmp_path, ["HEAD~1", "HEAD", "--folder", "bare.git"]),
    ):
        keeping.folder = place
        status, out, err = keeping("compare", *arguments)
        assert (status, err) == (1, "") and "entries altered or removed: 1" in out, (place, arguments, err)
    keeping.folder = tmp_path
    assert "there is no folder `bare.gi/real`" in keeping("compare", "HEAD~1..HEAD", "--folder", "bare.gi/real").err


def test_lint_and_seals_look_for_the_record_by_its_department_too(keeping):
    keeping.write("old/x.cyl", "# a folder that stays\n")
    for name in ("department.cyl", "cards.cyl", "sheets.cyl"):
        (keeping.folder / name).rename(keeping.folder / "old" / name)
    assert keeping("seal", "--through", "2023-06-30", "--by", "vale", "old").status == 0
    keeping.commit("Moved and sealed")
    (keeping.folder / "old").rename(keeping.folder / "new name")
    keeping.replace("new name/sheets.cyl", "2216 psi", "2116 psi")
    keeping.commit("Renamed and altered")
    done = keeping("lint", "--since", "HEAD~1", "new name")
    assert done.status == 1 and "seal-broken" in done.out, done
    assert "2216 psi became 2116 psi" in keeping("seal", "--check", "new name").out


def test_a_record_below_another_is_another(keeping):
    for name, text in (
        ("department.cyl", HEAD.replace("Hollin Creek", "Elm")),
        ("cards.cyl", CARD),
        ("sheets.cyl", SHEET),
    ):
        keeping.write(f"below/{name}", text)
    keeping.commit("A record below")
    for name in ("sheets.cyl", "below/sheets.cyl"):
        keeping.replace(name, "2216 psi", "2116 psi")
        keeping.commit("Altered")
    for arguments in (["HEAD~2..HEAD"], ["HEAD~2"], ["HEAD~2", "."]):
        for each in ([], ["--each-revision"]):
            status, out, err = keeping("compare", *arguments, *each)
            assert (status, err) == (1, "") and out.count("entries altered or removed: 1") == 2, (arguments, out)
            assert out.count("\ncommit ") == 2 * len(each)
    assert keeping("compare", "HEAD~2..HEAD~1", "--folder", "below", "--each-revision").status == 0
    # Before it was there, another history had lines without a department.
    keeping.git("checkout", "--quiet", "--orphan", "lone")
    keeping.git("rm", "-rqf", ".")
    keeping.write("lone.cyl", "2023-05-01 gauged K-1 900 psi\n")
    keeping.commit("Lone")
    keeping.git("checkout", "--quiet", "main")
    keeping.git("merge", "--quiet", "--no-edit", "--allow-unrelated-histories", "lone")
    found = json.loads(keeping("compare", "HEAD~4..HEAD", "--each-revision", "--as", "json").out)
    (below,) = [one for one in found["records"] if one["folder"] == "below"]
    assert [step["commit"]["subject"] for step in below["revisions"]] == ["Altered"], below


def test_a_record_whose_folder_and_department_were_both_renamed_is_the_same(keeping):
    keeping.replace("department.cyl", '"Hollin Creek Fire"', '"Hollin Fire"')
    keeping.commit("Renamed")
    (keeping.folder / "sub").mkdir()
    for name in ("department.cyl", "cards.cyl", "sheets.cyl"):
        keeping.git("mv", name, f"sub/{name}")
    keeping.commit("Moved")
    keeping.git("mv", "sub", "below")
    keeping.commit("Moved again")
    keeping.replace("below/department.cyl", '"Hollin Fire"', '"Fire"')
    keeping.commit("Renamed again")
    found = json.loads(keeping("compare", "HEAD~4..HEAD", "--each-revision", "--as", "json").out)
    assert found["grave"] == {"lines of cards, people and others altered or removed": 1}, found["revisions"]
    assert [step["commit"]["subject"] for step in found["revisions"]] == ["Renamed", "Renamed again"]
    done = keeping("compare", "HEAD~4..HEAD~2", "--each-revision", "--as", "json")
    assert json.loads(done.out)["grave"] == {"lines of cards, people and others altered or removed": 1}, done
