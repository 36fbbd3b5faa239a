"""
A report as JSON Lines: one object a line, so that what comes from many records can be put together by appending.

First `{"record": ...}`, then `{"finding": ...}` for each, last `{"counts": ...}`.
"""

from collections.abc import Iterator

from cylfile.judging.report import Report
from cylfile.show.machine.json_object import counts_of, dump, finding_object, report_head


def lint_jsonl(report: Report) -> Iterator[str]:
    """The lines. All of it is ASCII."""
    yield dump({"record": report_head(report)}) + "\n"
    for finding in report.findings:
        yield dump({"finding": finding_object(finding)}) + "\n"
    yield dump({"counts": counts_of(report)}) + "\n"
