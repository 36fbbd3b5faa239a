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
from cylfile.files import writing
from cylfile.files.writing import LOCK_NAME, Change, ChangedMeanwhile, locked, write_files
from cylfile.record.reader import read_record
from cylfile.text.source import Source
from support.running import PROJECT
from support.small_record import DEPARTMENT, SHEETS

needs_posix = pytest.mark.skipif(sys.platform == "win32", reason="signals and rights are others there")


def test_all_or_nothing(tmp_path):
    one, two, three = tmp_path / "one", tmp_path / "two", tmp_path / "new" / "three"
    one.write_bytes(b"1")
    two.write_bytes(b"2")
    write_files([Change(str(one), b"1", b"11"), Change(str(two), b"2", None), Change(str(three), None, b"3")])
    assert (one.read_bytes(), two.exists(), three.read_bytes()) == (b"11", False, b"3")
    with pytest.raises(ChangedMeanwhile):
        write_files(
            [
                Change(str(one), b"11", b"x"),
                Change(str(tmp_path / "gone" / "f"), None, b"y"),
                Change(str(three), b"?", b"z"),
            ]
        )
    assert sorted(path.name for path in tmp_path.rglob("*")) == ["new", "one", "three"]
    assert one.read_bytes() == b"11"


@pytest.mark.parametrize("fails_at", [1, 2])
def test_files_are_put_back_where_one_cannot_be_replaced(tmp_path, monkeypatch, fails_at):
    paths = [tmp_path / name for name in ("one", "two")]
    for path in paths:
        path.write_bytes(b"old")
    replace, count = os.replace, []

    def refuse(source, target):
        count.append(target)
        if len(count) == fails_at:
            raise PermissionError(13, "Permission denied")
        replace(source, target)

    monkeypatch.setattr(writing.os, "replace", refuse)
    with pytest.raises(CannotDo, match="cannot be replaced .permission denied.; nothing was written"):
        write_files([Change(str(path), b"old", b"new") for path in paths])
    assert [path.read_bytes() for path in paths] == [b"old", b"old"]
    assert sorted(os.listdir(tmp_path)) == ["one", "two"]


def test_a_full_disk_changes_nothing(tmp_path, monkeypatch):
    path = tmp_path / "one"
    path.write_bytes(b"old")

    def refuse(_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(writing.os, "fsync", refuse)
    with pytest.raises(CannotDo, match="no space left"):
        write_files([Change(str(path), b"old", b"new")])
    assert path.read_bytes() == b"old" and os.listdir(tmp_path) == ["one"]


def test_what_a_killed_writer_left_is_cleared_away(tmp_path):
    path = tmp_path / "one"
    path.write_bytes(b"old")
    (tmp_path / ".one.writing").write_bytes(b"half")
    (tmp_path / LOCK_NAME).write_bytes(b"")
    write_files([Change(str(path), b"old", b"new")])
    assert path.read_bytes() == b"new" and os.listdir(tmp_path) == ["one"]


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
        assert os.path.exists(tmp_path / LOCK_NAME)
    assert os.listdir(tmp_path) == []


@needs_posix
@pytest.mark.skipif(hasattr(os, "geteuid") and os.geteuid() == 0, reason="nothing is forbidden to this user")
def test_a_folder_that_may_not_be_written_in(entered):
    entered.folder.chmod(0o500)
    try:
        status, out, err = entered("enter", "today emptied T-1", "--as-of", "2026-03-14")
    finally:
        entered.folder.chmod(0o700)
    assert status == 2 and "nothing can be written" in err and err.count("\n") == 1


def test_a_file_that_may_not_be_written_to_stays(tmp_path, monkeypatch):
    """It could be put in place all the same, for that is a matter of the folder's rights."""
    path = tmp_path / "one"
    path.write_bytes(b"old")
    monkeypatch.setattr(writing.os, "access", lambda path, mode: mode != os.W_OK)
    with pytest.raises(CannotDo, match="may not be written to"):
        write_files([Change(str(path), b"old", b"new")])
    assert path.read_bytes() == b"old" and os.listdir(tmp_path) == ["one"]


def test_a_file_that_an_editor_saves_meanwhile_is_read_again(entered, monkeypatch):
    """An editor knows of no lock. What it saved is there, and so is the entry."""
    path, saved = entered.folder / "fills.cyl", []

    def save_first(changes):
        if not saved:
            saved.append(path.write_text(SHEETS + "  09:50  T-1     to 4300 psi\n"))
        writing.write_files(changes)

    monkeypatch.setattr("cylfile.commands.enter.write_files", save_first)
    assert entered("enter", "today 10:04 filled T-1 to 4400 psi", "--as-of", "2026-03-14").status == 0
    assert entered.text("fills.cyl") == SHEETS + "  09:50  T-1     to 4300 psi\n  10:04  T-1     to 4400 psi\n"


@needs_posix
def test_fifty_at_once_lose_nothing(entered, program):
    """
    Fifty processes write one file. Most are forked from this one, which has loaded the grammar, so
    that they meet at the lock and not at the start of the interpreter; some are started as users do.
    """
    # Without rules there is less to load.
    (entered.folder / "department.cyl").write_text(DEPARTMENT.replace('  rules   "house.cylpack"\n', ""))
    assert entered("lint", "--fail-at", "danger").status == 0
    runs = [
        ("enter", f"2026-03-14 {10 + n // 60:02}:{n % 60:02} filled T-1 to {4000 + n} psi", "--as-of", "2026-03-14")
        for n in range(50)
    ]
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
    written = read_record([Source("fills.cyl", entered.text("fills.cyl"))])
    readings = [entry.reading.text for entry in sorted(written.entries["T-1"], key=lambda entry: entry.start)]
    assert readings == ["4500 psi", *(f"{4000 + n} psi" for n in range(50))]
    assert sorted(os.listdir(entered.folder)) == ["cards.cyl", "department.cyl", "fills.cyl", "house.cylpack"]


def _enter_and_end(entered, run):
    status, _, err = entered(*run)
    print(err, file=sys.__stderr__, end="")
    os._exit(status)


# Writes a file over and over, as fast as it can, so that a signal falls at any point of the way.
_WRITER = """
import itertools, sys
from cylfile.files.writing import Change, locked, write_files
path, size = sys.argv[1], int(sys.argv[2])
for n in itertools.count():
    with locked(path.rpartition("/")[0]), open(path, "rb") as opened:
        before = opened.read()
    write_files([Change(path, before, b"%08d " % n * size)])
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
        "if point == 'open': writing._write_beside = cut\n"
        "elif point == 'write': writing.os.fdopen = lambda *a: Half(fdopen(*a))\n"
        "elif point == 'unlink': writing._force_folder = cut\n"
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
