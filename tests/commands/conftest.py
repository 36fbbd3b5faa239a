"""
Running commands: in this process, or as a program of its own where that is what is tested.
"""

import gc
import os
import subprocess
import sys
from typing import NamedTuple

import pytest

from cylfile.__main__ import main
from support.house_record import BAD, DEPARTMENT, GOOD, PACK
from support.running import PROJECT


class Outcome(NamedTuple):
    """What a run gave: exit status, standard output and standard error."""

    status: int
    out: str
    err: str


@pytest.fixture
def record(tmp_path, monkeypatch):
    """A folder with a record that has one finding of danger, as the current folder."""
    (tmp_path / "department.cyl").write_text(DEPARTMENT)
    (tmp_path / "house.cylpack").write_text(PACK)
    (tmp_path / "cards").mkdir()
    (tmp_path / "cards" / "good.cyl").write_text(GOOD)
    (tmp_path / "cards" / "bad.cyl").write_text(BAD)
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture(autouse=True)
def plain_environment(monkeypatch):
    """What a developer has set for himself has no say here."""
    for name in ("CYLFILE_DEBUG", "NO_COLOR", "COLUMNS", "TERM"):
        monkeypatch.delenv(name, raising=False)


@pytest.fixture
def run(capsys):
    """Runs a command in this process, for the day 2026-11-25 where the command takes a day."""

    def run_here(*arguments: str, as_of: str | None = "2026-11-25") -> Outcome:
        asked = ["--as-of", as_of] if arguments[:1] == ("lint",) and as_of else []
        try:
            status = main([*arguments[:1], *asked, *arguments[1:]])
        finally:
            # A command turns the search for garbage off, since its process is about to end.
            gc.unfreeze()
            gc.enable()
        captured = capsys.readouterr()
        return Outcome(status, captured.out, captured.err)

    return run_here


@pytest.fixture
def program():
    """Starts the program by itself; what is left of the environment is what is given."""

    def start(*arguments: str, cwd=None, environment=None, python=(), **more) -> subprocess.Popen:
        kept = {name: os.environ[name] for name in ("PATH", "SYSTEMROOT", "LANG", "LC_ALL") if name in os.environ}
        # What this very run is from is tested, wherever it is installed.
        environment = {**kept, "PYTHONPATH": str(PROJECT), **(environment or {})}
        pipes = {"stdin": subprocess.DEVNULL, "stdout": subprocess.PIPE, "stderr": subprocess.PIPE, **more}
        return subprocess.Popen(
            [sys.executable, *python, "-m", "cylfile", *arguments], cwd=cwd, env=environment, **pipes
        )  # fmt: skip

    return start
