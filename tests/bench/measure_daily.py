"""
Measures the commands of the working day as ratios, all in one run on one machine. Not a test.

    python tests/bench/measure_daily.py              100,000 fills, and as many rows of an export
    python tests/bench/measure_daily.py 1000000

What is measured:

- may-fill: reading what a record says of one cylinder, beside reading all of it, and beside one
  search of the text for the cylinder's name;
- import: taking in an export whole, rows to sheets that are read back, beside the csv module
  merely reading its rows.
"""

import csv
import gc
import io
import re
import sys
import time
from datetime import date
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "bench")]

from make_record import fill_rows, make_record  # noqa: E402

from cylfile.importing.column_map import column_map, file_form  # noqa: E402
from cylfile.importing.export_table import read_table  # noqa: E402
from cylfile.importing.fill_rows import FillReader  # noqa: E402
from cylfile.importing.import_fills import take_in, written  # noqa: E402
from cylfile.record.reader import read_record  # noqa: E402
from cylfile.record.relevant import read_about  # noqa: E402
from cylfile.text.source import Source  # noqa: E402

_AS_OF = date(2026, 11, 25)
_NAME = "K-0042"
_MAP = {
    "day": {"column": "Day", "form": "year-month-day"},
    "time": {"column": "Time", "form": "hour:minute"},
    "cylinder": {"column": "Cylinder", "by": "name"},
    "to": {"column": "To", "unit": "psi"},
}


def taken(work) -> tuple[float, object]:
    """Seconds of the processor that some work takes, and what it gives."""
    start = time.process_time()
    outcome = work()
    return time.process_time() - start, outcome


def export(fills: int) -> bytes:
    """An export of so many fills, none of which the record has."""
    lines = ["Day,Time,Cylinder,To"]
    for day, rows in fill_rows(fills):
        for row in rows:
            words = row.split()
            lines.append(f"{day},{words[0]},{words[1]},{4000 + len(lines) % 400}")
    return "\n".join(lines).encode()


def main(fills: int) -> None:
    gc.disable()
    text = make_record(fills)
    # What is learnt of the language on the way belongs to neither.
    read_about([Source("few.cyl", make_record(2_000))], _NAME)
    search, _ = taken(lambda: [found.start() for found in re.compile(_NAME).finditer(text)])
    about, record = taken(lambda: read_about([Source("record.cyl", text)], _NAME))
    whole, everything = taken(lambda: read_record([Source("record.cyl", text)]))
    assert len(record.entries[_NAME]) == len(everything.entries[_NAME])
    print(f"one cylinder out of {fills:,} fills: {about:.2f} s")
    print(
        f"  reading all of it takes {whole / about:.1f} times as long; one search for the name {search / about:.2f} times"
    )
    data = export(fills)
    rows, _ = taken(lambda: list(csv.reader(io.StringIO(data.decode()))))
    few = read_record([Source("record.cyl", make_record(0))])

    def import_it():
        form, _ = file_form(_MAP)
        table = read_table(data)
        columns, _ = column_map(_MAP, table.heading)
        outcome = take_in(table.rows, FillReader(columns, form, few, _AS_OF), few)
        assert not outcome.refused
        return written(outcome.fills)

    whole_import, _ = taken(import_it)
    print(f"an export of {fills:,} rows: {whole_import:.2f} s")
    print(f"  the csv module merely reading its rows takes {rows / whole_import:.3f} times as long")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) == 2 else 100_000)
