"""
What became of an export, as one JSON object.
"""

from collections.abc import Iterator

from cylfile import __version__
from cylfile.importing.import_fills import Outcome
from cylfile.show.machine.json_object import dump
from cylfile.show.pages.import_page import Import


def import_json(taken: Import) -> Iterator[str]:
    table, outcome = taken.table, taken.outcome
    value: dict[str, object] = {
        "cylfile": __version__,
        "rows": len(table.rows),
        "encoding": table.encoding,
        "separator": table.separator,
        **({"fills": len(outcome.fills)} if isinstance(outcome, Outcome) else {"cards": len(outcome.cards)}),
        "refused": [{"row": each.row.number, "reason": each.reason} for each in outcome.refused],
        "doubles": outcome.doubles,
        **({"likely_doubles": outcome.likely_doubles} if isinstance(outcome, Outcome) else {}),
        "left_out": outcome.left_out,
        "written": taken.written,
        "rejected": taken.rejected,
    }
    yield dump(value) + "\n"
