"""A record kept under git, in a folder of its own, and the commands run there."""

import os
import subprocess
from pathlib import Path

from support.running import Here

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


class Keeping(Here):
    """A repository with a record in it."""

    def __init__(self, folder: Path):
        super().__init__(folder, "2024-06-01")

    def environment(self, **more: str) -> dict[str, str]:
        return super().environment(**{**ENVIRONMENT, **more})

    def git(self, *arguments: str, fails: bool = False, **more: str) -> str:
        environment = self.environment(**more)
        done = subprocess.run(["git", *arguments], capture_output=True, text=True, cwd=self.folder, env=environment)
        assert fails or done.returncode == 0, done.stderr
        return done.stdout

    def begin(self) -> None:
        self.git("init", "--quiet", "--initial-branch=main", ".")
        self.write("department.cyl", HEAD)
        self.write("cards.cyl", CARD)
        self.write("sheets.cyl", SHEET)
        self.commit("Begin the record", "2023-03-03")

    def replace(self, name: str, was: str, now: str) -> None:
        text = self.text(name)
        assert text.count(was) == 1, was
        self.write(name, text.replace(was, now))

    def append(self, name: str, text: str) -> None:
        self.write(name, self.text(name) + text)

    def commit(self, message: str, day: str = "2024-01-01") -> str:
        when = f"{day}T12:00:00+0000"
        self.git("add", "--all")
        self.git("commit", "--quiet", "--message", message, GIT_AUTHOR_DATE=when, GIT_COMMITTER_DATE=when)
        return self.git("rev-parse", "HEAD").strip()
