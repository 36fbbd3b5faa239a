"""
Gives the program input that was damaged at random, in process, and says what went wrong.

    python tests/bench/hostile.py                                          20,000 inputs
    python tests/bench/hostile.py --inputs 1000000 --seed 3 --keep FOLDER  finds go to a folder, as files
    python tests/bench/hostile.py --kind messages

Ledgers, packs, exports (CSV and XLSX) and their maps, states of a repository and what editors send. Nothing may raise,
nothing may take ten seconds of the processor, by an alarm, and nothing may be lost: each line of a ledger is an entry, a
part of a block, blank, a comment or a fault, each row of an export is taken, refused or left out. The exit status is 1
where something was found; the first find of each sort is printed. What was found once stands in `tests/hostile/corpus`.
"""

import argparse
import gc
import io
import json
import random
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from support.exports import RECORD  # noqa: E402
from support.hostile_trials import LONGEST, TRIALS, Hang, at_most  # noqa: E402

# How many of a thousand inputs are of a kind: the slower a trial, the fewer.
SHARES = {
    "ledger": 40, "ledger-read": 540, "pack": 240, "pack-in-force": 5, "table": 60, "map": 75, "revisions": 30,
    "messages": 10,
}  # fmt: skip
_STRAYS = [
    "", "\x00", "\x1b[2J", "\r", "\r\n", "\t", "\u2028", "\u202e", "\ud800", '"', "\\", "#", "@", ":", "=", "(" * 90,
    "9" * 25, "-1", "1e9", "2026-02-30", "9999-12-31", "0001-01-01", "99999999psi", "\ufeff", "é" * 40, "\n\n", "\n  ",
    "<<<<<<< a\n", "\n=======\n", ">>>>>>> b", "\n    # c\n    ", "'", ",", ";", "=1+1", "[", "{", "]", "}", "..", "/",
]  # fmt: skip
_ODD = [None, True, -1, 2**70, 1.5, "", "x" * 3000, [], {}, [[[]]], "\ud83d", "file:///%00", "untitled:x", {"a": None}]


class Maker:
    """Makes damaged inputs of every kind, the same for the same seed."""

    def __init__(self, seed: int):
        self.chance = random.Random(seed)
        self.ledgers = _lines("examples", "*.cyl")
        self.packs = _lines("cylfile/packs", "*.cylpack")
        self.maps = (
            '[day]|column = "Day"|form = "year-month-day"|[time]|column = "Time"|form = "hour:minute"|[cylinder]|'
            'column = "Cylinder"|by = "name"|[to]|column = "End"|unit = "psi"|[file]|encoding = "utf-8"|separator = "comma"|'
            'heading = 1|decimal = "comma"|thousands = "point"|zone = "UTC"|[at]|[by]|names = { "Ash" = "ash" }|'
            "column = 3|column = -1|[temperature]|[rows]|only = ['x']|[day]|[serial]|[tag]|[[day]]|x.y.z = 1"
        ).split("|")
        self.rows = [
            "Day,Time,Cylinder,End", "2026-03-14,09:42,K-7,4500", "2026-03-15,10:00,K-8,4400", "2026-03-01,08:00,K-7,4500",
            "2026-03-16,,114,2216", "14/03/2026;9.42;K-7;310,5", "2026-03-14\t09:42\tK-7\t4500", ",,,", "total,,,9", "sep=;",
        ]  # fmt: skip

    def make(self, kind: str) -> bytes:
        """An input of a kind."""
        return getattr(self, "_" + kind.replace("-", "_"))()

    def _ledger(self) -> bytes:
        return _bytes(self.damaged(self.ledgers))

    _ledger_read = _ledger

    def _pack(self) -> bytes:
        return _bytes(self.damaged(self.packs))

    _pack_in_force = _pack

    def _map(self) -> bytes:
        return _bytes(self.damaged(self.maps, longest=24))

    def _table(self) -> bytes:
        chance = self.chance
        if chance.random() < 0.03:
            return self._workbook()
        text = self.damaged([*self.rows, self.rows[0]], between=chance.choice(",;\t "))
        if chance.random() < 0.7:
            text = f"{self.rows[0]}\n{text}"
        encoding = chance.choice(["utf-8", "utf-8", "utf-8", "utf-16", "utf-8-sig", "cp1252", "utf-32"])
        data = text.encode(encoding, "replace")
        return self._bitten(data) if chance.random() < 0.2 else data

    def _workbook(self) -> bytes:
        from openpyxl import Workbook

        book, chance = Workbook(), self.chance
        for _ in range(chance.randint(0, 4)):
            cells = chance.choice(self.rows).split(",")
            odd = [1e300, -1, 2**60, True, None, "=1+1", 45000.5, "x" * 300]
            book.active.append([chance.choice(odd) if chance.random() < 0.2 else cell for cell in cells])
        file = io.BytesIO()
        book.save(file)
        return self._bitten(file.getvalue()) if chance.random() < 0.6 else file.getvalue()

    def _bitten(self, data: bytes) -> bytes:
        """A few bytes changed, left out or doubled."""
        whole = bytearray(data)
        for _ in range(self.chance.randint(1, 6)):
            at = self.chance.randrange(len(whole) + 1)
            whole[at : at + self.chance.randint(0, 3)] = self.chance.randbytes(self.chance.randint(0, 3))
        return bytes(whole)

    def _revisions(self) -> bytes:
        chance = self.chance
        paths = [
            "all.cyl",
            "a/b.cyl",
            "a/department.cyl",
            "A.cyl",
            "x.CYL",
            ".h/c.cyl",
            "own.cylpack",
            "l.cyl",
            "z",
            "é.cyl",
        ]
        old: dict[str, list[str]] = {"all.cyl": ["100644", RECORD]} if chance.random() < 0.8 else {}
        for _ in range(chance.randint(0, 4)):
            mode = chance.choice(["100644", "100644", "100755", "120000", "160000", "40000"])
            ways = ["a", "..", "../..", "/", "/top/a", "all.cyl", "l.cyl", "a/b.cyl", "", "\0", "x" * 300]
            text = chance.choice(ways) if mode == "120000" else self.damaged(self.ledgers)
            old[chance.choice(paths)] = [mode, text]
        new = {path: held for path, held in old.items() if chance.random() < 0.8}
        if "all.cyl" in new and chance.random() < 0.5:
            new["all.cyl"] = ["100644", self.damaged(RECORD.split("\n"), longest=40)]
        return json.dumps([old, new]).encode()

    def _messages(self) -> bytes:
        """A talk with an editor in which a few messages are odd, or a few bytes are not what they were."""
        chance, uri = self.chance, "file:///no/such/folder/a.cyl"
        place = {
            "textDocument": {"uri": uri},
            "position": {"line": chance.randint(0, 9), "character": chance.randint(0, 30)},
        }
        text = {"uri": uri, "languageId": "cyl", "version": 1, "text": self.damaged(self.ledgers)}
        change = {"textDocument": {"uri": uri, "version": 2}, "contentChanges": [{"text": self.damaged(self.ledgers)}]}
        around = {"start": {"line": 0, "character": 0}, "end": {"line": 5, "character": 0}}
        asked = [
            ("hover", place), ("completion", place), ("definition", place), ("rename", {**place, "newName": "x"}),
            ("references", {**place, "context": {"includeDeclaration": True}}), ("prepareRename", place),
            ("documentSymbol", {"textDocument": {"uri": uri}}), ("foldingRange", {"textDocument": {"uri": uri}}),
            ("formatting", {"textDocument": {"uri": uri}, "options": {"tabSize": 2, "insertSpaces": True}}),
            ("codeAction", {"textDocument": {"uri": uri}, "range": around, "context": {"diagnostics": []}}),
            ("inlayHint", {"textDocument": {"uri": uri}, "range": around}), ("didChange", change),
            ("didClose", {"textDocument": {"uri": uri}}), ("semanticTokens/full", {"textDocument": {"uri": uri}}),
            ("selectionRange", {"textDocument": {"uri": uri}, "positions": [place["position"]]}), ("signatureHelp", place),
        ]  # fmt: skip
        sent = [
            {"id": 1, "method": "initialize", "params": {"processId": None, "rootUri": None, "capabilities": {}}},
            {"method": "initialized", "params": {}},
            {"method": "textDocument/didOpen", "params": {"textDocument": text}},
        ]
        for number in range(chance.randint(1, 5)):
            method, params = chance.choice(asked)
            message = {"method": f"textDocument/{method}", "params": json.loads(json.dumps(params))}
            sent.append(message if method.startswith("did") else {"id": number + 2, **message})
        if chance.random() < 0.6:
            self._make_odd(chance.choice(sent))
        frames = []
        for message in sent:
            body = json.dumps({"jsonrpc": "2.0", **message}).encode()
            if chance.random() < 0.05:
                body = self._bitten(body)
            length = chance.choice(["", "-1", "0", "9" * 30, "x"]) if chance.random() < 0.02 else str(len(body))
            frames.append(b"Content-Length: %s\r\n\r\n%s" % (length.encode(), body))
        whole = b"".join(frames)
        return self._bitten(whole) if chance.random() < 0.05 else whole

    def _make_odd(self, value: dict) -> None:
        """Put something odd in place of a part of a message, or leave the part out."""
        while True:
            key = self.chance.choice(list(value))
            if isinstance(value[key], dict) and value[key] and self.chance.random() < 0.8:
                value = value[key]
                continue
            if self.chance.random() < 0.3:
                del value[key]
            else:
                value[key] = self.chance.choice(_ODD)
            return

    def damaged(self, lines: list[str], longest: int = 12, between: str = " ") -> str:
        """A few lines of those given, in a run or from anywhere, with up to four faults put in."""
        chance = self.chance
        start = chance.randrange(len(lines))
        taken = lines[start : start + chance.randint(1, longest)]
        taken += chance.choices(lines, k=chance.randint(0, 3))
        for _ in range(chance.randint(0, 4)):
            at = chance.randrange(len(taken))
            words = taken[at].split(between)
            spot = chance.randrange(len(words))
            match chance.randrange(5):
                case 0:
                    words[spot] = chance.choice(_STRAYS)
                case 1:
                    del words[spot]
                case 2:
                    words[spot] = chance.choice(chance.choice(lines).split(between))
                case 3:
                    words.insert(spot, chance.choice(_STRAYS))
                case _:
                    words[spot] = words[spot][: chance.randint(0, len(words[spot]))]
            taken[at] = between.join(words)
        return chance.choice(["\n", "\n", "\n", "\r\n"]).join(taken) + chance.choice(["\n", ""])


def _bytes(text: str) -> bytes:
    return text.encode("utf-8", "surrogatepass")


def _lines(folder: str, pattern: str) -> list[str]:
    return [line for path in sorted((ROOT / folder).rglob(pattern)) for line in path.read_text("utf-8").split("\n")]


def find(kind: str, data: bytes) -> str:
    """What goes wrong with an input, and where; empty where nothing does."""
    try:
        with at_most(LONGEST):
            TRIALS[kind](data)
    except (Exception, Hang) as error:
        trace = error.__traceback__
        while trace is not None and trace.tb_next is not None:
            trace = trace.tb_next
        place = f"{Path(trace.tb_frame.f_code.co_filename).name}:{trace.tb_lineno}" if trace else ""
        return f"{type(error).__name__} at {place}: {str(error)[:300]}"
    return ""


def main() -> int:
    """Tries as many inputs as asked; prints the finds and the speed."""
    asked = argparse.ArgumentParser()
    asked.add_argument("--inputs", type=int, default=20_000)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--kind", choices=list(SHARES))
    asked.add_argument("--keep", type=Path, help="a folder for the first input of each sort of find")
    options = asked.parse_args()
    shares = {options.kind: 1} if options.kind else SHARES
    maker = Maker(options.seed)
    finds: dict[str, int] = {}
    tried = dict.fromkeys(shares, 0)
    gc.freeze()
    begun, cpu = time.perf_counter(), time.process_time()
    for number in range(1, options.inputs + 1):
        kind = maker.chance.choices(list(shares), list(shares.values()))[0]
        data = maker.make(kind)
        tried[kind] += 1
        what = find(kind, data)
        if what:
            sort = f"{kind}: {what.split(': ')[0]}"
            finds[sort] = finds.get(sort, 0) + 1
            if finds[sort] == 1:
                print(f"{kind}: {what}\n    {data[:2000]!r}", flush=True)
                if options.keep:
                    options.keep.mkdir(exist_ok=True)
                    (options.keep / f"{len(finds)}.{kind}").write_bytes(data)
        if number % 50_000 == 0:
            print(f"{number:,} inputs, {sum(finds.values())} finds", file=sys.stderr, flush=True)
    minutes, used = (time.perf_counter() - begun) / 60, (time.process_time() - cpu) / 60
    kinds = ", ".join(f"{kind} {count:,}" for kind, count in tried.items())
    print(f"{options.inputs:,} inputs ({kinds}), {options.inputs / minutes:,.0f} a minute,")
    print(f"{options.inputs / used:,.0f} a minute of the processor; {sum(finds.values())} finds: {finds}")
    return int(bool(finds))


if __name__ == "__main__":
    sys.exit(main())
