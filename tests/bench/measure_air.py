"""
Measures what following the air costs, as ratios in one run. Not a test: the figures are for readers.

    python tests/bench/measure_air.py            100,000 fills of a thousand cylinders, three storage banks

The record is that of `make_record`, its fills dealt out to a compressor and three banks, with a
sample every second month and a failed one in the middle.
"""

import sys
import time
from datetime import date, timedelta
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "bench")]

from make_record import DAYS, FIRST_DAY, make_record  # noqa: E402

from cylfile.history.sources.air_trace import trace_air  # noqa: E402
from cylfile.judging.judge import judge  # noqa: E402
from cylfile.packs.layering import load_rules  # noqa: E402
from cylfile.record.reader import read_record  # noqa: E402
from cylfile.text.source import Source  # noqa: E402

_AS_OF = date(2026, 11, 25)
_BANKS = ("B1", "B2", "B3")


def text_with_banks(fills: int) -> str:
    """The record with every other sheet filled from one of three banks, which are filled every week."""
    sheets = make_record(fills).split("  on C1")
    text = "".join(
        part + ("" if number == len(sheets) - 1 else f"  on {('C1', *_BANKS)[number % 4]}")
        for number, part in enumerate(sheets)
    )
    lines = []
    for month in range(0, 72, 2):
        day = f"{2019 + (6 + month) // 12}-{(6 + month) % 12 + 1:02d}-03"
        lines.append(f"{day} air sample C1 {'fail' if month == 36 else 'pass'}\n{day} cartridge changed C1\n")
    for name in _BANKS:
        lines.append(f'source {name} "Bank"\n  kind  storage\n  rated  6000 psi\n  holds  900 L\n')
        for week in range(DAYS // 7):
            day = FIRST_DAY + timedelta(days=7 * week)
            # After the failed sample and the good one that follows it, the banks are let out once.
            before = 0 if f"{day:%Y-%m}" == "2022-10" else 4000
            lines.append(f"  {day}  filled  from {before} psi  to 5500 psi  on C1\n")
    return text.replace("  rated  6000 psi\n", "  rated  6000 psi\n  cartridge  10000000 ft3\n", 1) + "".join(lines)


def _timed(work) -> tuple[float, object]:
    start = time.perf_counter()
    made = work()
    return time.perf_counter() - start, made


def main(fills: int) -> None:
    source = Source("record.cyl", text_with_banks(fills))
    reading, record = _timed(lambda: read_record([source]))
    assert not record.faults
    dot, _ = load_rules(["us-dot"], lambda name: None)
    both, _ = load_rules(["us-dot", "air"], lambda name: None)
    without, _ = _timed(lambda: judge(record, dot, _AS_OF))
    with_air, judgement = _timed(lambda: judge(record, both, _AS_OF))
    assert any(finding.rule == "filled-on-failed-air" for finding in judgement.findings)
    tracing, trace = _timed(lambda: trace_air(record, "C1", FIRST_DAY, _AS_OF, _AS_OF))
    print(f"{record.entry_count:,} entries, read in {reading:.2f} s")
    print(f"  judging by us-dot and air takes {with_air / without:.1f} times that by us-dot alone")
    print(
        f"  tracing {len(trace.reached):,} cylinders takes {tracing / reading:.2f} times reading the record ({tracing:.2f} s)"
    )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) == 2 else 100_000)
