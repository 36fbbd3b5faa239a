"""
Reads ledgers and packs that were damaged at random, in process, and says what went wrong.

    python tests/bench/hostile.py                            20,000 inputs
    python tests/bench/hostile.py --inputs 1000000 --seed 3

Nothing may raise, nothing may take ten seconds of the processor, and each line of a ledger is an entry, a part of a
block, blank, a comment or a fault. One ledger in ten is judged as well. Maps, tables, revisions and messages of
editors are not tried. The exit status is 1 where something was found; each find is printed with its input.
"""

import argparse
import random
import sys
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from cylfile.judging.judge import judge  # noqa: E402
from cylfile.packs.layering import load_rules  # noqa: E402
from cylfile.packs.pack_reader import read_pack  # noqa: E402
from cylfile.record.reader import read_record  # noqa: E402
from cylfile.text.language import Damaged, Slot  # noqa: E402
from cylfile.text.ledger import read_blocks  # noqa: E402
from cylfile.text.source import Source, decode  # noqa: E402

LONGEST = 10.0
_STRAYS = [
    "", "\x00", "\x1b[2J", "\r", "\r\n", "\t", "\u2028", "\u202e", "\ud800", '"', "\\", "#", "@", ":", "=", "(" * 90,
    "9" * 25, "-1", "1e9", "2026-02-30", "9999-12-31", "0001-01-01", "99999999psi", "\ufeff", "é" * 40, "\n\n", "\n  ",
]  # fmt: skip


def damaged(chance: random.Random, lines: list[str]) -> str:
    """A few lines of those given, in a run or from anywhere, with up to four faults put in."""
    start = chance.randrange(len(lines))
    taken = lines[start : start + chance.randint(1, 12)]
    taken += chance.sample(lines, chance.randint(0, 3))
    for _ in range(chance.randint(0, 4)):
        at = chance.randrange(len(taken))
        words = taken[at].split(" ")
        spot = chance.randrange(len(words))
        match chance.randrange(5):
            case 0:
                words[spot] = chance.choice(_STRAYS)
            case 1:
                del words[spot]
            case 2:
                words[spot] = chance.choice(chance.choice(lines).split(" "))
            case 3:
                words.insert(spot, chance.choice(_STRAYS))
            case _:
                words[spot] = words[spot][: chance.randint(0, len(words[spot]))]
        taken[at] = " ".join(words)
    return "\n".join(taken) + chance.choice(["\n", ""])


def try_ledger(text: str, rules) -> None:
    """Reads a ledger, asks that each line be accounted for, and judges it where rules are given."""
    source, undecoded = decode("a.cyl", text.encode("utf-8", "surrogatepass"))
    record = read_record([source], undecoded)
    entries = {entry.start for entries in record.entries.values() for entry in entries}
    faults = [fault.span.start for fault in record.faults]
    lines = [(line, block) for block in read_blocks(source)[0] for line in block.lines]
    # A line may go on below itself, so it ends where the next one begins.
    ends = [*(line.start for line, _ in lines[1:]), len(source.text)]
    for (line, block), end in zip(lines, ends):
        unsaid = isinstance(line, Damaged) or (
            (block.place.endswith("_row") or isinstance(line.shape.tree.children[0], Slot))
            and line.start not in entries
        )
        if unsaid and not any(line.start <= place <= end for place in faults):
            raise AssertionError(f"a line is lost: {source.text[line.start : end]!r}")
    if rules is not None:
        judge(record, rules, date(2026, 11, 25))


def try_pack(text: str) -> None:
    """Reads a pack."""
    read_pack(Source("a.cylpack", text))


def main() -> None:
    """Tries as many inputs as asked, prints the finds and the speed."""
    asked = argparse.ArgumentParser()
    asked.add_argument("--inputs", type=int, default=20_000)
    asked.add_argument("--seed", type=int, default=1)
    options = asked.parse_args()
    chance = random.Random(options.seed)
    ledgers = [
        line for path in sorted((ROOT / "examples").rglob("*.cyl")) for line in path.read_text("utf-8").split("\n")
    ]
    packs = [
        line
        for path in sorted((ROOT / "cylfile/packs").glob("*.cylpack"))
        for line in path.read_text("utf-8").split("\n")
    ]
    rules, _ = load_rules(["us-dot"], lambda name: None)
    finds: dict[str, int] = {}
    begun = time.perf_counter()
    for number in range(options.inputs):
        if chance.random() < 0.2:
            text = damaged(chance, packs)
            trial: Callable[[], None] = lambda text=text: try_pack(text)  # type: ignore[misc]  # noqa: E731
        else:
            text = damaged(chance, ledgers)
            judged = rules if number % 10 == 0 else None
            trial = lambda text=text, judged=judged: try_ledger(text, judged)  # type: ignore[misc]  # noqa: E731
        started, what = time.process_time(), ""
        try:
            trial()
        except Exception as error:
            trace = error.__traceback__
            while trace is not None and trace.tb_next is not None:
                trace = trace.tb_next
            place = f"{Path(trace.tb_frame.f_code.co_filename).name}:{trace.tb_lineno}" if trace else ""
            what = f"{type(error).__name__} at {place}: {error}"
        if time.process_time() - started > LONGEST:
            what = "it took over ten seconds"
        if what:
            kind = what.split(": ")[0]
            finds[kind] = finds.get(kind, 0) + 1
            if finds[kind] == 1:
                print(f"{what}\n    {text!r}", flush=True)
    minutes = (time.perf_counter() - begun) / 60
    print(f"{options.inputs} inputs, {options.inputs / minutes:.0f} a minute, {sum(finds.values())} finds: {finds}")
    sys.exit(bool(finds))


if __name__ == "__main__":
    main()
