"""
A comparison as a table for a spreadsheet: one row a change, and one for each clause that differs.
"""

from collections.abc import Iterator
from datetime import date

from cylfile.compare.block_changes import BlockChange
from cylfile.compare.entry_changes import EntryChange
from cylfile.compare.signed_between import signed_between
from cylfile.compare.states import Comparison
from cylfile.findings.finding import Finding
from cylfile.record.entries import plain_form
from cylfile.show.machine.spreadsheet import Identifier, csv_lines
from cylfile.show.pages.compare_page import ComparisonReport
from cylfile.show.terminal.heading import origin_line
from cylfile.text.lookalikes import told_apart

HEADING = (
    "about", "what", "altered or removed", "name", "day", "clause", "old", "new", "by", "why", "sealed through",
    "old file", "old line", "new file", "new line", "commit", "commit day", "author",
)  # fmt: skip


def compare_csv(report: ComparisonReport) -> Iterator[str]:
    """The lines of the table. Whatever a spreadsheet could take for a formula is disarmed, and names stay text."""
    origin = origin_line(report.comparison.new, report.rules, report.as_of)
    return csv_lines(HEADING, _all_rows(report), origin)


def _all_rows(report: ComparisonReport) -> Iterator[tuple]:
    """The rows of the two states beside each other name no commit; those of each commit do."""
    if report.only:
        for one in signed_between(report.comparison, report.only):
            day = one.day if one.day != date.min else None
            said = (Identifier(one.name), day, one.rule, "", one.about, Identifier(one.by), one.text, None)
            yield ("signature", one.kind, _mark(one.backdated), *said, *_places(None, one.span), "", None, "")
        return
    for row in _rows(report.comparison):
        yield (*row, "", None, "")
    for step in report.steps:
        commit = step.commit
        by = (commit.id, commit.day, commit.author) if commit else ("in none", None, "")
        for row in _rows(step.comparison):
            yield (*row, *by)
        for why in step.unread:
            yield ("could not be read", *("" for _ in range(6)), why, *("" for _ in range(7)), *by)


def _rows(comparison: Comparison) -> Iterator[tuple]:
    for change in comparison.all_changes:
        yield from _entry(change)
    for block in comparison.blocks:
        yield from _block(block)
    for line in comparison.lines:
        said = ("", line.text) if line.kind == "added" else (line.text, "")
        places = (None, line.span) if line.kind == "added" else (line.span, None)
        yield (line.what, line.kind, _mark(line.is_altered), "", None, "", *said, "", "", None, *_places(*places))
    for order in comparison.order:
        said = (plain_form(order.first), plain_form(order.second))
        name, places = Identifier(order.subject), _places(order.first.span, order.second.span)
        yield (
            "order",
            "turned" if order.turned else "untold",
            _mark(True),
            name,
            order.first.day,
            "",
            *said,
            "",
            "",
            None,
            *places,
        )
    for rule in comparison.rules:
        what = "laxer" if rule.laxer else "changed"
        yield ("rules", what, _mark(rule.laxer), "", None, "", "", rule.text, "", "", None, *_places(None, rule.span))
    for what, findings in (("appeared", comparison.appeared), ("gone", comparison.gone)):
        for finding in findings:
            yield _finding(what, finding)


def _entry(change: EntryChange) -> Iterator[tuple]:
    old, new = change.old, change.new
    signed = {"struck": new and new.struck, "late": new and new.late}.get(change.kind)
    head = ("entry", change.kind, _mark(change.is_altered), Identifier(change.subject), change.entry.day)
    tail = (
        Identifier(signed.by) if signed else "",
        signed.text if signed else "",
        change.sealed,
        *_places(old and old.span, new and new.span),
    )
    clauses = change.clauses or [("", old and plain_form(old), new and plain_form(new))]
    for clause in clauses:
        name, was, is_now = clause
        yield (*head, name, *told_apart(was or "", is_now or ""), *tail)


def _block(change: BlockChange) -> Iterator[tuple]:
    head = (change.word, change.kind, _mark(change.is_altered), Identifier(change.name), None)
    for word, old, new in change.properties or [("", (), ())]:
        yield (*head, word, *told_apart(", ".join(old), ", ".join(new)), "", "", None, *_places(change.old, change.new))


def _finding(what: str, finding: Finding) -> tuple:
    said = ("", finding.text) if what == "appeared" else (finding.text, "")
    places = (None, finding.span) if what == "appeared" else (finding.span, None)
    name = Identifier(finding.subject)
    return ("finding", what, "", name, finding.day, finding.rule, *said, "", "", None, *_places(*places))


def _mark(altered: bool) -> str:
    return "altered or removed" if altered else ""


def _places(old, new) -> tuple:
    return tuple(part for span in (old, new) for part in ((span.source.path, span.line) if span else (None, None)))
