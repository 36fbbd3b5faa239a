"""A record kept under git, in a folder of its own, and the commands run there."""

import gc
import os
import subprocess
from pathlib import Path
from typing import NamedTuple

import pytest

from cylfile.__main__ import main

HEAD = """\
department "Hollin Creek Fire"
  zone   America/Denver
  rules  us-dot
site hc1 "Station 1"
person vale "Ada Vale"
  fills  2019-01-01
person rowan "Iris Rowan"
  fills  2019-01-01
tester Z901 "Hill Requalification"
source C1 "Air-room compressor"
  kind   compressor
"""
CARD = """\
cylinder K-1
  class   dot-3aa
  rated   2216 psi
  made    2018-01
  2018-02-01        entered service  at hc1
  2023-01-10        hydro pass  by Z901  at 3700 psi
"""
SHEET = """\
fill sheet 2023-03-01  at hc1  on C1  by vale
  09:00  K-1  to 2200 psi  at 68 F
fill sheet 2023-03-02  at hc1  on C1  by vale
  09:30  K-1  to 2216 psi  at 70 F
"""
ENVIRONMENT = {
    "GIT_CONFIG_GLOBAL": os.devnull,
    "GIT_CONFIG_SYSTEM": os.devnull,
    "GIT_AUTHOR_NAME": "Ada Vale",
    "GIT_AUTHOR_EMAIL": "vale@example.org",
    "GIT_COMMITTER_NAME": "Ada Vale",
    "GIT_COMMITTER_EMAIL": "vale@example.org",
}


class Outcome(NamedTuple):
    status: int
    out: str
    err: str


class Keeping:
    """A repository with a record in it; its folder is the current one."""

    def __init__(self, folder: Path, capsys: pytest.CaptureFixture, monkeypatch: pytest.MonkeyPatch):
        self.folder = folder
        self.capsys = capsys
        for name, value in ENVIRONMENT.items():
            monkeypatch.setenv(name, value)
        for name in ("NO_COLOR", "COLUMNS", "CYLFILE_DEBUG", "GIT_DIR", "GIT_INDEX_FILE"):
            monkeypatch.delenv(name, raising=False)
        monkeypatch.chdir(folder)

    def git(self, *arguments: str, fails: bool = False, **more) -> str:
        done = subprocess.run(["git", *arguments], capture_output=True, text=True, cwd=self.folder, **more)
        assert fails or done.returncode == 0, done.stderr
        return done.stdout

    def begin(self) -> None:
        self.git("init", "--quiet", "--initial-branch=main", ".")
        self.write("department.cyl", HEAD)
        self.write("cards.cyl", CARD)
        self.write("sheets.cyl", SHEET)
        self.commit("Begin the record", "2023-03-03")

    def write(self, name: str, text: str) -> None:
        path = self.folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(text.encode())

    def read(self, name: str) -> str:
        return (self.folder / name).read_bytes().decode()

    def replace(self, name: str, was: str, now: str) -> None:
        text = self.read(name)
        assert text.count(was) == 1, was
        self.write(name, text.replace(was, now))

    def append(self, name: str, text: str) -> None:
        self.write(name, self.read(name) + text)

    def commit(self, message: str, day: str = "2024-01-01") -> str:
        when = f"{day}T12:00:00+0000"
        self.git("add", "--all")
        environment = {**os.environ, "GIT_AUTHOR_DATE": when, "GIT_COMMITTER_DATE": when}
        self.git("commit", "--quiet", "--message", message, env=environment)
        return self.git("rev-parse", "HEAD").strip()

    def run(self, *arguments: str, as_of: str | None = "2024-06-01") -> Outcome:
        """A command of the program, run in this process, for a day."""
        asked = ["--as-of", as_of] if as_of else []
        self.capsys.readouterr()
        try:
            status = main([arguments[0], *asked, *arguments[1:]])
        finally:
            # A command turns the search for garbage off, since its process is about to end.
            gc.unfreeze()
            gc.enable()
        captured = self.capsys.readouterr()
        return Outcome(status, captured.out, captured.err)
