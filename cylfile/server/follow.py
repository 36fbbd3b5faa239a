"""
What the rules say of a record that is being changed.

There are two ways to know. `settle` judges the whole record and is right in every respect.
`follow` takes in a change at once: it judges only the cylinders of whose entries a file says
something else, and shifts the places of all else that is known. What one cylinder has to do with
another it leaves as it was, or out, until the record is settled.
"""

from datetime import date
from typing import NamedTuple

from cylfile.findings.finding import Finding
from cylfile.findings.signatures import answer_findings, signed_entries
from cylfile.findings.waivers import cover
from cylfile.judging.case import Case
from cylfile.judging.judge import Judgement, Verdict, judge, judge_cylinder, text_findings
from cylfile.packs.ruleset import Ruleset
from cylfile.record.record import Record
from cylfile.server.changing_record import Change, moved
from cylfile.text.source import Fault


class Rules(NamedTuple):
    """What a record is judged by: rules, the day, and what is wrong with the packs and the zone."""

    ruleset: Ruleset
    as_of: date
    faults: list[Fault]


def settle(record: Record, rules: Rules) -> Judgement:
    """Judge the whole of a record."""
    return judge(record, *rules)


def follow(before: Judgement, record: Record, change: Change) -> Judgement:
    """What is known after a change, as far as it can be told at once."""
    case = Case(record, *before.case[1:])
    verdicts: dict[str, Verdict] = {}
    again = set(change.names or ()) | (record.cylinders.keys() - before.verdicts.keys())
    for name, verdict in before.verdicts.items():
        if name in record.cylinders and name not in again:
            findings = [moved(finding, change.moves) for finding in verdict.findings]
            if any(finding is None or _names_a_line(finding, change) for finding in findings):
                again.add(name)
            else:
                verdicts[name] = Verdict(verdict.life, findings)
    for name in again & record.cylinders.keys():
        verdicts[name] = judge_cylinder(record, case.rules, record.cylinders[name], case.as_of, before.air)
        signed = signed_entries([record.entries.get(name, ())])
        answer_findings(signed, verdicts[name].findings, case.as_of, case.rules.level_of)
        cover(verdicts[name].findings, record.waivers, case.as_of)
    of_text = text_findings(case)
    cover(of_text, record.waivers, case.as_of)
    others = [moved(finding, change.moves) for finding in before.others]
    return Judgement(case, verdicts, of_text, [finding for finding in others if finding is not None], before.air)


def _names_a_line(finding: Finding, change: Change) -> bool:
    """Whether a finding says where another line stands, of a file whose lines have other numbers now."""
    moves = (change.moves.get(span.source.path) for span, _ in finding.related)
    return any(move is not None and move.shifts_lines for move in moves)
