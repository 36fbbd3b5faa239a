"""
A made-up record of any size for measuring: one station, a thousand cylinders, fill sheets of eighty rows.
"""

import random
from datetime import date, timedelta

FIRST_DAY = date(2019, 8, 3)
DAYS = 2_000
ROWS_A_SHEET = 80

_HEAD = """\
department "Measured Department"
  zone   Etc/UTC
  rules  us-dot
site st1 "Station 1"
person rowe "Rowe"
  fills  2010-01-01
tester A123 "Tester"
source C1 "Compressor"
  kind   compressor
  rated  6000 psi
"""
_CARD = """\
cylinder K-{number:04d}
  serial  NC-{number}
  marked  "DOT-SP 99123-4500"
  class   carbon-wrapped
  made    2019-06
  holds   6.8 L
  2019-08-02  entered service  at st1
  2024-06-20  hydro pass  by A123  at 7500 psi  total 92.1 cc  permanent 1.8 cc
"""


def fill_rows(fills: int, cylinders: int = 1_000, seed: int = 1) -> list[tuple[date, list[str]]]:
    """Rows of fill sheets, sheet by sheet: nine in ten with `from`, seven in ten with a temperature."""
    chance = random.Random(seed)
    sheets = []
    count = max(1, fills // ROWS_A_SHEET)
    for number in range(count):
        rows = []
        for row in range(min(ROWS_A_SHEET, fills - number * ROWS_A_SHEET)):
            minutes = 8 * 60 + row * 5
            before = f"  from {chance.randrange(5, 20) * 100} psi" if chance.random() < 0.9 else ""
            warm = f"  at {chance.randrange(70, 100)} F" if chance.random() < 0.7 else ""
            reached = 4500 if chance.random() < 0.95 else 4400
            name = f"K-{chance.randrange(cylinders):04d}"
            rows.append(f"  {minutes // 60:02d}:{minutes % 60:02d}  {name}{before}  to {reached} psi{warm}\n")
        sheets.append((FIRST_DAY + timedelta(days=number * DAYS // count), rows))
    return sheets


def make_record(fills: int, cylinders: int = 1_000) -> str:
    """The text of a record of so many fills."""
    parts = [_HEAD, *(_CARD.format(number=number) for number in range(cylinders))]
    for day, rows in fill_rows(fills, cylinders):
        parts.append(f"fill sheet {day}  at st1  on C1  by rowe\n")
        parts += rows
    return "".join(parts)
