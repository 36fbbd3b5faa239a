"""
The page of a record's seals: which hold, and of those that do not, what broke them.
"""

from collections.abc import Iterator
from datetime import date
from typing import NamedTuple

from cylfile.findings.finding import Finding
from cylfile.history.seals import Check
from cylfile.packs.ruleset import Ruleset
from cylfile.record.record import Record
from cylfile.show.terminal.heading import put_foot, put_heading
from cylfile.show.terminal.layout import Layout, Line
from cylfile.text.phrases import counted

_INDENT = 12


class SealChecks(NamedTuple):
    """
    The seals of a record, each looked at on a day, and the findings of those that do not hold.

    `minutes` is a digest that somebody kept elsewhere, None where none is given.
    """

    checks: list[Check]
    findings: list[Finding]
    record: Record
    rules: Ruleset
    as_of: date
    minutes: str | None = None

    @property
    def has_it(self) -> bool:
        """Whether a seal that holds has the digest of the minutes."""
        return any(check.holds and check.digest == self.minutes for check in self.checks)


def working(check: Check, finding: Finding | None) -> list[str]:
    """What there is to tell of a seal that does not hold."""
    if finding is not None:
        return finding.working
    if check.rests_on is None:
        return []
    return [f"what it adds is as it was, but it rests on the seal of {check.rests_on.day}, which is broken"]


def seals_page(seals: SealChecks, layout: Layout) -> Iterator[Line]:
    """A line or more for each seal."""
    checks, findings = seals.checks, seals.findings
    put_heading(layout, seals.record, seals.rules, [f"as of {seals.as_of}"])
    layout.blank()
    if not checks:
        layout.put("The record has no seal.")
    of_seal = {finding.span: finding for finding in findings}
    for check in checks:
        seal, finding = check.seal, of_seal.get(check.seal.span)
        place = seal.span.place
        state = "holds" if check.holds else "RESTS ON A BROKEN ONE" if check.is_kept else "BROKEN"
        said = f"by {seal.by}, {counted(seal.entries, 'entry', 'entries')}: {state}"
        layout.put(said, _INDENT, "" if check.holds else "strong", first=[(str(seal.day), "strong")], right=[place])
        layout.put(seal.digest, _INDENT)
        for line in working(check, finding):
            layout.put(line, _INDENT)
        if finding is not None:
            for span, remark in finding.related:
                layout.put(remark, _INDENT, right=[span.place])
            layout.put(finding.advice, _INDENT)
    if seals.minutes is not None:
        said = "is that of a seal that holds" if seals.has_it else "is that of no seal that holds"
        layout.blank()
        layout.put(f"{seals.minutes} {said}", style="" if seals.has_it else "danger")
    layout.blank()
    put_foot(layout, seals.record, seals.rules)
    yield from layout.lines
