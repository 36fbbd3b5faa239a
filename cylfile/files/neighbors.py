"""
What the other records of a county have against a cylinder of one of them, which they know by its serial number.

The records in one git work tree are a county, whichever of them somebody names.
"""

import argparse
import re
from collections import defaultdict
from collections.abc import Iterable, Iterator
from contextlib import suppress
from datetime import date
from functools import cached_property
from itertools import chain
from typing import NamedTuple

from cylfile.files.ledger_files import Disk
from cylfile.files.records import Folder, NoLedgers, find_records
from cylfile.files.rules_and_day import case_of
from cylfile.files.tree import FOLDER, STANDARD_INPUT
from cylfile.findings.finding import Finding
from cylfile.history.barring import Bar
from cylfile.history.fold import life_of
from cylfile.history.lending import advice_on, barred_elsewhere, bars_of
from cylfile.history.life import Life
from cylfile.judging.by_itself import air_log
from cylfile.judging.fill_verdict import Reason
from cylfile.packs.ruleset import Ruleset
from cylfile.record.blocks import Cylinder
from cylfile.record.called import marks_in_texts
from cylfile.record.entries import write_text
from cylfile.record.reader import read_record
from cylfile.record.record import Record
from cylfile.record.relevant import read_about

BARRED_ELSEWHERE = "barred-elsewhere"
# A serial number as it stands on a card.
_SERIAL = re.compile(rb'serial[ \t]+("(?:[^"\\\n]|\\.)*"|[A-Za-z0-9._/-]+)')


class BarThere(NamedTuple):
    """
    What bars a cylinder in another record: the folder of that, the name of the cylinder there, the bar in words, its
    place and what to do. Where it is a line that cannot be read, nobody knows of what `bar` it tells.
    """

    folder: str
    name: str
    text: str
    place: str
    advice: str
    bar: Bar | None = None

    @property
    def reason(self) -> Reason:
        text, kind = f"in `{self.folder}`, as {self.name}: {self.text}", self.bar.kind if self.bar else ""
        return Reason(text, rule=BARRED_ELSEWHERE, advice=self.advice, kind=kind, ends_use=self.bar is not None)

    def finding(self, card: Cylinder, rules: Ruleset) -> Finding:
        """That it bars the cylinder of a card here."""
        text = f"serial {card.serial}, in `{self.folder}` {self.name}: {self.text}"
        level, span = rules.level_of(BARRED_ELSEWHERE), card.where["serial"]
        return Finding(
            BARRED_ELSEWHERE, level, card.name, span, text, [self.place], self.advice, about=card.serial or ""
        )


def bars_there(record: Record, rules: Ruleset, life: Life) -> list[Bar]:
    """What bars a cylinder of a record, the suspect air in it too."""
    air = air_log(record, rules, life.as_of, record.entries.get(life.name, ()))
    return bars_of(life, air.suspicion(life.name))


def bar_there(folder: str, name: str, bar: Bar) -> BarThere:
    place = bar.entry.place
    return BarThere(folder, name, bar.text, place, advice_on(bar), bar)


class Other:
    """A record of a county as the others ask it. It is looked at once, and read as far as it has a cylinder of theirs."""

    def __init__(self, folder: Folder):
        self.folder = folder

    @cached_property
    def _written(self) -> set[str]:
        """The serial numbers that its cards may have, as they stand there but for their case, told without reading them."""
        found = {words for _, data in self.folder.contents() for words in _SERIAL.findall(data)}
        return {words.decode("utf-8", "replace").casefold() for words in found}

    def bars(self, serials: Iterable[str], asked: argparse.Namespace) -> Iterator[tuple[str, BarThere]]:
        """What bars cylinders here, each by its serial number in small letters, on the day and by the rules that are asked for."""
        shared = {each for each in serials if not self._written.isdisjoint((each, write_text(each)))}
        if not shared:
            return
        sources, faults = self.folder.texts()
        marks = marks_in_texts(sources)
        held = (held for mark, held in marks.holders.items() if mark.casefold() in shared)
        names = sorted({name for what, name in chain.from_iterable(held) if what == "serial"})
        # Of one cylinder a part says all; of several the whole is read the faster.
        if len(names) == 1:
            record = read_about(sources, names[0], faults, marks)
        else:
            record = read_record(sources, faults)
        case = case_of(self.folder, record, asked)
        for name in filter(record.cylinders.__contains__, names):
            card = record.cylinders[name]
            serial = (card.serial or "").casefold()
            if serial in shared:
                life = life_of(record, case.rules, card, case.as_of)
                for bar in bars_there(record, case.rules, life):
                    yield serial, bar_there(case.folder, name, bar)
                for fault in record.damaged.get(name, ()):
                    text, place = f"a line cannot be read: {fault.text}", fault.span.place
                    yield serial, BarThere(case.folder, name, text, place, fault.cure)


class Neighbors:
    """What the others of a county have against cylinders of a record on a day, as they were when this was made."""

    def __init__(
        self, county: Iterable[Other], folder: Folder, cards: Iterable[Cylinder], as_of: date | None, rules: list[str]
    ):
        asked = argparse.Namespace(as_of=as_of, rules=rules)
        serials = dict.fromkeys(card.serial.casefold() for card in cards if card.serial)
        self._bars: dict[str, list[BarThere]] = defaultdict(list)
        for other in county:
            if other.folder.path != folder.path:
                for serial, bar in other.bars(serials, asked):
                    self._bars[serial].append(bar)

    def against(self, record: Record, card: Cylinder) -> list[BarThere]:
        """What bars the cylinder of a card elsewhere, and not in its own record too."""
        entries = record.entries.get(card.name, ())
        bars = self._bars.get((card.serial or "").casefold(), ())
        return [there for there in bars if there.bar is None or barred_elsewhere(entries, [there.bar])]

    def reasons(self, record: Record, card: Cylinder) -> list[Reason]:
        """The same as reasons not to fill it."""
        return [there.reason for there in self.against(record, card)]


def county_of(folders: Iterable[Folder]) -> list[Other]:
    """The records that somebody named, and those in the git work trees of these, each once."""
    found = {folder.path: folder for folder in folders}
    for top in dict.fromkeys(filter(None, map(work_tree_around, [*found.values()]))):
        # The record may lie where nobody looks for one that is not named.
        with suppress(NoLedgers):
            found = {folder.path: folder for folder in find_records(Disk(), [(top, FOLDER)])} | found
    return [Other(folder) for folder in found.values()]


def work_tree_around(folder: Folder) -> str | None:
    """The root of the git work tree that holds a record and maybe others, None where there can be none."""
    # What comes from standard input, and what no department has, lies in no county.
    if folder.department in (None, STANDARD_INPUT):
        return None
    top = folder.tree.work_tree(folder.path)
    # A record at the top of its work tree has none beside it, and need not wait for a search.
    return None if top == folder.path else top
