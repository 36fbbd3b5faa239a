"""
How what was read of a file goes to another process, now or later: what to hand to `pickle` for the things that it holds most of.

Entries go as plain tuples, all of a file in one step, and a shape once, however many entries have it. So
it takes a small part of the time of reading.
"""

import io
import pickle
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from datetime import date, time, timedelta
from itertools import chain, islice
from typing import Any

from cylfile.record.blocks import (
    AirSource,
    Cylinder,
    Department,
    Person,
    Recall,
    Seal,
    Site,
    StruckProperty,
    Tag,
    Tester,
    Waiver,
)
from cylfile.record.dates import Month
from cylfile.record.entries import Answer, Entry, Signed, entry_kind
from cylfile.record.file_reader import FileReader, UnderNoCard
from cylfile.record.quantities import Quantity
from cylfile.record.vocabulary import ENTRY_RULES
from cylfile.text.acts import Act
from cylfile.text.language import Sentence, Shape
from cylfile.text.ledger import LEDGER
from cylfile.text.parse_table import Slot, Tree
from cylfile.text.source import Fault, Source, Span

_KINDS = [entry_kind(rule) for rule in ENTRY_RULES]
_NUMBERS = {kind: number for number, kind in enumerate(_KINDS)}
_LISTS = ("recalls", "waivers", "seals", "faults")
# What a named tuple's own constructor calls, without the call.
_new_tuple: Any = tuple.__new__


def _packed_file(file: FileReader) -> tuple[Callable, tuple]:
    record = file.record
    counts = {name: len(entries) for name, entries in record.entries.items()}
    lists = [getattr(record, name) for name in _LISTS]
    of_lines = (file.things, file.damaged_lines, file.used)
    return _file, (
        record.sources,
        counts,
        *_packed_entries(chain.from_iterable(record.entries.values())),
        dict(record.damaged),
        lists,
        *of_lines,
    )


def _packed_entries(entries: Iterable[Entry]) -> tuple[bytes, list[tuple]]:
    """The number of the kind of each entry, and its values."""
    entries = list(entries)
    return bytes(map(_NUMBERS.__getitem__, map(type, entries))), list(map(tuple, entries))


def _file(
    sources: list, counts: dict, kinds: bytes, rows: list, damaged: dict, lists: list, *of_lines: Any
) -> FileReader:
    file = FileReader(*sources)
    entries = map(_new_tuple, map(_KINDS.__getitem__, kinds), rows)
    for name, count in counts.items():
        file.record.entries[name] = list(islice(entries, count))
    file.record.damaged.update(damaged)
    for name, things in zip(_LISTS, lists):
        setattr(file.record, name, things)
    file.things, file.damaged_lines, file.used = of_lines
    return file


def _packed_entry(entry: Entry) -> tuple[Callable, tuple]:
    return _entry, (_NUMBERS[type(entry)], tuple(entry))


def _entry(kind: int, row: tuple) -> Entry:
    return _new_tuple(_KINDS[kind], row)


def _packed_shape(shape: Shape) -> tuple[Callable, tuple]:
    return _shape, (shape.place, shape.terminals, shape.tree)


def _shape(place: str, terminals: tuple[str, ...], tree: Tree) -> Shape:
    return LEDGER.shape_of_tree(place, terminals, tree)


def _packed_act(act: Act) -> tuple[Callable, tuple]:
    return _act, (act.place, act.rule)


def _act(place: str, rule: str) -> Act:
    return LEDGER.acts[place][rule]


def _packed_tree(tree: Tree) -> tuple[Callable, tuple]:
    return Tree, (tree.data, tree.children)


# By the type of a thing how it is packed, as the `dispatch_table` of a pickler has it.
_PACKED: dict[type, Callable] = {
    FileReader: _packed_file, Shape: _packed_shape, Act: _packed_act, Tree: _packed_tree, **dict.fromkeys(_KINDS, _packed_entry),
}  # fmt: skip
# All that what was read of a file is made of.
_OF_FILES = (
    AirSource, Answer, Cylinder, Department, Fault, Month, Person, Quantity, Recall, Seal, Sentence, Signed, Site, Slot, Span,
    StruckProperty, Tag, Tester, Tree, UnderNoCard, Waiver, date, time, timedelta, _act, _entry, _file, _shape,
)  # fmt: skip
OF_FILES: Mapping[tuple[str, str], Any] = {(each.__module__, each.__qualname__): each for each in _OF_FILES}


class Packer:
    """
    Packs things that mention some sources, one after the other: without the sources themselves, which whoever unpacks
    them has to have, and what several of them have in common once.
    """

    def __init__(self, sources: Sequence[Source]):
        numbers = {id(source): number for number, source in enumerate(sources)}

        def packed_source(source: Source) -> tuple[Callable, tuple]:
            number = numbers.get(id(source))
            return (Source, (source.path, source.text)) if number is None else (_source, (number,))

        self._packed = io.BytesIO()
        self._pickler = pickle.Pickler(self._packed, protocol=pickle.HIGHEST_PROTOCOL)
        self._pickler.dispatch_table = {**_PACKED, Source: packed_source}

    def add(self, thing: Any) -> None:
        self._pickler.dump(thing)

    @property
    def packed(self) -> bytes:
        return self._packed.getvalue()


def pack(thing: Any, sources: Sequence[Source]) -> bytes:
    """One thing as bytes; see `Packer`."""
    packer = Packer(sources)
    packer.add(thing)
    return packer.packed


def unpack(data: bytes, sources: Sequence[Source], known: Mapping[tuple[str, str], Any] | None = None) -> Any:
    """
    What was packed. `known` is what it may be made of, by modules and names; anything at all where nobody else can have
    written it. Raises EOFError or UnpicklingError where it is not whole, or made of anything else.
    """
    return _Unpickler(io.BytesIO(data), sources, known).load()


def unpack_each(data: bytes, sources: Sequence[Source]) -> Iterator[Any]:
    """The things that were packed one after the other by this program; raises UnpicklingError where one is not whole."""
    unpickler = _Unpickler(io.BytesIO(data), sources, None)
    with suppress(EOFError):
        while True:
            yield unpickler.load()


class _Unpickler(pickle.Unpickler):
    def __init__(self, file: io.BytesIO, sources: Sequence[Source], known: Mapping[tuple[str, str], Any] | None):
        super().__init__(file)
        self.sources = sources
        self.known = known

    def find_class(self, module: str, name: str) -> Any:
        if (module, name) == (__name__, _source.__name__):
            return self.sources.__getitem__
        if self.known is None:
            return super().find_class(module, name)
        try:
            return self.known[module, name]
        except KeyError:
            raise pickle.UnpicklingError(f"{module}.{name} is no part of it") from None


def _source(number: int) -> Source:
    """The source of a number, for which the unpickler puts the sources that it was given."""
    raise NotImplementedError
