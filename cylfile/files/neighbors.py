"""
What the other records of a county have against a cylinder of one of them, which they know by its serial number.

The records in one git work tree are a county, whichever of them somebody names.
"""

import argparse
import re
from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator
from datetime import date
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


class Neighbors:
    """What other records have against cylinders of some serial numbers on a day, as they were when this was made."""

    def __init__(self, others: Iterable[Folder], serials: Collection[str], as_of: date | None, rules: list[str]):
        self._bars: dict[str, list[BarThere]] = defaultdict(list)
        asked = argparse.Namespace(as_of=as_of, rules=rules)
        for other in others:
            for serial in _serials_in(other, serials):
                self._bars[serial] += _bars_in(other, serial, asked)

    def against(self, record: Record, card: Cylinder) -> list[BarThere]:
        """What bars the cylinder of a card elsewhere, and not in its own record too."""
        entries = record.entries.get(card.name, ())
        return [there for there in self._bars.get(card.serial or "", ()) if barred_elsewhere(entries, [there.bar])]


def neighbors_of(folder: Folder, named: Iterable[Folder] = ()) -> list[Folder]:
    """The other records in the git work tree of a record, and those that somebody named with it."""
    found = [*named, *_in_work_tree(folder)]
    return [each for path, each in {each.path: each for each in found}.items() if path != folder.path]


def _in_work_tree(folder: Folder) -> list[Folder]:
    # What comes from standard input, and what no department has, lies in no county.
    if folder.department in (None, STANDARD_INPUT):
        return []
    top = folder.tree.work_tree(folder.path)
    # A record at the top of its work tree has none beside it, and need not wait for a search.
    if top in (None, folder.path):
        return []
    try:
        return find_records(Disk(), [(top, FOLDER)])
    except NoLedgers:
        # The record itself lies where nobody looks for one that is not named.
        return []


def _serials_in(other: Folder, serials: Collection[str]) -> list[str]:
    """The serial numbers that a record may have on its cards, told without reading it."""
    as_written = {words: serial for serial in serials for words in (serial.encode(), write_text(serial).encode())}
    found = {words for _, data in other.contents() for words in _SERIAL.findall(data)}
    return list(dict.fromkeys(as_written[words] for words in sorted(found & as_written.keys())))


def _bars_in(other: Folder, serial: str, asked: argparse.Namespace) -> Iterator[BarThere]:
    sources, faults = other.texts()
    marks = marks_in_texts(sources)
    for name in dict.fromkeys(name for what, name in marks.holders.get(serial, ()) if what == "serial"):
        case = case_of(other, read_about(sources, name, faults, marks), asked)
        card = case.record.cylinders.get(name)
        if card is not None and card.serial == serial:
            for bar in life_of(case.record, case.rules, card, case.as_of).bars:
                yield BarThere(case.folder, name, bar)
