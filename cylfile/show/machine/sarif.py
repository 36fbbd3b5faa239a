"""
Findings as SARIF 2.1.0, the OASIS standard for results of static analysis.

Signal words become the levels of the standard: danger is `error`, warning is `warning`, and
caution and notice are `note`, as neither fails a run unless somebody asks for it; the word
itself is kept in the properties. A waiver is a suppression. Columns count code points. Places
are relative to the folder that the record was read from, which the reader of the file knows as
SRCROOT.
"""

from collections import Counter
from collections.abc import Iterator
from typing import Any
from urllib.parse import quote

from cylfile import __version__
from cylfile.findings.core_rules import CORE_RULES
from cylfile.findings.finding import Finding
from cylfile.judging.report import Report
from cylfile.show.machine.json_object import dump, paper_head
from cylfile.text.source import Span

_SCHEMA = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
_LEVELS = {"danger": "error", "warning": "warning", "caution": "note", "notice": "note"}
# The name and version of the way in which fingerprints are made.
_FINGERPRINT = "cylfileFinding/v1"


def sarif_lines(report: Report) -> Iterator[str]:
    """The text of the log, in stretches, with one result a line. All of it is ASCII."""
    rules = _rules(report.rules)
    number = {rule["id"]: index for index, rule in enumerate(rules)}
    driver = {"name": "cylfile", "version": __version__, "semanticVersion": __version__, "rules": rules}
    about = {
        "tool": {"driver": driver},
        "columnKind": "unicodeCodePoints",
        "originalUriBaseIds": {"SRCROOT": {"description": {"text": "The folder that the record was read from."}}},
        "invocations": [{"executionSuccessful": True}],
        "properties": {
            {"as_of": "asOf", "rules": "rulePacks"}.get(key, key): value
            for key, value in paper_head(report.record, report.rules, report.as_of).items()
        },
    }
    yield f'{{"$schema": {dump(_SCHEMA)}, "version": "2.1.0", "runs": [{{\n'
    for key, value in about.items():
        yield f" {dump(key)}: {dump(value)},\n"
    yield ' "results": ['
    seen: Counter = Counter()
    between = "\n  "
    for finding in report.findings:
        seen[finding.fingerprint] += 1
        yield between + dump(_result(finding, number[finding.rule], seen[finding.fingerprint]))
        between = ",\n  "
    yield "\n ]}]}\n"


def _rules(ruleset) -> list[dict]:
    """What each rule that can have found something is about, and by which text."""
    described = [
        _descriptor(name, rule.meaning, ruleset.level_of(name), "core", ()) for name, rule in CORE_RULES.items()
    ]
    for name, rule in ruleset.rules.items():
        described.append(_descriptor(name, rule.why or f"{_in_words(name)}.", rule.level, rule.pack, rule.cite))
    return described


def _descriptor(name: str, why: str, level: str, pack: str, cite) -> dict:
    told = f"{_in_words(name)}: {why}" + (f" Source: {'; '.join(cite)}." if cite else "")
    return {
        "id": name,
        "shortDescription": {"text": f"{_in_words(name)}."},
        "fullDescription": {"text": why},
        "help": {"text": told},
        "defaultConfiguration": {"level": _LEVELS[level]},
        "properties": {"signalWord": level, "pack": pack, "cite": list(cite)},
    }


def _in_words(name: str) -> str:
    return name.replace("-", " ").capitalize()


def _result(finding: Finding, rule_index: int, time: int) -> dict:
    told = [f"{finding.sentence}.", *(f"{line}." for line in finding.working), finding.advice]
    # The same finding a second time is another result, and must not be taken for the first.
    fingerprint = finding.fingerprint if time == 1 else f"{finding.fingerprint}:{time}"
    result: dict[str, Any] = {
        "ruleId": finding.rule,
        "ruleIndex": rule_index,
        "level": _LEVELS[finding.level],
        "message": {"text": " ".join(part for part in told if part)},
        "locations": [_location(finding.span)],
        "partialFingerprints": {_FINGERPRINT: fingerprint},
        # In a log where one result is suppressed, every result has to say whether it is.
        "suppressions": _suppressions(finding),
        "properties": {
            "signalWord": finding.level,
            "cite": finding.cite,
            "day": str(finding.day) if finding.day else None,
        },
    }
    if finding.subject:
        result["locations"][0]["logicalLocations"] = [{"name": finding.subject}]
    if finding.related:
        result["relatedLocations"] = [
            {"id": index, **_location(span), "message": {"text": f"{remark}."}}
            for index, (span, remark) in enumerate(finding.related, 1)
        ]
    return result


def _suppressions(finding: Finding) -> list[dict]:
    if finding.stands:
        return []
    return [{"kind": "external", "status": "accepted", "justification": finding.excuse}]


def _location(span: Span) -> dict:
    source = span.source
    line, column = source.position(span.start)
    end_line, end_column = source.position(span.end)
    region = {"startLine": line, "startColumn": column, "endLine": end_line, "endColumn": end_column}
    return {
        "physicalLocation": {"artifactLocation": {"uri": uri_of(source.path), "uriBaseId": "SRCROOT"}, "region": region}
    }


def uri_of(path: str) -> str:
    """A path with forward slashes as a relative reference (RFC 3986); bytes that are no UTF-8 stay what they are."""
    return quote(path.encode("utf-8", "surrogateescape"), safe="/")
