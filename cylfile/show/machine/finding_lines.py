"""
Findings one a line, in the message form of the GNU coding standards, by which editors jump.

`file:line:column: level: rule: text`. Columns are counted in characters, from 1, a tab being
one. A finding that a waiver covers has the word `waived` for its level.
"""

from collections.abc import Iterator

from cylfile.findings.finding import Finding
from cylfile.judging.report import Report
from cylfile.show.visible import visible


def finding_lines(report: Report) -> Iterator[str]:
    """The lines of all findings, each with its line end."""
    return map(finding_line, report.findings)


def finding_line(finding: Finding) -> str:
    """The line of one finding, with its line end."""
    line, column = finding.span.source.position(finding.span.start)
    level, text = finding.level, finding.text
    if not finding.stands:
        level, text = finding.excuse.split()[0], f"{text} ({finding.level}, {finding.excuse})"
    return visible(f"{finding.span.source.path}:{line}:{column}: {level}: {finding.rule}: {text}") + "\n"
