"""
All cylinders today: a page for people by site, and rows for machines.
"""

from collections import Counter
from collections.abc import Iterator
from datetime import date
from typing import NamedTuple

from cylfile import __version__
from cylfile.history.life import Life
from cylfile.history.service_state import IN_SERVICE, STATES, state_of
from cylfile.judging.heads import Head, natural
from cylfile.packs.wording import counted
from cylfile.record.dates import NEVER
from cylfile.record.record import Record
from cylfile.show.machine.json_object import dump
from cylfile.show.machine.spreadsheet import Identifier, csv_lines
from cylfile.show.pages.lint_page import CAUTION_LINE, DO_NOT_FILL
from cylfile.show.terminal.days import day_or
from cylfile.show.terminal.heading import put_heading, title_of
from cylfile.show.terminal.layout import Layout, Line, Piece
from cylfile.show.terminal.table import Column, put_table

_COLUMNS = (
    Column("cylinder"),
    Column("state"),
    Column("next test"),
    Column("life ends"),
    Column("last fill", gives_way=1),
    Column("class", gives_way=2),
)
_GONE = ("condemned", "retired")
_HEADING = (
    "cylinder", "state", "may be filled", "site", "class", "rated psi", "serial", "made", "last fill", "last fill to psi",
    "fills", "last test", "next test", "last visual", "next visual", "end of life",
)  # fmt: skip


class RosterRow(NamedTuple):
    """One cylinder on the as-of day."""

    life: Life
    head: Head

    @property
    def state(self) -> str:
        return state_of(self.life)

    @property
    def may_be_filled(self) -> bool:
        return not self.head.reasons


def by_name(rows: list[RosterRow]) -> list[RosterRow]:
    """The rows as people count."""
    return sorted(rows, key=lambda row: natural(row.life.name))


def roster_page(record: Record, rules, as_of: date, rows: list[RosterRow], narrowed: str, layout: Layout) -> list[Line]:
    """The page: by site, each cylinder on a line."""
    put_heading(layout, record, rules, [counted(len(rows), "cylinder"), f"as of {as_of}"])
    if narrowed:
        layout.put(f"only {narrowed}", style="strong")
    sites: dict[str | None, list[RosterRow]] = {}
    for row in by_name(rows):
        sites.setdefault(row.life.site, []).append(row)
    for site in sorted(sites, key=lambda site: (site is None, natural(title_of(record, site)))):
        layout.blank()
        layout.put(f"{title_of(record, site)}   {counted(len(sites[site]), 'cylinder')}", style="strong")
        put_table(layout, _COLUMNS, [_cells(row, as_of) for row in sites[site]])
    layout.blank()
    counts = Counter(_state_words(row) for row in rows)
    layout.put(
        "   ".join(f"{state} {counts[state]}" for state in (DO_NOT_FILL, *STATES) if counts[state]), style="strong"
    )
    layout.put(CAUTION_LINE)
    return layout.lines


def _state_words(row: RosterRow) -> str:
    """What it says in the column of states: of a cylinder in service, that it must not be filled comes first."""
    return DO_NOT_FILL if row.state == IN_SERVICE and not row.may_be_filled else row.state


def _cells(row: RosterRow, as_of: date) -> list[Piece]:
    life, state = row.life, _state_words(row)
    is_in, is_gone = row.state == IN_SERVICE, row.state in _GONE
    last = life.last_fill
    return [
        (life.name, "strong"),
        (state, "danger" if state == DO_NOT_FILL else "" if state == IN_SERVICE else "faint"),
        _day(life.test_due, "not needed", is_gone, "warning" if is_in and _is_past(life.test_due, as_of) else ""),
        _day(life.life_end, "no end", is_gone, "danger" if is_in and _is_past(life.life_end, as_of) else ""),
        (str(last.day) if last else "", ""),
        (life.class_name or "not known", ""),
    ]


def _day(day: date | None, never: str, is_gone: bool, style: str) -> Piece:
    """A day that is to come; of a cylinder that is gone, nothing comes any more."""
    return ("", "") if is_gone else (day_or(day, never), style)


def _is_past(day: date | None, as_of: date) -> bool:
    return day is not None and day < as_of


# For machines.


def roster_csv(rows: list[RosterRow]) -> Iterator[str]:
    return csv_lines(_HEADING, (_values(row) for row in by_name(rows)))


def roster_json(rules, as_of: date, rows: list[RosterRow]) -> Iterator[str]:
    """One object, with one cylinder a line. The keys of a cylinder are the headings of the other form."""
    head = {"cylfile": __version__, "as_of": str(as_of), "rules": list(rules.names)}
    yield dump(head)[:-1] + ', "cylinders": ['
    keys = [heading.replace(" ", "_") for heading in _HEADING]
    between = "\n "
    for row in by_name(rows):
        values = [str(value) if isinstance(value, date) else value for value in _values(row)]
        fields = dict(zip(keys, values), may_be_filled=row.may_be_filled, tags=row.life.cylinder.tags)
        yield between + dump(fields)
        between = ",\n "
    yield "\n]}\n"


def _values(row: RosterRow) -> list:
    life, card = row.life, row.life.cylinder
    last = life.last_fill
    return [
        Identifier(life.name),
        row.state,
        "yes" if row.may_be_filled else "no",
        _identifier(life.site),
        life.class_name,
        _whole(life.rated),
        _identifier(card.serial),
        life.made,
        last.day if last else None,
        _whole(last.reading.value) if last else None,
        life.fill_count,
        life.test_day,
        _comes(life.test_due),
        life.visual_day,
        _comes(life.visual_due),
        _comes(life.life_end),
    ]


def _identifier(name: str | None) -> Identifier | None:
    return None if name is None else Identifier(name)


def _whole(psi: float | None) -> int | None:
    return None if psi is None else round(psi)


def _comes(day: date | None) -> date | None:
    """A day, None where it does not come or is not known."""
    return None if day == NEVER else day
