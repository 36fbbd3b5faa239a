"""
Running commands: in this process, or as a program of its own where that is what is tested.
"""

import gc
import os
import subprocess
import sys
from pathlib import Path
from typing import NamedTuple

import pytest

from cylfile.__main__ import main

PROJECT = Path(__file__).resolve().parent.parent.parent

PACK = """\
pack house "The house"
  reference  70 F
class steel "Plain steel"
  test-every  5 years
  life        none
setting soon  90 days
rule past-test  danger
  on       filled
  when     day > test-due
  why      "A cylinder past its test is not filled. Not at all."
  say      "filled {day - test-due} after its test fell due"
  cite     "Statute 1"
  breaks
    cylinder T-1
      class  steel
      made   2010-01
      2015-02-01  filled  to 2015 psi      # here
  keeps
    cylinder T-1
      class  steel
      made   2010-01
      2015-01-31  filled  to 2015 psi
rule due-soon  notice
  on    status
  when  in-service and days-to-test >= 0 days and days-to-test <= soon
  say   "test falls due in {days-to-test}"
"""
DEPARTMENT = (
    'department "Larkspur Valley"\n  zone   America/Boise\n  rules  "house.cylpack"\nperson vance "Ada Vance"\n'
)
GOOD = """\
cylinder K-1
  class  steel
  rated  2216 psi
  made   2024-01
  tag    E200
  2024-02-01  entered service
"""
BAD = """\
cylinder K-2
  class  steel
  rated  2216 psi
  made   2016-01
  2016-02-01  entered service
  2026-03-04  filled  to 2216 psi  by vance
"""


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
