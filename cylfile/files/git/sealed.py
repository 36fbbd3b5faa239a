"""
What broke a seal: the record as it is beside the revision that brought the seal.
"""

from collections import Counter, defaultdict
from collections.abc import Iterator
from contextlib import suppress

from cylfile.cannot import CannotDo
from cylfile.compare.entry_changes import CHANGED, REMOVED, EntryChange, compare_entries
from cylfile.files.git.repository import Repository
from cylfile.files.git.revisions import States, title_bytes
from cylfile.findings.finding import Finding
from cylfile.findings.seal_findings import SEAL_BROKEN
from cylfile.history.seals import spell_out, stated_day, what_entries_rest_on
from cylfile.record.blocks import Seal
from cylfile.record.entries import plain_form
from cylfile.record.plain_form import plain_seal
from cylfile.record.record import Record
from cylfile.text.lookalikes import told_apart, told_from
from cylfile.text.source import Span

_MOST = 12


def name_what_broke(findings: list[Finding], record: Record, folder: str) -> None:
    """
    Add to findings of broken seals what git tells about them; nothing where there is no git, or no such revision.

    `folder` is that of the record. Of very many only the first are told of, as one change may break several.
    """
    seals = {seal.span: seal for seal in record.seals}
    broken = [finding for finding in findings if finding.rule == SEAL_BROKEN and finding.span in seals]
    if not broken:
        return
    try:
        repository = Repository(folder)
    except CannotDo:
        # Without git the findings say what they can: which periods they are.
        return
    broken.sort(key=lambda finding: seals[finding.span].day)
    for finding in broken[:_MOST]:
        with suppress(CannotDo):
            _name(finding, seals[finding.span], record, folder, repository)


def _name(finding: Finding, seal: Seal, record: Record, folder: str, repository: Repository) -> None:
    revision = repository.revision_that_brought(seal.digest)
    if revision is None:
        return
    then = States().at(repository, revision, folder, title_bytes(record.department)).record
    brought = f"revision {revision.commit[:10]} of {revision.day}"
    if spell_out(then, seal.day, seal.by).digest != seal.digest:
        finding.working.append(f"it did not hold in {brought} either, which brought it")
        return
    said = [*_entries(then, record, seal), *_others(then, record, seal)]
    finding.working.append(f"since {brought}, which brought the seal:")
    finding.working += (text for text, _ in said[:_MOST])
    if len(said) > _MOST:
        finding.working.append(f"and {len(said) - _MOST} more; `cylfile compare {revision.commit[:10]}` shows them")
    finding.related += ((span, "what it says now") for _, span in said[:_MOST] if span is not None)


def _entries(then: Record, now: Record, seal: Seal) -> Iterator[tuple[str, Span | None]]:
    """Each covered entry that is gone, other or new, in words, and where it stands now."""
    before, after = _covered(then, seal), _covered(now, seal)
    for name in sorted(before.keys() | after.keys()):
        for change in compare_entries(name, before[name], after[name]):
            yield _in_words(change), change.new.span if change.new is not None else None


def _in_words(change: EntryChange) -> str:
    if change.kind == REMOVED:
        return f"gone: {plain_form(change.was)}"
    if change.kind == CHANGED:
        apart = ((clause, *told_apart(old, new)) for clause, old, new in change.clauses)
        clauses = (f"{clause} {old or 'nothing'} became {new or 'nothing'}" for clause, old, new in apart)
        return f"changed: {plain_form(change.was)}: {'; '.join(clauses)}"
    if change.old is not None:
        return f"struck, as of a day in the period: {plain_form(change.now)}"
    return f"written in: {plain_form(change.now)}"


def _covered(record: Record, seal: Seal) -> dict[str, list]:
    """The covered entries by name, without the strikes that are later than the seal."""
    covered = defaultdict(list)
    for name, entries in record.entries.items():
        for entry in entries:
            if stated_day(entry) <= seal.day:
                is_later = entry.struck is not None and entry.struck.day > seal.day
                covered[name].append(entry._replace(struck=None) if is_later else entry)
    return covered


def _others(then: Record, now: Record, seal: Seal) -> Iterator[tuple[str, None]]:
    """Each property, told order and earlier seal that the chain up to a seal covers and that is gone or new, in words."""
    before, after = (
        what_entries_rest_on(record, seal.day) + Counter(plain_seal(one) for one in record.seals if one.day < seal.day)
        for record in (then, now)
    )
    gone, new = (sorted(lines.elements()) for lines in (before - after, after - before))
    for line in gone:
        yield f"gone: {told_from(line, new)}", None
    for line in new:
        yield f"new: {told_from(line, gone)}", None
