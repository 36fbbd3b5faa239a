"""The style of the code and its types, as the tools see them."""

import subprocess
import sys

import pytest

from support.running import PROJECT

# What the tools check -> what to do where they find something.
CURES = {
    "ruff check": "Correct it; `ruff check --fix` corrects the order of imports.",
    "ruff format --check": "Run `ruff format`.",
    "mypy": "Say the type, or make true what it says. What each package owes is in [tool.mypy] of pyproject.toml.",
}


@pytest.mark.parametrize("tool", CURES)
def test_has_nothing_to_say(tool):
    ran = subprocess.run([sys.executable, "-m", *tool.split()], cwd=PROJECT, capture_output=True, text=True)
    assert ran.returncode == 0, f"{ran.stdout}{ran.stderr}\n`{tool}` has something to say. {CURES[tool]}"
