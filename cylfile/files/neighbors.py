"""
What the other records of a county have against a cylinder of one of them, which they know by its serial number.

The records in one git work tree are a county, whichever of them somebody names.
"""

import argparse
import re
from collections.abc import Iterable, Iterator
from contextlib import suppress
from datetime import date
from functools import cached_property
from typing import NamedTuple

from cylfile.files.ledger_files import Disk
from cylfile.files.records import Folder, NoLedgers, find_records
from cylfile.files.rules_and_day import case_of
from cylfile.files.tree import FOLDER, STANDARD_INPUT
from cylfile.findings.finding import Finding
from cylfile.history.barring import Bar
from cylfile.history.fold import life_of
from cylfile.history.lending import COPY_IT, barred_elsewhere
from cylfile.judging.fill_verdict import Reason
from cylfile.packs.ruleset import Ruleset
from cylfile.record.blocks import Cylinder
from cylfile.record.called import marks_in_texts
from cylfile.record.entries import write_text
from cylfile.record.record import Record
from cylfile.record.relevant import read_about

BARRED_ELSEWHERE = "barred-elsewhere"
# A serial number as it stands on a card.
_SERIAL = re.compile(rb'serial[ \t]+("(?:[^"\\\n]|\\.)*"|[A-Za-z0-9._/-]+)')


class BarThere(NamedTuple):
    """What bars a cylinder in another record: the folder of that, and the name of the cylinder there."""

    folder: str
    name: str
    bar: Bar

    @property
    def reason(self) -> Reason:
        text = f"in `{self.folder}`, as {self.name}: {self.bar.text}"
        return Reason(text, rule=BARRED_ELSEWHERE, advice=COPY_IT, kind=self.bar.kind, ends_use=True)

    def finding(self, card: Cylinder, rules: Ruleset) -> Finding:
        """That it bars the cylinder of a card here."""
        serial, entry = card.serial or "", self.bar.entry
        text = f"serial {serial}, in `{self.folder}` {self.name}: {self.bar.text}"
        working, level = [f"{entry.source.path}:{entry.span.line}"], rules.level_of(BARRED_ELSEWHERE)
        return Finding(BARRED_ELSEWHERE, level, card.name, card.where["serial"], text, working, COPY_IT, about=serial)


class Other:
    """A record of a county as the others ask it. It is looked at once, and read as far as it has a cylinder of theirs."""

    def __init__(self, folder: Folder):
        self.folder = folder

    @cached_property
    def _written(self) -> set[bytes]:
        """The serial numbers that its cards may have, as they stand there, told without reading them."""
        return {words for _, data in self.folder.contents() for words in _SERIAL.findall(data)}

    def may_have(self, serial: str) -> bool:
        return not self._written.isdisjoint((serial.encode(), write_text(serial).encode()))

    def bars(self, serial: str, asked: argparse.Namespace) -> Iterator[BarThere]:
        """What bars the cylinder of a serial number, by the day and the rules that are asked for."""
        sources, faults = self.folder.texts()
        marks = marks_in_texts(sources)
        for name in dict.fromkeys(name for what, name in marks.holders.get(serial, ()) if what == "serial"):
            case = case_of(self.folder, read_about(sources, name, faults, marks), asked)
            card = case.record.cylinders.get(name)
            if card is not None and card.serial == serial:
                for bar in life_of(case.record, case.rules, card, case.as_of).bars:
                    yield BarThere(case.folder, name, bar)


class Neighbors:
    """What the others of a county have against cylinders of a record on a day, as they were when this was made."""

    def __init__(
        self, county: Iterable[Other], folder: Folder, cards: Iterable[Cylinder], as_of: date | None, rules: list[str]
    ):
        asked = argparse.Namespace(as_of=as_of, rules=rules)
        serials = dict.fromkeys(card.serial for card in cards if card.serial)
        others = [other for other in county if other.folder.path != folder.path]
        self._bars = {
            serial: [bar for other in others if other.may_have(serial) for bar in other.bars(serial, asked)]
            for serial in serials
        }

    def against(self, record: Record, card: Cylinder) -> list[BarThere]:
        """What bars the cylinder of a card elsewhere, and not in its own record too."""
        entries = record.entries.get(card.name, ())
        return [there for there in self._bars.get(card.serial or "", ()) if barred_elsewhere(entries, [there.bar])]

    def reasons(self, record: Record, card: Cylinder) -> list[Reason]:
        """The same as reasons not to fill it."""
        return [there.reason for there in self.against(record, card)]


def county_of(folders: Iterable[Folder]) -> list[Other]:
    """The records that somebody named, and those in the git work trees of these, each once."""
    found = {folder.path: folder for folder in folders}
    for top in dict.fromkeys(filter(None, map(_work_tree_around, [*found.values()]))):
        # The record may lie where nobody looks for one that is not named.
        with suppress(NoLedgers):
            found = {folder.path: folder for folder in find_records(Disk(), [(top, FOLDER)])} | found
    return [Other(folder) for folder in found.values()]


def _work_tree_around(folder: Folder) -> str | None:
    """The root of the git work tree that holds a record and maybe others, None where there can be none."""
    # What comes from standard input, and what no department has, lies in no county.
    if folder.department in (None, STANDARD_INPUT):
        return None
    top = folder.tree.work_tree(folder.path)
    # A record at the top of its work tree has none beside it, and need not wait for a search.
    return None if top == folder.path else top
