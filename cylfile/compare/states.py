"""
Two states of a record beside each other.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

from cylfile.compare.block_changes import BlockChange, LineChange, compare_blocks, compare_lines
from cylfile.compare.entry_changes import EntryChange, compare_entries
from cylfile.findings.finding import Finding
from cylfile.findings.new_findings import new_findings, standing
from cylfile.record.record import Record


@dataclass(slots=True)
class Comparison:
    """
    All that differs between two states of a record.

    `entries` maps a cylinder's or source's name to the changes of its entries, cylinders first,
    then sources, then names that no block declares, each in the order of their names. `blocks`
    are what else is declared about them and others. `appeared` and `went` are findings, those
    covered by a waiver left out.
    """

    old: Record
    new: Record
    entries: dict[str, list[EntryChange]] = field(default_factory=dict)
    blocks: list[BlockChange] = field(default_factory=list)
    lines: list[LineChange] = field(default_factory=list)
    appeared: list[Finding] = field(default_factory=list)
    went: list[Finding] = field(default_factory=list)

    @property
    def rewritten(self) -> list[EntryChange]:
        """The entries that were changed or removed without a strike."""
        return [change for changes in self.entries.values() for change in changes if change.rewritten]

    @property
    def rewritten_lines(self) -> list[LineChange]:
        return [change for change in self.lines if change.rewritten]

    @property
    def has_rewriting(self) -> bool:
        return bool(self.rewritten or self.rewritten_lines)

    def count(self, kind: str) -> int:
        """How many entries something of this kind happened to."""
        return sum(change.kind == kind for changes in self.entries.values() for change in changes)

    @property
    def is_empty(self) -> bool:
        return not (self.entries or self.blocks or self.lines or self.appeared or self.went)


def compare_records(
    old: Record, new: Record, old_findings: Sequence[Finding] = (), new_findings_: Sequence[Finding] = ()
) -> Comparison:
    """Compare two states; the findings are those of both, judged for one day by the same rules."""
    comparison = Comparison(old, new)
    sealed = max((seal.day for seal in old.seals), default=None)
    for name in _in_order(old, new):
        changes = compare_entries(name, old.entries.get(name, []), new.entries.get(name, []), sealed)
        if changes:
            comparison.entries[name] = changes
    comparison.blocks = sorted(compare_blocks(old, new), key=lambda change: (_RANK[change.word], change.name))
    comparison.lines = compare_lines(old, new)
    before, after = standing(old_findings), standing(new_findings_)
    comparison.appeared = new_findings(before, after)
    comparison.went = new_findings(after, before)
    return comparison


_RANK = {word: rank for rank, word in enumerate(("department", "cylinder", "source", "site", "person", "tester"))}


def _in_order(old: Record, new: Record) -> list[str]:
    """Every name that entries are about: cylinders, then sources, then what no block declares."""
    names = dict.fromkeys((*old.entries, *new.entries))
    cylinders, sources = {**old.cylinders, **new.cylinders}, {**old.air_sources, **new.air_sources}
    return sorted(names, key=lambda name: (name not in cylinders, name not in sources, name))
