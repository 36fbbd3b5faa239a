"""
The facts that are missing at one place of a record, told as one: which, what is not judged for want of them, what to write.
"""

import re
from collections.abc import Iterable

from cylfile.findings.finding import Finding
from cylfile.show.pages.gathered import Gathered

_CANNOT_JUDGE = "cannot-judge"
# What to write down, and on what: "Write `life` on the card."
_WRITE = re.compile("Write (.+?)((?: on the [a-z]+)?)[.]")


def missing_together(gathered: Iterable[Gathered]) -> list[Gathered]:
    """Findings as they are gathered, but for those of facts that are missing of one subject at one place: these as one."""
    together: dict[object, list[Gathered]] = {}
    for number, each in enumerate(gathered):
        first = each.first
        is_one = first.rule == _CANNOT_JUDGE and bool(first.unjudged) and len(each.findings) == 1
        key = (first.subject, first.level, first.excuse, first.span.source.path, first.span.line) if is_one else number
        together.setdefault(key, []).append(each)
    return [group[0] if len(group) == 1 else _as_one([each.first for each in group]) for group in together.values()]


def _as_one(findings: list[Finding]) -> Gathered:
    facts = [finding.text.partition(" ")[0] for finding in findings]
    wanted: dict[str, list[str]] = {}
    for fact, finding in zip(facts, findings):
        for rule in finding.unjudged:
            wanted.setdefault(rule, []).append(fact)
    rules: dict[str, list[str]] = {}
    for rule, for_want_of in sorted(wanted.items()):
        rules.setdefault(", ".join(for_want_of), []).append(rule)
    unjudged = "; ".join(
        f"without {facts_wanted}: {', '.join(of_these)}"
        for facts_wanted, of_these in sorted(rules.items(), key=lambda item: len(item[1]))
    )
    text = f"not judged {unjudged}"
    return Gathered(findings, [text.split(" "), _advice(findings).split(" ")])


def _advice(findings: list[Finding]) -> str:
    """What to write, and on what once."""
    by_place: dict[str, list[str]] = {}
    for finding in findings:
        if found := _WRITE.fullmatch(finding.advice):
            by_place.setdefault(found[2], []).append(found[1])
    return " ".join(f"Write {', '.join(dict.fromkeys(words))}{place}." for place, words in by_place.items())
