"""Nothing is lost: not among many writers, not when one is killed, not when the system refuses."""

import multiprocessing
import os
import random
import signal
import subprocess
import sys
import time

import pytest

from cylfile.cannot import CannotDo
from cylfile.commands import enter
from cylfile.files import locking, writing
from cylfile.files.locking import LOCK_NAME
from cylfile.files.writing import ChangedMeanwhile, locked, write_file, write_folder
from cylfile.record.reader import read_record
from cylfile.text.source import Source
from support.running import PROJECT
from support.small_record import DEPARTMENT, SHEETS

needs_posix = pytest.mark.skipif(sys.platform == "win32", reason="signals and rights are others there")


def test_a_file_is_new_or_what_was_read(tmp_path):
    one, new = tmp_path / "one", tmp_path / "new" / "deep" / "two"
    one.write_bytes(b"1")
    write_file(str(one), b"1", b"11")
    write_file(str(new), None, b"2")
    assert (one.read_bytes(), new.read_bytes()) == (b"11", b"2")
    for path, before in ((one, b"1"), (new, None), (tmp_path / "gone" / "f", b"?")):
        with pytest.raises(ChangedMeanwhile):
            write_file(str(path), before, b"x")
    assert sorted(path.name for path in tmp_path.rglob("*")) == ["deep", "new", "one", "two"]
    assert one.read_bytes() == b"11"


def test_a_file_that_cannot_be_replaced_stays(tmp_path, monkeypatch):
    path = tmp_path / "one"
    path.write_bytes(b"old")

    def refuse(source, target):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(writing, "_exchanged", lambda one, other: False)
    monkeypatch.setattr(writing.os, "replace", refuse)
    with pytest.raises(CannotDo, match="cannot be written .permission denied.; it is as it was"):
        write_file(str(path), b"old", b"new")
    assert path.read_bytes() == b"old" and os.listdir(tmp_path) == ["one"]


def test_a_save_while_the_disk_is_written_to_is_seen(tmp_path, monkeypatch):
    """Between the first look and the last step lies the time that the disk takes."""
    path = tmp_path / "one"
    path.write_bytes(b"old")
    fsync = os.fsync

    def save_meanwhile(opened):
        path.write_bytes(b"saved by an editor")
        fsync(opened)

    monkeypatch.setattr(writing.os, "fsync", save_meanwhile)
    with pytest.raises(ChangedMeanwhile):
        write_file(str(path), b"old", b"new")
    assert path.read_bytes() == b"saved by an editor" and os.listdir(tmp_path) == ["one"]


@pytest.mark.skipif(sys.platform != "linux", reason="elsewhere no two files change places in one step")
def test_a_save_right_before_the_last_step_comes_back(tmp_path, monkeypatch):
    path = tmp_path / "one"
    path.write_bytes(b"old")
    exchanged = writing._exchanged

    def save_first(one, other):
        if path.read_bytes() == b"old":
            (tmp_path / "two").write_bytes(b"saved by an editor")
            os.replace(tmp_path / "two", path)
        return exchanged(one, other)

    monkeypatch.setattr(writing, "_exchanged", save_first)
    with pytest.raises(ChangedMeanwhile, match="`[^`]*one` was changed meanwhile"):
        write_file(str(path), b"old", b"new")
    assert path.read_bytes() == b"saved by an editor" and os.listdir(tmp_path) == ["one"]


@needs_posix
def test_no_link_is_written_through(tmp_path):
    outside = tmp_path / "outside"
    outside.write_bytes(b"old")
    folder = tmp_path / "record"
    folder.mkdir()
    for name, target in (("one.cyl", "../outside"), (".one.cyl.writing", "../outside"), (LOCK_NAME, "../made")):
        (folder / name).symlink_to(target)
    with pytest.raises(CannotDo):
        write_file(str(folder / "one.cyl"), b"old", b"new")
    with pytest.raises(CannotDo, match="cannot be locked|too many levels|cannot be written"), locked(str(folder)):
        _lock_in_a_file(folder)
    assert outside.read_bytes() == b"old" and sorted(os.listdir(tmp_path)) == ["outside", "record"]


def _lock_in_a_file(folder):
    """As on a disk where no folder can be locked."""
    try:
        os.close(locking._lock_file(str(folder)))
    except OSError as refused:
        raise CannotDo(refused.strerror.lower()) from None


def test_a_folder_is_whole_or_not_there(tmp_path, monkeypatch):
    write_folder(str(tmp_path / "a" / "new"), {"x.cyl": b"1", "deep/y.cyl": b"2"})
    assert (tmp_path / "a" / "new" / "deep" / "y.cyl").read_bytes() == b"2"
    (tmp_path / "empty").mkdir()
    write_folder(str(tmp_path / "empty"), {"x.cyl": b"1"})
    with pytest.raises(CannotDo, match="is in use; name a folder that is empty or not there yet"):
        write_folder(str(tmp_path / "empty"), {"x.cyl": b"2"})
    monkeypatch.chdir(tmp_path / "a")
    with pytest.raises(CannotDo, match="is where you are; name a new folder"):
        write_folder("..", {"x.cyl": b"2"})
    assert (tmp_path / "empty" / "x.cyl").read_bytes() == b"1"

    def refuse(source, target):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(writing.os, "rename", refuse)
    with pytest.raises(CannotDo, match="no space left"):
        write_folder(str(tmp_path / "b" / "c"), {"x.cyl": b"2"})
    assert sorted(os.listdir(tmp_path)) == ["a", "empty"]


def test_a_full_disk_changes_nothing(tmp_path, monkeypatch):
    path = tmp_path / "one"
    path.write_bytes(b"old")

    def refuse(_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(writing.os, "fsync", refuse)
    with pytest.raises(CannotDo, match="no space left"):
        write_file(str(path), b"old", b"new")
    assert path.read_bytes() == b"old" and os.listdir(tmp_path) == ["one"]


def test_what_a_killed_writer_left_is_cleared_away_with_a_word(tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "one").write_bytes(b"old")
    (tmp_path / ".one.writing").write_bytes(b"half")
    (tmp_path / ".two.cyl.writing").symlink_to("/no/such/file")
    write_file("one", b"old", b"new")
    assert (tmp_path / "one").read_bytes() == b"new" and os.listdir(tmp_path) == ["one"]
    (tmp_path / ".folder.writing" / "deep").mkdir(parents=True)
    write_folder("folder", {"x.cyl": b"1"})
    assert sorted(os.listdir(tmp_path)) == ["folder", "one"]
    told = [f"cylfile: cleared away `{name}`, which a run that was broken off had left" for name in
            (".folder.writing", ".one.writing", ".two.cyl.writing")]  # fmt: skip
    assert sorted(capsys.readouterr().err.strip().split("\n")) == told


def test_who_waits_too_long_is_told(tmp_path):
    holder = subprocess.Popen(
        [sys.executable, "-c", "import sys\nfrom cylfile.files.writing import locked\n"
         "with locked(sys.argv[1]):\n  print('held', flush=True)\n  sys.stdin.read()", str(tmp_path)],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, env={**os.environ, "PYTHONPATH": str(PROJECT)},
    )  # fmt: skip
    assert holder.stdout.readline() == b"held\n"
    with (
        pytest.raises(CannotDo, match="somebody else is writing to .*; nothing was written, try again"),
        locked(str(tmp_path), 0.1),
    ):
        pass
    holder.communicate()
    with locked(str(tmp_path), 5), locked(str(tmp_path), 0):
        assert os.listdir(tmp_path) == []


@needs_posix
@pytest.mark.skipif(hasattr(os, "geteuid") and os.geteuid() == 0, reason="nothing is forbidden to this user")
def test_a_folder_that_may_not_be_written_in(entered):
    entered.folder.chmod(0o500)
    try:
        status, out, err = entered("enter", "today emptied T-1", "--as-of", "2026-03-14")
    finally:
        entered.folder.chmod(0o700)
    assert status == 2 and "cannot be written" in err and err.count("\n") == 1


def test_a_file_that_may_not_be_written_to_stays(tmp_path, monkeypatch):
    """It could be put in place all the same, for that is a matter of the folder's rights."""
    path = tmp_path / "one"
    path.write_bytes(b"old")
    monkeypatch.setattr(writing.os, "access", lambda path, mode: mode != os.W_OK)
    with pytest.raises(CannotDo, match="may not be written to"):
        write_file(str(path), b"old", b"new")
    assert path.read_bytes() == b"old" and os.listdir(tmp_path) == ["one"]


def test_a_file_that_an_editor_saves_meanwhile_is_read_again(entered, monkeypatch):
    """An editor knows of no lock. What it saved is there, and so is the entry."""
    path, saved = entered.folder / "fills.cyl", []

    def save_first(*change):
        if not saved:
            saved.append(path.write_text(SHEETS + "  09:50  T-1     to 4300 psi\n"))
        writing.write_file(*change)

    monkeypatch.setattr("cylfile.commands.enter.write_file", save_first)
    assert entered("enter", "today 10:04 filled T-1 to 4400 psi", "--as-of", "2026-03-14").status == 0
    assert entered.text("fills.cyl") == SHEETS + "  09:50  T-1     to 4300 psi\n  10:04  T-1     to 4400 psi\n"


@needs_posix
def test_a_file_that_somebody_else_begins_meanwhile_is_read_with_the_others(entered, monkeypatch):
    reading, path = enter.read_stored, entered.folder / "new.cyl"

    def begin_meanwhile(paths, earlier=None):
        papers = reading(paths, earlier)
        if not path.exists():
            path.write_text("# begun by somebody else\n")
        return papers

    monkeypatch.setattr(enter, "read_stored", begin_meanwhile)
    ended = entered("enter", "2026-03-21 gauged T-1 2100 psi at 68 F", "--into", "new.cyl")
    assert ended.status == 0, ended
    assert path.read_text().startswith("# begun by somebody else\n") and "T-1     2100 psi" in path.read_text()


def test_fifty_at_once_lose_nothing_beside_two_that_never_rest(entered, program):
    """
    Fifty processes write one file, and two more neaten all files over and over. Most are forked from this one, which has loaded the grammar, so
    that they meet at the lock and not at the start of the interpreter; some are started as users do.
    """
    # Without rules there is less to load.
    (entered.folder / "department.cyl").write_text(DEPARTMENT.replace('  rules   "house.cylpack"\n', ""))
    assert entered("lint", "--fail-at", "danger").status == 0
    runs = [
        ("enter", f"2026-03-14 {10 + n // 60:02}:{n % 60:02} filled T-1 to {4000 + n} psi", "--as-of", "2026-03-14")
        for n in range(50)
    ]
    restless = [multiprocessing.get_context("fork").Process(target=_neaten_for_ever, args=(entered,)) for _ in range(2)]
    for process in restless:
        process.start()
    started = [program.start(*run) for run in runs[45:]]
    forked = [
        multiprocessing.get_context("fork").Process(target=_enter_and_end, args=(entered, run)) for run in runs[:45]
    ]
    for process in forked:
        process.start()
    for process in forked:
        process.join(120)
    assert [process.exitcode for process in forked] == [0] * 45
    for process in started:
        _, err = process.communicate(timeout=120)
        assert process.returncode == 0, err.decode()
    for process in restless:
        process.terminate()
        process.join(10)
    written = read_record([Source("fills.cyl", entered.text("fills.cyl"))])
    readings = [entry.reading.text for entry in sorted(written.entries["T-1"], key=lambda entry: entry.start)]
    assert readings == ["4500 psi", *(f"{4000 + n} psi" for n in range(50))]
    assert sorted(os.listdir(entered.folder)) == ["cards.cyl", "department.cyl", "fills.cyl", "house.cylpack"]


def _neaten_for_ever(entered):
    while True:
        entered("neaten")


def _enter_and_end(entered, run):
    status, _, err = entered(*run)
    print(err, file=sys.__stderr__, end="")
    os._exit(status)


# Writes a file over and over, as fast as it can, so that a signal falls at any point of the way.
_WRITER = """
import itertools, sys
from cylfile.files.writing import locked, write_file
path, size = sys.argv[1], int(sys.argv[2])
for n in itertools.count():
    with locked(path.rpartition("/")[0]), open(path, "rb") as opened:
        before = opened.read()
    write_file(path, before, b"%08d " % n * size)
    print(n, flush=True)
"""


@needs_posix
def test_a_writer_killed_at_any_moment_leaves_the_file_whole(tmp_path):
    path, size = tmp_path / "ledger.cyl", 20_000
    whole = len(b"00000000 ") * size
    path.write_bytes(b"%08d " % 0 * size)
    chance = random.Random(11)
    for _ in range(15):
        writer = subprocess.Popen(
            [sys.executable, "-c", _WRITER, str(path), str(size)],
            stdout=subprocess.PIPE, env={**os.environ, "PYTHONPATH": str(PROJECT)},
        )  # fmt: skip
        writer.stdout.readline()
        time.sleep(chance.uniform(0, 0.03))
        writer.send_signal(signal.SIGKILL)
        writer.wait()
        writer.stdout.close()
        data = path.read_bytes()
        assert len(data) == whole and data == data[:9] * size
    assert not [name for name in os.listdir(tmp_path) if name.endswith(".cyl") and name != "ledger.cyl"]


@needs_posix
@pytest.mark.parametrize("point", ["open", "write", "fsync", "replace", "unlink"])
def test_an_entry_killed_at_each_step_is_there_or_not(entered, program, point):
    """The process ends for good at the step, as by a power cut; the file is the old one or the new one."""
    script = entered.folder.parent / "cut.py"
    script.write_text(
        "import os, sys\n"
        "from cylfile.files import writing\n"
        "def cut(*_, **__):\n    os._exit(9)\n"
        "fdopen = os.fdopen\n"
        "class Half:\n"
        "    def __init__(self, opened): self.opened = opened\n"
        "    def __enter__(self): return self\n"
        "    def __exit__(self, *_): pass\n"
        "    def __getattr__(self, name): return getattr(self.opened, name)\n"
        "    def write(self, data): self.opened.write(data[:20]); self.opened.flush(); cut()\n"
        f"point = {point!r}\n"
        "if point == 'open': writing._written_beside = cut\n"
        "elif point == 'write': writing.os.fdopen = lambda *a: Half(fdopen(*a))\n"
        "elif point == 'unlink': writing._force_folder = cut\n"
        "elif point == 'replace': writing._put_in_place = cut\n"
        "else: setattr(writing.os, point, cut)\n"
        "from cylfile.__main__ import main\n"
        "sys.exit(main(sys.argv[1:]))\n"
    )
    sentence = ("today 10:04 filled T-1 to 4400 psi", "--as-of", "2026-03-14")
    ended = subprocess.run(
        [sys.executable, str(script), "enter", *sentence], cwd=entered.folder, env=program.environment()
    )
    assert ended.returncode == 9
    new = SHEETS + "  10:04  T-1     to 4400 psi\n"
    assert entered.text("fills.cyl") == (new if point == "unlink" else SHEETS)
    assert entered("lint", "--as", "lines", "--fail-at", "danger", "--as-of", "2026-03-14").status == 0
    assert entered("enter", "today 10:05 filled T-1 to 4401 psi", "--as-of", "2026-03-14").status == 0
    assert sorted(os.listdir(entered.folder)) == ["cards.cyl", "department.cyl", "fills.cyl", "house.cylpack"]
