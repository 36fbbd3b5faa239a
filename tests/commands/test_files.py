"""
Which files make up the record: the search, links, what cannot be read.
"""

import os
import shutil
import sys
import tempfile
from contextlib import contextmanager
from pathlib import Path

import pytest

from cylfile.cannot import CannotDo
from cylfile.files.ledger_files import find_ledgers, read_ledgers
from support.house_record import BAD, DEPARTMENT, GOOD
from support.running import Here


def found(*paths: str) -> list[str]:
    return [file.shown for file in find_ledgers(list(paths))]


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
    assert found("ledger.txt", ".hidden.cyl") == ["ledger.txt", ".hidden.cyl"]


def test_each_file_counts_once_by_whatever_path(folder):
    touch(folder, "sub/a.cyl")
    assert found(".", "sub/a.cyl", str(folder / "sub"), "./sub/../sub/a.cyl") == ["sub/a.cyl"]


def test_paths_are_shown_from_the_current_folder(folder, monkeypatch):
    touch(folder, "a.cyl", "sub/b.cyl", "other/c.cyl")
    monkeypatch.chdir(folder / "sub")
    assert found(str(folder / "sub"), "..") == ["b.cyl", "../a.cyl", "../other/c.cyl"]


def test_rings_of_links_end(folder):
    touch(folder, "sub/a.cyl")
    os.symlink(folder, folder / "sub" / "up")
    os.symlink(".", folder / "sub" / "here")
    os.symlink("self.cyl", folder / "self.cyl")
    assert found() == ["self.cyl", "sub/a.cyl"]


def test_a_linked_folder_is_searched_and_a_linked_file_read_once(folder):
    touch(folder, "real/z.cyl", "tree/a.cyl")
    os.symlink(folder / "real", folder / "tree" / "linked")
    os.symlink(folder / "tree" / "a.cyl", folder / "tree" / "b.cyl")
    assert found("tree") == ["tree/a.cyl", "tree/linked/z.cyl"]


def test_a_folder_goes_by_its_own_path_before_a_link_to_it(folder):
    touch(folder, "zoo/a.cyl")
    os.symlink(folder / "zoo", folder / "also")
    assert found() == ["zoo/a.cyl"]


def test_a_folder_without_ledgers_cannot_be_read(folder):
    touch(folder, "notes.txt", "sub/more.txt")
    with pytest.raises(CannotDo, match=r"^there is no \*.cyl file in this folder; name the folder"):
        found()
    with pytest.raises(CannotDo, match=r"^there is no \*.cyl file in `sub`; "):
        found("sub")


def test_a_missing_path_cannot_be_read(folder):
    with pytest.raises(CannotDo, match=r"^there is no file or folder `gone.cyl`; "):
        found("gone.cyl")


def test_a_broken_link_in_a_folder_is_a_finding(folder):
    touch(folder, "a.cyl")
    os.symlink("gone.cyl", folder / "b.cyl")
    sources, faults = read_ledgers(find_ledgers(["."]))
    assert [source.path for source in sources] == ["a.cyl", "b.cyl"]
    (fault,) = faults
    assert (fault.span.source.path, fault.span.line, fault.rule) == ("b.cyl", 1, "unreadable-line")
    assert fault.text == "the file cannot be read: no such file or directory"


def test_a_pipe_that_lies_about_in_a_folder_is_a_finding_and_no_wait(folder):
    touch(folder, "a.cyl")
    os.mkfifo(folder / "b.cyl")
    _, (fault,) = read_ledgers(find_ledgers(["."]))
    assert fault.text == "the file cannot be read: it is no regular file"


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
def test_what_may_not_be_read_is_a_finding_in_a_folder_and_status_2_by_name(open_folder):
    run = Here(Path(open_folder), "2026-11-25")
    for name, text in (("department.cyl", DEPARTMENT), ("good.cyl", GOOD), ("bad.cyl", BAD)):
        run.write(name, text).chmod(0o644)
    # All that the program is made of is read while everything may be.
    assert "cannot be read" not in run("lint").out + run("lint", "--as", "lines").out
    (run.folder / "closed").mkdir()
    (run.folder / "closed").chmod(0)
    (run.folder / "bad.cyl").chmod(0)
    with bound_by_permissions():
        lines, named, page = run("lint", "--as", "lines"), run("lint", "bad.cyl"), run("lint")
    assert (lines.status, lines.err) == (1, "")
    assert "bad.cyl:1:1: danger: unreadable-line: the file cannot be read: permission denied\n" in lines.out
    assert "closed:1:1: danger: unreadable-line: the file cannot be read: permission denied\n" in lines.out
    message = "cylfile: `bad.cyl` cannot be read (permission denied); see that it is a file you may read\n"
    assert named == (2, "", message)
    assert "Not about one cylinder" in page.out


def test_with_a_file_unread_no_cylinder_can_be_cleared(house):
    os.symlink("gone.cyl", house.folder / "lost.cyl")
    page = house("lint").out
    assert "K-1        Plain steel" not in page
    assert "\nNo cylinder can be cleared for filling: lost.cyl could not be read.\n" in page
