"""
All cylinders today as rows for a spreadsheet.
"""

from collections.abc import Iterator
from datetime import date

from cylfile.record.dates import NEVER
from cylfile.show.machine.spreadsheet import Identifier, csv_lines
from cylfile.show.pages.inventory_page import Inventory, InventoryRow, by_name
from cylfile.show.pages.reasons import in_short
from cylfile.show.terminal.heading import origin_line

HEADING = (
    "cylinder", "state", "may be filled", "why not", "site", "at the tester since", "lent to", "lent from", "class", "rated psi", "serial", "made", "last fill", "last fill to psi",
    "fills", "last test", "next test", "last visual", "next visual", "end of life",
)  # fmt: skip


def inventory_csv(inventory: Inventory) -> Iterator[str]:
    origin = origin_line(inventory.record, inventory.rules, inventory.as_of)
    return csv_lines(HEADING, (values_of(inventory, row) for row in by_name(inventory.rows)), origin)


def values_of(inventory: Inventory, row: InventoryRow) -> list:
    life, card = row.life, row.life.cylinder
    last = life.last_fill
    return [
        Identifier(life.name),
        row.state,
        "yes" if row.may_be_filled else "no",
        "; ".join(dict.fromkeys(map(in_short, row.head.reasons))) or None,
        _identifier(life.site),
        row.at_tester_since,
        inventory.lent_to(card),
        inventory.lent_from(card),
        life.class_name,
        _whole(life.rated),
        _identifier(card.serial),
        life.made,
        last.day if last else None,
        _whole(last.reading.value) if last and last.reading else None,
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
