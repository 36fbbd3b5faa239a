"""
What the rules say of one cylinder, and all that others of the record bring to it, with no other cylinder judged.
"""

from collections.abc import Sequence
from datetime import date
from operator import itemgetter

from cylfile.findings.empty_texts import empty_texts
from cylfile.findings.signatures import signature_findings, signed_entries
from cylfile.judging.by_itself import air_log, judge_cylinder
from cylfile.judging.case import Case
from cylfile.judging.judge import Judgement, at_two_places, judge, text_findings
from cylfile.judging.subject_judge import are_hands
from cylfile.packs.ruleset import Ruleset
from cylfile.record.record import Record
from cylfile.text.source import Fault

_DAY = itemgetter(0)


def judge_one(record: Record, rules: Ruleset, as_of: date, name: str, faults: Sequence[Fault] = ()) -> Judgement:
    """
    A judgement that tells of one cylinder what `judge` does, and of others less.

    `faults` are those of the rule packs. No source, seal or other cylinder is judged, for nothing of that is about it.
    """
    waivers = [waiver for waiver in record.waivers if waiver.name == name]
    if waivers and are_hands(record, {name}):
        # Its name stands for a person or a source too: what such a waiver covers may be of other cylinders.
        return judge(record, rules, as_of, faults)
    own = record.entries.get(name, [])
    case, level_of, air = Case(record, rules, as_of, faults), rules.level_of, air_log(record, rules, as_of, own)
    signed = signed_entries([own])
    across = [
        # Who is at two places with a fill of it is so on the day of that.
        *at_two_places(record, rules, as_of, record.entries_of(set(map(_DAY, own)))),
        *signature_findings(signed, as_of, level_of),
        *empty_texts(record, as_of, level_of),
    ]
    verdict = judge_cylinder(record, rules, record.cylinders[name], as_of, air)
    judgement = Judgement(case, {name: verdict}, text_findings(case), across, air)
    judgement.excuse(signed, waivers)
    return judgement
