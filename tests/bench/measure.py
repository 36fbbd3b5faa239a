"""
Measures speed as ratios, all in one run on one machine. Not a test: the figures are for readers.

    python tests/bench/measure.py              100,000 fills
    python tests/bench/measure.py 1000000      a million, and growth from a tenth of it

What is measured, each in a process of its own so that none warms or burdens another:

- lint: read, fold and judge by all rules of us-dot, from text to findings;
- yaml: PyYAML's C loader, merely loading the same facts;
- lark: lark parsing the same rows one by one;
- expression: one regular expression with groups over the same text.
"""

import re
import subprocess
import sys
import time
from datetime import date
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "bench")]
# The slow ones are measured on fewer rows and scaled.
_FEWER = 20_000


def lint(fills: int) -> None:
    """Prints seconds and bytes an entry of the whole way from text to findings."""
    import gc

    from make_record import make_record

    text = make_record(fills)
    from cylfile.judging.judge import judge
    from cylfile.packs.layering import load_rules
    from cylfile.record.reader import read_record
    from cylfile.text.source import Source

    rules, _ = load_rules(["us-dot"], lambda name: None)
    gc.disable()
    before = _resident()
    start = time.perf_counter()
    record = read_record([Source("record.cyl", text)])
    after = _resident()
    judgement = judge(record, rules, date(2026, 11, 25))
    seconds = time.perf_counter() - start
    assert record.entry_count >= fills and judgement.findings
    print(seconds, (after - before) / record.entry_count + len(text) / record.entry_count)


def yaml(fills: int) -> None:
    """Prints seconds of PyYAML's C loader on the same fills, one mapping each."""
    import yaml as library
    from make_record import fill_rows

    few = min(fills, _FEWER)
    lines = []
    for day, rows in fill_rows(few):
        for row in rows:
            words = row.split()
            lines.append(f"- {{day: {day}, time: '{words[0]}', name: {words[1]}, site: st1, source: C1, by: rowe")
            for keyword, number, unit in zip(words[2::3], words[3::3], words[4::3], strict=True):
                lines[-1] += f", {keyword}: {number} {unit}"
            lines[-1] += "}"
    text = "\n".join(lines)
    start = time.perf_counter()
    facts = library.load(text, Loader=library.CSafeLoader)
    seconds = time.perf_counter() - start
    assert len(facts) == few
    print(seconds * fills / few, 0)


def lark(fills: int) -> None:
    """Prints seconds of lark parsing the rows one by one."""
    from make_record import fill_rows

    from cylfile.text.grammar import load_parser

    parser = load_parser("ledger.lark", ("fill_row", "unreadable"))
    few = min(fills, _FEWER)
    rows = [row for _, rows in fill_rows(few) for row in rows]
    start = time.perf_counter()
    for row in rows:
        parser.parse(row, start="fill_row")
    print((time.perf_counter() - start) * fills / few, 0)


def expression(fills: int) -> None:
    """Prints seconds of one regular expression over the whole text, its groups taken."""
    from make_record import make_record

    text = make_record(fills)
    row = re.compile(
        r"[ \t]+([0-9]{2}:[0-9]{2})[ \t]+([A-Za-z0-9][A-Za-z0-9._/-]*)(?:[ \t]+from[ \t]+([0-9.]+ psi))?"
        r"[ \t]+to[ \t]+([0-9.]+ psi)(?:[ \t]+at[ \t]+([0-9.-]+ F))?[ \t]*(?:#[^\n]*)?\n"
    )
    rows = []
    start = time.perf_counter()
    for found in row.finditer(text):
        rows.append(found.groups())
    print(time.perf_counter() - start, 0)
    assert len(rows) == fills


def _resident() -> int:
    """Bytes of memory that this process holds now."""
    for line in Path("/proc/self/status").read_text().split("\n"):
        if line.startswith("VmRSS"):
            return int(line.split()[1]) * 1024
    return 0


def _run(what: str, fills: int) -> tuple[float, float]:
    done = subprocess.run([sys.executable, __file__, what, str(fills)], capture_output=True, text=True, check=True)
    seconds, size = map(float, done.stdout.split())
    return seconds, size


def _process_seconds(command: list[str], times: int = 7) -> float:
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        subprocess.run(command, stdout=subprocess.DEVNULL, cwd=ROOT, check=False)
        taken.append(time.perf_counter() - start)
    return min(taken)


def main(fills: int) -> None:
    seconds, size = _run("lint", fills)
    print(
        f"lint of {fills:,} fills: {fills / seconds:,.0f} entries a second, {size:.0f} bytes an entry (text included)"
    )
    for what, target in (("yaml", "at least 10"), ("lark", ""), ("expression", "at most 4, the other way round")):
        other, _ = _run(what, fills)
        print(
            f"  {what:10}  {other / seconds:6.2f} times the time of the lint, {seconds / other:.2f} the other way; {target}"
        )
    if fills >= 1_000_000:
        tenth, _ = _run("lint", fills // 10)
        print(f"  ten times the entries take {seconds / tenth:.1f} times the time; at most 11")
    python = sys.executable
    argparse = _process_seconds([python, "-c", "import argparse"])
    version = _process_seconds([python, "-m", "cylfile", "--version"])
    print(f"--version takes {version / argparse:.2f} times `import argparse`; at most 2.5")
    imports = _process_seconds([python, "-c", "import lark, rich.console, rich.text"])
    demo = _process_seconds([python, "-m", "cylfile", "lint", "--as-of", "2026-11-25", "examples/clean"])
    print(f"lint of the demo takes {demo / imports:.2f} times importing lark and rich; at most 1.5")


if __name__ == "__main__":
    if len(sys.argv) == 3:
        {"lint": lint, "yaml": yaml, "lark": lark, "expression": expression}[sys.argv[1]](int(sys.argv[2]))
    else:
        main(int(sys.argv[1]) if len(sys.argv) == 2 else 100_000)
