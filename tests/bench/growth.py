"""
How the time that a record takes grows with its size, shape by shape: n log n at most.

    python tests/bench/growth.py                  all shapes
    python tests/bench/growth.py seals waivers    those whose names have one of these words

Each shape is written with 1,000 and with 8,000 lines or things, and a command is run on it in a child that has loaded
everything already. What a record of 10 takes is taken off. The exponent is that of the CPU time between the two sizes:
n log n has 1.13. The exit status is 1 where a shape is over 1.2, which leaves a little for the noise of a machine that
others use too; one that is over it is measured once more, in more runs, since noise only adds.
"""

import math
import os
import random
import resource
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from cylfile.__main__ import main as run_program  # noqa: E402

BASE, LARGE, MOST = 10, 8_000, 1.2
_TRIES = 2
# 8,000 days before the as-of day and more.
_FIRST = date(2004, 1, 1)
_AS_OF = ("--as-of", "2026-03-20")
_HEAD = """\
department "Larch Hollow Fire"
  zone   Etc/UTC
  rules  us-dot
site quay "Quay"
site lodge "Lodge"
person ayla "Ayla Brandt"
  fills  2004-01-01
tester A123 "Tester"
source C1 "Air room"
  kind   compressor
"""
_CARD = """\
cylinder {name}
  serial  NC-{name}
  marked  "DOT-3AA2216"
  made    2003-10
  holds   11.1 L
  2003-11-01  entered service  at quay
  2008-09-01  hydro pass  by A123
  2013-08-01  hydro pass  by A123
  2018-07-01  hydro pass  by A123
  2023-06-01  hydro pass  by A123
"""
Files = dict[str, str]


class Shape(NamedTuple):
    """A kind of record by its size, and the command that is run in its folder, `lint` where nothing is said."""

    make: Callable[[int], Files]
    command: tuple[str, ...] = ("lint", *_AS_OF)
    # Less where so much is refused, as of packs.
    large: int = LARGE


def _day(number: int) -> date:
    return _FIRST + timedelta(days=number)


def _cards(count: int) -> str:
    return "".join(_CARD.format(name=f"K-{number}") for number in range(count))


def _one(lines: Iterator[str] | list[str], cards: int = 1, head: str = _HEAD) -> Files:
    """One file: the head, cards K-0 and so on, and lines."""
    return {"all.cyl": head + _cards(cards) + "".join(f"{line}\n" for line in lines)}


def _fill(name: str, minute: int, on: str = "C1", day: date | None = None) -> str:
    when = day or _day(minute // 600)
    at = f"{8 + minute % 600 // 60:02}:{minute % 60:02}"
    return f"{when} {at} filled {name}  to 2200 psi  at 68 F  by ayla  on {on}  at quay"


def _in_sheets(count: int, rows: int, cylinders: int) -> Files:
    lines = []
    for number in range(count):
        if number % rows == 0:
            lines.append(f"fill sheet {_day(number // rows)}  at quay  on C1  by ayla")
        lines.append(f"  K-{number % cylinders}  from 900 psi  to 2200 psi  at 68 F")
    return _one(lines, cylinders)


def _maybe_wrong(number: int) -> str:
    """A row of a sheet; there is no time such as every tenth has."""
    return f"  {'09:00' if number % 10 else '25:00'}  K-{number % 50}  to 2200 psi"


def _mixed(count: int) -> Files:
    """A department that goes about its work: one cylinder to 40 fills, in sheets of 40."""
    cylinders = max(1, count // 40)
    chance = random.Random(1)
    lines = []
    for number in range(count):
        if number % 40 == 0:
            lines.append(f"fill sheet {_day(number // 40)}  at quay  on C1  by ayla")
        minute = 480 + number % 40 * 5
        name = f"K-{chance.randrange(cylinders)}"
        lines.append(f"  {minute // 60:02}:{minute % 60:02}  {name}  from 900 psi  to 2200 psi  at 68 F")
    return _one(lines, cylinders)


def _each(line: Callable[[int], str], cards: Callable[[int], int] = lambda count: 1, head: str = _HEAD) -> Shape:
    """One line for each number."""
    return Shape(lambda count: _one(map(line, range(count)), cards(count), head))


def _all(count: int) -> int:
    return count


def _storages(count: int) -> Files:
    """Each storage is filled from the one before it, and a cylinder from the last."""
    blocks = [f'source S{number} "Storage"\n  kind  storage\n  holds  50 L' for number in range(count)]
    fills = [
        f"{_day(number)} filled S{number} from 500 psi to 3000 psi on {f'S{number - 1}' if number else 'C1'}"
        for number in range(count)
    ]
    return _one([*blocks, *fills, _fill("K-0", 0, f"S{count - 1}", date(2026, 3, 1))])


def _bank(count: int) -> Files:
    """One storage that is filled over and over, each time after a fill from it."""
    block = 'source bank "Bank"\n  kind  storage\n  holds  50 L'
    lines = []
    for number in range(count // 2):
        lines.append(f"{_day(number)} 07:00 filled bank from 500 psi to 3000 psi on C1 by ayla")
        lines.append(_fill(f"K-{number % 20}", 60, "bank", _day(number)))
    return _one([block, *lines], 20)


def _samples(count: int) -> Files:
    """A bad sample, and all that was filled after the one before it."""
    lines = [f"{_FIRST} air sample C1 pass by ayla", *(_fill(f"K-{n % 50}", n) for n in range(count))]
    return _one([*lines, "2026-03-01 air sample C1 fail CO 20 ppm by ayla"], 50)


def _conflicts(count: int) -> Files:
    lines = []
    for number in range(count // 4):
        lines += [
            "<<<<<<< ours",
            _fill("K-0", number),
            "=======",
            f'{_fill("K-0", number)} remark "b"',
            ">>>>>>> theirs",
        ]
    return _one(lines)


def _blocks(block: Callable[[int], str]) -> Shape:
    return Shape(lambda count: {"all.cyl": _HEAD + "".join(map(block, range(count)))})


def _serials(count: int) -> Files:
    recalls = [f'recall 2025-01-01 "Lot {number}"\n  serial  "NC-K-{number}*7"' for number in range(count // 2)]
    return _one(recalls, count // 2)


def _ranges(count: int) -> Files:
    recalls = [f'recall 2025-01-01 "Lot {n}"\n  serial  NC-K-{n} to NC-K-{n + 5}' for n in range(count // 2)]
    return _one(recalls, count // 2)


def _people(count: int) -> Files:
    blocks = [f'person p{number} "Person {number}"\n  fills  2004-01-01' for number in range(count // 2)]
    fills = [_fill("K-0", number).replace("by ayla", f"by p{number}") for number in range(count // 2)]
    return _one([*blocks, *fills])


def _sites(count: int) -> Files:
    blocks = [f'site s{number} "Site {number}"' for number in range(count // 2)]
    moves = [f"{_day(n)} 08:00 moved K-0 to s{n}" for n in range(count // 2)]
    return _one([*blocks, *moves])


def _spans(count: int) -> Files:
    """A span of authority a day, and a fill on each, by the rules that ask for authority."""
    days = [_day(number) for number in range(count // 2)]
    spans = "".join(f"  fills  {day} until {day}\n" for day in days)
    head = _HEAD.replace("  fills  2004-01-01\n", spans).replace("  rules  us-dot\n", "  rules  practice\n")
    return _one([_fill("K-0", 0, day=day) for day in days], head=head)


def _tester_dates(count: int) -> Files:
    """A span of an approval a day, and a test on each."""
    days = [_day(number) for number in range(count // 2)]
    spans = "".join(f"  authorized  {day} until {day}\n" for day in days)
    head = _HEAD.replace('"Tester"\n', f'"Tester"\n{spans}')
    return _one([f"{day} hydro K-0 pass by A123" for day in days], head=head)


def _waived_long(count: int) -> Files:
    """A finding a day, and a waiver a day that covers it and all after it."""
    lines = []
    for number in range(count // 2):
        day = _day(number)
        lines.append(_fill("K-0", 0, day=day).replace("2200", "4000"))
        lines.append(f'waived filled-over-limit for K-0 from {day} until 2026-12-31 by ayla "x"')
    return _one(lines)


def _pack(count: int) -> Files:
    rules = [
        f"rule seen-{number} notice\n  on    filled\n  when  to > {number + 1} psi\n  say   \"more than {number}\"\n"
        f"  breaks\n    cylinder A\n    2026-01-01 filled A to {number + 2} psi  # here\n"
        f"  keeps\n    cylinder A\n    2026-01-01 filled A to {number + 1} psi\n"
        for number in range(count)
    ]  # fmt: skip
    head = _HEAD.replace("  rules  us-dot\n", '  rules  us-dot\n  rules  "own.cylpack"\n')
    return {"own.cylpack": 'pack own "Own"\n' + "".join(rules), "all.cyl": head + _cards(1)}


def _classes(count: int) -> Files:
    classes = [f'class kind-{n}\n  name  "Kind {n}"\n  cite  "from memory"\n' for n in range(count)]
    head = _HEAD.replace("  rules  us-dot\n", '  rules  us-dot\n  rules  "own.cylpack"\n')
    return {"own.cylpack": 'pack own "Own"\n' + "".join(classes), "all.cyl": head + _cards(1)}


def _many_files(count: int) -> Files:
    return {"all.cyl": _HEAD + _cards(1)} | {f"day-{n}.cyl": _fill("K-0", n) + "\n" for n in range(count)}


def _many_folders(count: int) -> Files:
    return {"all.cyl": _HEAD + _cards(1)} | {f"f{n % 30}/d{n}/day.cyl": _fill("K-0", n) + "\n" for n in range(count)}


def _county(count: int) -> Files:
    return {
        f"dep-{n}/all.cyl": _HEAD.replace("Larch Hollow", f"Dale {n}") + _CARD.format(name=f"K-{n}")
        for n in range(count // 10)
    }


def _export(count: int) -> Files:
    rows = "".join(f"{_day(n // 500)},{8 + n % 500 // 60:02}:{n % 60:02},K-{n % 40},2200\n" for n in range(count))
    map_ = (
        '[day]\ncolumn="Day"\nform="year-month-day"\n[time]\ncolumn="Time"\nform="hour:minute"\n[cylinder]\ncolumn="Tag"\nby="name"\n'
        '[to]\ncolumn="To"\nunit="psi"\n'
    )
    return _one([], 40) | {"x.csv": f"Day,Time,Tag,To\n{rows}", "map.toml": map_}


def _sealed(count: int) -> Files:
    """A seal a day; the digests are wrong, which takes longest."""
    lines = []
    for number in range(count // 2):
        day = _day(number)
        lines += [_fill("K-0", 0, day=day), f"sealed {day} by ayla {number + 3} entries {'0' * 64}"]
    return _one(lines)


def _sealed_late(count: int) -> Files:
    """A seal a day over a card on which each line is followed by one of the day before that is written late, and struck later."""
    fills, seals = [], []
    for number in range(1, count // 3):
        day, before, after = map(_day, (number, number - 1, number + 1))
        fills.append(f"  {day} visual pass by ayla")
        fills.append(f'  {before} remarked "x" late {day} by ayla "found" struck {after} by ayla "no"')
        seals.append(f"sealed {day} by ayla {2 * number + 5} entries {'0' * 64}")
    return _one([*fills, *seals])


def _sealed_spans(count: int) -> Files:
    """A seal every other day, on each of which somebody had authority, and no other day."""
    days = [_day(2 * number) for number in range(count // 2)]
    head = _HEAD.replace("  fills  2004-01-01\n", "".join(f"  fills  {day} until {day}\n" for day in days))
    return _one([f"sealed {day} by ayla 5 entries {'0' * 64}" for day in days], head=head)


def _sealed_struck_spans(count: int) -> Files:
    """A seal a day, on each of which one of many spans of authority over one another is struck."""
    third = count // 3
    spans = [
        f'  fills  {_day(n)} until {_day(2 * third - n % 7)} struck {_day(n + 1)} by ayla "no"\n' for n in range(third)
    ]
    head = _HEAD.replace("  fills  2004-01-01\n", "".join(spans))
    return _one([f"sealed {_day(n)} by ayla 5 entries {'0' * 64}" for n in range(third)], head=head)


def _sealed_each_year(count: int) -> Files:
    """Ten seals over more and more entries."""
    files = _mixed(count)
    files["all.cyl"] += "".join(f"sealed {2005 + n}-01-01 by ayla {n} entries {'0' * 64}\n" for n in range(10))
    return files


def _alike(number: int) -> str:
    """Names that the eye takes for one another, two by two."""
    return f"cylinder {'O0'[number % 2]}{'I1'[number % 2]}-{number // 2}\n"


SHAPES: dict[str, Shape] = {
    "one long life": _each(lambda n: _fill("K-0", n)),
    "many cylinders": Shape(lambda count: {"all.cyl": _HEAD + _cards(count // 10)}),
    "one sheet": Shape(lambda count: _in_sheets(count, count, max(1, count // 20))),
    "many sheets": Shape(lambda count: _in_sheets(count, 1, max(1, count // 20))),
    "one sheet with wrong rows": Shape(
        lambda count: _one([f"fill sheet {_FIRST}  on C1  by ayla", *(_maybe_wrong(n) for n in range(count))], 50)
    ),
    "mixed work": Shape(_mixed),
    "a day with all fills": _each(lambda n: _fill("K-0", n, day=_FIRST)),
    "a day without times": _each(lambda n: f"{_FIRST} filled K-0 to 2200 psi by ayla on C1 remark \"{n}\""),
    "doubles": _each(lambda n: _fill("K-0", 1)),
    "waivers of one cylinder": _each(
        lambda n: f'waived visual-overdue for K-0 from {_day(n)} until {_day(n + 9)} by ayla "x"'
    ),
    "waivers over one another": Shape(_waived_long),
    "a waiver a cylinder": _each(
        lambda n: f'waived test-overdue for K-{n} from 2025-06-01 until 2026-12-31 by ayla "x"', _all
    ),
    "seals": Shape(_sealed),
    "seals and late lines": Shape(_sealed_late),
    "seals and authority spans": Shape(_sealed_spans),
    "seals and struck authority": Shape(_sealed_struck_spans),
    "a seal over many cylinders": Shape(
        lambda count: _one([f"sealed 2025-01-01 by ayla 1 entries {'0' * 64}"], count // 10)
    ),
    "ten seals": Shape(_sealed_each_year),
    "recalls by pattern": Shape(_serials),
    "recalls by range": Shape(_ranges),
    "conflicts": Shape(_conflicts),
    "names alike": _blocks(_alike),
    "damaged lines": _each(lambda n: f"  broken {n} ((("),
    "damaged lines of a card": Shape(lambda count: _one([f"  2020-01-01 filed to {n} psi" for n in range(count)])),
    "authority spans": Shape(_spans),
    "dates of a tester": Shape(_tester_dates),
    "people": Shape(_people),
    "sites": Shape(_sites),
    "sources": _blocks(lambda n: f'source s{n} "S"\n  kind  compressor\n  2026-01-20  air sample pass  CO 1 ppm\n'),
    "a chain of cascades": Shape(_storages, large=4_000),
    "a bank": Shape(_bank),
    "suspect air": Shape(_samples),
    "gauge checks": _each(lambda n: f'{_day(n)} gauge checked C1 "reads {n} psi high" by ayla'),
    "struck lines": _each(lambda n: f'{_fill("K-0", n)} struck 2026-01-01 by ayla "wrong"'),
    "answers": _each(lambda n: f'{_fill("K-0", n).replace("2200", "2300")} answered 2026-01-01 by ayla "done"'),
    "late lines": _each(lambda n: f'{_fill("K-0", n)} late 2026-01-01 by ayla "found"'),
    "tags of one cylinder": _each(lambda n: f"  tag  T{n}"),
    "a tag of many cylinders": _blocks(lambda n: f"cylinder K-{n}\n  tag  T1 since {_day(n)} until {_day(n + 1)}\n"),
    "a serial of many cylinders": _blocks(lambda n: f"cylinder K-{n}\n  serial  X1\n"),
    "markings of one cylinder": _each(lambda n: f'  marked  "DOT-3AA{n}"'),
    "a block declared again": _blocks(lambda n: "cylinder K-0\n  class  dot-3aa\n"),
    "findings": _each(lambda n: _fill("K-0", n).replace("2200", "4000")),
    "unknown names": _each(lambda n: _fill(f"X-{n}", n)),
    # Passed over so quickly that fewer would be lost in noise.
    "comments and blanks": Shape(lambda count: _one(["# a comment\n"] * count), large=80_000),
    "one line that goes on": Shape(lambda count: _one([_fill("K-0", 1), *(f"    # {n}" for n in range(count))])),
    "rules of a pack": Shape(_pack, large=400),
    "rules prove": Shape(_pack, ("rules", "prove", "own.cylpack"), large=400),
    "classes of a pack": Shape(_classes, large=800),
    "files": Shape(_many_files),
    "folders": Shape(_many_folders),
    "records of a county": Shape(_county, large=1_600),
    "import": Shape(_export, ("import", "x.csv", "--columns", "map.toml", *_AS_OF)),
    "neaten": Shape(_mixed, ("neaten", "--check")),
    "regroup cards": Shape(_mixed, ("regroup", "cards", "--into", "../new")),
    "regroup sheets": Shape(lambda count: _one([_fill(f"K-{n % 50}", n) for n in range(count)], 50),
                            ("regroup", "sheets", "--into", "../new")),
    "compare": Shape(lambda count: {f"{old}/{path}": text for old in ("a", "b") for path, text in _mixed(count).items()},
                     ("compare", "a", "b", *_AS_OF)),
    "compare, all gone": Shape(lambda count: {"a/all.cyl": _mixed(count)["all.cyl"], "b/all.cyl": _HEAD},
                               ("compare", "a", "b", *_AS_OF)),
    "plain": Shape(_mixed, ("plain", "all.cyl")),
    "enter": Shape(_mixed, ("enter", "2026-03-20 10:00 filled K-0 to 2200 psi at 68 F", *_AS_OF)),
    "card": Shape(lambda count: _one([_fill("K-0", n) for n in range(count)]), ("card", "K-0", *_AS_OF)),
    "trace": Shape(_samples, ("trace", "C1", "--first", str(_FIRST), *_AS_OF)),
    "inventory": Shape(lambda count: _one([], count // 10), ("inventory", *_AS_OF)),
    "due": Shape(lambda count: _one([], count // 10), ("due", *_AS_OF)),
    "coming": Shape(lambda count: _one([], count // 10), ("coming", *_AS_OF)),
    "totals": Shape(_mixed, ("totals", *_AS_OF)),
    "briefing": Shape(_mixed, ("briefing", *_AS_OF)),
    "seal": Shape(_mixed, ("seal", "--through", "2025-12-31", "--by", "ayla", *_AS_OF)),
    "publish": Shape(_mixed, ("publish", "../new", *_AS_OF)),
}  # fmt: skip


def main(words: list[str]) -> int:
    """Measures the shapes whose names have one of the words, or all; prints a line each, and what grows too fast."""
    chosen = {name: shape for name, shape in SHAPES.items() if not words or any(word in name for word in words)}
    over = []
    print(f"{'shape':28} {'n':>6} {'s':>7} {'n':>6} {'s':>7} {'MB':>5} exponent")
    for name, shape in chosen.items():
        small = shape.large // 8
        for tries in (_TRIES, 4 * _TRIES):
            base = _least(shape, BASE, tries)[0]
            (few, _), (many, memory) = _least(shape, small, tries), _least(shape, shape.large, tries)
            exponent = math.log(max(many - base, 1e-4) / max(few - base, 1e-3)) / math.log(8)
            if exponent <= MOST:
                break
        mark = "" if exponent <= MOST else "  TOO FAST"
        print(
            f"{name:28} {small:6} {few:7.2f} {shape.large:6} {many:7.2f} {memory:5} {exponent:6.2f}{mark}", flush=True
        )
        if mark:
            over.append(name)
    print(f"{len(chosen)} shapes, {len(over)} over n log n{': ' if over else ''}{', '.join(over)}")
    return int(bool(over))


def _least(shape: Shape, count: int, tries: int) -> tuple[float, int]:
    """CPU seconds of the quickest of a few runs, and the most memory in MB."""
    runs = []
    for _ in range(tries):
        with tempfile.TemporaryDirectory() as top:
            for path, text in shape.make(count).items():
                whole = Path(top, "record", path)
                whole.parent.mkdir(parents=True, exist_ok=True)
                whole.write_text(text)
            runs.append(_run(Path(top, "record"), shape.command))
    return min(runs)


def _run(folder: Path, command: tuple[str, ...]) -> tuple[float, int]:
    told, telling = os.pipe()
    number = os.fork()
    if number == 0:
        os.chdir(folder)
        sys.stdout = open(os.devnull, "w")
        complaints = sys.stderr = open(folder.parent / "complaints", "w+")
        before = time.process_time()
        status = run_program(list(command))
        used = time.process_time() - before
        complaints.seek(0)
        said = complaints.read() if status == 2 else ""
        memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
        os.write(telling, f"{used} {memory} {said}".encode())
        os._exit(0)
    os.close(telling)
    with open(told, encoding="utf-8") as pipe:
        used, memory, said = pipe.read().split(" ", 2)
    os.waitpid(number, 0)
    if said:
        raise SystemExit(f"{' '.join(command)}: {said}")
    return float(used), int(memory)


if __name__ == "__main__":
    # Loaded once, for all the children.
    with tempfile.TemporaryDirectory() as warm:
        for path, text in _mixed(20).items():
            Path(warm, path).write_text(text)
        output, sys.stdout = sys.stdout, open(os.devnull, "w")
        run_program(["lint", warm, *_AS_OF])
        sys.stdout = output
    sys.exit(main(sys.argv[1:]))
