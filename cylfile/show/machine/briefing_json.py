"""
A record in short, as one JSON object.
"""

from collections.abc import Iterator

from cylfile.history.due import Due
from cylfile.judging.brief import Brief
from cylfile.show.machine.json_object import dump, list_head
from cylfile.show.pages.briefing_page import must_come_out, must_not_be_filled


def briefing_json(brief: Brief) -> Iterator[str]:
    case = brief.case
    value = {
        **list_head(case.record, case.rules, case.as_of),
        "cylinders": len(brief.heads),
        "take_out_of_use": [{"reason": words, "cylinders": names} for words, names in must_come_out(brief)],
        "do_not_fill": [{"reason": words, "cylinders": names} for words, names in must_not_be_filled(brief)],
        "until": str(brief.until),
        "due": [_due(each) for each in brief.due],
        "sources": [_due(each) for each in brief.of_sources],
    }
    yield dump(value) + "\n"


def _due(each) -> dict:
    return {"what": each.kind, "subject": each.subject, "due_by": str(each.day) if isinstance(each, Due) else None}
