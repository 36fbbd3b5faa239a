"""
From the shape of a sentence to the value it says: which word fills which field.

A plan is made once for every shape. It also holds what a grammar of clauses in any order
cannot: that each clause stands at most once, and which ones may not be missing.
"""

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import date, time
from functools import cache
from itertools import repeat
from operator import getitem, itemgetter
from typing import Any, NamedTuple

from cylfile.record import dates
from cylfile.record.entries import Answer, Entry, Signed, entry_kind
from cylfile.record.quantities import Quantity, quantity
from cylfile.record.vocabulary import ANSWERED, ANSWERS, CLAUSES, ENTRY_RULES, FLAG, NAME, SIGNED, VERBS, Clause
from cylfile.text.acts import Act, Part
from cylfile.text.language import Sentence, Shape
from cylfile.text.parse_table import Slot, Tree
from cylfile.text.spelling import american

LONGEST_NAME = 64
LONGEST_TEXT = 2_000
# Digits of a number; no gauge shows more, and reckoning with longer ones would leave every range.
LONGEST_NUMBER = 9

# What a named tuple's own constructor calls, without the call; it makes tuples of any kind.
_new_tuple: Any = tuple.__new__
_VALUES = itemgetter(1)


class Refusal(ValueError):
    """A word that is well formed and means nothing: 2026-02-30, or a name of 80 letters; `slot` where it is known."""

    def __init__(self, text: str, cure: str = "", slot: int | None = None):
        super().__init__(text)
        self.cure = cure
        self.slot = slot


class _Words(dict):
    """
    The words of one terminal met so far and what they mean.

    Records repeat themselves: the same pressures, people and days a hundred thousand times. So
    each word is made into a value once, and the value is shared by all entries that say it.
    """

    def __init__(self, read: Callable):
        # What an act does not say.
        super().__init__({None: None})
        self._read = read

    def __missing__(self, word: str) -> Any:
        value = self[word] = self._read(word)
        return value


def _day(word: str) -> date:
    try:
        return dates.day(word)
    except ValueError:
        raise Refusal(f"there is no day {word}", "Write the day that was meant.") from None


def _month(word: str) -> dates.Month:
    try:
        return dates.month(word)
    except ValueError:
        raise Refusal(f"there is no month {word}", "Write the month that was meant.") from None


def _time(word: str) -> time:
    try:
        return dates.clock(word)
    except ValueError:
        raise Refusal(f"there is no time {word}", "Write the time as 00:00 to 23:59.") from None


def _name(word: str) -> str:
    if len(word) > LONGEST_NAME:
        raise Refusal(f"a name of {len(word)} characters; the longest has {LONGEST_NAME}", "Choose a shorter name.")
    return word


def _text(word: str) -> str:
    text = word[1:-1].replace('\\"', '"').replace("\\\\", "\\")
    if len(text) > LONGEST_TEXT:
        raise Refusal(f"a text of {len(text):,} characters; the longest has {LONGEST_TEXT:,}", "Say it in fewer words.")
    return text


def _quantity(terminal: str) -> Callable:
    def read(word: str) -> Quantity:
        digits = len(re.sub("-?([0-9.]+).*", r"\1", word).replace(".", ""))
        if digits > LONGEST_NUMBER:
            text = f"a number of {digits} digits; the longest has {LONGEST_NUMBER}"
            raise Refusal(text, "Write the figure that was read.")
        meant = quantity(terminal, word)
        if terminal == "TEMPERATURE" and meant.value < 0:
            raise Refusal(f"there is no temperature of {meant}", "Write the temperature that was meant.")
        return meant

    return read


MEANINGS: dict[str, _Words] = {
    "DAY": _Words(_day),
    "MONTH": _Words(_month),
    "TIME": _Words(_time),
    "NAME": _Words(_name),
    "COUNT": _Words(_name),
    "DIGEST": _Words(str),
    "TEXT": _Words(_text),
    **{t: _Words(_quantity(t)) for t in ("PRESSURE", "TEMPERATURE", "VOLUME", "DURATION", "SHARE", "PPM", "DENSITY")},
}


class Naming(NamedTuple):
    """A word of a sentence that names somebody or something which a block declares: its slot, and what it should name."""

    slot: int
    names: str


class ShapeFault(NamedTuple):
    """What is wrong with a sentence, or with all of a shape: at one of its slots, or with None at the whole of it."""

    slot: int | None
    text: str
    cure: str


class Meaning:
    """How to read the words of one shape: `words(values)` gives what each slot means."""

    def __init__(self, shape: Shape):
        self.shape = shape
        self._readers = [MEANINGS[slot.terminal] for slot in sorted(slots(shape.tree))]

    def words(self, values: tuple[str, ...]) -> tuple:
        """What the words of a sentence of this shape mean, slot by slot. Raises Refusal."""
        return tuple(map(getitem, self._readers, values))

    def refused(self, values: tuple[str, ...]) -> ShapeFault:
        """
        The first slot whose word means nothing, after `words` has raised, and why: in words, since who keeps an exception
        keeps all that was at hand where it was raised.
        """
        for slot, (reader, value) in enumerate(zip(self._readers, values)):
            try:
                reader[value]
            except Refusal as refusal:
                return ShapeFault(slot, str(refusal), refusal.cure)
        raise AssertionError("every word means something")


@cache
def _clauses_of(rule: str) -> tuple[list, list, list, dict[str, tuple[Clause, tuple[str, ...]]]]:
    """
    What the plans of one kind of entry, by its rule in the grammar, have in common: the clauses that it needs, with the
    fields by which each is had; pairs of fields of which a line has one; the clauses that name somebody or something;
    and by each field its clause and the fields for it.
    """
    row = ENTRY_RULES[rule]
    needs = [(clause, row.fields_for(clause)) for clause in row.needs]
    either_or = [(clause.field, clause.instead_of) for clause in row.own if clause.instead_of]
    named = [clause for clause in row.clauses if clause.value in (NAME, SIGNED, ANSWERED)]
    by_field: dict[str, tuple[Clause, tuple[str, ...]]] = {}
    for clause in row.clauses:
        for field in row.fields_for(clause):
            by_field.setdefault(field, (clause, row.fields_for(clause)))
    return needs, either_or, named, by_field


class EntryPlan(Meaning):
    """
    How to make the entries of one shape: `kind` is their type.

    `base` is a tuple of the kind from which every field is taken that a line itself does not
    say: that of a card holds its cylinder's name, that of a sheet all that the header says for
    its rows. `fields` maps a field to the indexes of its slots, or to the constant it has, and
    `answers` are the slots of each answer. `names` are the words that name somebody or something,
    `lacks` the clauses that the kind needs and this shape has not, `fault` what is wrong with the shape.
    """

    def __init__(self, shape: Shape, act: Tree, kind: type[Entry]):
        super().__init__(shape)
        self.kind = kind
        self.fault: ShapeFault | None = None
        self.fields: dict[str, tuple[int, ...] | str | bool | None] = {}
        self.answers: list[tuple[int, ...]] = []
        for child in act.children:
            if isinstance(child, Slot):
                self._put_when(child)
            elif child.data == "name":
                self.fields["subject"] = (child.children[0].index,)
            else:
                self._put(child)
        self.names = tuple(self._names())
        needs, either_or, _, _ = _clauses_of(kind.row.rule)
        self.lacks = tuple(clause for clause, fields in needs if self.fields.keys().isdisjoint(fields))
        for either in either_or:
            # What a row says for itself is not what the header of its sheet says.
            self.fields.update({field: None for field in either if self.fields.keys() & {*either} - {field}})
        self._arrange()

    def _put_when(self, slot: Slot) -> None:
        if slot.terminal == "MONTH" and not self.kind.row.may_be_month:
            text = f"`{self.kind.verb}` is written with its day"
            verbs = [f"`{verb}`" for verb, row in VERBS.items() if row.may_be_month]
            cure = f"Write the day; a month alone is enough for {', '.join(verbs[:-1])} and {verbs[-1]}."
            self.fault = self.fault or ShapeFault(slot.index, text, cure)
        self.fields["time" if slot.terminal == "TIME" else "day"] = (slot.index,)

    def _put(self, tree: Tree) -> None:
        """Take in a clause: its rule is the field."""
        filled = tuple(slot.index for slot in sorted(slots(tree)))
        field = tree.data
        if field == ANSWERS.field:
            self.answers.append(filled)
            return
        *_, by_field = _clauses_of(self.kind.row.rule)
        clause, fields = by_field[field]
        if not self.fields.keys().isdisjoint(fields) and self.fault is None:
            text = f"{f'`{clause.word}`' if clause.word else 'a text'} is written twice on this line"
            self.fault = ShapeFault(filled[0] if filled else None, text, "Keep the one that is true.")
        self.fields[field] = filled or _constant(tree)

    def slot_of(self, field: str) -> int:
        """The slot of the word that fills a field; KeyError where no word does."""
        filled_by = self.fields[field]
        if not isinstance(filled_by, tuple):
            raise KeyError(field)
        return filled_by[0]

    def _names(self) -> Iterator[Naming]:
        _, _, named, _ = _clauses_of(self.kind.row.rule)
        for clause in named:
            filled_by = self.fields.get(clause.field)
            if clause.value == ANSWERED:
                yield from (Naming(slots_of[2], clause.names) for slots_of in self.answers)
            elif isinstance(filled_by, tuple):
                slot = filled_by[1] if clause.value == SIGNED else filled_by[0]
                yield Naming(slot, clause.names or self.kind.row.signer)

    def _arrange(self) -> None:
        """Work out where each field of an entry is taken from; see `make`."""
        base = self.kind._fields
        filled = {field: slots_of for field, slots_of in self.fields.items() if isinstance(slots_of, tuple)}
        constants = {field: value for field, value in self.fields.items() if field not in filled}
        self._given = (self.shape, *constants.values())
        said = ["shape", *constants, "start"]
        first_word = len(base) + len(said)
        first_made = first_word + len(self._readers)
        places = {field: number for number, field in enumerate((*base, *said))}
        places.update({field: first_word + slots_of[0] for field, slots_of in filled.items()})
        # Values that are made of several words come after the words.
        self._signed = [slots_of for slots_of in filled.values() if len(slots_of) > 1]
        made = [field for field, slots_of in filled.items() if len(slots_of) > 1]
        made += [ANSWERS.field] * bool(self.answers)
        places.update({field: first_made + number for number, field in enumerate(made)})
        self._pick = itemgetter(*(places[field] for field in base))

    def make(self, lines: Iterable[Sentence], base: tuple) -> list[Entry]:
        """The entries of lines of this shape. Raises Refusal; whether a clause is missing is not looked at."""
        kind, pick, readers = self.kind, self._pick, self._readers
        given = (*base, *self._given)
        if self._signed or self.answers:
            return [
                _new_tuple(kind, pick((*given, start, *words, *self._made_of(words))))
                for words, start in ((self.words(values), start) for _, values, start in lines)
            ]
        return [_new_tuple(kind, pick((*given, start, *map(getitem, readers, values)))) for _, values, start in lines]

    def _made_of(self, words: tuple) -> Iterator[Signed | tuple[Answer, ...]]:
        """The values of fields that several words fill. Raises Refusal."""
        for slots_of in self._signed:
            yield Signed(*(words[slot] for slot in slots_of))
        if self.answers:
            yield self._answers(words)

    def _answers(self, words: tuple) -> tuple[Answer, ...]:
        """The answers of one line. Raises Refusal where two are to one rule."""
        found: dict[str, Answer] = {}
        for slots_of in self.answers:
            rule, day, by, text = (words[slot] for slot in slots_of)
            rule = american(rule)
            if rule in found:
                text = f"`{ANSWERS.word} {rule}` is written twice on this line"
                raise Refusal(text, "Keep the one that is true.", slots_of[0])
            found[rule] = Answer(rule, day, by, text)
        return tuple(found.values())

    def refused(self, values: tuple[str, ...]) -> ShapeFault:
        """As of other sentences; or the second answer to one rule, and why it is refused."""
        try:
            self._answers(self.words(values))
        except Refusal as refusal:
            if refusal.slot is not None:
                return ShapeFault(refusal.slot, str(refusal), refusal.cure)
        return super().refused(values)


def columns(lines: Iterable[Sentence]) -> list[tuple]:
    """The values of lines of one act or shape, one column for each."""
    return list(zip(*map(_VALUES, lines)))


class ActPlan:
    """How to make the entries of an act: `kind` is their type, `names` are as of an `EntryPlan`."""

    def __init__(self, act: Act):
        self.kind = kind = entry_kind(_RULES[act.rule])
        self.is_row = act.rule not in (kind.row.rule, kind.row.sheet_rule)
        # What each line is given with.
        self._lent = kind._fields if self.is_row else ("subject", "source", "block")
        _, _, _, by_field = _clauses_of(kind.row.rule)
        fields = [_HEAD_FIELDS.get(part.rule, part.rule) for part in act.values]
        self.names = tuple(
            Naming(number, by_field[field][0].names or kind.row.signer)
            for number, field in enumerate(fields)
            if field in by_field and by_field[field][0].value == NAME
        )
        self._act = act
        self._slots = {field: number for number, field in enumerate(fields)}
        self._readers = [_reader(part).__getitem__ for part in act.values]
        self._needs = [] if act.heading else [kind._fields.index(clause.field) for clause in kind.row.needs]

    def slot_of(self, field: str) -> int:
        """The slot of the value that fills a field."""
        return self._slots[field]

    def make(self, lines: Sequence[Sentence], words: Sequence[tuple], bases: Sequence[tuple]) -> list[Entry | None]:
        """
        The entries of lines of this act, whose `columns` are `words`, each with its base: the entry that the header of its
        sheet made, or the name on its card, its source and its block. None in place of one in which something means nothing or is missing.
        """
        said = {field: slot for field, slot in self._slots.items() if any(words[slot])}
        try:
            # A whole column at a time, for lines are many and columns few.
            meant: dict[str, Any] = {field: list(map(self._readers[slot], words[slot])) for field, slot in said.items()}
        except Refusal:
            half = len(lines) // 2
            halves = ((lines[part], bases[part]) for part in (slice(half), slice(half, None)))
            return [entry for some, own in halves for entry in self.make(some, columns(some), own)] if half else [None]
        lent: dict[str, Any] = dict(zip(self._lent, zip(*bases)))
        if self.is_row:
            for field, slot in said.items():
                if not all(words[slot]):
                    # What a row does not say comes from the header of its sheet.
                    meant[field] = [each if own is None else own for own, each in zip(meant[field], lent[field])]
        starts = [line.start for line in lines]
        meant = {**lent, **meant, "start": starts, "shape": repeat(self._act)}
        unsaid = repeat(None)
        fields = [meant.get(field, unsaid) for field in self.kind._fields]
        made: list[Entry | None] = list(map(_new_tuple, repeat(self.kind), zip(*fields)))
        for place in self._needs:
            made = [None if entry is None or entry[place] is None else entry for entry in made]
        return made


# The rule of an entry by that of its act: on cards and loose lines, of its sheet and of the rows there.
_RULES = {
    rule: row.rule
    for row in VERBS.values()
    for rule in ((row.rule, row.sheet_rule, row.row_rule) if row.sheet else (row.rule,))
}
# Of what stands at the beginning of a line, the field.
_HEAD_FIELDS = {"DAY": "day", "TIME": "time", "name": "subject"}


def says_otherwise(entry: Entry) -> bool:
    """Whether an entry says something in place of what it might say, as `to unread` in place of a pressure: acts do not know of it."""
    _, either_or, _, _ = _clauses_of(entry.row.rule)
    return any(getattr(entry, field) is not None for field, _ in either_or)


@cache
def act_plan(act: Act) -> ActPlan:
    """The plan of an act; an act is the same whatever file or record it stands in."""
    return ActPlan(act)


def _reader(part: Part) -> _Words:
    """What the words of a value of an act mean."""
    if part.is_keyword:
        return _Words(lambda word: part.rule in _FLAGS or word.lstrip(" \t"))
    return MEANINGS[part.terminals[0]]


def entry_plan(shape: Shape, kind: type[Entry] | None = None) -> EntryPlan:
    """
    The plan of a shape whose sentences are entries.

    On a card and a loose line the verb tells the kind; on a sheet it is given, for a row and
    for the header alike.
    """
    tree = shape.tree
    if kind is not None:
        return EntryPlan(shape, tree.children[0] if tree.data == "top" else tree, kind)
    *head, act = tree.children
    plan_tree = type(tree)(act.data, [*head, *act.children])
    return EntryPlan(shape, plan_tree, entry_kind(act.data))


def slots(tree: Tree) -> Iterator[Slot]:
    """The slots of a shape's tree, in the order of the tree."""
    for child in tree.children:
        if isinstance(child, Slot):
            yield child
        else:
            yield from slots(child)


_FLAGS = {clause.field for clause in CLAUSES if clause.value == FLAG}


def _constant(tree: Tree) -> str | bool:
    """The value of a clause that holds no word of its own, only rules: `pass`, `plus`, `visual fail`."""
    while tree.children:
        tree = tree.children[0]
    return True if tree.data in _FLAGS else tree.data.rstrip("_")
