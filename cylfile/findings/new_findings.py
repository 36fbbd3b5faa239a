"""
What is new among findings, told by their fingerprints, so that a line that only moved is none.
"""

from collections import Counter
from collections.abc import Iterable

from cylfile.findings.finding import Finding


def new_findings(then: Iterable[Finding], now: Iterable[Finding], by_level: bool = False) -> list[Finding]:
    """
    The findings of now that were not there then, in their order.

    A finding that stands now and was waived or answered then is new; one that is so now is new only
    where it was not there at all. With `by_level` one that has another level is another one.
    """

    def known_by(finding: Finding) -> tuple:
        return finding.fingerprint, finding.level if by_level else ""

    standing: Counter = Counter()
    excused: Counter = Counter()
    for finding in then:
        (standing if finding.stands else excused)[known_by(finding)] += 1
    news = []
    for finding in now:
        print_ = known_by(finding)
        if not finding.stands and excused[print_]:
            excused[print_] -= 1
        elif standing[print_]:
            standing[print_] -= 1
        else:
            news.append(finding)
    return news


def added(then: Iterable[Finding], now: Iterable[Finding]) -> list[Finding]:
    """The findings of now that were not there then, whoever has answered for them, in their order."""
    known, new = Counter(finding.fingerprint for finding in then), []
    for finding in now:
        if known[finding.fingerprint]:
            known[finding.fingerprint] -= 1
        else:
            new.append(finding)
    return new


def standing(findings: Iterable[Finding]) -> list[Finding]:
    """The findings that nobody has answered for."""
    return [finding for finding in findings if finding.stands]
