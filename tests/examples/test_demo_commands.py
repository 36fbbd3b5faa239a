"""
The commands that the demo's README shows do what it says of them.
"""

import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
COMMANDS = re.findall(r"^cylfile (.+)$", (ROOT / "examples" / "README.md").read_text(encoding="utf-8"), re.MULTILINE)


@pytest.mark.parametrize("command", COMMANDS)
def test_the_commands_of_the_readme_run(command):
    done = subprocess.run(
        [sys.executable, "-m", "cylfile", *command.split()], cwd=ROOT, capture_output=True, text=True, encoding="utf-8"
    )
    assert (done.returncode, done.stderr) == (int("examples/clean" not in command), "")
    assert "Checks the record, not the cylinder." in done.stdout


def test_the_readme_shows_both_records():
    assert {folder for command in COMMANDS for folder in re.findall("examples/([a-z]+)", command)} == {
        "clean",
        "faulty",
    }
