"""Fixtures that any test may ask for; what they stand on is in `support`."""

import os
import shlex
import sys
from functools import partial

import pytest

pytest.register_assert_rewrite("support")
# How wide the terminal of whoever runs the tests is, or what a runner takes it for, is no business of theirs.
os.environ.pop("COLUMNS", None)
# Without bytecode each process that a test starts would compile the whole program again.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
sys.dont_write_bytecode = False

from support import exports, house_record, small_record  # noqa: E402
from support import station as station_record  # noqa: E402
from support.keeping import Keeping  # noqa: E402
from support.running import PROJECT, Here, Program  # noqa: E402


@pytest.fixture
def program(tmp_path) -> Program:
    """The program in an empty folder."""
    folder = tmp_path / "record"
    folder.mkdir()
    return Program(folder)


@pytest.fixture
def here(program) -> Here:
    """The same folder as `program`, without a process for every run."""
    return Here(program.folder)


@pytest.fixture
def station(here) -> Here:
    """The record of a fill station, on a day of its own."""
    here.write("all.cyl", station_record.RECORD)
    here.as_of = station_record.AS_OF
    return here


@pytest.fixture
def house(here) -> Here:
    """A record under a pack of the house, of which one card has a finding of danger."""
    here.write("department.cyl", house_record.DEPARTMENT)
    here.write("house.cylpack", house_record.PACK)
    here.write("cards/good.cyl", house_record.GOOD)
    here.write("cards/bad.cyl", house_record.BAD)
    here.as_of = "2026-11-25"
    return here


@pytest.fixture
def entered(here) -> Here:
    """A small record to enter things into."""
    here.write("department.cyl", small_record.DEPARTMENT)
    here.write("cards.cyl", small_record.CARDS)
    here.write("fills.cyl", small_record.SHEETS)
    here.write("house.cylpack", small_record.PACK)
    return here


@pytest.fixture
def exported_record():
    """The record that exports are taken into."""
    return exports.record()


@pytest.fixture
def taken(exported_record):
    """What becomes of the rows of an export: `taken(text, columns, ...)`."""
    return partial(exports.take, exported_record)


@pytest.fixture
def keeping(program) -> Keeping:
    """A record of one cylinder under git, one revision old."""
    kept = Keeping(program.folder)
    kept.begin()
    return kept


@pytest.fixture
def program_on_path(tmp_path, monkeypatch) -> None:
    """The program as a command, for git to start."""
    command = tmp_path / "bin" / "cylfile"
    command.parent.mkdir()
    command.write_text(f'#!/bin/sh\nPYTHONPATH={shlex.quote(str(PROJECT))} exec {shlex.join(Program.command)} "$@"\n')
    command.chmod(0o755)
    monkeypatch.setenv("PATH", f"{command.parent}{os.pathsep}{os.environ['PATH']}")
