"""
What was done in a period, as rows for a spreadsheet.
"""

from collections.abc import Iterator

from cylfile.show.machine.spreadsheet import Identifier, csv_lines
from cylfile.show.pages.totals_page import Totals
from cylfile.show.terminal.heading import origin_line

COUNTS = (
    "fills", "free air liters", "fills without free air", "tests passed", "tests failed", "visuals passed", "visuals failed",
)  # fmt: skip


def totals_csv(totals: Totals) -> Iterator[str]:
    return csv_lines((*totals.per, *COUNTS), rows_of(totals), origin_line(totals.record, totals.rules, totals.as_of))


def rows_of(totals: Totals) -> Iterator[tuple]:
    """The values of each row: what it is by, then the counts."""
    for key, total in totals.rows.items():
        counts = (total.tests_passed, total.tests_failed, total.visuals_passed, total.visuals_failed)
        names = (None if value is None else Identifier(value) for value in key)
        yield (*names, total.fills, round(total.free_air / 1e3, 1), total.unknown, *counts)
