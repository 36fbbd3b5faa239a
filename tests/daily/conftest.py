"""
A folder with a record for the commands of the working day.
"""

import pytest

from support.station import RECORD


@pytest.fixture
def station(tmp_path):
    (tmp_path / "all.cyl").write_text(RECORD)
    return tmp_path
