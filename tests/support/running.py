"""
Running the program: as a process of its own (`Program`), as its users do, or in this process (`Here`), which is quicker.
"""

import contextlib
import fcntl
import gc
import io
import os
import pty
import struct
import subprocess
import sys
import termios
from pathlib import Path
from types import EllipsisType
from typing import NamedTuple

import pytest

from cylfile.__main__ import main

PROJECT = Path(__file__).resolve().parents[2]
_NOT_PASSED_ON = ("CYLFILE_", "XDG_", "GIT_DIR", "GIT_INDEX_FILE", "PYTHON", "COLUMNS", "LINES", "TERM", "NO_COLOR")


class Ended(NamedTuple):
    """How a run ended: its exit status, standard output and standard error."""

    status: int
    out: str
    err: str


class Program:
    """
    The program in one folder, every run a process.

    What is set in the environment of whoever runs the tests does not reach it; what a run is to find there is given by
    keyword. `as_of` is the day of every run that is not given one of its own; None leaves it out.
    """

    def __init__(self, folder: Path, as_of: str | None = None):
        self.folder = folder
        self.as_of = as_of

    def __call__(
        self, *arguments: str, given: bytes = b"", as_of: str | None | EllipsisType = ..., **environment: str
    ) -> Ended:
        done = subprocess.run(
            [*self.command, *self._dated(arguments, as_of)],
            input=given, capture_output=True, cwd=self.folder, env=self.environment(**environment), timeout=120,
        )  # fmt: skip
        return Ended(done.returncode, done.stdout.decode(errors="replace"), done.stderr.decode())

    command = (sys.executable, "-m", "cylfile")

    def environment(self, **more: str) -> dict[str, str]:
        """The environment of a run. What is tested is this very checkout, wherever else the program is installed."""
        kept = {name: value for name, value in os.environ.items() if not name.startswith(_NOT_PASSED_ON)}
        return {**kept, "PYTHONPATH": str(PROJECT), "HOME": str(self.folder), "NO_COLOR": "1", **more}

    def start(self, *arguments: str, python: tuple[str, ...] = (), pipes: dict | None = None, **environment: str):
        """A run that goes on beside the test, with words for Python itself and other `pipes` where they are given."""
        return subprocess.Popen(
            [self.command[0], *python, *self.command[1:], *self._dated(arguments, ...)],
            cwd=self.folder, env=self.environment(**environment),
            **{"stdin": subprocess.DEVNULL, "stdout": subprocess.PIPE, "stderr": subprocess.PIPE, **(pipes or {})},
        )  # fmt: skip

    def on_terminal(self, columns: int, *arguments: str, **environment: str) -> Ended:
        """A run on a terminal of 200 lines of so many columns; `out` is all that the terminal was sent."""
        ours, theirs = pty.openpty()
        fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 200, columns, 0, 0))
        pipes = {"stdout": theirs, "stderr": theirs}
        with self.start(*arguments, pipes=pipes, **{"TERM": "xterm-256color", **environment}) as started:
            os.close(theirs)
            sent = b""
            # The end of a terminal is an error on some systems and nothing to read on others.
            with contextlib.suppress(OSError):
                while piece := os.read(ours, 65536):
                    sent += piece
            os.close(ours)
        return Ended(started.returncode, sent.decode().replace("\r\n", "\n"), "")

    def write(self, name: str, text: str) -> Path:
        """Puts a file into the folder, line ends as given."""
        path = self.folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(text.encode())
        return path

    def text(self, name: str) -> str:
        """What a file of the folder holds, line ends as they are."""
        return (self.folder / name).read_bytes().decode()

    def _dated(self, arguments: tuple[str, ...], as_of: str | None | EllipsisType) -> list[str]:
        day = self.as_of if as_of is ... else as_of
        return [*arguments[:1], *(["--as-of", day] if day else []), *arguments[1:]]


class Here(Program):
    """As a program, but run in this process, which takes less time: for what needs no process of its own."""

    def __call__(
        self, *arguments: str, given: bytes = b"", as_of: str | None | EllipsisType = ..., **environment: str
    ) -> Ended:
        variables = self.environment(**environment)
        encoding = variables.get("PYTHONIOENCODING", "utf-8")
        out, err = (io.TextIOWrapper(io.BytesIO(), encoding=encoding, newline="") for _ in range(2))
        with pytest.MonkeyPatch.context() as patch:
            patch.chdir(self.folder)
            for name in [*os.environ]:
                patch.delenv(name)
            for name, value in variables.items():
                patch.setenv(name, value)
            patch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(given), encoding="utf-8"))
            patch.setattr(sys, "stdout", out)
            patch.setattr(sys, "stderr", err)
            try:
                status = main(self._dated(arguments, as_of))
            finally:
                # A command turns the search for garbage off, since its process is about to end.
                gc.enable()
                gc.unfreeze()
            out.flush()
            err.flush()
        return Ended(status, out.buffer.getvalue().decode(errors="replace"), err.buffer.getvalue().decode())
