"""
Tests and replacements to budget for, as one JSON object.
"""

from collections.abc import Iterator

from cylfile import __version__
from cylfile.judging.heads import natural
from cylfile.show.machine.coming_csv import rows_of
from cylfile.show.machine.json_object import dump
from cylfile.show.pages.coming_page import Coming


def coming_json(coming: Coming) -> Iterator[str]:
    """One object, with one year, class and kind a line."""
    head = {
        "cylfile": __version__,
        "as_of": str(coming.as_of),
        "rules": list(coming.rules.names),
        "years": coming.years,
        "untold": sorted(coming.untold, key=natural),
    }
    yield dump(head)[:-1] + ', "outlays": [' + ",".join(f"\n {dump(row)}" for row in rows_of(coming)) + "]}\n"
