"""
Which files make up the record: the search, links, what cannot be read.
"""

import os
import shutil
import socket
import sys
import tempfile
from contextlib import contextmanager
from pathlib import Path

import pytest

from cylfile.cannot import CannotDo
from cylfile.files.records import records_on_disk
from support.house_record import BAD, DEPARTMENT, GOOD
from support.running import Here


def found(*paths: str) -> list[str]:
    """The files of the one record that paths lead to."""
    (record,) = records_on_disk(list(paths))
    return [source.path for source in record.texts().sources]


def said(*paths: str) -> list[tuple[str, str, str]]:
    """(rule, path, text) of what could not be read of a record."""
    (record,) = records_on_disk(list(paths))
    faults = record.texts().faults
    return [(fault.rule, fault.span.source.path, fault.text) for fault in faults if fault.rule != "no-rules"]


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return tmp_path


def touch(folder, *names: str) -> None:
    for name in names:
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text("")


def test_folders_are_searched_in_order_and_not_in_dot_folders(folder):
    touch(folder, "b.cyl", "a.cyl", "sub/c.cyl", "sub/deep/d.cyl", "SHOUT.CYL")
    touch(folder, ".git/e.cyl", "sub/.hidden/f.cyl", ".#a.cyl", "notes.txt", "cyl", "x.cyl.bak")
    assert found() == ["SHOUT.CYL", "a.cyl", "b.cyl", "sub/c.cyl", "sub/deep/d.cyl"]
    assert found("sub") == ["sub/c.cyl", "sub/deep/d.cyl"]


def test_a_file_by_name_counts_whatever_its_ending(folder):
    touch(folder, "ledger.txt", ".hidden.cyl")
    assert found("ledger.txt", ".hidden.cyl") == [".hidden.cyl", "ledger.txt"]


def test_each_file_counts_once_by_whatever_path(folder):
    touch(folder, "sub/a.cyl")
    assert found(".", "sub/a.cyl", str(folder / "sub"), "./sub/../sub/a.cyl") == ["sub/a.cyl"]


def test_paths_are_shown_from_the_current_folder(folder, monkeypatch):
    touch(folder, "a.cyl", "sub/b.cyl", "other/c.cyl")
    monkeypatch.chdir(folder / "sub")
    assert found(str(folder / "sub"), "..") == ["../a.cyl", "../other/c.cyl", "b.cyl"]


def test_rings_of_links_end(folder):
    touch(folder, "sub/a.cyl")
    os.symlink(folder, folder / "sub" / "up")
    os.symlink(".", folder / "sub" / "here")
    assert found() == ["sub/a.cyl"]
    os.symlink("self.cyl", folder / "self.cyl")
    ((rule, path, text),) = said()
    assert (rule, path) == ("unreadable-folder", "self.cyl") and text.endswith("symbolic links")


def test_links_inside_the_record_lead_to_files_that_are_read_once(folder):
    touch(folder, "real/z.cyl", "a.cyl", ".store/b.cyl", ".store/notes.txt", "real/.deep/c.cyl")
    (folder / "department.cyl").write_text('department "A"\n')
    os.symlink("real", folder / "linked")
    os.symlink("a.cyl", folder / "again.cyl")
    os.symlink(".store/b.cyl", folder / "b.cyl")
    os.symlink(folder / "real" / ".deep", folder / "deep")
    os.symlink(".store/notes.txt", folder / "notes.txt")
    assert found() == [".store/b.cyl", "a.cyl", "department.cyl", "real/.deep/c.cyl", "real/z.cyl"]
    assert said() == []


def test_a_link_out_of_the_record_is_said_and_not_followed(folder):
    touch(folder, "mine/a.cyl", "elsewhere/secret.cyl", "elsewhere/picture.png")
    (folder / "mine" / "department.cyl").write_text('department "A"\n')
    (folder / "elsewhere" / "secret.cyl").write_text("cylinder SECRET\n")
    os.symlink(folder / "elsewhere", folder / "mine" / "all")
    os.symlink("../elsewhere/secret.cyl", folder / "mine" / "one.cyl")
    os.symlink("../elsewhere/picture.png", folder / "mine" / "picture.png")
    text = "this is a link that leads out of the record, and was not followed"
    assert said("mine") == [("unreadable-folder", "mine/all", text), ("unreadable-folder", "mine/one.cyl", text)]
    (record,) = records_on_disk(["mine/one.cyl"])
    assert all("SECRET" not in source.text for source in record.texts().sources)
    assert record.asked_shown == {"mine/one.cyl"}


def test_a_folder_without_ledgers_cannot_be_read(folder):
    touch(folder, "notes.txt", "sub/more.txt")
    with pytest.raises(CannotDo, match=r"^there is no \*.cyl file in this folder; name the folder"):
        found()
    with pytest.raises(CannotDo, match=r"^there is no \*.cyl file in `sub`; "):
        found("sub")


def test_a_missing_path_cannot_be_read(folder):
    with pytest.raises(CannotDo, match=r"^there is no file or folder `gone.cyl`; "):
        found("gone.cyl")


def test_a_link_to_nothing_is_a_finding(folder):
    touch(folder, "a.cyl")
    os.symlink("gone.cyl", folder / "b.cyl")
    os.symlink("/no/such/share", folder / "share")
    assert found() == ["a.cyl", "b.cyl", "share"]
    text = "this is a link, and what it leads to cannot be looked into: no such file or directory"
    assert said() == [("unreadable-folder", "b.cyl", text), ("unreadable-folder", "share", text)]


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="there are no such pipes there")
def test_what_is_no_file_is_said_and_not_opened(folder):
    touch(folder, "a.cyl")
    os.mkfifo(folder / "b.cyl")
    os.mkfifo(folder / ".pipe")
    os.symlink(".pipe", folder / "c.cyl")
    os.symlink("/dev/zero", folder / "d.cyl")
    with socket.socket(socket.AF_UNIX) as listening:
        listening.bind("e.cyl")
    assert said() == [
        ("unreadable-folder", "b.cyl", "this is a pipe, and no ledger"),
        ("unreadable-folder", "c.cyl", "this is a link to a pipe, and no ledger"),
        ("unreadable-folder", "d.cyl", "this is a link to a device, and no ledger"),
        ("unreadable-folder", "e.cyl", "this is a socket, and no ledger"),
    ]
    assert [text for _, _, text in said("b.cyl")] == ["this is a pipe, and no ledger"]


def test_a_file_that_is_written_to_all_the_time_is_said(folder, monkeypatch):
    touch(folder, "a.cyl")
    real, count = os.fstat, iter(range(100))

    def changing(opened):
        (folder / "a.cyl").write_text("#" * next(count))
        return real(opened)

    monkeypatch.setattr(os, "fstat", changing)
    assert [text for _, _, text in said()] == ["the file cannot be read: it changed while it was read"]


def test_a_name_too_long_is_said(folder):
    touch(folder, "a.cyl")
    deep = "d" * 250
    here = os.getcwd()
    for _ in range(20):
        os.mkdir(deep)
        os.chdir(deep)
    (folder / "x").write_text("")
    os.chdir(here)
    ((rule, _, text),) = said()
    assert (rule, text) == ("unreadable-folder", "the folder cannot be looked into: file name too long")


@pytest.mark.skipif(sys.platform in ("win32", "darwin"), reason="there they are one file")
def test_names_that_are_one_on_other_machines_are_said(folder):
    touch(folder, "Fills.cyl", "fills.cyl", "caf\u00e9.cyl", "cafe\u0301.cyl", "other.cyl")
    assert sorted((rule, path) for rule, path, _ in said()) == [
        ("file-names-alike", "caf\u00e9.cyl"),
        ("file-names-alike", "fills.cyl"),
    ]
    assert any("`cafe\\u{301}.cyl`" in text for _, _, text in said())


# Which record a path leads to.


@pytest.fixture
def county(folder):
    """Two departments, a common folder that is nobody's, and a file in it."""
    for name in ("ash", "birch"):
        touch(folder, f"{name}/fills/2026.cyl", f"{name}/cards.cyl")
        (folder / name / "department.cyl").write_text(f'department "{name.title()}"\n  rules  us-dot\n')
    touch(folder, "loose/x.cyl")
    return folder


def records(*paths: str) -> list[tuple]:
    return [(each.shown, each.asked_shown and sorted(each.asked_shown)) for each in records_on_disk(list(paths))]


def test_a_folder_leads_to_the_records_in_and_below_it(county):
    assert records("ash", "birch") == records("birch", "ash") == [("ash", None), ("birch", None)]
    assert records() == [("ash", None), ("birch", None), ("loose", None)]
    assert [source.path for source in records_on_disk(["ash"])[0].texts().sources] == [
        "ash/cards.cyl",
        "ash/department.cyl",
        "ash/fills/2026.cyl",
    ]


def test_a_folder_below_and_a_file_lead_to_the_record_above(county, monkeypatch):
    assert records("ash/fills") == [("ash", None)]
    assert records("ash/fills/2026.cyl", "ash/cards.cyl") == [("ash", ["ash/cards.cyl", "ash/fills/2026.cyl"])]
    assert records("ash/fills/2026.cyl", "ash") == [("ash", None)]
    monkeypatch.chdir(county / "ash" / "fills")
    assert records() == [("..", None)]
    assert records("2026.cyl") == [("..", ["2026.cyl"])]


def test_a_record_within_a_record_is_its_own(county):
    (county / "department.cyl").write_text('department "All"\n')
    assert records("ash") == [("ash", None)]
    assert records() == [(".", None), ("ash", None), ("birch", None)]
    assert [source.path for source in records_on_disk(["."])[0].texts().sources] == ["department.cyl", "loose/x.cyl"]
    assert records("loose") == [(".", None)]


def test_the_search_upward_ends_at_the_root_of_the_work_tree(county):
    (county / "department.cyl").write_text('department "All"\n')
    (county / "loose" / ".git").mkdir()
    (record,) = records_on_disk(["loose/x.cyl"])
    (fault,) = record.texts().faults
    assert (record.department, fault.rule, fault.span.source.path) == (None, "no-rules", "loose/x.cyl")
    assert fault.text.startswith("no file beside it or above declares the department, up to `loose`, so only the core")


def test_what_is_said_of_a_file_is_judged_with_its_record(house):
    whole, of_file = house("lint", "--as", "lines"), house("lint", "cards/bad.cyl", "--as", "lines")
    assert whole.out and of_file.out == whole.out
    (house.folder / "cards" / "more.cyl").write_text("2026-03-05 filled K-2 to 2216 psi\n")
    of_file = house("lint", "cards/bad.cyl", "--as", "lines")
    assert of_file.out == whole.out
    assert "cards/more.cyl:1:1: danger: past-test" in house("lint", "cards/more.cyl", "--as", "lines").out
    page = house("lint", "cards/more.cyl").out
    assert "only what is said of cards/more.cyl" in page and "1 cylinder, 1 entry" in page
    # Of what could not be read at all, nobody knows whom it is about.
    (house.folder / "cards" / "away").symlink_to("/no/such/share")
    for asked in (("cards/good.cyl",), ("--cylinder", "K-1")):
        status, out, err = house("lint", *asked, "--as", "lines")
        assert (status, err, out.count("\n")) == (1, "", 1), out
        assert out.startswith("cards/away:1:1: danger: unreadable-folder: "), out


def test_a_pack_common_to_a_county_lies_above_its_records(house):
    (house.folder / "ash").mkdir()
    for name in ("department.cyl", "cards"):
        (house.folder / name).rename(house.folder / "ash" / name)
    text = (house.folder / "ash" / "department.cyl").read_text().replace("house.cylpack", "../house.cylpack")
    (house.folder / "ash" / "department.cyl").write_text(text)
    outside = "unreadable-line: the path `../house.cylpack` leads out of the record"
    assert outside in house("lint", "ash", "--as", "lines").out
    (house.folder / ".git").mkdir()
    assert "danger: past-test" in house("lint", "ash", "--as", "lines").out
    (house.folder / "ash" / "department.cyl").write_text(text.replace("../house", "../../house"))
    assert "the path `../../house.cylpack` leads out of the record" in house("lint", "ash", "--as", "lines").out


def test_a_folder_by_the_name_of_a_ledger_is_a_folder(folder):
    touch(folder, "year.cyl/a.cyl")
    assert found() == ["year.cyl/a.cyl"]


@pytest.fixture
def open_folder():
    """A folder that everybody may enter, as the test's own may not be."""
    path = tempfile.mkdtemp()
    os.chmod(path, 0o755)
    yield path
    shutil.rmtree(path)


@contextmanager
def bound_by_permissions():
    """Root may read everything; for a while this process is somebody who may not."""
    if os.geteuid() != 0:
        yield
        return
    os.seteuid(65534)
    try:
        yield
    finally:
        os.seteuid(0)


@pytest.mark.skipif(sys.platform == "win32", reason="permissions are other things there")
def test_what_may_not_be_read_is_a_finding(open_folder):
    run = Here(Path(open_folder), "2026-11-25")
    for name, text in (("department.cyl", DEPARTMENT), ("good.cyl", GOOD), ("bad.cyl", BAD)):
        run.write(name, text).chmod(0o644)
    # All that the program is made of is read while everything may be.
    assert "cannot be read" not in run("lint").out + run("lint", "--as", "lines").out
    (run.folder / "closed").mkdir()
    (run.folder / "closed").chmod(0)
    (run.folder / "bad.cyl").chmod(0)
    with bound_by_permissions():
        lines, named, page = run("lint", "--as", "lines"), run("lint", "bad.cyl", "--as", "lines"), run("lint")
    assert (lines.status, lines.err) == (1, "")
    bad = "bad.cyl:1:1: danger: unreadable-line: the file cannot be read: permission denied\n"
    closed = "closed:1:1: danger: unreadable-folder: the folder cannot be looked into: permission denied\n"
    assert bad in lines.out and closed in lines.out
    assert named == (1, bad + closed, "")
    assert "Not about one cylinder" in page.out


def test_with_a_file_unread_no_cylinder_can_be_cleared(house):
    os.symlink("gone.cyl", house.folder / "lost.cyl")
    page = house("lint").out
    assert "K-1        Plain steel" not in page
    assert "\nNo cylinder can be cleared for filling: lost.cyl could not be read.\n" in page
