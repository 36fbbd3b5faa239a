"""
How long the lint of a county takes: with one process and with two, by the workers of a cluster, and with twice as many.

    python tests/bench/county.py                            50 departments of 2,000 entries
    python tests/bench/county.py 500 20000 --cluster        and by a scheduler with two workers, which it starts and ends
    python tests/bench/county.py 500 1000 --growth          and that of twice as many departments

Every department is another one of `varied.py`. All is measured in one run on one machine, and each lint is a process
of its own. Not a test: the figures are for readers.
"""

import argparse
import contextlib
import hashlib
import json
import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import varied

ROOT = Path(__file__).resolve().parent.parent.parent
DAY = "2026-01-15"
_ENVIRONMENT = {**os.environ, "PYTHONPATH": str(ROOT)}


def make(county: Path, first: int, count: int, entries: int) -> None:
    """Write departments into the county, each of its own seed."""
    for number in range(first, first + count):
        for path, text in varied.files(entries, number + 1):
            target = county / f"department-{number:05}" / path
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_text(text.replace("serial  VV", f"serial  V{number}"), encoding="utf-8", newline="\n")


class Lint(NamedTuple):
    """Seconds by the clock and of this machine's processors, without those of a cluster; entries; what came out."""

    clock: float
    spent: float
    entries: int
    digest: str


def lint(county: Path, *options: str) -> Lint:
    before, start = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    command = [sys.executable, "-m", "cylfile", "lint", ".", "--as", "jsonl", "--as-of", DAY, *options]
    done = subprocess.run(command, cwd=county, env=_ENVIRONMENT, capture_output=True)
    seconds, after = time.perf_counter() - start, resource.getrusage(resource.RUSAGE_CHILDREN)
    assert done.returncode == 1 and not done.stderr, done.stderr.decode()
    spent = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    counts = (line for line in done.stdout.splitlines() if line.startswith(b'{"counts"'))
    entries = sum(json.loads(line)["counts"]["entries"] for line in counts)
    return Lint(seconds, spent, entries, hashlib.sha256(done.stdout).hexdigest())


@contextlib.contextmanager
def cluster(folder: Path) -> Iterator[str]:
    """The address of a scheduler on the loopback with two workers of one thread each, which end with it."""
    with contextlib.ExitStack() as ends:

        def start(module: str, *arguments: str) -> None:
            command = [sys.executable, "-m", f"distributed.cli.{module}", "--no-dashboard", *arguments]
            log = ends.enter_context(open(folder / f"{module}.log", "ab"))
            process = subprocess.Popen(command, cwd=folder, env=_ENVIRONMENT, stdout=log, stderr=log)
            ends.callback(process.wait)
            ends.callback(process.terminate)

        start("dask_scheduler", "--host", "127.0.0.1", "--port", "0", "--scheduler-file", "scheduler.json")
        for _ in range(2):
            start("dask_worker", "--scheduler-file", "scheduler.json", "--no-nanny", "--nthreads", "1")
        from distributed import Client

        with Client(scheduler_file=str(folder / "scheduler.json"), timeout=60) as client:
            client.wait_for_workers(2, timeout=60)
            yield client.scheduler.address


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__.split("\n")[1])
    options.add_argument("departments", type=int, nargs="?", default=50)
    options.add_argument("entries", type=int, nargs="?", default=2_000)
    options.add_argument("--cluster", action="store_true")
    options.add_argument("--growth", action="store_true")
    asked = options.parse_args()
    count, entries = asked.departments, asked.entries
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        county = folder / "county"
        make(county, 0, count, entries)
        alone = lint(county, "--jobs", "1")
        print(f"{count:,} departments with {alone.entries:,} entries in all", flush=True)
        each = alone.spent / alone.entries * 1e6
        print(f"  one process     {alone.clock:8.1f} s   {each:.0f} us of CPU an entry", flush=True)
        ways = [("two processes", ("--jobs", "2"))]
        with contextlib.ExitStack() as ends:
            if asked.cluster:
                ways.append(("two workers", ("--cluster", ends.enter_context(cluster(folder)))))
            for title, how in ways:
                done = lint(county, *how)
                said = "the same lines" if done.digest == alone.digest else "OTHER LINES"
                spent = f", {done.spent / alone.spent:.2f} times the CPU" if how[0] == "--jobs" else ""
                print(
                    f"  {title:<15} {done.clock:8.1f} s   {alone.clock / done.clock:.2f} times as fast{spent}, {said}",
                    flush=True,
                )
        if asked.growth:
            make(county, count, count, entries)
            twice = lint(county, "--jobs", "1")
            print(
                f"  {twice.entries / alone.entries:.2f} times the entries take {twice.spent / alone.spent:.2f} times the CPU"
            )


if __name__ == "__main__":
    main()
