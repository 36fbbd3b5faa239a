"""
Case exports against a small record.
"""

from datetime import date

import pytest

from cylfile.importing.column_map import column_map, file_form
from cylfile.importing.export_table import read_table
from cylfile.importing.fill_rows import FillReader
from cylfile.importing.import_fills import take_in
from cylfile.record.reader import read_record
from cylfile.text.source import Source
from support.exports import RECORD


@pytest.fixture
def record():
    return read_record([Source("all.cyl", RECORD)])


@pytest.fixture
def taken(record):
    """take(text, columns, zone=..., ...) -> what becomes of an export."""

    def take(text: str, columns: dict, as_of: date = date(2026, 11, 25), late=None, **zones):
        form, faults = file_form(columns)
        assert not faults
        table = read_table(text.encode(), form.encoding, form.separator, form.heading)
        mapped, faults = column_map(columns, table.heading)
        assert not faults
        reader = FillReader(mapped, form, record, as_of, **zones)
        assert not reader.faults
        return take_in(table.rows, reader, record, late)

    return take
