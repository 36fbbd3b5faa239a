"""
A report as one JSON object, with one finding a line.
"""

from collections.abc import Iterator

from cylfile.judging.report import Report
from cylfile.show.machine.json_object import counts_of, dump, finding_object, report_head


def lint_json(report: Report) -> Iterator[str]:
    """The text of the object, in stretches. Keys always stand in the same order; all of it is ASCII."""
    head = {**report_head(report), "counts": counts_of(report)}
    yield "{" + ",\n ".join(f"{dump(key)}: {dump(value)}" for key, value in head.items()) + ',\n "findings": ['
    for index, finding in enumerate(report.findings):
        yield (",\n  " if index else "\n  ") + dump(finding_object(finding))
    yield "\n ]}\n" if report.findings else "]}\n"
