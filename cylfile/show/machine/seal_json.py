"""
What became of the seals of a record, as one JSON object: a seal a line, with its digest and what broke it.
"""

from collections.abc import Iterator

from cylfile.show.machine.json_object import dump, list_head
from cylfile.show.pages.seal_page import SealChecks, working


def seal_json(seals: SealChecks) -> Iterator[str]:
    """The text of the object, in stretches. Keys always stand in the same order; all of it is ASCII."""
    head = {
        **list_head(seals.record, seals.rules, seals.as_of),
        "minutes": seals.minutes,
        "minutes_hold": None if seals.minutes is None else seals.has_it,
    }
    yield "{" + ",\n ".join(f"{dump(key)}: {dump(value)}" for key, value in head.items())
    yield ',\n "seals": ['
    findings = {finding.span: finding for finding in seals.findings}
    between = "\n  "
    for check in seals.checks:
        seal, finding = check.seal, findings.get(check.seal.span)
        told = {
            "day": str(seal.day),
            "by": seal.by,
            "entries": seal.entries,
            "digest": seal.digest,
            "holds": check.holds,
            "entries_now": check.entries,
            "digest_now": check.digest,
            "file": seal.span.source.path,
            "line": seal.span.line,
            "working": working(check, finding),
            "places": [span.place for span, _ in finding.related] if finding else [],
        }
        yield between + dump(told)
        between = ",\n  "
    yield "]}\n"
