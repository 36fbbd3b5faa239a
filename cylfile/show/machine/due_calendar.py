"""
What falls due as a calendar: events of whole days, each on the last day on which it is in time.
"""

from collections.abc import Iterator

from cylfile.history.due import KINDS, Due
from cylfile.show.machine.calendar import Event, calendar_lines
from cylfile.show.pages.due_page import DueList, working_of_due
from cylfile.show.terminal.heading import CAUTION_LINE, origin_line, title_of


def due_calendar(listed: DueList) -> Iterator[str]:
    """Events of whole days, each on the last day on which it is in time."""
    department = listed.record.department
    name = department.title if department else "Cylinders"
    events = (
        Event(
            due.kind, due.subject, due.day, _summary(due),
            "\n".join((working_of_due(due), title_of(listed.record, due.site), name, CAUTION_LINE)),
        )
        for due in listed.due
    )  # fmt: skip
    origin = origin_line(listed.record, listed.rules, listed.as_of)
    return calendar_lines(name, events, listed.as_of, f"{origin}\n{CAUTION_LINE}")


def _summary(due: Due) -> str:
    return f"{KINDS[due.kind].capitalize()} due: {due.subject}"
