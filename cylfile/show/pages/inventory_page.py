"""
All cylinders today: a page for people by site, and rows for machines.
"""

from collections import Counter
from collections.abc import Sequence
from datetime import date
from typing import NamedTuple

from cylfile.history.lending import Loan
from cylfile.history.life import Life
from cylfile.history.service_state import IN_SERVICE, STATES, state_of
from cylfile.judging.heads import Head, natural
from cylfile.packs.ruleset import Ruleset
from cylfile.record.blocks import Cylinder
from cylfile.record.record import Record
from cylfile.show.pages.reasons import DO_NOT_FILL, in_short
from cylfile.show.terminal.days import day_or
from cylfile.show.terminal.heading import put_foot, put_heading, title_of, whom_to_call
from cylfile.show.terminal.layout import Layout, Line, Piece
from cylfile.show.terminal.table import Column, put_table
from cylfile.text.phrases import counted

_COLUMNS = (
    Column("cylinder"),
    Column("state"),
    Column("may be filled", gives_way=1),
    Column("next test", gives_way=2),
    Column("life ends", gives_way=3),
    Column("at the tester since", gives_way=4),
    Column("last fill", gives_way=5),
    Column("class", gives_way=6),
)
_GONE = ("condemned", "retired")


class InventoryRow(NamedTuple):
    """One cylinder on the as-of day, and since when it is at the tester, where it is."""

    life: Life
    head: Head
    at_tester_since: date | None = None

    @property
    def state(self) -> str:
        return state_of(self.life)

    @property
    def may_be_filled(self) -> bool:
        return not self.head.reasons


def by_name(rows: list[InventoryRow]) -> list[InventoryRow]:
    """The rows as people count."""
    return sorted(rows, key=lambda row: natural(row.life.name))


class Inventory(NamedTuple):
    """
    Rows of a record on a day; `narrowed` says which these are, empty for all. `loans` are those that the department
    has given or taken, where its county is looked at.
    """

    record: Record
    rules: Ruleset
    as_of: date
    rows: list[InventoryRow]
    narrowed: str
    loans: Sequence[Loan] = ()

    @property
    def department(self) -> str:
        return self.record.department.title if self.record.department else ""

    @property
    def lent(self) -> list[Loan]:
        return [loan for loan in self.loans if loan.owner == self.department]

    @property
    def borrowed(self) -> list[Loan]:
        return [loan for loan in self.loans if loan.keeper == self.department]

    def lent_to(self, card: Cylinder) -> str | None:
        """The department that has the cylinder of a card; None where it is not lent."""
        return next((loan.keeper for loan in self.lent if loan.name == card.name), None)

    def lent_from(self, card: Cylinder) -> str | None:
        """The department whose cylinder it is, where it is on loan here; by its serial number, else by the name both give it."""
        return next(
            (
                loan.owner
                for loan in self.borrowed
                if loan.serial == card.serial and (card.serial or loan.name == card.name)
            ),
            None,
        )


def inventory_page(inventory: Inventory, layout: Layout) -> list[Line]:
    """The page: by site, each cylinder on a line."""
    record, rules, as_of, rows, narrowed, _ = inventory
    put_heading(layout, record, rules, [counted(len(rows), "cylinder"), f"as of {as_of}"])
    if narrowed:
        layout.put(f"only {narrowed}", style="strong")
    sites: dict[str | None, list[InventoryRow]] = {}
    for row in by_name(rows):
        sites.setdefault(row.life.site, []).append(row)
    for site in sorted(sites, key=lambda site: (site is None, natural(title_of(record, site)))):
        layout.blank()
        is_to_end = any(reason.ends_use for row in sites[site] if row.head.in_use for reason in row.head.reasons)
        call = whom_to_call(record, site) if is_to_end else ""
        facts = [title_of(record, site), counted(len(sites[site]), "cylinder"), call]
        layout.put("   ".join(filter(None, facts)), style="strong")
        put_table(layout, _COLUMNS, [_cells(row, as_of) for row in sites[site]])
    _put_loans(layout, "Lent", [(loan, f"to {loan.keeper}") for loan in inventory.lent])
    _put_loans(layout, "On loan here", [(loan, f"of {loan.owner}") for loan in inventory.borrowed])
    layout.blank()
    counts = Counter(row.state for row in rows)
    barred = sum(row.head.is_barred for row in rows)
    words = [f"{state} {counts[state]}" for state in STATES if counts[state]]
    layout.put("   ".join([*words, *([f"{DO_NOT_FILL} {barred}"] if barred else [])]), style="strong")
    put_foot(layout, record, rules)
    return layout.lines


def _put_loans(layout: Layout, title: str, loans: list[tuple[Loan, str]]) -> None:
    if loans:
        layout.blank()
        layout.put(f"{title}   {counted(len(loans), 'cylinder')}", style="strong")
    for loan, whose in loans:
        serial = f"serial {loan.serial}" if loan.serial else "no serial number on the card"
        layout.put(f"{loan.name} {whose}, {serial}", 2, first=[("  ", "")])


def _may_be_filled(row: InventoryRow) -> str:
    """That it may, or why not in about three words, and how many more reasons there are."""
    if row.may_be_filled:
        return "yes"
    first, *more = dict.fromkeys(map(in_short, row.head.reasons))
    return f"no: {first}" + (f" +{len(more)}" if more else "")


def _cells(row: InventoryRow, as_of: date) -> list[Piece]:
    life = row.life
    is_in, is_gone = row.state == IN_SERVICE, row.state in _GONE
    last = life.last_fill
    return [
        (life.name, "strong"),
        (row.state, "" if is_in else "faint"),
        ("" if is_gone else _may_be_filled(row), "" if row.may_be_filled else "danger"),
        _day(life.test_due, "not needed", is_gone, "warning" if is_in and _is_past(life.test_due, as_of) else ""),
        _day(life.life_end, "no end", is_gone, "danger" if is_in and _is_past(life.life_end, as_of) else ""),
        (str(row.at_tester_since or ""), ""),
        (str(last.day) if last else "", ""),
        (life.class_name or "not known", ""),
    ]


def _day(day: date | None, never: str, is_gone: bool, style: str) -> Piece:
    """A day that is to come; of a cylinder that is gone, nothing comes any more."""
    return ("", "") if is_gone else (day_or(day, never), style)


def _is_past(day: date | None, as_of: date) -> bool:
    return day is not None and day < as_of
