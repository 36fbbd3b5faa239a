"""
All cylinders today as one JSON object, with one cylinder a line.
"""

from collections.abc import Iterator
from datetime import date

from cylfile.show.machine.inventory_csv import HEADING, values_of
from cylfile.show.machine.json_object import dump, list_head
from cylfile.show.pages.inventory_page import Inventory, by_name


def inventory_json(inventory: Inventory) -> Iterator[str]:
    """One object, with one cylinder a line. The keys of a cylinder are the headings of the other form."""
    head = list_head(inventory.record, inventory.rules, inventory.as_of)
    head["loans"] = [loan._asdict() for loan in inventory.loans]
    yield dump(head)[:-1] + ', "cylinders": ['
    keys = [heading.replace(" ", "_") for heading in HEADING]
    between = "\n "
    for row in by_name(inventory.rows):
        values = [str(value) if isinstance(value, date) else value for value in values_of(inventory, row)]
        fields = dict(
            zip(keys, values), may_be_filled=row.may_be_filled, tags=row.life.cylinder.tags_on(row.life.as_of)
        )
        yield between + dump(fields)
        between = ",\n "
    yield "\n]}\n"
