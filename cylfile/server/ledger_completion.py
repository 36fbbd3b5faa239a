"""
What can stand at a place of a ledger: the words of the grammar, and the names that the record has.

A number that somebody measured is never offered, only the units of one that is written.
"""

import re
from datetime import date
from typing import NamedTuple

from cylfile.findings.core_rules import CORE_RULES
from cylfile.packs.shipped import shipped_names
from cylfile.record.blocks import last_day
from cylfile.record.vocabulary import TESTER, VERBS
from cylfile.server.cursor import Line, line_at
from cylfile.server.edited_record import EditedRecord
from cylfile.text.language import Shape, Token
from cylfile.text.ledger import LEDGER
from cylfile.text.source import Source

WORD, NAME, VALUE, ROW = "word", "name", "value", "row"
_UNITS = {
    "PRESSURE": ("psi", "bar", "MPa", "kPa"), "TEMPERATURE": ("F", "C"), "VOLUME": ("L", "mL", "cc", "in3", "ft3", "m3"),
    "DURATION": ("min", "s", "h"), "SHARE": ("%",), "PPM": ("ppm",), "DENSITY": ("mg/m3",),
}  # fmt: skip
_NUMBER = re.compile(r"-?[0-9]+(?:\.[0-9]+)?")
# A list longer than this helps nobody: the editor asks again when more of the word is there.
MOST = 200


class Item(NamedTuple):
    """A text to put in place of what stands from `start` to `end`; smaller `rank` comes first."""

    label: str
    text: str
    start: int
    end: int
    kind: str
    detail: str = ""
    rank: int = 5


def complete(edited: EditedRecord, source: Source, offset: int) -> list[Item]:
    """What can stand at an offset, the most likely first."""
    line = line_at(source, offset)
    partial = line.words[-1] if line.words and line.words[-1].end == offset else None
    if line.place is None or (partial is not None and partial.type in ("TEXT", "OPEN_TEXT", "STRAY")):
        return []
    if "#" in source.text[(line.words[-1].end if line.words else line.start) : offset]:
        return []
    before = line.words[:-1] if partial else line.words
    start = partial.start if partial else offset
    line = line._replace(words=before)
    accepted = _accepted(line.place, before)
    items = _Items(edited, line, start, offset).all(accepted)
    number = partial or (before[-1] if before and _NUMBER.fullmatch(before[-1].text) else None)
    if number is not None and _NUMBER.fullmatch(number.text):
        items = [*_units(line, number, offset), *items]
    typed = source.text[start:offset].lower()
    fitting = [item for item in items if item.label.lower().startswith(typed) or typed in item.label.lower()]
    return sorted(fitting, key=lambda item: (item.rank, not item.label.lower().startswith(typed)))[:MOST]


def _accepted(place: str, words: list[Token]) -> set[str]:
    """The terminals that may come after some words; none where the words are no start of a sentence."""
    from lark.exceptions import UnexpectedInput

    try:
        return LEDGER.may_follow(Shape(place, tuple(word.type for word in words), None))
    except UnexpectedInput:
        return set()


def _units(line: Line, number: Token, offset: int) -> list[Item]:
    before = line.words[:-1] if line.words and line.words[-1] is number else line.words
    accepted = _accepted(line.place, before)
    return [
        Item(f"{number.text} {unit}", f"{number.text} {unit}", number.start, offset, VALUE, rank=0)
        for terminal, units in _UNITS.items()
        if terminal in accepted
        for unit in units
    ]


class _Items:
    """Gathers what fits the terminals that the grammar accepts."""

    def __init__(self, edited: EditedRecord, line: Line, start: int, end: int):
        self.edited = edited
        self.record = edited.record
        self.line = line
        self.start, self.end = start, end
        self.last = line.words[-1].text if line.words else ""
        self.is_row = line.place is not None and line.place.endswith("_row")

    def all(self, accepted: set[str]) -> list[Item]:
        items = self._rows() if self.is_row and not self.line.words else []
        items += self._keywords(accepted)
        if "NAME" in accepted:
            items += self._names()
        if "DAY" in accepted:
            items.append(self._item(str(self.edited.now.date()), VALUE, "today", 0 if self.line.words else 3))
        if "TIME" in accepted:
            items.append(self._item(f"{self.edited.now:%H:%M}", VALUE, "now", 1))
        return items

    def _item(self, label: str, kind: str, detail: str = "", rank: int = 5, text: str | None = None) -> Item:
        return Item(label, label if text is None else text, self.start, self.end, kind, detail, rank)

    # Words of the grammar.

    def _keywords(self, accepted: set[str]) -> list[Item]:
        verb = self.line.verb
        written = {word.text for word in self.line.words}
        needed = {clause.word.split()[0] for clause in verb.needs if clause.word} if verb else ()
        items = []
        for terminal in sorted(accepted & LEDGER.keyword_terminals.keys()):
            word = LEDGER.keyword_terminals[terminal]
            if verb is not None and word in written and word != "at":
                continue
            phrase = self._phrase(terminal)
            text = f"{phrase} {self.edited.now.date()}" if phrase.endswith(" sheet") else phrase
            items.append(self._item(phrase, WORD, rank=0 if word in needed else 4, text=text))
        return items

    def _phrase(self, terminal: str) -> str:
        """A keyword with those that must follow it: `out of service`."""
        words, types = [LEDGER.keyword_terminals[terminal]], [*(word.type for word in self.line.words), terminal]
        while len(words) < 3:
            accepted = LEDGER.may_follow(Shape(self.line.place, tuple(types), None))
            if len(accepted) != 1 or not accepted <= LEDGER.keyword_terminals.keys():
                break
            (following,) = accepted
            words.append(LEDGER.keyword_terminals[following])
            types.append(following)
        return " ".join(words)

    # Names of the record.

    def _names(self) -> list[Item]:
        record, last = self.record, self.last
        if last == "by":
            return self._people()
        if last == "on":
            return [self._item(name, NAME, thing.title, 1) for name, thing in record.air_sources.items()]
        if last in ("at", "to", "from"):
            return [self._item(name, NAME, thing.title, 2) for name, thing in record.sites.items()]
        if last == "class":
            classes = self.edited.rules().ruleset.classes
            return [self._item(name, VALUE, known.title) for name, known in classes.items()]
        if last == "rules":
            return [self._item(name, VALUE, "a pack that comes with the program") for name in shipped_names()]
        if last == "waived":
            return [self._item(name, VALUE) for name in (*CORE_RULES, *self.edited.rules().ruleset.rules)]
        if last == "for" or self.line.verb is not None or (self.is_row and self.line.words):
            return self._cylinders()
        return []

    def _cylinders(self) -> list[Item]:
        """Cylinders in service; then the other ones, and sources, where a loose line may be about them."""
        lives = self.edited.judged
        items = []
        for name in self.record.cylinders:
            life = lives.life(name) if lives else None
            in_service = life is None or life.in_service
            items.append(self._item(name, NAME, "" if in_service else "not in service", 1 if in_service else 6))
        if not self.is_row:
            items += [self._item(name, NAME, thing.title, 3) for name, thing in self.record.air_sources.items()]
        return items

    def _rows(self) -> list[Item]:
        """Whole rows of a sheet, up to what has to be read off a gauge or judged by eye."""
        now = self.edited.now
        time = f"{now:%H:%M}  " if self.line.day in (None, now.date()) else ""
        more = "  to " if self.line.verb is VERBS["filled"] else "  "
        return [
            self._item(each.label, ROW, f"a row at {time.strip()}" if time else "a row", 2, f"{time}{each.label}{more}")
            for each in self._cylinders()
            if each.rank == 1
        ]

    def _people(self) -> list[Item]:
        """Those who may do what the line says, on its day; all where nobody is said to."""
        record, verb = self.record, self.line.verb
        day = self.line.day or self.edited.now.date()
        if verb is not None and verb.signer == TESTER:
            able = [name for name in record.testers if record.authority.may_test(name, day)]
            return [self._item(name, NAME, record.testers[name].title, 1) for name in able or record.testers]
        if verb is VERBS["filled"]:
            able = [name for name in record.people if record.authority.may_fill(name, day)]
        elif verb is VERBS["visual"]:
            able = [name for name, person in record.people.items() if _covers(person.inspects, day)]
        else:
            able = []
        return [self._item(name, NAME, record.people[name].title, 1) for name in able or record.people]


def _covers(spans: list[tuple], day: date) -> bool:
    return any((first or date.min) <= day <= last_day(last) for first, last in spans)
