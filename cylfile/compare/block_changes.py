"""
What happened between two states to what a record declares: blocks and their properties, recalls, waivers and seals.
"""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from cylfile.record.blocks import Declared
from cylfile.record.plain_form import header, plain_recall, plain_seal, plain_waiver, properties
from cylfile.record.record import Record
from cylfile.text.source import Span

ADDED = "added"
REMOVED = "removed"
CHANGED = "changed"


@dataclass(frozen=True, slots=True)
class BlockChange:
    """
    A block that is new, gone or says something else.

    `header` is its header without the title, `word` what the trade calls such a thing.
    `properties` has (word, old values, new values) of each property that differs, values as the
    language writes them. `old` and `new` are the places of its header, None where there is none.
    """

    kind: str
    word: str
    name: str
    header: str
    properties: tuple[tuple[str, tuple[str, ...], tuple[str, ...]], ...]
    old: Span | None
    new: Span | None


@dataclass(frozen=True, slots=True)
class LineChange:
    """A recall, a waiver or a seal, in plain form, that is new or gone. One that says something else is both."""

    kind: str
    what: str
    text: str
    span: Span

    @property
    def rewritten(self) -> bool:
        """Whether it should never be: a seal stays for good."""
        return self.what == "seal" and self.kind == REMOVED


def compare_blocks(old: Record, new: Record) -> Iterator[BlockChange]:
    """The changes of all blocks that have a name, and of the department."""
    before, after = _declared(old), _declared(new)
    for key in dict.fromkeys((*before, *after)):
        was, is_now = before.get(key), after.get(key)
        differing = _differing(was, is_now)
        if was is not None and is_now is not None and not differing:
            continue
        kind = ADDED if was is None else REMOVED if is_now is None else CHANGED
        thing = is_now or was
        assert thing is not None
        old_place, new_place = was.span if was else None, is_now.span if is_now else None
        yield BlockChange(kind, thing.word, thing.name, header(thing), differing, old_place, new_place)


def _declared(record: Record) -> dict[tuple[str, str], Declared]:
    things: list[Declared] = [*filter(None, [record.department]), *record.declared.values()]
    return {(thing.word, thing.name): thing for thing in things}


def _differing(was: Declared | None, is_now: Declared | None) -> tuple:
    before = properties(was) if was is not None else {}
    after = properties(is_now) if is_now is not None else {}
    return tuple(
        (word, tuple(before.get(word, ())), tuple(after.get(word, ())))
        for word in dict.fromkeys((*before, *after))
        if before.get(word) != after.get(word)
    )


def compare_lines(old: Record, new: Record) -> list[LineChange]:
    """The recalls, waivers and seals that are gone, and those that are new."""
    before, after = _lines(old), _lines(new)
    gone, come = Counter(before.keys()), Counter(after.keys())
    changes = [LineChange(REMOVED, *key, before[key]) for key in gone - come]
    return changes + [LineChange(ADDED, *key, after[key]) for key in come - gone]


def _lines(record: Record) -> dict[tuple[str, str], Span]:
    lines = {("seal", plain_seal(seal)): seal.span for seal in record.seals}
    lines |= {("recall", plain_recall(recall)): recall.span for recall in record.recalls}
    lines |= {("waiver", plain_waiver(waiver)): waiver.span for waiver in record.waivers}
    return lines
