"""
What was done in a period, as one JSON object with one row a line.
"""

from collections.abc import Iterator

from cylfile.show.machine.json_object import dump, list_head
from cylfile.show.machine.totals_csv import COUNTS, rows_of
from cylfile.show.pages.totals_page import Totals


def totals_json(totals: Totals) -> Iterator[str]:
    head = {
        **list_head(totals.record, totals.rules, totals.as_of),
        "first": str(totals.first),
        "last": str(totals.last),
        "per": totals.per,
    }
    keys = [*totals.per, *(name.replace(" ", "_") for name in COUNTS)]
    rows = ",".join(f"\n {dump(dict(zip(keys, row)))}" for row in rows_of(totals))
    yield f'{dump(head)[:-1]}, "rows": [{rows}]}}\n'
