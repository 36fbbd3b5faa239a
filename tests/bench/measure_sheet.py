"""
Measures what a row of `cylfile enter --sheet` takes, in milliseconds of the processor. Not a test: the figures are for readers.

    python tests/bench/measure_sheet.py              varied records of 10,000 and of 100,000 entries

A row is from the tag to the verdict, and from the reading to the row on the disk, its judgment included. What is
done once, before the first question, stands beside it.
"""

import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).resolve().parent.parent.parent
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "bench")]

ROWS = 40


class Took(NamedTuple):
    """Milliseconds of the processor: to begin, and the median and the most of verdicts and of rows."""

    begin: float
    verdict: float
    most_verdict: float
    row: float
    most_row: float
    written: int


def timed(job: Callable) -> tuple[object, float]:
    start = time.process_time()
    found = job()
    return found, (time.process_time() - start) * 1000


def session_in(folder: Path, entries: int) -> Took:
    """A session in a varied record, each cylinder in turn."""
    import varied

    from cylfile.files.fill_session import FillSession, SheetHead

    varied.write(folder, entries, seed=1, wrong=0.0)
    session, begin = timed(lambda: FillSession([str(folder)], varied.LAST_DAY + timedelta(1)))
    record = session.record
    people, sources, sites = (next(iter(named)) for named in (record.people, record.air_sources, record.sites))
    _, opening = timed(lambda: session.begin(SheetHead(people, sources, sites)))
    names = list(record.cylinders)
    verdicts, rows, written = [], [], 0
    # The first cylinder is told of what is worked out once for all.
    session.answer(names[0])
    for number in range(ROWS):
        name = names[number % len(names)]
        (found, _), took = timed(lambda name=name: session.answer(name))
        verdicts.append(took)
        done, took = timed(lambda name=name: session.write(name, "to 1800 psi at 70 F"))
        rows.append(took)
        written += bool(done.place)
    return Took(
        begin + opening, statistics.median(verdicts), max(verdicts), statistics.median(rows), max(rows), written
    )


def main() -> None:
    print("entries   begin ms   verdict ms (most)   row ms (most)   rows written of", ROWS)
    for entries in (10_000, 100_000):
        with tempfile.TemporaryDirectory() as folder:
            took = session_in(Path(folder), entries)
        print(
            f"{entries:7,}   {took.begin:8.0f}   {took.verdict:6.1f} ({took.most_verdict:.1f})"
            f"   {took.row:6.1f} ({took.most_row:.1f})   {took.written}"
        )


if __name__ == "__main__":
    main()
