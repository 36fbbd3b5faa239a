"""
Measures `compare --each-revision` beside the mere reading of what changed, in one run on one machine. Not a test.

    python tests/bench/revisions.py                  3,000 commits of a record of 10,000 entries
    python tests/bench/revisions.py --commits 500 --entries 5000 --one-file

The record grows by a fill or a card line a commit; one commit in fifty alters an old line, one in forty merges a branch.
Reading is that of every file that a commit changed, as git and the program do it, each version once; both count the
time of the processor, git's with it. With --one-file all fills of the record stand in one file.
"""

import argparse
import os
import random
import resource
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
HEAD = """\
department "Weir Fell Fire"
  zone   America/Denver
  rules  us-dot
site wf1 "Station 1"
person pell "Ina Pell"
  fills  2010-01-01
source C1 "Air-room compressor"
  kind   compressor
"""
CYLINDERS = 60


class Growing:
    """A record that goes from commit to commit, as a stream for `git fast-import`."""

    def __init__(self, entries: int, one_file: bool):
        self.draw = random.Random(8)
        self.one_file = one_file
        self.files = {"department.cyl": HEAD}
        for number in range(CYLINDERS):
            card = f"cylinder W-{number}\n  class   dot-3aa\n  rated   2216 psi\n  made    2012-01\n"
            self.files[f"cards/W-{number}.cyl"] = card + "  2012-02-01        entered service  at wf1\n"
        self.day = 0
        for _ in range(entries):
            self.fill()

    @property
    def today(self) -> str:
        year, rest = divmod(self.day, 336)
        return f"{2013 + year}-{rest // 28 + 1:02}-{rest % 28 + 1:02}"

    def fill(self) -> str:
        """Writes the next fill; the path of its file."""
        self.day += self.draw.random() < 0.2
        day = self.today
        path = "fills.cyl" if self.one_file else f"fills/{day[:7]}.cyl"
        said, header = self.files.get(path, ""), f"fill sheet {day}  at wf1  on C1  by pell\n"
        row = f"  W-{self.draw.randrange(CYLINDERS)}  to {self.draw.randrange(1900, 2216)} psi  at 68 F\n"
        self.files[path] = said + ("" if header in said else header) + row
        return path

    def reading(self) -> str:
        path = f"cards/W-{self.draw.randrange(CYLINDERS)}.cyl"
        self.files[path] += f"  {self.today}        gauged 2000 psi\n"
        return path

    def altered(self) -> str:
        path = self.draw.choice([path for path in self.files if path.startswith("fills")])
        lines = self.files[path].splitlines(keepends=True)
        spot = self.draw.choice([number for number, line in enumerate(lines) if line.startswith("  ")])
        lines[spot] = lines[spot].replace("at 68 F", f"at {self.draw.randrange(60, 80)} F")
        self.files[path] = "".join(lines)
        return path

    def stream(self, commits: int) -> Iterator[str]:
        yield commit(1, "main", "Begin", self.files.items())
        mark, at_side = 1, 0
        for number in range(commits):
            mark += 1
            path = self.altered() if number % 50 == 49 else self.fill() if number % 5 else self.reading()
            if at_side and number % 40 == 39:
                # What the branch wrote is in the record already, as it would be after a merge.
                yield commit(mark, "main", "Merge", [(path, self.files[path])], at_side)
                at_side = 0
                continue
            yield commit(mark, "main", f"Work {number}", [(path, self.files[path])])
            if number % 40 == 20:
                side = (f"side/{number}.cyl", f"{self.today} gauged W-{number % CYLINDERS} 1000 psi\n")
                mark += 1
                yield commit(mark, "side", "Elsewhere", [side], 0, mark - 1)
                at_side = mark
                self.files[side[0]] = side[1]
                mark += 1
                yield commit(mark, "main", "Bring it", [side])


def commit(mark: int, branch: str, message: str, files, merges: int = 0, start: int = 0) -> str:
    who = f"Ina Pell <pell@example.org> {1_600_000_000 + mark * 3600} +0000\n"
    said = f"commit refs/heads/{branch}\nmark :{mark}\nauthor {who}committer {who}data {len(message)}\n{message}\n"
    said += f"from :{start}\n" if start else ""
    said += f"merge :{merges}\n" if merges else ""
    for path, text in files:
        said += f"M 100644 inline {path}\ndata {len(text.encode())}\n{text}\n"
    return said + "\n"


READING = """
import gc, subprocess, sys
gc.disable()
from cylfile.record.file_reader import FileReader
from cylfile.text.source import Source
listed = subprocess.run(["git", "log", "--raw", "--no-abbrev", "--no-renames", "-m", "--format="], capture_output=True, text=True).stdout
names = dict.fromkeys(line.split()[3] for line in listed.splitlines())
batch = subprocess.run(["git", "cat-file", "--batch"], input="".join(f"{name}\\n" for name in names).encode(), capture_output=True).stdout
at, entries = 0, 0
while at < len(batch):
    end = batch.index(b"\\n", at)
    size = int(batch[at:end].split()[2]) if b"missing" not in batch[at:end] else -1
    entries += FileReader(Source("", batch[end + 1 : end + 1 + max(size, 0)].decode())).read().record.entry_count
    at = end + 1 + size + 1
print(len(names), entries)
"""


def seconds(folder: str, *command: str) -> tuple[float, str]:
    """Seconds of the processor that a command takes, and what it prints."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    done = subprocess.run([sys.executable, *command], cwd=folder, env=environment, capture_output=True, text=True)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    if done.returncode not in (0, 1):
        raise SystemExit(done.stderr)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime, done.stdout


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--commits", type=int, default=3_000)
    options.add_argument("--entries", type=int, default=10_000)
    options.add_argument("--one-file", action="store_true")
    asked = options.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run(["git", "init", "-q", "--bare", folder], check=True)
        growing = Growing(asked.entries - asked.commits, asked.one_file)
        stream = "".join(growing.stream(asked.commits))
        subprocess.run(["git", "fast-import", "--quiet"], cwd=folder, input=stream.encode(), check=True)
        subprocess.run(["git", "symbolic-ref", "HEAD", "refs/heads/main"], cwd=folder, check=True)
        names = subprocess.run(["git", "rev-list", "main"], cwd=folder, capture_output=True, text=True).stdout.split()
        states = [f"{names[-1]}..main", "--as-of", "2031-01-01", "--as", "csv"]
        reading, read = seconds(folder, "-c", READING)
        ends, _ = seconds(folder, "-m", "cylfile", "compare", *states)
        whole, said = seconds(folder, "-m", "cylfile", "compare", "--each-revision", *states)
    told = len({row.split(",")[-3] for row in said.splitlines()[1:]}) - 1
    versions, entries = read.split()
    print(f"{len(names):,} commits; {versions} versions of files, {entries} entries in them: read in {reading:.1f} s")
    print(f"compare of the ends {ends:.1f} s; with --each-revision {whole:.1f} s, {told} commits told of")
    print(
        f"the walk alone {(whole - ends) / reading:.2f} times the reading of what changed, all of it {whole / reading:.2f} times"
    )


if __name__ == "__main__":
    main()
