"""What the tests of this folder stand on."""

import pytest
from keeping import Keeping


@pytest.fixture
def keeping(tmp_path, capsys, monkeypatch):
    """A record of one cylinder under git, one revision old, as the current folder."""
    folder = tmp_path / "record"
    folder.mkdir()
    kept = Keeping(folder, capsys, monkeypatch)
    kept.begin()
    return kept
