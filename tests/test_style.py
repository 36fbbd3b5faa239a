"""The style of the code and its types, as the tools see them."""

import subprocess
import sys

import pytest

from support.running import PROJECT


@pytest.mark.parametrize("tool", ["ruff check", "ruff format --check", "mypy"])
def test_has_nothing_to_say(tool):
    ran = subprocess.run([sys.executable, "-m", *tool.split()], cwd=PROJECT, capture_output=True, text=True)
    assert ran.returncode == 0, ran.stdout + ran.stderr
