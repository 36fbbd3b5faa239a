"""
Findings as an editor shows them: how grave, where, and in what words.
"""

from typing import NamedTuple

from cylfile.findings.finding import Finding
from cylfile.show.visible import visible
from cylfile.text.source import Span

ERROR, WARNING, INFORMATION, HINT = 1, 2, 3, 4
_SEVERITY = {"danger": ERROR, "warning": WARNING, "caution": WARNING, "notice": INFORMATION}


class Problem(NamedTuple):
    """One finding as an editor shows it."""

    start: int
    end: int
    severity: int
    rule: str
    text: str
    related: tuple[tuple[Span, str], ...]


def problem(finding: Finding) -> Problem:
    """
    A finding with its working, its advice and its sources, a line for each.

    What is waived or answered is a hint: somebody has answered for it.
    """
    lines = [f"{finding.level}: {finding.text}", *finding.working]
    lines += [finding.advice] if finding.advice else []
    lines += [", ".join(finding.cite)] if finding.cite else []
    if not finding.stands:
        lines.append(finding.excuse)
    severity = HINT if not finding.stands else _SEVERITY[finding.level]
    text = "\n".join(visible(line) for line in lines)
    return Problem(finding.span.start, finding.span.end, severity, finding.rule, text, tuple(finding.related))


def are_same(before: list[Problem], after: list[Problem]) -> bool:
    """Whether an editor would show the same of problems in a file whose text is the same."""
    return len(before) == len(after) and all(map(_is_same, before, after))


def _is_same(one: Problem, other: Problem) -> bool:
    # A place in another file may be of another text of that, and stand where it did.
    return one[:-1] == other[:-1] and [_shown(*each) for each in one.related] == [
        _shown(*each) for each in other.related
    ]


def _shown(place: Span, remark: str) -> tuple:
    source = place.source
    return source.path, source.position(place.start), source.position(place.end), remark
