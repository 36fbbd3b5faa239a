"""
A comparison as one JSON object, with one change a line. Every entry is in it.
"""

from collections.abc import Iterable, Iterator
from datetime import date

from cylfile.compare.block_changes import BlockChange, LineChange
from cylfile.compare.entry_changes import KINDS, EntryChange
from cylfile.compare.order_changes import OrderChange
from cylfile.compare.signed_between import SIGNED_KINDS, Signature, signed_between
from cylfile.compare.states import Comparison
from cylfile.compare.steps import Step
from cylfile.packs.rule_changes import RuleChange
from cylfile.record.entries import Answer, Entry, Signed, plain_form
from cylfile.show.machine.json_object import dump, finding_object, paper_head
from cylfile.show.pages.compare_page import ComparisonReport


def compare_json(report: ComparisonReport) -> Iterator[str]:
    """The text of the object, in stretches. Keys always stand in the same order; all of it is ASCII."""
    comparison = report.comparison
    counts = {kind: comparison.count(kind) for kind in KINDS}
    counts |= {"altered_or_removed": sum(comparison.grave.values())}
    counts |= {"appeared": len(comparison.appeared), "gone": len(comparison.gone)}
    head = {
        **paper_head(comparison.new, report.rules, report.as_of),
        "old": report.old,
        "new": report.new,
        "old_rules": list(report.old_rules.names),
        "old_packs": report.old_rules.digests,
        "old_commit": comparison.old.origin().commit or None,
        "counts": counts,
        "grave": comparison.grave,
    }
    yield "{" + ",\n ".join(f"{dump(key)}: {dump(value)}" for key, value in head.items())
    yield from _list("signed", map(_signature, signed_between(comparison, report.only or SIGNED_KINDS)))
    for name, changes in _changes(comparison).items():
        yield from _list(name, changes)
    by_rules, no_longer = comparison.by_rules
    yield from _list("appeared_by_rules", map(finding_object, by_rules))
    yield from _list("went_by_rules", map(finding_object, no_longer))
    yield from _list("appeared", map(finding_object, comparison.appeared))
    yield from _list("gone", map(finding_object, comparison.gone))
    if report.walked is not None:
        yield f',\n "walked": {report.walked}'
        yield from _list("revisions", map(_step, report.steps))
    yield "}\n"


def _changes(comparison: Comparison) -> dict[str, Iterable[dict]]:
    return {
        "entries": map(_entry, comparison.all_changes),
        "blocks": map(_block, comparison.blocks),
        "lines": map(_line, comparison.lines),
        "order": map(_order, comparison.order),
        "rule_changes": map(_rule, comparison.rules),
    }


def _signature(one: Signature) -> dict:
    fields = one._asdict()
    place = _place(fields.pop("span"))
    return {**fields, "day": str(one.day) if one.day != date.min else None, "rule": one.rule or None, **place}


def _step(step: Step) -> dict:
    commit = step.commit._asdict() if step.commit else None
    changes = {name: list(changes) for name, changes in _changes(step.comparison).items()}
    grave = step.comparison.grave
    return {"commit": commit, "grave": grave, "came_and_went": step.unseen, "unread": list(step.unread), **changes}


def _list(name: str, objects) -> Iterator[str]:
    yield f",\n {dump(name)}: ["
    between = "\n  "
    for each in objects:
        yield between + dump(each)
        between = ",\n  "
    yield "]"


def _entry(change: EntryChange) -> dict:
    return {
        "kind": change.kind,
        "altered_or_removed": change.is_altered,
        "subject": change.subject,
        "day": str(change.entry.day),
        "verb": change.entry.verb,
        "old": _said(change.old),
        "new": _said(change.new),
        "clauses": [{"clause": clause, "old": old, "new": new} for clause, old, new in change.clauses],
        "backdated": change.dated_before,
        "sealed_through": str(change.sealed) if change.sealed else None,
    }


def _said(entry: Entry | None) -> dict | None:
    if entry is None:
        return None
    return {
        "entry": plain_form(entry),
        "struck": _signed(entry.struck),
        "answered": [{"rule": answer.rule, **(_signed(answer) or {})} for answer in entry.answers or ()],
        "late": _signed(entry.late),
        **_place(entry.span),
    }


def _signed(clause: Signed | Answer | None) -> dict | None:
    return None if clause is None else {"day": str(clause.day), "by": clause.by, "text": clause.text}


def _place(span) -> dict:
    return {"file": span.source.path, "line": span.line}


def _block(change: BlockChange) -> dict:
    return {
        "kind": change.kind,
        "block": change.word,
        "name": change.name,
        "properties": [{"property": word, "old": list(old), "new": list(new)} for word, old, new in change.properties],
        "altered_or_removed": change.is_altered,
        "altered": list(change.altered),
        "struck": list(change.struck),
        "old": change.old and _place(change.old),
        "new": change.new and _place(change.new),
    }


def _order(change: OrderChange) -> dict:
    entries = (change.first, change.second)
    return {"subject": change.subject, "turned": change.turned, "entries": [_said(entry) for entry in entries]}


def _rule(change: RuleChange) -> dict:
    return {"text": change.text, "laxer": change.laxer, **(_place(change.span) if change.span else {})}


def _line(change: LineChange) -> dict:
    return {
        "kind": change.kind,
        "altered_or_removed": change.is_altered,
        "what": change.what,
        "text": change.text,
        **_place(change.span),
    }
