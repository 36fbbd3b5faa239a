"""
Two states of a record beside each other.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, time
from typing import NamedTuple

from cylfile.compare.block_changes import ADDED, BlockChange, LineChange, compare_blocks, compare_lines
from cylfile.compare.entry_changes import ADDED as ADDED_ENTRY
from cylfile.compare.entry_changes import BACKDATED, EntryChange, compare_entries, moment, new_signatures
from cylfile.compare.order_changes import OrderChange, compare_order
from cylfile.findings.finding import Finding
from cylfile.findings.new_findings import new_findings, standing
from cylfile.findings.seal_findings import SEAL_BROKEN
from cylfile.packs.rule_changes import RuleChange
from cylfile.record.record import Record
from cylfile.text.source import Fault

_NEVER = (date.min, time.min)


class Before(NamedTuple):
    """
    What all of an old state tells, for the comparison of parts of it: the last day of a period that is closed, the last
    day of which it says something, and the last moment of each cylinder and source.
    """

    sealed: date | None = None
    since: date = date.min
    moments: Mapping[str, tuple[date, time]] = {}


def told_by(record: Record, as_of: date, before: Before | None = None) -> Before:
    """What a record tells, not after the as-of day, besides what was told before it."""
    known = before or Before()
    moments = dict(known.moments)
    for name, entries in record.entries.items():
        told = [moment(entry) for entry in entries if entry.day <= as_of]
        moments[name] = max((*told, moments.get(name, _NEVER)))
    sealed = max((day for day in (known.sealed, *(seal.day for seal in record.seals)) if day), default=None)
    return Before(sealed, max(known.since, _last_day(record, as_of)), moments)


@dataclass(slots=True)
class Comparison:
    """
    All that differs between two states of a record.

    `entries` maps a cylinder's or source's name to the changes of its entries, cylinders first,
    then sources, then names that no block declares, each in the order of their names. `order` are days of which the
    lines were turned round. `blocks` are what else is declared about them and others, `rules` what the packs have
    otherwise. `appeared` and `gone` are findings, those covered by a waiver left out: `by_rules` what the rules of the
    new state would say of the old one besides what its own do, and no longer say. `since` is the last day of
    which the old state says something. `came_and_went` counts what revisions between altered that neither state shows.
    """

    old: Record
    new: Record
    entries: dict[str, list[EntryChange]] = field(default_factory=dict)
    order: list[OrderChange] = field(default_factory=list)
    blocks: list[BlockChange] = field(default_factory=list)
    lines: list[LineChange] = field(default_factory=list)
    rules: list[RuleChange] = field(default_factory=list)
    appeared: list[Finding] = field(default_factory=list)
    gone: list[Finding] = field(default_factory=list)
    by_rules: tuple[list[Finding], list[Finding]] = field(default_factory=lambda: ([], []))
    broken: list[Finding] = field(default_factory=list)
    since: date = date.min
    came_and_went: int = 0

    @property
    def altered_entries(self) -> list[EntryChange]:
        """The entries that were changed or removed without a strike."""
        return [change for change in self.all_changes if change.is_altered]

    @property
    def all_changes(self) -> Iterator[EntryChange]:
        return (change for changes in self.entries.values() for change in changes)

    @property
    def altered_blocks(self) -> list[BlockChange]:
        return [change for change in self.blocks if change.is_altered]

    @property
    def altered_lines(self) -> list[LineChange]:
        return [change for change in self.lines if change.is_altered]

    @property
    def grave_entries(self) -> list[EntryChange]:
        """The entries to which something happened that should not have been done unseen."""
        backdated = set(map(id, self.backdated_signatures))
        return [c for c in self.all_changes if c.is_altered or id(c) in backdated or self._is_let_in(c)]

    @staticmethod
    def _is_let_in(change: EntryChange) -> bool:
        """Whether an entry was written into a sealed period without `late`."""
        return change.kind in (BACKDATED, ADDED_ENTRY) and change.sealed is not None

    @property
    def backdated_signatures(self) -> list[EntryChange]:
        """The entries with a strike, an answer or a `late` that is new and signed for a day before the old state's last."""
        return [c for c in self.all_changes if any(signed.day < self.since for signed in new_signatures(c))]

    @property
    def backdated_lines(self) -> list[LineChange]:
        return [line for line in self.lines if line.kind == ADDED and line.signed and line.signed < self.since]

    @property
    def eased(self) -> list[RuleChange]:
        return [change for change in self.rules if change.laxer]

    @property
    def grave(self) -> dict[str, int]:
        """How often each thing happened that should not have been done unseen, in the order in which it is told."""
        counts = {
            "entries altered or removed": len(self.altered_entries),
            "orders of a day turned": len(self.order),
            "lines of cards, people and others altered or removed": len(self.altered_blocks),
            "seals, recalls and waivers removed": len(self.altered_lines),
            "entries written into a sealed period without `late`": sum(map(self._is_let_in, self.all_changes)),
            "signatures backdated": len(self.backdated_signatures) + len(self.backdated_lines),
            "rules made laxer": len(self.eased),
            "seals broken": len(self.broken),
            "things altered between the two that neither shows": self.came_and_went,
        }
        return {what: count for what, count in counts.items() if count}

    @property
    def is_grave(self) -> bool:
        return bool(self.grave)

    @property
    def unread_files(self) -> list[Fault]:
        """The faults of files and folders of either state of which nothing could be read, so that nobody knows what became of them."""
        return [*self.old.unread_files, *self.new.unread_files]

    def count(self, kind: str) -> int:
        """How many entries something of this kind happened to."""
        return sum(change.kind == kind for change in self.all_changes)

    @property
    def is_empty(self) -> bool:
        of_record = self.entries or self.order or self.blocks or self.lines or self.rules
        return not (of_record or self.appeared or self.gone or self.broken or self.came_and_went)


def compare_records(
    old: Record,
    new: Record,
    old_findings: Sequence[Finding] = (),
    new_findings_: Sequence[Finding] = (),
    between: Sequence[Finding] | None = None,
    rules: Sequence[RuleChange] = (),
    as_of: date = date.max,
    before: Before | None = None,
) -> Comparison:
    """
    Compare two states, or the parts of them that differ: `before` is what all of the old one tells. The findings are those of both, each judged for one day by its own rules, whose changes are
    given too; `between` are those of the old state by the rules of the new, where they are others.
    """
    sealed, since, moments = told_by(old, as_of) if before is None else before
    comparison = Comparison(old, new, rules=list(rules), since=since)
    for name in _in_order(old, new):
        was, is_now = old.entries.get(name, []), new.entries.get(name, [])
        changes = compare_entries(name, was, is_now, sealed, moments.get(name))
        if changes:
            comparison.entries[name] = changes
        comparison.order += compare_order(name, was, is_now)
    comparison.blocks = sorted(compare_blocks(old, new, as_of), key=lambda change: (_RANK[change.word], change.name))
    comparison.lines = compare_lines(old, new)
    first, last = standing(old_findings), standing(new_findings_)
    middle = first if between is None else standing(between)
    comparison.appeared, comparison.gone = (
        new_findings(middle, last, by_level=True),
        new_findings(last, middle, by_level=True),
    )
    comparison.by_rules = new_findings(first, middle, by_level=True), new_findings(middle, first, by_level=True)
    comparison.broken = [finding for finding in last if finding.rule == SEAL_BROKEN]
    return comparison


def _last_day(record: Record, as_of: date) -> date:
    """The last day, not after the as-of day, of which a record says something."""
    entries = [entry for each in record.entries.values() for entry in each]
    days = [entry.day for entry in entries] + [entry.late.day for entry in entries if entry.late]
    days += [entry.struck.day for entry in entries if entry.struck] + [seal.day for seal in record.seals]
    return max((day for day in days if day <= as_of), default=date.min)


_RANK = {word: rank for rank, word in enumerate(("department", "cylinder", "source", "site", "person", "tester"))}


def _in_order(old: Record, new: Record) -> list[str]:
    """Every name that entries are about: cylinders, then sources, then what no block declares."""
    names = dict.fromkeys((*old.entries, *new.entries))
    cylinders, sources = {**old.cylinders, **new.cylinders}, {**old.air_sources, **new.air_sources}
    return sorted(names, key=lambda name: (name not in cylinders, name not in sources, name))
