"""
Waivers: signed, dated exemptions. What one covers is listed as waived and never hidden.
"""

from datetime import date

from cylfile.findings.finding import Finding
from cylfile.record.blocks import Waiver


def apply_waivers(findings: list[Finding], waivers: list[Waiver], as_of: date, level_of) -> None:
    """
    Mark the findings that a waiver covers, and add what is wrong with the waivers themselves.

    A waiver covers a finding of its rule about its name whose day is not after its last day. A
    finding without a day is of the as-of day. `level_of(rule)` is the level of a core rule.
    """
    added = []
    for waiver in waivers:
        same = [finding for finding in findings if (finding.rule, finding.subject) == (waiver.rule, waiver.name)]
        covered = [finding for finding in same if (finding.day or as_of) <= waiver.until]
        for finding in covered:
            finding.waived = f"until {waiver.until} by {waiver.by}: {waiver.text}"
        about = f"{waiver.rule} {waiver.name} {waiver.until}"
        if len(covered) < len(same):
            text = f"the waiver of {waiver.rule} ran out on {waiver.until}, and there is such a finding after it"
            added.append(
                _of_waiver(
                    waiver, "waiver-expired", level_of, text, "End what it waived, or have a new waiver signed.", about
                )
            )
        elif not same:
            text = f"the waiver of {waiver.rule} covers no finding"
            added.append(
                _of_waiver(waiver, "waiver-unused", level_of, text, "Remove it, or correct its rule and name.", about)
            )
    findings += added


def _of_waiver(waiver: Waiver, rule: str, level_of, text: str, advice: str, about: str) -> Finding:
    return Finding(
        rule,
        level_of(rule),
        waiver.name,
        waiver.span,
        text,
        [f"signed by {waiver.by}: {waiver.text}"],
        advice,
        about=about,
    )
