"""A small record to enter things into, as files."""

import pytest

from support.small_record import CARDS, DEPARTMENT, PACK, SHEETS


@pytest.fixture
def record(here):
    """The program in the folder of a record; `record.text(name)` is what a file of it holds."""
    for name, text in {
        "department.cyl": DEPARTMENT,
        "cards.cyl": CARDS,
        "fills.cyl": SHEETS,
        "house.cylpack": PACK,
    }.items():
        (here.folder / name).write_text(text)
    here.text = lambda name: (here.folder / name).read_bytes().decode()
    return here
