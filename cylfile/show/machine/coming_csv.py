"""
Tests and replacements to budget for, as rows for a spreadsheet.
"""

from collections.abc import Iterator

from cylfile.history.due import Outlay
from cylfile.judging.heads import natural
from cylfile.show.machine.spreadsheet import csv_lines
from cylfile.show.pages.coming_page import Coming
from cylfile.show.terminal.heading import origin_line


def coming_csv(coming: Coming) -> Iterator[str]:
    """A row for each year, class and kind that has any."""
    heading = ("year", "class", "what", "count", "of these overdue")
    rows = (list(row.values())[:5] for row in rows_of(coming))
    return csv_lines(heading, rows, origin_line(coming.record, coming.rules, coming.as_of))


def rows_of(coming: Coming) -> Iterator[dict]:
    groups: dict[tuple, list[Outlay]] = {}
    for outlay in coming.outlays:
        groups.setdefault((outlay.year, outlay.class_name or "", outlay.kind), []).append(outlay)
    for (year, class_name, kind), outlays in sorted(groups.items()):
        yield {
            "year": year,
            "class": class_name or None,
            "what": kind,
            "count": len(outlays),
            "overdue": sum(outlay.is_overdue for outlay in outlays),
            "cylinders": sorted((outlay.subject for outlay in outlays), key=natural),
        }
