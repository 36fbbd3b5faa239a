"""
The commands that the demo's README shows do what it says of them.
"""

import re

import pytest

from support.running import PROJECT, Here

COMMANDS = re.findall(r"^cylfile (.+)$", (PROJECT / "examples" / "README.md").read_text(encoding="utf-8"), re.MULTILINE)


@pytest.mark.parametrize("command", COMMANDS)
def test_the_commands_of_the_readme_run(command):
    status, out, err = Here(PROJECT)(*command.split())
    assert (status, err) == (int("examples/clean" not in command), "")
    assert "Checks the record, not the cylinder." in out


def test_the_readme_shows_both_records():
    assert {folder for command in COMMANDS for folder in re.findall("examples/([a-z]+)", command)} == {
        "clean",
        "faulty",
    }
