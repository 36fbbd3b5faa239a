"""
The page of a record's seals: which hold, and of those that do not, what broke them.
"""

from collections.abc import Iterator
from typing import NamedTuple

from cylfile.findings.finding import Finding
from cylfile.history.seals import Check
from cylfile.show.terminal.layout import Layout, Line

_INDENT = 12


class SealChecks(NamedTuple):
    """The seals of a record, each looked at, and the findings of those that do not hold."""

    checks: list[Check]
    findings: list[Finding]


def seals_page(seals: SealChecks, layout: Layout) -> Iterator[Line]:
    """A line or more for each seal."""
    checks, findings = seals
    if not checks:
        layout.put("The record has no seal.")
    of_seal = {finding.span: finding for finding in findings}
    for check in checks:
        seal, finding = check.seal, of_seal.get(check.seal.span)
        place = f"{seal.span.source.path}:{seal.span.line}"
        said = f"by {seal.by}, {seal.entries:,} entries: {'holds' if check.holds else 'BROKEN'}"
        layout.put(said, _INDENT, "" if check.holds else "strong", first=[(str(seal.day), "strong")], right=[place])
        if finding is not None:
            for line in finding.working:
                layout.put(line, _INDENT)
            for span, remark in finding.related:
                layout.put(remark, _INDENT, right=[f"{span.source.path}:{span.line}"])
            layout.put(finding.advice, _INDENT)
    yield from layout.lines
