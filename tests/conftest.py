"""Fixtures that any test may ask for; what they stand on is in `support`."""

import os
import sys

import pytest

pytest.register_assert_rewrite("support")
# How wide the terminal of whoever runs the tests is, or what a runner takes it for, is no business of theirs.
os.environ.pop("COLUMNS", None)
# Without bytecode each process that a test starts would compile the whole program again.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
sys.dont_write_bytecode = False

from support import house_record  # noqa: E402
from support import station as station_record  # noqa: E402
from support.running import Here, Program  # noqa: E402


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
