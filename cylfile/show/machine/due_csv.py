"""
What falls due as rows for a spreadsheet.
"""

from collections.abc import Iterator

from cylfile.show.machine.spreadsheet import Identifier, csv_lines
from cylfile.show.pages.due_page import DueList
from cylfile.show.terminal.heading import origin_line

_HEADING = ("what", "subject", "site", "class", "due by", "days away", "counted from", "months")


def due_csv(listed: DueList) -> Iterator[str]:
    """Rows of what is due; what nobody can tell the day of comes last, without a day."""
    return csv_lines(_HEADING, _rows(listed), origin_line(listed.record, listed.rules, listed.as_of))


def _rows(listed: DueList) -> Iterator[list]:
    for due in listed.due:
        yield [
            due.kind, Identifier(due.subject), _identifier(due.site), due.class_name, due.day,
            (due.day - listed.as_of).days, due.since, due.every,
        ]  # fmt: skip
    for untold in listed.untold:
        yield [untold.kind, Identifier(untold.subject), _identifier(untold.site), None, None, None, None, None]


def _identifier(site: str | None) -> Identifier | None:
    return None if site is None else Identifier(site)
