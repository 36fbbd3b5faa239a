"""
Waivers: signed, dated exemptions. What one covers is listed as waived and never hidden.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable
from datetime import date

from cylfile.findings.finding import Finding
from cylfile.record.blocks import Waiver
from cylfile.record.dates import Month, month_end


def cover(findings: Iterable[Finding], waivers: list[Waiver], as_of: date) -> None:
    """
    Mark the findings that a waiver covers.

    A waiver is for a cylinder, a source or a person: then for what that person or source did to any
    cylinder. It covers what happened from its first day to its last for good, and a finding of
    today while today lies in it.
    """
    if waivers:
        for waiver, same in _with_findings(findings, waivers):
            for finding in same:
                if _covers(waiver, finding, as_of):
                    finding.waived = f"until {waiver.until} by {waiver.by}: {waiver.text}"


def waiver_findings(
    findings: Iterable[Finding], waivers: list[Waiver], as_of: date, level_of: Callable[[str], str]
) -> list[Finding]:
    """What is wrong with the waivers themselves. `level_of(rule)` is the level of a core rule."""
    added = []
    for waiver, same in _with_findings(findings, waivers):
        if waiver.until < as_of and any(_is_of_today(finding, as_of) and finding.stands for finding in same):
            text = f"waiver of {waiver.rule} ran out on {waiver.until}; what it waived goes on"
            advice = "End it, or have a new waiver signed."
            added.append(_of_waiver(waiver, "waiver-expired", level_of, text, advice))
        elif not any(_covers(waiver, finding, as_of) for finding in same):
            text = f"waiver of {waiver.rule} covers no finding"
            added.append(_of_waiver(waiver, "waiver-unused", level_of, text, "Remove or correct it."))
    return added


def _covers(waiver: Waiver, finding: Finding, as_of: date) -> bool:
    first = finding.day or as_of
    last = finding.last_day or first
    last = month_end(last) if last.__class__ is Month else last
    return (waiver.since or date.min) <= first and last <= waiver.until


def _is_of_today(finding: Finding, as_of: date) -> bool:
    """Whether a finding is of the state on the as-of day, and not of something that happened."""
    return not finding.about and finding.day in (None, as_of)


def _with_findings(findings: Iterable[Finding], waivers: list[Waiver]) -> list[tuple[Waiver, list[Finding]]]:
    """Each waiver with the findings of its rule about its name, or by the hands that it names."""
    wanted = {(waiver.rule, waiver.name) for waiver in waivers}
    groups = defaultdict(list)
    for finding in findings:
        for name in {finding.subject, *finding.hands}:
            if (finding.rule, name) in wanted:
                groups[finding.rule, name].append(finding)
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
