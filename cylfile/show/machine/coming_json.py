"""
Tests and replacements to budget for, as one JSON object.
"""

from collections.abc import Iterator

from cylfile.judging.heads import natural
from cylfile.show.machine.coming_csv import rows_of
from cylfile.show.machine.json_object import dump, list_head
from cylfile.show.pages.coming_page import Coming


def coming_json(coming: Coming) -> Iterator[str]:
    """One object, with one year, class and kind a line."""
    head = {
        **list_head(coming.record, coming.rules, coming.as_of),
        "years": coming.years,
        "untold": sorted(coming.untold, key=natural),
    }
    yield dump(head)[:-1] + ', "outlays": [' + ",".join(f"\n {dump(row)}" for row in rows_of(coming)) + "]}\n"
