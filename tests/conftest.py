"""
Running the installed program as its users do: as a process of its own, in a folder, with an environment.
"""

import os
import subprocess
import sys
from pathlib import Path
from typing import NamedTuple

import pytest

PROJECT = Path(__file__).resolve().parent.parent


class Ended(NamedTuple):
    """How a run ended."""

    status: int
    out: str
    err: str


class Program:
    """The program in one folder. What a user's environment sets does not reach it."""

    def __init__(self, folder: Path):
        self.folder = folder
        kept = {name: value for name, value in os.environ.items() if not name.startswith(("CYLFILE_", "XDG_"))}
        self.environment = {**kept, "PYTHONPATH": str(PROJECT), "HOME": str(folder), "NO_COLOR": "1"}

    def __call__(self, *arguments: str, given: bytes = b"", **environment: str) -> Ended:
        done = subprocess.run(
            [sys.executable, "-m", "cylfile", *arguments],
            input=given, capture_output=True, cwd=self.folder, env={**self.environment, **environment}, timeout=120,
        )  # fmt: skip
        return Ended(done.returncode, done.stdout.decode(errors="replace"), done.stderr.decode())

    def start(self, *arguments: str, **environment: str) -> subprocess.Popen:
        """A run that goes on beside the test."""
        return subprocess.Popen(
            [sys.executable, "-m", "cylfile", *arguments],
            stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE, cwd=self.folder,
            env={**self.environment, **environment},
        )  # fmt: skip


@pytest.fixture
def program(tmp_path) -> Program:
    folder = tmp_path / "record"
    folder.mkdir()
    return Program(folder)
