"""
Running the installed program as its users do: as a process of its own, in a folder, with an environment.
"""

import gc
import io
import os
import subprocess
import sys
from pathlib import Path
from typing import NamedTuple

import pytest

PROJECT = Path(__file__).resolve().parents[2]


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


class Here(Program):
    """As a program, but run in this process, which takes less time: for what needs no process of its own."""

    def __call__(self, *arguments: str, given: bytes = b"", **environment: str) -> Ended:
        from cylfile.__main__ import main

        with pytest.MonkeyPatch.context() as patch:
            patch.chdir(self.folder)
            for name in [*os.environ]:
                patch.delenv(name)
            for name, value in {**self.environment, **environment}.items():
                patch.setenv(name, value)
            out, err = (io.TextIOWrapper(io.BytesIO(), encoding="utf-8", newline="") for _ in range(2))
            patch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(given), encoding="utf-8"))
            patch.setattr(sys, "stdout", out)
            patch.setattr(sys, "stderr", err)
            try:
                status = main(list(arguments))
            finally:
                gc.enable()
                gc.unfreeze()
            out.flush()
            err.flush()
            return Ended(status, out.buffer.getvalue().decode(errors="replace"), err.buffer.getvalue().decode())
