"""
What falls due as one JSON object, with one thing due a line.
"""

from collections.abc import Iterator

from cylfile.history.due import Due
from cylfile.show.machine.json_object import dump, list_head
from cylfile.show.pages.due_page import DueList, working_of_due


def due_json(listed: DueList) -> Iterator[str]:
    """One object, with one thing due a line."""
    head = {
        **list_head(listed.record, listed.rules, listed.as_of),
        "until": str(listed.until),
        "out_of_service": listed.left_out,
    }
    yield dump(head)[:-1]
    yield from _list("due", [_due_object(due, listed) for due in listed.due])
    yield from _list(
        "untold",
        [
            {"what": untold.kind, "subject": untold.subject, "site": untold.site, "lacks": untold.lacks}
            for untold in listed.untold
        ],
    )
    yield "}\n"


def _list(name: str, objects: list[dict]) -> Iterator[str]:
    yield f', "{name}": [' + ",".join(f"\n {dump(each)}" for each in objects) + "]"


def _due_object(due: Due, listed: DueList) -> dict:
    return {
        "what": due.kind,
        "subject": due.subject,
        "site": due.site,
        "at_tester_since": str(listed.at_tester_since.get(due.subject) or "") or None,
        "class": due.class_name,
        "due_by": str(due.day),
        "days_away": (due.day - listed.as_of).days,
        "working": working_of_due(due),
    }
