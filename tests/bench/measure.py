"""
Measures speed as ratios, all in one run on one machine. Not a test: the figures are for readers.

    python tests/bench/measure.py              100,000 varied entries, and growth from 10,000
    python tests/bench/measure.py 1000000      a million, and growth from 10,000 and 100,000
    python tests/bench/measure.py --jobs 2     what two processes gain, and nothing else

Every measurement is made in a process of its own, so that none warms or burdens another, and the least of several is
taken. Figures are seconds of the processor, and of the clock in parentheses. What is measured, on the varied record
of `varied.py` unless it says otherwise:

- lint, many files / one file: read, fold and judge by all packs of the country, from text to findings;
- us-dot alone, and reading alone;
- lint, uniform: of the record of `make_record.py`, by us-dot;
- yaml, json, sqlite: PyYAML's C loader, the json module and an sqlite table, each merely loading the same facts, one
  mapping or row an entry; with Python's search for garbage, as who calls them has it, and of yaml without it too;
- expression: one regular expression over the same text, which takes the fills of sheets;
- lark: lark parsing the lines of the record one by one;
- lint in so many processes: the processor's seconds of one process, where there is one, and of each where there are several,
  which is the time of the clock where each has a processor to itself.

What the program takes to start is measured by `measure_daily.py`.
"""

import argparse
import gc
import json
import math
import os
import re
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent.parent
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "bench")]
# The slow ones are measured on fewer entries and scaled.
_FEWER = 20_000
_AS_OF = date(2026, 1, 10)
_ALL = ("us-dot", "air")


def _resident() -> int:
    """Bytes of memory that this process holds now."""
    for line in Path("/proc/self/status").read_text().split("\n"):
        if line.startswith("VmRSS"):
            return int(line.split()[1]) * 1024
    return 0


def _texts(entries: int, in_one: bool) -> list[tuple[str, str]]:
    from varied import files, one_text

    return [("record.cyl", one_text(entries))] if in_one else list(files(entries))


class Watch:
    """
    How long something takes, of the processor and of the clock, and what memory it leaves behind.

    Looking for garbage is left out where a program leaves it out, as `cylfile lint` does.
    """

    def __init__(self, with_garbage: bool = True):
        self._with_garbage = with_garbage

    def __enter__(self) -> "Watch":
        if not self._with_garbage:
            gc.disable()
        self._before = _resident(), time.process_time(), time.perf_counter()
        return self

    def __exit__(self, *_: object) -> None:
        memory, processor, clock = self._before
        self.processor = time.process_time() - processor
        self.clock = time.perf_counter() - clock
        self.memory = _resident() - memory

    def told(self, entries: int, share: float = 1.0) -> dict[str, float]:
        """The figures for a whole of which a share was measured."""
        return {
            "processor": self.processor / share,
            "clock": self.clock / share,
            "memory": self.memory / share,
            "entries": entries,
        }


def _linted(texts: list[tuple[str, str]], packs: tuple[str, ...]) -> dict[str, float]:
    from cylfile.judging.case import Case
    from cylfile.judging.whole_record import judge_record
    from cylfile.packs.layering import load_rules
    from cylfile.record.reader import read_record
    from cylfile.text.source import Source

    rules, _ = load_rules(list(packs), lambda name: None) if packs else (None, ())
    with Watch(with_garbage=False) as watch:
        record = read_record([Source(*each) for each in texts])
        if rules is not None:
            # As `lint` does it, which keeps no life once it is judged.
            assert judge_record(Case(record, rules, _AS_OF, ()), with_heads=False).findings
    told = watch.told(record.entry_count)
    told["memory"] += sum(len(text) for _, text in texts)
    return told


class _Shared:
    """
    The processor's seconds of this process alone, and of others that it forked and waited for with it the mean.

    Clock time would tell more of what else the machine does than of the program; and whoever is free takes the next share, so
    that on an idle machine all are done at about the same time.
    """

    def __init__(self) -> None:
        self._more = 0.0
        self._begun: list[float] = []
        self._taken: list[float] = []
        self._fork, os.fork, os.waitpid = os.fork, self._forked, self._ended

    @property
    def seconds(self) -> float:
        return time.process_time() + self._more

    def _forked(self) -> int:
        begun = time.process_time()
        number = self._fork()
        self._begun.append(begun)
        return number

    def _ended(self, number: int, options: int) -> tuple[int, int]:
        number, status, used = os.wait4(number, options)
        self._taken.append(used.ru_utime + used.ru_stime)
        if len(self._taken) == len(self._begun):
            here = time.process_time() - self._begun[0]
            self._more += (here + sum(self._taken)) / (1 + len(self._taken)) - here
            self._begun, self._taken = [], []
        return number, status


def in_processes(entries: int, jobs: int) -> dict[str, float]:
    """Lint of many files in so many processes; the seconds of the processor are those of each while there are several."""
    from cylfile.judging.case import Case
    from cylfile.judging.reading_files import read_files
    from cylfile.judging.whole_record import judge_record
    from cylfile.packs.layering import load_rules
    from cylfile.record.reader import read_record
    from cylfile.text.source import Source

    rules, _ = load_rules(list(_ALL), lambda name: None)
    sources = [Source(*each) for each in _texts(entries, in_one=False)]
    shared = _Shared()
    with Watch(with_garbage=False) as watch:
        before = shared.seconds
        record = read_record(sources, (), read_files(sources, jobs))
        assert judge_record(Case(record, rules, _AS_OF, ()), jobs, with_heads=False).findings
        taken = shared.seconds - before
    return {**watch.told(record.entry_count), "processor": taken}


def many_files(entries: int) -> dict[str, float]:
    return _linted(_texts(entries, in_one=False), _ALL)


def one_file(entries: int) -> dict[str, float]:
    return _linted(_texts(entries, in_one=True), _ALL)


def us_dot_alone(entries: int) -> dict[str, float]:
    return _linted(_texts(entries, in_one=False), _ALL[:1])


def reading_alone(entries: int) -> dict[str, float]:
    return _linted(_texts(entries, in_one=False), ())


def uniform(entries: int) -> dict[str, float]:
    from make_record import make_record

    return _linted([("record.cyl", make_record(entries))], _ALL[:1])


def _facts(entries: int, most: int) -> tuple[list[dict[str, str]], int]:
    """What entries say, one mapping each, of `most` of them; and how many there are."""
    from cylfile.record.entries import write_time, write_value
    from cylfile.record.reader import read_record
    from cylfile.text.source import Source

    record = read_record([Source(*each) for each in _texts(entries, in_one=False)])
    said = [entry for of_name in record.entries.values() for entry in of_name]
    # Of each kind as many as there are in the whole.
    some = said[:: max(1, len(said) // most)]
    facts = []
    for entry in some:
        fact = {"day": str(entry.day), "verb": entry.verb, "name": entry.subject}
        if entry.time is not None:
            fact["time"] = write_time(entry.time)
        for index, word, field in entry.written:
            if entry[index] is not None:
                fact[word or field] = "yes" if entry[index] is True else write_value(field, entry[index])
        facts.append(fact)
    return facts, len(said)


def _loaded(
    entries: int, prepare: Callable[[list], Any], load: Callable[[Any], int], most: int, with_garbage: bool = True
) -> dict[str, float]:
    facts, count = _facts(entries, most)
    prepared = prepare(facts)
    with Watch(with_garbage) as watch:
        loaded = load(prepared)
    assert loaded == len(facts)
    return watch.told(count, len(facts) / count)


def yaml(entries: int, with_garbage: bool = True) -> dict[str, float]:
    import yaml as library

    def written(facts: list[dict[str, str]]) -> str:
        plain = re.compile(r"[A-Za-z0-9][A-Za-z0-9 ./%-]*")
        return "\n".join(
            "- {" + ", ".join(
                f"{key}: {value if plain.fullmatch(value) else json.dumps(value)}" for key, value in fact.items()
            ) + "}"
            for fact in facts
        )  # fmt: skip

    def load(text: str) -> int:
        return len(library.load(text, Loader=library.CSafeLoader))

    return _loaded(entries, written, load, _FEWER, with_garbage)


def yaml_without_garbage(entries: int) -> dict[str, float]:
    return yaml(entries, with_garbage=False)


def json_(entries: int) -> dict[str, float]:
    return _loaded(entries, json.dumps, lambda text: len(json.loads(text)), entries)


def sqlite(entries: int) -> dict[str, float]:
    import sqlite3

    def load(facts: list[dict[str, str]]) -> int:
        base = sqlite3.connect(":memory:")
        base.execute("CREATE TABLE entry (day, time, name, verb, rest)")
        rows = ((f.pop("day"), f.pop("time", None), f.pop("name"), f.pop("verb"), json.dumps(f)) for f in facts)
        base.executemany("INSERT INTO entry VALUES (?, ?, ?, ?, ?)", rows)
        base.execute("CREATE INDEX of_name ON entry (name, day, time)")
        return base.execute("SELECT count(*) FROM entry").fetchone()[0]

    return _loaded(entries, lambda facts: facts, load, entries)


def expression(entries: int) -> dict[str, float]:
    (_, text), *_ = _texts(entries, in_one=True)
    row = re.compile(
        r"[ \t]+([0-9]{2}:[0-9]{2})[ \t]+([A-Za-z0-9][A-Za-z0-9._/-]*)(?:[ \t]+from[ \t]+([0-9.]+ psi))?"
        r"[ \t]+to[ \t]+([0-9.]+ psi)(?:[ \t]+at[ \t]+([0-9.-]+ F))?[ \t]*(?:#[^\n]*)?\n"
    )
    with Watch() as watch:
        rows = [found.groups() for found in row.finditer(text)]
    assert rows
    return watch.told(entries)


def lark(entries: int) -> dict[str, float]:
    from cylfile.text.language import Damaged
    from cylfile.text.ledger import LEDGER, TOP, read_blocks
    from cylfile.text.source import Source

    few = min(entries, _FEWER)
    (_, text), *_ = _texts(few, in_one=True)
    lines = []
    for block in read_blocks(Source("record.cyl", text))[0]:
        for line, place in ((block.header, TOP), *((line, block.place) for line in block.lines)):
            if line is not None and place is not None and not isinstance(line, Damaged):
                lines.append((text[line.start : text.find("\n", line.start)].strip(), place))
    with Watch() as watch:
        for line, place in lines:
            LEDGER._lark.parse(line, start=place)
    return watch.told(entries, few / entries)


_MEASURES: dict[str, Callable[[int], dict[str, float]]] = {
    "lint, many files": many_files,
    "lint, one file": one_file,
    "us-dot alone": us_dot_alone,
    "reading alone": reading_alone,
    "lint, uniform": uniform,
    "yaml": yaml,
    "yaml, no garbage": yaml_without_garbage,
    "json": json_,
    "sqlite": sqlite,
    "expression": expression,
    "lark": lark,
}


_JOBS = "lint in processes"


def _run(what: str, entries: int, *more: str) -> dict[str, float]:
    command = [sys.executable, __file__, str(entries), "--only", what, *more]
    return json.loads(subprocess.run(command, capture_output=True, text=True, check=True).stdout)


def _least(entries: int, times: int) -> dict[str, dict[str, float]]:
    """The figures of each measure: of several runs, taken in turns, the one that took the processor least."""
    found: dict[str, dict[str, float]] = {}
    for _ in range(times):
        for what in _MEASURES:
            told = _run(what, entries)
            if what not in found or told["processor"] < found[what]["processor"]:
                found[what] = told
    return found


def _lines(entries: int, times: int) -> Iterator[str]:
    found = _least(entries, times)
    lint = found["lint, many files"]
    yield f"{lint['entries']:,.0f} entries; ratios are to the lint of many files"
    yield f"{'':18} {'CPU':>8} {'(clock)':>9} {'us an entry':>12} {'ratio':>7} {'bytes an entry':>15}"
    for what, told in found.items():
        each = told["processor"] / told["entries"]
        ratio = each / (lint["processor"] / lint["entries"])
        memory = f"{told['memory'] / told['entries']:15.0f}" if what.startswith("lint") else ""
        figures = (
            f"{told['processor']:7.2f}s {'(' + format(told['clock'], '.2f') + ')':>9} {1e6 * each:12.1f} {ratio:7.2f}"
        )
        yield f"{what:18} {figures} {memory}".rstrip()
    smaller = 10_000
    while smaller < entries:
        small = _run("lint, many files", smaller)
        exponent = math.log(lint["processor"] / small["processor"]) / math.log(lint["entries"] / small["entries"])
        yield f"from {small['entries']:,.0f} to {lint['entries']:,.0f} entries lint grows as their number to the {exponent:.2f}"
        smaller *= 10
    yield _gain(entries, times, 2)


def _gain(entries: int, times: int, jobs: int) -> str:
    """What several processes gain over one: of runs taken in turns, the least of each."""
    found = [[_run(_JOBS, entries, "--jobs", str(each)) for each in (1, jobs)] for _ in range(times)]
    one, several = ({what: min(run[what] for run in runs) for what in runs[0]} for runs in zip(*found))
    processor, clock = one["processor"] / several["processor"], one["clock"] / several["clock"]
    seconds = f"{several['processor']:.2f}s ({several['clock']:.2f}) for {one['processor']:.2f}s ({one['clock']:.2f})"
    return f"{jobs} processes lint {one['entries']:,.0f} entries {processor:.2f} times as fast as one, {clock:.2f} by the clock: {seconds}"


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__.split("\n")[1])
    options.add_argument("entries", type=int, nargs="?", default=100_000)
    options.add_argument("--times", type=int, default=2, help="how often each is measured; the least counts")
    options.add_argument(
        "--only", choices=[*_MEASURES, _JOBS], help="measure one alone, and print its figures as an object"
    )
    options.add_argument("--jobs", type=int, metavar="N", help="measure what so many processes gain, and nothing else")
    asked = options.parse_args()
    if asked.only == _JOBS:
        print(json.dumps(in_processes(asked.entries, asked.jobs)))
        return
    if asked.only is not None:
        print(json.dumps(_MEASURES[asked.only](asked.entries)))
        return
    if asked.jobs is not None:
        print(_gain(asked.entries, asked.times, asked.jobs))
        return
    for line in _lines(asked.entries, asked.times):
        print(line, flush=True)


if __name__ == "__main__":
    main()
