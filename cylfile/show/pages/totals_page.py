"""
The annual report: what was done in a period, as a table and a picture.
"""

from datetime import date
from typing import NamedTuple

from cylfile.history.totals import Total
from cylfile.packs.ruleset import Ruleset
from cylfile.packs.wording import free_air_in_words
from cylfile.record.record import Record
from cylfile.show.terminal.bars import put_bars
from cylfile.show.terminal.heading import put_foot, put_heading
from cylfile.show.terminal.layout import Layout, Line
from cylfile.show.terminal.table import Column, put_table

NOT_SAID = "not said"
_COLUMNS = ("fills", "free air", "air not known", "tests", "visuals")
_MOST_BARS = 40


class Totals(NamedTuple):
    """The totals of a record from the first to the last day, by what `per` names."""

    record: Record
    rules: Ruleset
    as_of: date
    per: list[str]
    first: date
    last: date
    rows: dict[tuple, Total]

    @property
    def is_metric(self) -> bool:
        """Whether the record writes its pressures in bar."""
        rated = [card.rated.unit for card in self.record.cylinders.values() if card.rated]
        return sum(unit != "psi" for unit in rated) > len(rated) / 2


def totals_page(totals: Totals, layout: Layout) -> list[Line]:
    facts = [f"{totals.first} to {totals.last}", f"as of {totals.as_of}"]
    put_heading(layout, totals.record, totals.rules, facts)
    layout.blank()
    if not totals.rows:
        layout.put("Nothing was filled, tested or inspected.", style="strong")
    elif len(totals.rows) <= _MOST_BARS:
        bars = [(_label(key), {"fill": total.fills}) for key, total in totals.rows.items()]
        put_bars(layout, {"fill": "fills"}, bars)
        layout.blank()
    columns = [*map(Column, totals.per), *(Column(name, True, at) for at, name in enumerate(_COLUMNS))]
    rows = [[*((value or NOT_SAID, "") for value in key), *_cells(total, totals)] for key, total in totals.rows.items()]
    if len(rows) > 1:
        sums = Total()
        for total in totals.rows.values():
            for field, value in vars(total).items():
                setattr(sums, field, getattr(sums, field) + value)
        rows.append([("all", "strong"), *[("", "")] * (len(totals.per) - 1), *_cells(sums, totals)])
    if rows:
        put_table(layout, columns, rows)
    layout.blank()
    put_foot(layout, totals.record, totals.rules)
    return layout.lines


def _label(key: tuple) -> str:
    return ", ".join(value or NOT_SAID for value in key)


def _cells(total: Total, totals: Totals) -> list[tuple[str, str]]:
    tests, visuals = (
        _outcomes(total.tests_passed, total.tests_failed),
        _outcomes(total.visuals_passed, total.visuals_failed),
    )
    return [
        (f"{total.fills:,}", ""),
        (free_air_in_words(total.free_air, "bar" if totals.is_metric else "psi"), ""),
        (f"{total.unknown:,}" if total.unknown else "-", ""),
        (tests, ""),
        (visuals, ""),
    ]


def _outcomes(passed: int, failed: int) -> str:
    """How many there were, and how many of these failed."""
    count = f"{passed + failed:,}" if passed + failed else "-"
    return f"{count}, {failed:,} failed" if failed else count
