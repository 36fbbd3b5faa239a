"""
How what one process has read of a file goes to another: what to hand to `pickle` for the things that it holds most of.

Entries go as plain tuples, all of a file in one step, and a shape once, however many entries have it. So
it takes a small part of the time of reading.
"""

from collections.abc import Callable, Iterable
from itertools import chain, islice
from typing import Any

from cylfile.record.entries import ENTRY_KINDS, Entry
from cylfile.record.file_reader import FileReader
from cylfile.text.acts import Act
from cylfile.text.language import Shape
from cylfile.text.ledger import LEDGER
from cylfile.text.parse_table import Tree

_KINDS = list(ENTRY_KINDS.values())
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
PACKED: dict[type, Callable] = {
    FileReader: _packed_file, Shape: _packed_shape, Act: _packed_act, Tree: _packed_tree, **dict.fromkeys(_KINDS, _packed_entry),
}  # fmt: skip
