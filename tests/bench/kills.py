"""
Kill every command that writes at every one of its file operations, and see that each file is the old one or the new one.

    python tests/bench/kills.py [KILLS]

The program runs in a child that is made to end, as by a power cut, just before its n-th operation on files: opening for
writing, writing (after half of the bytes), forcing to the disk, renaming, removing, making a folder. This goes through
all n of every command, and then through them again until so many KILLS are done (1,000 by default). After each, the
record must be the one before or the one after; where `neaten` writes several files, each old or new, and the record
says the same. And the same command run again must do its work and leave nothing of the broken-off run behind.
"""

import os
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

PROJECT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(PROJECT))

from cylfile.__main__ import main as run_program  # noqa: E402
from cylfile.files import writing  # noqa: E402
from cylfile.record.reader import read_record  # noqa: E402
from cylfile.record.record import Record  # noqa: E402
from cylfile.rewriting.same_facts import difference  # noqa: E402
from cylfile.text.source import decode  # noqa: E402

_KILLED = 9


class _Counter:
    """Counts operations on files, and ends the process before one of them; number 0 is never reached."""

    def __init__(self, kill_before: int):
        self.count, self.kill_before = 0, kill_before

    def step(self) -> bool:
        self.count += 1
        return self.count == self.kill_before

    def watch(self) -> None:
        for name in ("open", "fsync", "replace", "rename", "unlink", "rmdir", "mkdir", "fchmod"):
            setattr(os, name, self._counted(name, getattr(os, name)))
        writing._exchanged = self._counted("exchange", writing._exchanged)
        fdopen = os.fdopen
        os.fdopen = lambda *arguments, **more: _Halved(fdopen(*arguments, **more), self)

    def _counted(self, name: str, real: Callable) -> Callable:
        def one(*arguments, **more):
            if (name != "open" or arguments[1] & (os.O_WRONLY | os.O_RDWR | os.O_CREAT)) and self.step():
                os._exit(_KILLED)
            return real(*arguments, **more)

        return one


class _Halved:
    """A file of which only half is written where the process ends at that."""

    def __init__(self, opened, counter: _Counter):
        self.opened, self.counter = opened, counter

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.opened.close()

    def __getattr__(self, name):
        return getattr(self.opened, name)

    def write(self, data):
        if self.counter.step():
            self.opened.write(data[: len(data) // 2])
            self.opened.flush()
            os._exit(_KILLED)
        return self.opened.write(data)


class _Ended(NamedTuple):
    status: int
    operations: int
    said: str


_DEPARTMENT = (
    'department "Larch Hollow Fire"\n  zone  Etc/UTC\n  rules  us-dot\nsite quay "Quay"\nperson ayla "Ayla Brandt"\n'
)
_FILES = {
    "department.cyl": f'{_DEPARTMENT}source C1 "Air room"\n  kind  compressor\n',
    "cards.cyl": "cylinder T-1\n  class  dot-3aa\n  rated 2216 psi\n  made   2024-01\n  2024-02-01  entered service at quay\n",
    "fills.cyl": "fill sheet 2026-03-14  at quay  on C1  by ayla\n  09:42  T-1  from 900 psi to 2200 psi at 68 F\n",
}
_MAP = (
    '[day]\ncolumn="Day"\nform="year-month-day"\n[cylinder]\ncolumn="Tag"\nby="name"\n[to]\ncolumn="To"\nunit="psi"\n'
)
_EXPORT = "Day,Tag,To\n2026-03-15,T-1,2100\n2026-03-15,T-9,2100\n"
_AS_OF = ("--as-of", "2026-03-20")
# Command -> its arguments, run in the folder of the record.
COMMANDS = {
    "enter": ("enter", "2026-03-14 10:04 filled T-1 to 2200 psi at 68 F", *_AS_OF),
    "enter into a new file": ("enter", "2026-03-15 10:04 filled T-1 to 2200 psi at 68 F", "--into", "a/new.cyl", *_AS_OF),
    "neaten": ("neaten",),
    "seal": ("seal", "--through", "2026-03-14", "--by", "ayla", *_AS_OF),
    "import": ("import", "../x.csv", "--columns", "../map.toml", "--skip-unreadable", *_AS_OF),
    "regroup cards": ("regroup", "cards", "--into", "../new"),
    "regroup sheets": ("regroup", "sheets", "--into", "../new"),
    "start": ("start", "../new", *_AS_OF),
    "publish": ("publish", "../new", *_AS_OF),
    "publish again": ("publish", "../published", *_AS_OF),
}  # fmt: skip


def main(kills: int) -> int:
    done = wrong = 0
    while done < kills:
        for name, arguments in COMMANDS.items():
            before, after, operations = _whole(arguments)
            for at in range(1, operations + 1):
                trouble = _killed(arguments, at, before, after)
                done += 1
                if trouble:
                    wrong += 1
                    print(f"{name}, killed before operation {at} of {operations}: {trouble}")
            print(f"{name}: {operations} operations", flush=True)
    print(f"{done} kills, {wrong} left neither the old nor the new, or something behind")
    return int(wrong > 0)


def _whole(arguments: tuple[str, ...]) -> tuple[dict, dict, int]:
    """What stands there before and after a run that nobody breaks off, and how many operations on files it takes."""
    with tempfile.TemporaryDirectory() as top:
        record = _laid_out(top, arguments)
        before = _seen(top)
        ended = _run(record, arguments)
        if ended.status != int(arguments[0] == "import") or not ended.operations:
            raise SystemExit(f"{arguments}: ended with {ended.status}: {ended.said}")
        return before, _seen(top), ended.operations


def _killed(arguments: tuple[str, ...], at: int, before: dict, after: dict) -> str | None:
    """What is wrong after a kill, None where nothing is."""
    with tempfile.TemporaryDirectory() as top:
        record = _laid_out(top, arguments)
        ended = _run(record, arguments, at)
        if ended.status != _KILLED:
            return f"it was not killed, but ended with {ended.status}: {ended.said}"
        state = _seen(top)
        # Of several files each may be old or new; a folder is whole or not there.
        odd = [path for path in state if state[path] not in (before.get(path), after.get(path))]
        lost = [path for path in before if path not in state]
        new = {path for path in after if path.startswith("new/")}
        if odd or lost or 0 < len(new & state.keys()) < len(new):
            return f"neither old nor new: {odd or lost or sorted(new & state.keys())}"
        again = _run(record, arguments)
        left = [path.name for path in Path(top).rglob(".*") if path.name.endswith((".writing", ".lock"))]
        if left:
            return f"left behind: {left}"
        if arguments == COMMANDS["neaten"]:
            otherwise = difference(_record_of(before), _record_of(state))
            if otherwise:
                return f"with some of its files neat the record says something else: {otherwise}"
        was_done = state == after
        if not was_done and (again.status not in (0, 1) or _seen(top) != after):
            return f"run again it ends with {again.status}: {again.said}"
    return None


def _laid_out(top: str, arguments: tuple[str, ...]) -> Path:
    record = Path(top, "record")
    record.mkdir()
    for name, text in _FILES.items():
        (record / name).write_text(text)
    Path(top, "map.toml").write_text(_MAP)
    Path(top, "x.csv").write_text(_EXPORT)
    if arguments == COMMANDS["publish again"]:
        _run(record, (*arguments[:2], "--as-of", "2026-03-19"))
        Path(top, "published/logo.txt").write_text("put there by somebody else")
    return record


def _seen(top: str) -> dict[str, bytes]:
    """What everybody sees: every file but those that begin with a dot and are not part of what `start` makes."""
    paths = (path for path in Path(top).rglob("*") if path.is_file() and not path.name.endswith((".writing", ".lock")))
    return {
        path.relative_to(top).as_posix(): path.read_bytes()
        for path in paths
        if not any(part.endswith(".writing") for part in path.relative_to(top).parts)
    }


def _record_of(state: dict[str, bytes]) -> Record:
    return read_record([decode(path, data)[0] for path, data in state.items() if path.endswith(".cyl")])


def _run(record: Path, arguments: tuple[str, ...], at: int = 0) -> _Ended:
    """Run a command in a process of its own, which has loaded everything already."""
    said, inlet = os.pipe()
    number = os.fork()
    if number == 0:
        os.close(said)
        counter = _Counter(at)
        os.chdir(record)
        sys.stdout = sys.stderr = open(inlet, "w", buffering=1, closefd=False)
        counter.watch()
        status = run_program(list(arguments))
        os.write(inlet, f"\n{counter.count}".encode())
        os._exit(status)
    os.close(inlet)
    with open(said, "rb") as pipe:
        text = pipe.read().decode()
    _, status = os.waitpid(number, 0)
    count = text.rpartition("\n")[2]
    return _Ended(os.waitstatus_to_exitcode(status), int(count) if count.isdigit() else 0, text)


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 1_000))
