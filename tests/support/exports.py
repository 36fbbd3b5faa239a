"""
A small record, and the map of an export, for the tests of importing.
"""

from datetime import date

from cylfile.importing.column_map import column_map, file_form
from cylfile.importing.export_table import read_table
from cylfile.importing.fill_rows import FillReader
from cylfile.importing.import_fills import take_in
from cylfile.record.reader import read_record
from cylfile.text.source import Source

RECORD = """\
department "Pinewater Fire Department"
  zone   America/Denver
  rules  us-dot
site quay "Quay Street"
site hill "Hill Road"
person ash "Rowan Ash"
person birch "Lee Birch"
source C1 "Compressor"
  kind  compressor
cylinder K-7
  serial  "P 0007"
  tag     00A7
  tag     E2007
cylinder K-8
  serial  0008
  tag     E2008
cylinder 114
  serial  P-114
  tag     E2114
fill sheet 2026-03-01  at quay  on C1  by ash
  08:00  K-7  to 4500 psi
  09:00  K-8  to 4500 psi  struck 2026-03-01 by ash "never happened"
  114  to 2216 psi
"""
COLUMNS = {
    "day": {"column": "Day", "form": "year-month-day"},
    "time": {"column": "Time", "form": "hour:minute"},
    "cylinder": {"column": "Cylinder", "by": "name"},
    "to": {"column": "End", "unit": "psi"},
}


def record():
    """The record as it is read."""
    return read_record([Source("all.cyl", RECORD)])


def take(record, text: str, columns: dict, as_of: date = date(2026, 11, 25), late=None, **zones):
    """What becomes of an export by a map that is right."""
    form, faults = file_form(columns)
    assert not faults
    table = read_table(text.encode(), form.encoding, form.separator, form.heading)
    mapped, faults = column_map(columns, table.heading)
    assert not faults
    reader = FillReader(mapped, form, record, as_of, **zones)
    assert not reader.faults
    return take_in(table.rows, reader, record, late)
