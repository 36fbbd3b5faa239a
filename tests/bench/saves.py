"""
How many saves of an editor are lost beside a program that writes the same file all the time.

    python tests/bench/saves.py [SAVES]

An editor knows of no lock. It saves a line of its own each time, by putting a new file in the place of the old one or
by writing on at its end; the writer adds lines of its own and tries again where the file has changed. At the end each
save that is not in the file is counted.
"""

import os
import sys
import tempfile
import time
from collections.abc import Callable
from multiprocessing import get_context
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from cylfile.files.writing import ChangedMeanwhile, write_file  # noqa: E402


def _put(path: Path, line: str) -> None:
    beside = path.with_suffix(".new")
    beside.write_bytes(path.read_bytes() + line.encode())
    os.replace(beside, path)


def _append(path: Path, line: str) -> None:
    with path.open("a") as opened:
        opened.write(line)


def _write_for_ever(path: Path) -> None:
    while True:
        before = path.read_bytes()
        # So that the file stays small: of the lines of this writer only the last is kept.
        kept = b"".join(line for line in before.splitlines(keepends=True) if not line.startswith(b"w"))
        try:
            write_file(str(path), before, kept + b"w\n")
        except ChangedMeanwhile:
            continue


def main(saves: int) -> None:
    """Prints, for each way to save, how many were lost."""
    ways: dict[str, Callable[[Path, str], None]] = {"in place of the old file": _put, "at its end": _append}
    for name, save in ways.items():
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder, "fills.cyl")
            path.write_bytes(b"# fills\n" * 2_500)
            writer = get_context("fork").Process(target=_write_for_ever, args=(path,))
            writer.start()
            for number in range(saves):
                save(path, f"saved {number}\n")
                time.sleep(0.002)
            writer.terminate()
            writer.join()
            there = set(path.read_text().splitlines())
            lost = sum(f"saved {number}" not in there for number in range(saves))
            print(f"saved {name}: {lost} of {saves:,} lost")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1_000)
