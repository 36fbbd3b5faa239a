"""
A case: a record and what it is judged by.
"""

from collections.abc import Sequence
from datetime import date
from typing import NamedTuple

from cylfile.packs.ruleset import Ruleset
from cylfile.record.record import Record
from cylfile.text.source import Fault


class Case(NamedTuple):
    """
    A record and what it is judged by. `faults` are those that are not of the record itself: of packs and zone.

    `folder` is the record's, as people see it; `asked` holds the paths of the files of which somebody asks what is
    said, None for all.
    """

    record: Record
    rules: Ruleset
    as_of: date
    faults: Sequence[Fault]
    folder: str = "."
    asked: frozenset[str] | None = None
