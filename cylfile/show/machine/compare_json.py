"""
A comparison as one JSON object, with one change a line. Every entry is in it.
"""

from collections.abc import Iterator

from cylfile import __version__
from cylfile.compare.block_changes import BlockChange, LineChange
from cylfile.compare.entry_changes import KINDS, EntryChange
from cylfile.record.entries import Entry, Signed, plain_form
from cylfile.show.machine.json_object import dump, finding_object
from cylfile.show.pages.compare_page import ComparisonReport


def compare_json(report: ComparisonReport) -> Iterator[str]:
    """The text of the object, in stretches. Keys always stand in the same order; all of it is ASCII."""
    comparison = report.comparison
    counts = {kind: comparison.count(kind) for kind in KINDS}
    counts |= {"rewritten": len(comparison.rewritten) + len(comparison.rewritten_lines)}
    counts |= {"appeared": len(comparison.appeared), "went": len(comparison.went)}
    head = {
        "cylfile": __version__,
        "old": report.old,
        "new": report.new,
        "as_of": str(report.as_of),
        "rules": list(report.rules),
        "counts": counts,
    }
    yield "{" + ",\n ".join(f"{dump(key)}: {dump(value)}" for key, value in head.items())
    changes = (change for changes in comparison.entries.values() for change in changes)
    yield from _list("entries", map(_entry, changes))
    yield from _list("blocks", map(_block, comparison.blocks))
    yield from _list("lines", map(_line, comparison.lines))
    yield from _list("appeared", map(finding_object, comparison.appeared))
    yield from _list("went", map(finding_object, comparison.went))
    yield "}\n"


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
        "rewritten": change.rewritten,
        "subject": change.subject,
        "day": str(change.entry.day),
        "verb": change.entry.verb,
        "old": _said(change.old),
        "new": _said(change.new),
        "clauses": [{"clause": clause, "old": old, "new": new} for clause, old, new in change.clauses],
        "behind": change.behind,
        "sealed_through": str(change.sealed) if change.sealed else None,
    }


def _said(entry: Entry) -> dict | None:
    if entry is None:
        return None
    return {
        "entry": plain_form(entry),
        "struck": _signed(entry.struck),
        "late": _signed(entry.late),
        **_place(entry.span),
    }


def _signed(clause: Signed | None) -> dict | None:
    return None if clause is None else {"day": str(clause.day), "by": clause.by, "text": clause.text}


def _place(span) -> dict:
    return {"file": span.source.path, "line": span.line}


def _block(change: BlockChange) -> dict:
    return {
        "kind": change.kind,
        "block": change.word,
        "name": change.name,
        "properties": [{"property": word, "old": list(old), "new": list(new)} for word, old, new in change.properties],
        "old": change.old and _place(change.old),
        "new": change.new and _place(change.new),
    }


def _line(change: LineChange) -> dict:
    return {
        "kind": change.kind,
        "rewritten": change.rewritten,
        "what": change.what,
        "text": change.text,
        **_place(change.span),
    }
