"""
Measures `publish` beside `lint` on the same record, all in one run on one machine. Not a test.

    python tests/bench/measure_publish.py FOLDER     a record, such as `varied.py` makes

Both run as processes; what counts is the time of the processor. The largest page is named too.
"""

import resource
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent


def seconds(*arguments: str) -> float:
    """Seconds of the processor that a run of the program takes."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    command = [sys.executable, "-m", "cylfile", *arguments]
    ended = subprocess.run(command, stdout=subprocess.DEVNULL, env={"PYTHONPATH": str(ROOT)})
    if ended.returncode not in (0, 1):
        raise SystemExit(f"{arguments[0]} ended with {ended.returncode}")
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def main(record: str) -> None:
    with tempfile.TemporaryDirectory() as folder:
        pages = f"{folder}/pages"
        lint, first, again = (
            seconds("lint", record),
            seconds("publish", pages, record),
            seconds("publish", pages, record),
        )
        sizes = {path: path.stat().st_size for path in Path(pages).rglob("*.html")}
        largest = max(sizes, key=sizes.__getitem__)
        print(f"lint {lint:.1f} s; publish {first / lint:.2f} times that, a second run {again / lint:.2f} times")
        print(
            f"{len(sizes)} pages, {sum(sizes.values()) / 1e6:.1f} MB; the largest {largest.name}, {sizes[largest] / 1e3:.0f} kB"
        )


if __name__ == "__main__":
    main(sys.argv[1])
