"""
Waivers: signed, dated exemptions. What one covers is listed as waived and never hidden.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable
from datetime import date

from cylfile.findings.finding import Finding
from cylfile.record.blocks import Waiver


def cover(findings: Iterable[Finding], waivers: list[Waiver], as_of: date) -> None:
    """
    Mark the findings that a waiver covers.

    A waiver covers a finding of its rule about its name whose day is not after its last day. A
    finding without a day is of the as-of day.
    """
    if waivers:
        for waiver, same in _with_findings(findings, waivers):
            for finding in same:
                if (finding.day or as_of) <= waiver.until:
                    finding.waived = f"until {waiver.until} by {waiver.by}: {waiver.text}"


def waiver_findings(
    findings: Iterable[Finding], waivers: list[Waiver], as_of: date, level_of: Callable[[str], str]
) -> list[Finding]:
    """What is wrong with the waivers themselves. `level_of(rule)` is the level of a core rule."""
    added = []
    for waiver, same in _with_findings(findings, waivers):
        if any((finding.day or as_of) > waiver.until for finding in same):
            text = f"the waiver of {waiver.rule} ran out on {waiver.until}, and there is such a finding after it"
            advice = "End what it waived, or have a new waiver signed."
            added.append(_of_waiver(waiver, "waiver-expired", level_of, text, advice))
        elif not same:
            text = f"the waiver of {waiver.rule} covers no finding"
            added.append(
                _of_waiver(waiver, "waiver-unused", level_of, text, "Remove it, or correct its rule and name.")
            )
    return added


def _with_findings(findings: Iterable[Finding], waivers: list[Waiver]) -> Iterable[tuple[Waiver, list[Finding]]]:
    """Each waiver with the findings of its rule about its name."""
    wanted = {(waiver.rule, waiver.name) for waiver in waivers}
    groups = defaultdict(list)
    for finding in findings:
        if (finding.rule, finding.subject) in wanted:
            groups[finding.rule, finding.subject].append(finding)
    return [(waiver, groups[waiver.rule, waiver.name]) for waiver in waivers]


def _of_waiver(waiver: Waiver, rule: str, level_of: Callable[[str], str], text: str, advice: str) -> Finding:
    return Finding(
        rule,
        level_of(rule),
        waiver.name,
        waiver.span,
        text,
        [f"signed by {waiver.by}: {waiver.text}"],
        advice,
        about=f"{waiver.rule} {waiver.name} {waiver.until}",
    )
