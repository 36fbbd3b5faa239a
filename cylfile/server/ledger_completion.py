"""
What can stand at a place of a ledger: the words of the grammar, and the names that the record has.

A number that somebody measured is never offered, only the units of one that is written.
"""

import re
from collections.abc import Iterable, Mapping
from datetime import date, datetime
from functools import cache
from typing import NamedTuple
from zoneinfo import ZoneInfo, available_timezones

from cylfile.findings.core_rules import CORE_RULES
from cylfile.packs.shipped import shipped_names
from cylfile.record.blocks import Declared, last_day
from cylfile.record.vocabulary import PERSON, PLACE, SIGNER, SITE, SOURCE, TESTER, VERBS
from cylfile.server.cursor import Line, line_at, names_on_sheet
from cylfile.server.edited_record import EditedRecord
from cylfile.server.whole_sentences import sentence
from cylfile.show.pages.rules_page import figures_of_class
from cylfile.text.language import Language, Token
from cylfile.text.ledger import LEDGER, TOP
from cylfile.text.source import Source
from cylfile.text.spelling import american
from cylfile.text.units import UNITS

WORD, NAME, VALUE, ROW = "word", "name", "value", "row"
# Its text is a snippet of the protocol, for editors that know these.
SENTENCE = "sentence"
# Those of packs as well.
_UNITS = {**UNITS, "PERIOD": ("years", "months"), "DAYS": ("days",), "RATE": ("psi/min", "bar/min")}
# The words whose text names something that is known, though it is not closed yet.
_OPEN_TEXTS = ("rules", "marked")
_NUMBER_BEFORE = re.compile(r"(?<![^ \t])(-?[0-9]+(?:\.[0-9]+)?)([ \t]*)([A-Za-z%°][A-Za-z0-9/]*)?$")
# A list longer than this helps nobody: the editor asks again when more of the word is there.
MOST = 200


class Item(NamedTuple):
    """
    A text to put in place of what stands from `start` to `end`; smaller `rank` comes first.

    `about` is what there is to know of it, in Markdown.
    """

    label: str
    text: str
    start: int
    end: int
    kind: str
    detail: str = ""
    rank: int = 5
    about: str = ""


def complete(edited: EditedRecord, source: Source, offset: int) -> list[Item]:
    """What can stand at an offset, the most likely first, no label twice."""
    line = line_at(source, offset)
    partial = line.words[-1] if line.words and line.words[-1].end == offset else None
    before = line.words[:-1] if partial else line.words
    if line.place is None or (partial is not None and partial.type in ("TEXT", "OPEN_TEXT", "STRAY")):
        is_known = partial is not None and partial.type == "OPEN_TEXT" and before and before[-1].text in _OPEN_TEXTS
        if not is_known:
            return units(LEDGER, source, line.place, line.words, line.start, offset)
    if "#" in source.text[(line.words[-1].end if line.words else line.start) : offset]:
        return []
    start = partial.start if partial else offset
    accepted = may_stand(LEDGER, line.place, (word.type for word in before))
    items = _Items(edited, source, line._replace(words=before), start, offset).all(accepted)
    typed = source.text[start:offset].lower()
    fitting = [item for item in items if typed in item.label.lower()]
    fitting.sort(key=lambda item: (item.rank, not item.label.lower().startswith(typed)))
    by_label: dict[str, Item] = {}
    for item in (*units(LEDGER, source, line.place, line.words, line.start, offset), *fitting):
        by_label.setdefault(item.label, item)
    return list(by_label.values())[:MOST]


def may_stand(language: Language, place: str | None, terminals: Iterable[str]) -> set[str]:
    """What may come after some words, given as their terminals; nothing where they are no start of a sentence of the place."""
    return set() if place is None else language.may_follow(place, terminals)


def units(
    language: Language, source: Source, place: str | None, words: list[Token], line_start: int, offset: int
) -> list[Item]:
    """The units that a number before the offset may have, of which a part may be typed; with the number where it touches."""
    found = _NUMBER_BEFORE.search(source.text, line_start, offset)
    if found is None or "\n" in found[0]:
        return []
    number, blank, typed = found[1], found[2], found[3] or ""
    accepted = may_stand(language, place, (word.type for word in words if word.end <= found.start()))
    known = (unit for terminal, units in _UNITS.items() if terminal in accepted for unit in units)
    fitting = [unit for unit in known if unit.lower().startswith(typed.lower().lstrip("°")) and unit != typed]
    if blank:
        return [Item(unit, unit, found.start(3) if typed else offset, offset, VALUE, rank=0) for unit in fitting]
    return [Item(f"{number} {unit}", f"{number} {unit}", found.start(), offset, VALUE, rank=0) for unit in fitting]


@cache
def _zones() -> list[str]:
    return sorted(available_timezones())


class _Items:
    """Gathers what fits the terminals that the grammar accepts."""

    def __init__(self, edited: EditedRecord, source: Source, line: Line, start: int, end: int):
        self.edited = edited
        self.record = edited.record
        self.source = source
        self.line = line
        self.start, self.end = start, end
        self.last = line.words[-1].text if line.words else ""
        self.is_row = line.place is not None and line.place.endswith("_row")

    def all(self, accepted: set[str]) -> list[Item]:
        if self.last == "rules":
            return self._packs()
        if self.last == "marked":
            return self._markings()
        items = self._rows() if self.is_row and not self.line.words else []
        items += [*self._keywords(accepted), *self._sentences(accepted)]
        if "NAME" in accepted:
            items += self._names()
        if "DAY" in accepted:
            items.append(self._item(str(self.edited.today), VALUE, "today", 0 if self.line.words else 3))
        if "TIME" in accepted:
            items.append(self._item(f"{self.edited.now:%H:%M}", VALUE, "now", 1))
        return items

    def _item(
        self, label: str, kind: str, detail: str = "", rank: int = 5, text: str | None = None, about: str = ""
    ) -> Item:
        return Item(label, label if text is None else text, self.start, self.end, kind, detail, rank, about)

    # Words of the grammar.

    def _keywords(self, accepted: set[str]) -> list[Item]:
        verb = self.line.verb
        written = {word.text for word in self.line.words}
        needed = {clause.word.split()[0] for clause in verb.needs if clause.word} if verb else ()
        # `pass` may be said of the test and of what was found in it.
        says_which = verb is None or any(clause.words and clause.word == self.last for clause in verb.clauses)
        items = []
        for terminal in sorted(accepted & LEDGER.keyword_terminals.keys()):
            word = LEDGER.keyword_terminals[terminal]
            if american(word) != word or (not says_which and word in written and word not in ("at", "answered")):
                continue
            phrase = self._phrase(terminal)
            text = f"{phrase} {self.edited.today}" if phrase.endswith(" sheet") else phrase
            items.append(self._item(phrase, WORD, rank=0 if word in needed else 4, text=text))
        return items

    def _phrase(self, terminal: str) -> str:
        """A keyword with those that must follow it: `out of service`."""
        words, types = [LEDGER.keyword_terminals[terminal]], [*(word.type for word in self.line.words), terminal]
        while len(words) < 3:
            accepted = may_stand(LEDGER, self.line.place, types)
            if len(accepted) != 1 or not accepted <= LEDGER.keyword_terminals.keys():
                break
            (following,) = accepted
            words.append(LEDGER.keyword_terminals[following])
            types.append(following)
        return " ".join(words)

    def _sentences(self, accepted: set[str]) -> list[Item]:
        """Behind a day the whole sentences of the verbs, to fill in."""
        words = self.line.words
        if not words or words[0].type not in ("DAY", "MONTH") or any(word.type != "TIME" for word in words[1:]):
            return []
        return [
            self._item(
                f"{name}, with its clauses",
                SENTENCE,
                "a sentence to fill in",
                4,
                sentence(verb, self.line.place == TOP),
            )
            for name, verb in VERBS.items()
            if LEDGER.keywords[name.split()[0]] in accepted and (verb.may_be_month or words[0].type == "DAY")
        ]

    # Names of the record.

    def _names(self) -> list[Item]:
        last = self.last
        if last == "class":
            return self._classes()
        if last == "zone":
            typed = self.source.text[self.start : self.end].lower()
            fitting = [name for name in _zones() if typed in name.lower()][:MOST]
            return [self._item(name, VALUE, about=_hours_of(name, self.edited.now.year)) for name in fitting]
        if last in ("waived", "answered"):
            return [self._item(name, VALUE) for name in (*CORE_RULES, *self.edited.rules().ruleset.rules)]
        if last == "for":
            return [*self._cylinders(), *self._all_of(SOURCE, 3), *self._all_of(PERSON, 4)]
        named = self.line.named
        if named is not None:
            return self._signers(named) if last == "by" else self._all_of(named, 2)
        if self.line.verb is not None:
            return [*self._cylinders(), *([] if self.is_row else self._all_of(SOURCE, 3))]
        return []

    def _all_of(self, named: str, rank: int) -> list[Item]:
        record = self.record
        tables: dict[str, list[Mapping[str, Declared]]] = {
            PERSON: [record.people], TESTER: [record.testers], SIGNER: [record.people, record.testers],
            SITE: [record.sites], PLACE: [record.sites, record.testers], SOURCE: [record.air_sources],
        }  # fmt: skip
        return [self._item(name, NAME, thing.title, rank) for table in tables[named] for name, thing in table.items()]

    def _signers(self, named: str) -> list[Item]:
        """Those who may do what the line says, on its day; all where nobody is said to."""
        items, day = self._all_of(named, 1), self.line.day or self.edited.today
        authority, people = self.record.authority, self.record.people
        if named == TESTER:
            able = [item for item in items if authority.may_test(item.label, day)]
        elif self.line.verb is VERBS["filled"]:
            able = [item for item in items if authority.may_fill(item.label, day)]
        elif self.line.verb is VERBS["visual"] and named == SIGNER:
            able = [item for item in items if item.label in people and _covers(people[item.label].inspects, day)]
        else:
            able = []
        return able or items

    def _cylinders(self) -> list[Item]:
        """Cylinders in service, on a sheet first those that it lacks, from the last row on; then the other ones."""
        lives, names = self.edited.judged, list(self.record.cylinders)
        written = names_on_sheet(self.source, self.line) if self.is_row else []
        last = next((names.index(name) for name in reversed(written) if name in self.record.cylinders), -1)
        items = []
        for name in (*names[last + 1 :], *names[: last + 1]):
            life = lives.life(name) if lives else None
            if life is not None and not life.in_service:
                items.append(self._item(name, NAME, "not in service", 6))
            elif name in written:
                items.append(self._item(name, NAME, "on this sheet already", 4))
            else:
                items.append(self._item(name, NAME, "", 1))
        return items

    def _rows(self) -> list[Item]:
        """Whole rows of a sheet, up to what has to be read off a gauge or judged by eye."""
        now = self.edited.now
        time = f"{now:%H:%M}  " if self.line.day in (None, now.date()) else ""
        more = "  to " if self.line.verb is VERBS["filled"] else "  "
        return [
            self._item(each.label, ROW, each.detail or "a row", each.rank, f"{time}{each.label}{more}")
            for each in self._cylinders()
            if each.rank < 6
        ]

    # Names of packs and of what they have.

    def _classes(self) -> list[Item]:
        rules = self.edited.rules().ruleset
        items = []
        for name, known in rules.classes.items():
            about = _listed(figures_of_class(known, rules.of_every), [each.written for each in known.patterns])
            items.append(self._item(name, VALUE, known.title, about=about))
        return items

    def _markings(self) -> list[Item]:
        """What is stamped, up to the figure that differs from cylinder to cylinder: it is read off there."""
        rules = self.edited.rules().ruleset
        items = []
        for name, known in rules.classes.items():
            figures = _listed(figures_of_class(known, rules.of_every), ())
            for pattern in known.patterns:
                stamp = re.sub(r"\{any\}|[\[\]]", "", pattern.written)
                fixed = stamp.partition("{")[0]
                text = f'"{fixed}' if fixed != stamp else f'"{stamp}"'
                items.append(self._item(f'"{stamp}"', VALUE, name, text=text, about=f"{known.title}\n\n{figures}"))
        return items

    def _packs(self) -> list[Item]:
        """The packs that the department does not name yet: those that ship, and those of the house by their files."""
        department = self.record.department
        is_here = department is not None and department.span.source.path == self.source.path
        named = {name for name, _ in department.rules} if department and is_here else set()
        shipped = [self._item(name, VALUE, "a pack that comes with the program") for name in shipped_names()]
        own = [self._item(f'"{path}"', VALUE, "a pack of the house", 3) for path in self.edited.pack_files()]
        return [item for item in (*own, *shipped) if item.label.strip('"') not in named]


@cache
def _hours_of(zone: str, year: int) -> str:
    """How far from universal time a zone is, in winter and in summer."""
    january, july = (datetime(year, month, 1, tzinfo=ZoneInfo(zone)).strftime("%z %Z") for month in (1, 7))
    return f"UTC `{january}`" if january == july else f"UTC `{january}` in January, `{july}` in July"


def _listed(figures: Iterable[tuple[str, str]], patterns: Iterable[str]) -> str:
    return "\n".join(f"- {word} `{figure}`" for word, figure in (*figures, *(("marked", each) for each in patterns)))


def _covers(spans: list[tuple], day: date) -> bool:
    return any((first or date.min) <= day <= last_day(last) for first, last in spans)
