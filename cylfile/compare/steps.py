"""
What single revisions did: comparisons of the parts of two states that differ, and what a merge did by itself.

Pure functions, as the comparison of two states is.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import date
from typing import NamedTuple

from cylfile.compare.commit import Commit
from cylfile.compare.entry_changes import BACKDATED, EntryChange
from cylfile.compare.states import Before, Comparison, compare_records
from cylfile.compare.stretches import differing_stretches
from cylfile.packs.rule_changes import RuleChange
from cylfile.record.entries import Entry
from cylfile.record.reader import FileReader, RecordReader
from cylfile.record.record import Record
from cylfile.text.source import Source


class Step(NamedTuple):
    """
    What a commit changed that none of its parents had, None for what is in no commit; `unread` is what cannot be read of
    it and could before. `unseen` counts the grave things that the ends of the walk do not show: they came and went.
    """

    commit: Commit | None
    comparison: Comparison
    unread: tuple[str, ...] = ()
    unseen: int = 0


def of_interest(steps: Iterable[Step]) -> list[Step]:
    """The steps that did something that an auditor asks about: not those that only wrote on or corrected."""
    return [step for step in steps if step.comparison.grave or step.comparison.count(BACKDATED) or step.unread]


def beside_ends(steps: Iterable[Step], ends: Comparison) -> list[Step]:
    """The steps with what of them the comparison of the ends does not show."""
    shown = set(grave_things(ends))
    return [step._replace(unseen=len(set(grave_things(step.comparison)) - shown)) for step in steps]


def grave_things(comparison: Comparison) -> Iterator[tuple]:
    """What each grave change is about."""
    for change in comparison.grave_entries:
        yield "entry", (change.old or change.entry).uncorrected
    for order in comparison.order:
        yield "order", order.first.uncorrected, order.second.uncorrected
    for block in comparison.altered_blocks:
        yield "block", block.word, block.name
    for line in (*comparison.altered_lines, *comparison.backdated_lines):
        yield line.what, line.text
    for rule in comparison.eased:
        yield "rule", rule.text


def compare_texts(
    texts: Iterable[tuple[str, str, str]], before: Before, as_of: date, rules: Sequence[RuleChange] = ()
) -> Comparison:
    """
    The comparison of two states by (path, old text, new text) of the files in which they differ, empty where there is
    none; no more is read than the blocks that differ. Names are not looked up.
    """
    old: list[Source] = []
    new: list[Source] = []
    for path, was, is_now in texts:
        for said, stretch in zip((old, new), differing_stretches(path, was, is_now)):
            said.append(stretch)
    return compare_records(_said(old), _said(new), rules=rules, as_of=as_of, before=before)


def _said(sources: list[Source]) -> Record:
    reader = RecordReader(sources, [])
    for source in reader.record.sources:
        reader.take_in(FileReader(source).read())
    return reader.record


def own_changes(from_parents: Sequence[Comparison], on_sides: Sequence[Sequence[Comparison]]) -> Comparison:
    """
    What a merge changed that none of its sides did: of the comparisons with each of its parents that which no other
    side did since they had a revision in common, `on_sides` being comparisons of those with each parent.
    """
    keys = [{key for comparison in each for key, _ in _changes(comparison)} for each in on_sides]
    first = from_parents[0]
    found = replace(first, entries={}, order=[], blocks=[], lines=[], rules=[])
    told = set()
    for number, comparison in enumerate(from_parents):
        elsewhere = set().union(*(each for other, each in enumerate(keys) if other != number))
        for key, change in _changes(comparison):
            if key not in elsewhere and key not in told:
                told.add(key)
                if isinstance(change, EntryChange):
                    found.entries.setdefault(change.subject, []).append(change)
                else:
                    getattr(found, key[0]).append(change)
    return found


def _changes(comparison: Comparison) -> Iterator[tuple[tuple, object]]:
    """Each change, and what it is the same change by, wherever it stands; first the name of the list that it is in."""
    for change in (change for changes in comparison.entries.values() for change in changes):
        yield ("entries", change.subject, _facts(change.old), _facts(change.new)), change
    for order in comparison.order:
        yield ("order", order.subject, order.first.uncorrected, order.second.uncorrected, order.turned), order
    for block in comparison.blocks:
        yield ("blocks", block.word, block.name, block.properties, block.struck, block.altered), block
    for line in comparison.lines:
        yield ("lines", line.kind, line.what, line.text), line
    for rule in comparison.rules:
        yield ("rules", rule.text), rule


def _facts(entry: Entry | None) -> tuple | None:
    return None if entry is None else entry.facts
