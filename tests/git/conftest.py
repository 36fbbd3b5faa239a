"""What the tests of this folder stand on."""

import os
import shlex
import sys

import pytest

from support.keeping import Keeping


@pytest.fixture
def keeping(tmp_path, capsys, monkeypatch):
    """A record of one cylinder under git, one revision old, as the current folder."""
    folder = tmp_path / "record"
    folder.mkdir()
    kept = Keeping(folder, capsys, monkeypatch)
    kept.begin()
    return kept


@pytest.fixture
def program_on_path(tmp_path, monkeypatch):
    """The program as a command, for git to start."""
    folder = tmp_path / "bin"
    folder.mkdir()
    program = folder / "cylfile"
    paths = os.pathsep.join(filter(None, sys.path))
    program.write_text(
        f'#!/bin/sh\nPYTHONPATH={shlex.quote(paths)} exec {shlex.quote(sys.executable)} -m cylfile "$@"\n'
    )
    program.chmod(0o755)
    monkeypatch.setenv("PATH", f"{folder}{os.pathsep}{os.environ['PATH']}")
