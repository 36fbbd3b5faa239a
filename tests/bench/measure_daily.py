"""
Measures the commands of the working day as ratios, all in one run on one machine. Not a test.

    python tests/bench/measure_daily.py                          the varied record of 100,000 entries
    python tests/bench/measure_daily.py 10000 --times 5
    python tests/bench/measure_daily.py --python ENV/bin/python  as it is installed there, from a wheel

Each command is a process of its own, and what is told is the processor time of all of it, its start included; the least of
several. Beside it stands how many times that is as much as

- one expression: one regular expression over the same bytes, which takes the fills of sheets, and `lint` of the same
  record; `less start` is the command without what `may-fill` takes for a record of ten entries;
- `import argparse`: what Python takes to start and import that, for the start of the program.

What is kept of long files from one run to the next is there from the second run on, and the least counts; of `card` and `enter` it is told
too what they take where nothing is kept.

And import: an export of as many rows taken in whole, beside the csv module merely reading its rows.
"""

import argparse
import csv
import gc
import io
import os
import re
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "bench")]

from make_record import fill_rows, make_record  # noqa: E402
from varied import LAST_DAY, write  # noqa: E402

from cylfile.importing.column_map import column_map, file_form  # noqa: E402
from cylfile.importing.export_table import read_table  # noqa: E402
from cylfile.importing.fill_rows import FillReader  # noqa: E402
from cylfile.importing.import_fills import take_in, written  # noqa: E402
from cylfile.record.reader import read_record  # noqa: E402
from cylfile.text.source import Source  # noqa: E402

_AS_OF = LAST_DAY + timedelta(days=14)
_NAME = "K-0001"
_NEW = f"{_AS_OF} 09:42 filled {_NAME} from 500 psi to 2000 psi at 80 F on C1 at st1"
_COMMANDS: dict[str, tuple[str, ...]] = {
    "may-fill": ("may-fill", _NAME),
    "card": ("card", _NAME),
    "enter": ("enter", _NEW),
    "card, first": ("card", _NAME),
    "enter, first": ("enter", _NEW),
    "inventory": ("inventory",),
    "due": ("due",),
    "briefing": ("briefing",),
    "neaten": ("neaten", "--check"),
    "regroup cards": ("regroup", "cards", "--into", "{new}"),
    "regroup sheets": ("regroup", "sheets", "--into", "{new}"),
}
_UNDATED = ("neaten", "regroup")
_FILLS = re.compile(
    r"[ \t]+([0-9]{2}:[0-9]{2})[ \t]+([A-Za-z0-9][A-Za-z0-9._/-]*)(?:[ \t]+from[ \t]+([0-9.]+ psi))?"
    r"[ \t]+to[ \t]+([0-9.]+ psi)(?:[ \t]+at[ \t]+([0-9.-]+ F))?[ \t]*(?:#[^\n]*)?\n"
)
_TEN = """\
department "Pinewater Fire Department"
  zone   America/Denver
  rules  us-dot
  rules  air
site quay "Quay Street"
person ash "Rowan Ash"
  fills  2020-01-01
tester Z999 "Invented Testing"
  authorized until 2031-03
source C1 "Compressor"
  kind  compressor
  2025-12-02  air sample pass  CO 1 ppm
cylinder K-0001
  serial  NC-1
  marked  "DOT-SP 99999-4500"
  class   carbon-wrapped
  made    2019-06
  2019-08-02  entered service  at quay
  2024-06-20  hydro pass  by Z999  at 7500 psi  total 92.1 cc  permanent 1.8 cc
  2025-01-01  filled  to 4500 psi  at 70 F  by ash  on C1
fill sheet 2025-12-15  at quay  on C1  by ash
  09:42  K-0001   from 900 psi  to 4500 psi  at 85 F
  10:42  K-0001   from 900 psi  to 4500 psi
  11:42  K-0001   to 4400 psi  at 85 F
  12:42  K-0001   to 4400 psi
2025-12-16 gauged K-0001 4400 psi by ash
2025-12-17 moved K-0001 to quay by ash
"""
_MAP = {
    "day": {"column": "Day", "form": "year-month-day"},
    "time": {"column": "Time", "form": "hour:minute"},
    "cylinder": {"column": "Cylinder", "by": "name"},
    "to": {"column": "To", "unit": "psi"},
}


def of_process(command: list[str], folder: Path, cache: str = os.devnull) -> float:
    """Seconds of the processor that a process takes, with a folder for what it may keep."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    variables = {**os.environ, "XDG_CACHE_HOME": cache}
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, env=variables)
    # What could not be done is quick, and no measure of anything.
    assert done.returncode != 2, f"{command}: {done.stderr}"
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def taken(work: Callable[[], object]) -> float:
    """Seconds of the processor that some work takes here."""
    start = time.process_time()
    work()
    return time.process_time() - start


def measured(python: str, entries: int, times: int, place: Path) -> dict[str, float]:
    """Seconds of each command, in turns, and of what it is held against."""
    record, ten = place / "record", place / "ten"
    write(record, entries, 1, 0.04)
    ten.mkdir()
    (ten / "ten.cyl").write_text(_TEN)
    text = "".join(path.read_text(encoding="utf-8") for path in sorted(record.rglob("*.cyl")))
    as_of, program = ["--as-of", str(_AS_OF)], [python, "-m", "cylfile"]
    least: dict[str, float] = {}

    def note(what: str, seconds: float) -> None:
        least[what] = min(least.get(what, seconds), seconds)

    for _ in range(times):
        note("expression", taken(lambda: [found.groups() for found in _FILLS.finditer(text)]))
        note("argparse", of_process([python, "-c", "import argparse"], ten))
        note("--version", of_process([*program, "--version"], ten))
        note("may-fill --help", of_process([*program, "may-fill", "--help"], ten))
        note("may-fill, ten entries", of_process([*program, "may-fill", _NAME, *as_of], ten))
        note("lint", of_process([*program, "lint", "--jobs", "1", "--as", "json", *as_of], record))
        for what, words in _COMMANDS.items():
            copy, new = place / "copy", place / "new"
            shutil.copytree(record, copy)
            dated = [] if words[0] in _UNDATED else as_of
            cache = os.devnull if what.endswith("first") else str(place / "cache")
            note(what, of_process([*program, *(word.format(new=new) for word in words), *dated], copy, cache))
            shutil.rmtree(copy)
            shutil.rmtree(new, ignore_errors=True)
    return least


def export(fills: int) -> bytes:
    """An export of so many fills, none of which the record has."""
    lines = ["Day,Time,Cylinder,To"]
    for day, rows in fill_rows(fills):
        for row in rows:
            words = row.split()
            lines.append(f"{day},{words[0]},{words[1]},{4000 + len(lines) % 400}")
    return "\n".join(lines).encode()


def tell_import(rows: int) -> None:
    data = export(rows)
    merely = taken(lambda: list(csv.reader(io.StringIO(data.decode()))))
    few = read_record([Source("record.cyl", make_record(0))])

    def import_it() -> None:
        form, _ = file_form(_MAP)
        table = read_table(data)
        columns, _ = column_map(_MAP, table.heading)
        outcome = take_in(table.rows, FillReader(columns, form, few, date(2026, 11, 25)), few)
        assert not outcome.refused
        written(outcome.fills)

    whole = taken(import_it)
    print(f"import of {rows:,} rows: {whole:.2f} s, {whole / merely:.0f} times the csv module")


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__.split("\n")[1])
    options.add_argument("entries", nargs="?", type=int, default=100_000)
    options.add_argument("--times", type=int, default=3)
    options.add_argument("--python", default=sys.executable)
    asked = options.parse_args()
    gc.disable()
    with tempfile.TemporaryDirectory() as place:
        least = measured(asked.python, asked.entries, asked.times, Path(place))
    bare, one, lint, start = (least[what] for what in ("argparse", "expression", "lint", "may-fill, ten entries"))
    for what in ("--version", "may-fill --help", "may-fill, ten entries"):
        print(f"{what:24} {least[what] * 1e3:6.0f} ms {least[what] / bare:7.2f} times import argparse")
    print(f"one expression {one:.3f} s, lint {lint:.2f} s, import argparse {bare * 1e3:.0f} ms")
    for what in _COMMANDS:
        seconds = least[what]
        print(
            f"{what:16} {seconds:6.2f} s   less start {seconds - start:6.2f} s {(seconds - start) / one:6.1f} expressions"
            f" {seconds / lint:6.2f} lints"
        )
    tell_import(asked.entries)


if __name__ == "__main__":
    main()
