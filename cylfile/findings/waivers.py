"""
Waivers: signed, dated exemptions. What one covers is listed as waived and never hidden.
"""

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Callable, Iterable
from datetime import date
from itertools import accumulate

from cylfile.findings.finding import Finding
from cylfile.record.blocks import Waiver
from cylfile.record.dates import Month, month_end


def cover(findings: Iterable[Finding], waivers: list[Waiver], as_of: date) -> None:
    """
    Mark the findings that a waiver covers; of several, with the one that runs longest.

    A waiver is for a cylinder, a source or a person: then for what that person or source did to any
    cylinder. It covers what happened from its first day to its last for good, and a finding of
    today while today lies in it.
    """
    if not waivers:
        return
    groups = _by_rule_and_name(findings, waivers)
    alike: dict[tuple[str, str], list[Waiver]] = defaultdict(list)
    for waiver in waivers:
        alike[waiver.rule, waiver.name].append(waiver)
    for key, in_order in alike.items():
        in_order.sort(key=_since)
        longest = list(accumulate(in_order, _longer))
        for finding in groups[key]:
            first, last = _days(finding, as_of)
            begun = bisect_right(in_order, first, key=_since)
            if begun and last <= longest[begun - 1].until:
                waiver = longest[begun - 1]
                finding.waived = f"until {waiver.until} by {waiver.by}: {waiver.text}"


def waiver_findings(
    findings: Iterable[Finding], waivers: list[Waiver], as_of: date, level_of: Callable[[str], str]
) -> list[Finding]:
    """What is wrong with the waivers themselves. `level_of(rule)` is the level of a core rule."""
    groups = {key: _Alike(same, as_of) for key, same in _by_rule_and_name(findings, waivers).items()}
    added = []
    for waiver in waivers:
        same = groups[waiver.rule, waiver.name]
        if waiver.until < as_of and same.is_of_today:
            text = f"waiver of {waiver.rule} ran out on {waiver.until}; what it waived goes on"
            advice = "End it, or have a new waiver signed."
            added.append(_of_waiver(waiver, "waiver-expired", level_of, text, advice))
        elif not same.is_any_within(_since(waiver), waiver.until):
            text = f"waiver of {waiver.rule} covers no finding"
            added.append(_of_waiver(waiver, "waiver-unused", level_of, text, "Remove or correct it."))
    return added


class _Alike:
    """The findings of one rule about one name, of which those of some days are found at once."""

    def __init__(self, findings: list[Finding], as_of: date):
        self.is_of_today = any(_is_of_today(finding, as_of) and finding.stands for finding in findings)
        days = sorted(_days(finding, as_of) for finding in findings)
        self._first = [first for first, _ in days]
        # The earliest last day of a finding and all that begin after it.
        self._last = list(accumulate((last for _, last in reversed(days)), min))[::-1]

    def is_any_within(self, since: date, until: date) -> bool:
        at = bisect_left(self._first, since)
        return at < len(self._last) and self._last[at] <= until


def _longer(one: Waiver, other: Waiver) -> Waiver:
    return other if one.until <= other.until else one


def _since(waiver: Waiver) -> date:
    return waiver.since or date.min


def _days(finding: Finding, as_of: date) -> tuple[date, date]:
    """The first and the last day of what a finding is about."""
    first = finding.day or as_of
    last = finding.last_day or first
    return first, month_end(last) if last.__class__ is Month else last


def _is_of_today(finding: Finding, as_of: date) -> bool:
    """Whether a finding is of the state on the as-of day, and not of something that happened."""
    return not finding.about and finding.day in (None, as_of)


def _by_rule_and_name(findings: Iterable[Finding], waivers: list[Waiver]) -> dict[tuple[str, str], list[Finding]]:
    """For what each waiver is of and for, the findings of the rule about the name, or by the hands that it names."""
    groups: dict[tuple[str, str], list[Finding]] = {(waiver.rule, waiver.name): [] for waiver in waivers}
    for finding in findings:
        for name in {finding.subject, *finding.hands}:
            if (finding.rule, name) in groups:
                groups[finding.rule, name].append(finding)
    return groups


def _of_waiver(waiver: Waiver, rule: str, level_of: Callable[[str], str], text: str, advice: str) -> Finding:
    working, about = [f"signed by {waiver.by}: {waiver.text}"], f"{waiver.rule} {waiver.name} {waiver.until}"
    return Finding(rule, level_of(rule), waiver.name, waiver.span, text, working, advice, about=about)
