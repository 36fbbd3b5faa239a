"""
What forms in JSON have in common: the fields of a report and of a finding, and how a value is written.
"""

import json
from datetime import date

from cylfile import __version__
from cylfile.findings.finding import LEVELS, Finding
from cylfile.judging.report import Report
from cylfile.packs.ruleset import Ruleset
from cylfile.record.record import Record
from cylfile.show.visible import visible


def report_head(report: Report) -> dict:
    """What a report is of: the program, the day and the rules."""
    head = {
        **paper_head(report.record, report.rules, report.as_of),
        "suspended": dict(report.rules.suspended),
    }
    if report.since:
        head["since"] = {"revision": report.since, "known": report.known}
    return head


def list_head(record: Record, rules: Ruleset, as_of: date) -> dict:
    """What a list or a report is of, with the places that could not be read."""
    unread = [fault.span.place for fault in record.unread]
    return {**paper_head(record, rules, as_of), "unread": unread}


def paper_head(record: Record, rules: Ruleset, as_of: date) -> dict:
    """What every object carries, for papers that leave the house: the program, the day, the rules and where from."""
    origin = record.origin()
    return {
        "cylfile": __version__,
        "department": record.department.title if record.department else None,
        "as_of": str(as_of),
        "rules": list(rules.names),
        "packs": rules.digests,
        "commit": origin.commit or None,
        "uncommitted": origin.uncommitted,
        "stamp": origin.stamp or None,
    }


def counts_of(report: Report) -> dict[str, int]:
    """How much was judged, and how many findings of each level stand."""
    counts = {"cylinders": report.cylinders, "entries": report.entries}
    counts |= {level: report.count(level) for level in LEVELS}
    return {**counts, "waived": report.waived, "answered": report.answered}


def finding_object(finding: Finding) -> dict:
    """A finding with the keys and in the order that every object of findings has them."""
    source = finding.span.source
    line, column = source.position(finding.span.start)
    end_line, end_column = source.position(finding.span.end)
    return {
        "rule": finding.rule,
        "level": finding.level,
        "subject": finding.subject,
        "file": source.path,
        "line": line,
        "column": column,
        "end_line": end_line,
        "end_column": end_column,
        "text": finding.text,
        "working": finding.working,
        "advice": finding.advice,
        "cite": finding.cite,
        "day": str(finding.day) if finding.day else None,
        "waived": finding.waived,
        "answered": finding.answered,
        "fingerprint": finding.fingerprint,
    }


def dump(value) -> str:
    """A value as JSON in one line, all of it ASCII, and hidden characters made visible."""
    text = json.dumps(value)
    # JSON escapes all that is not ASCII, and of ASCII all that is hidden but for one character.
    return json.dumps(_visible_in(value)) if "\\" in text or "\x7f" in text else text


def _visible_in(value):
    if isinstance(value, str):
        return visible(value)
    if isinstance(value, dict):
        return {visible(key): _visible_in(inner) for key, inner in value.items()}
    return [_visible_in(inner) for inner in value] if isinstance(value, list) else value
