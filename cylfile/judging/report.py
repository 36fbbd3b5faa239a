"""
What a run of lint has to say, whatever the form it is said in.
"""

from collections import Counter
from collections.abc import Iterable
from datetime import date
from functools import cached_property

from cylfile.findings.finding import LEVELS, Finding, severity
from cylfile.judging.heads import Head
from cylfile.packs.ruleset import Ruleset
from cylfile.record.record import Record


class Report:
    """
    Findings of a record on a day.

    `findings` are in the order of the files. `heads` has those of the cylinders reported on, by
    name; `cylinders` and `entries` count what was judged for them. `narrowed` says, an entry for
    each way, how the findings were narrowed down. Where only what is new `since` a revision is
    told, `known` counts what was there already.

    For people: `least_shown` is the least level that the page shows, `each` whether every finding by itself.
    """

    def __init__(
        self, record: Record, rules: Ruleset, as_of: date, findings: list[Finding], heads: dict[str, Head], cylinders: int,
        entries: int, narrowed: list[str] | None = None, least_shown: str = LEVELS[-1], each: bool = False,
    ):  # fmt: skip
        self.record = record
        self.rules = rules
        self.as_of = as_of
        self.findings = findings
        self.heads = heads
        self.cylinders = cylinders
        self.entries = entries
        self.narrowed = narrowed or []
        self.since = ""
        self.known = 0
        self.least_shown = least_shown
        self.each = each

    @cached_property
    def _counts(self) -> Counter:
        return Counter(finding.level for finding in self.findings if finding.stands)

    def count(self, level: str) -> int:
        """How many findings of a level stand; those waived or answered do not."""
        return self._counts[level]

    @cached_property
    def waived(self) -> int:
        return sum(finding.waived is not None for finding in self.findings if finding.answered is None)

    @cached_property
    def answered(self) -> int:
        return sum(finding.answered is not None for finding in self.findings)

    def shows(self, finding: Finding) -> bool:
        """Whether a page shows this finding, or only counts it."""
        return severity(finding.level) <= severity(self.least_shown)

    def stands_at(self, least: str) -> bool:
        """Whether a finding of this level or a worse one stands."""
        return any(self.count(level) for level in self._counts if severity(level) <= severity(least))


def worst_first(findings: Iterable[Finding]) -> list[Finding]:
    """
    Findings of one subject in the order to read them: standing before waived and answered, the worse first.

    Those of one rule stand together, in the order of their days, and of two rules comes first
    the one that was broken first.
    """
    findings = list(findings)
    begins: dict[str, str] = {}
    for finding in findings:
        begins[finding.rule] = min(begins.get(finding.rule, "9999"), str(finding.day or ""))
    return sorted(
        findings,
        key=lambda finding: (
            not finding.stands,
            severity(finding.level),
            begins[finding.rule],
            finding.rule,
            str(finding.day or ""),
            finding.span.source.path,
            finding.span.start,
        ),
    )
