"""
What happened between two states to what a record declares: blocks and their properties, recalls, waivers and seals.
"""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from cylfile.history.seals import NOT_COVERED as _OF_TODAY
from cylfile.history.seals import SPANS, days_up_to
from cylfile.record.blocks import Declared
from cylfile.record.plain_form import header, plain_recall, plain_seal, plain_waiver, properties, struck_lines
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
    language writes them. `struck` are the lines that were struck between, with their strikes, and `altered` the words
    of the properties of which something is gone without one. `old` and `new` are the places of its header, None where
    there is none.
    """

    kind: str
    word: str
    name: str
    header: str
    properties: tuple[tuple[str, tuple[str, ...], tuple[str, ...]], ...]
    old: Span | None
    new: Span | None
    struck: tuple[str, ...] = ()
    altered: tuple[str, ...] = ()

    @property
    def is_altered(self) -> bool:
        """Whether something of it is gone that should have been struck."""
        return self.kind == REMOVED or bool(self.altered)

    @property
    def span(self) -> Span:
        """The place of its header now, or where it was."""
        span = self.new or self.old
        assert span is not None
        return span


@dataclass(frozen=True, slots=True)
class LineChange:
    """A recall, a waiver or a seal, in plain form, that is new or gone. One that says something else is both."""

    kind: str
    what: str
    text: str
    span: Span
    # The day on which somebody signed it, where it says that.
    signed: date | None = None

    @property
    def is_altered(self) -> bool:
        """Whether it should never be: a seal, a recall and a waiver stay for good."""
        return self.kind == REMOVED


_STRUCK_LINES = "struck"


def compare_blocks(old: Record, new: Record, as_of: date = date.max) -> Iterator[BlockChange]:
    """
    The changes of all blocks that have a name, and of the department.

    A span of authority may be written anew as long as it says the same of the days up to `as_of`.
    """
    before, after = _declared(old), _declared(new)
    for key in dict.fromkeys((*before, *after)):
        was, is_now = before.get(key), after.get(key)
        differing = _differing(was, is_now)
        lines_before, lines_after = _struck(was), _struck(is_now)
        struck = tuple((lines_after - lines_before).elements())
        unstruck = not lines_before <= lines_after
        if was is not None and is_now is not None and not differing and not struck and not unstruck:
            continue
        kind = ADDED if was is None else REMOVED if is_now is None else CHANGED
        thing = is_now or was
        assert thing is not None
        old_place, new_place = was.span if was else None, is_now.span if is_now else None
        altered = tuple(_altered(was, is_now, differing, as_of)) if was and is_now else ()
        altered += (_STRUCK_LINES,) if unstruck and is_now is not None else ()
        yield BlockChange(kind, thing.word, thing.name, header(thing), differing, old_place, new_place, struck, altered)


def _struck(thing: Declared | None) -> Counter:
    return Counter(line for each in thing.struck_properties for line in struck_lines(each)) if thing else Counter()


def _altered(was: Declared, is_now: Declared, differing: tuple, as_of: date) -> Iterator[str]:
    """The words of the properties of which something is gone without a strike."""
    struck = Counter(
        (word, value) for each in is_now.struck_properties for word, values in properties(each.thing).items()
        for value in values
    )  # fmt: skip
    struck -= Counter(
        (word, value) for each in was.struck_properties for word, values in properties(each.thing).items()
        for value in values
    )  # fmt: skip
    for word, before, after in differing:
        if word in _OF_TODAY.get(type(was), ()):
            continue
        if word in SPANS.get(type(was), ()):
            same = days_up_to(getattr(was, word), as_of) == days_up_to(getattr(is_now, word), as_of)
            # What a struck span said until then it says no more, and nobody hid that.
            if not same and not any(each == word for each, _ in struck):
                yield word
            continue
        gone = Counter(before) - Counter(after)
        if any(count > struck[word, value] for value, count in gone.items()):
            yield word


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
    changes = [LineChange(REMOVED, *key, *before[key]) for key in gone - come]
    return changes + [LineChange(ADDED, *key, *after[key]) for key in come - gone]


def _lines(record: Record) -> dict[tuple[str, str], tuple[Span, date | None]]:
    lines: dict[tuple[str, str], tuple[Span, date | None]] = {}
    lines |= {("seal", plain_seal(seal)): (seal.span, None) for seal in record.seals}
    lines |= {("recall", plain_recall(recall)): (recall.span, None) for recall in record.recalls}
    # One without a day of signature covers the past as well.
    lines |= {("waiver", plain_waiver(waiver)): (waiver.span, waiver.since or date.min) for waiver in record.waivers}
    return lines
