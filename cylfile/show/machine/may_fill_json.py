"""
The answer at the fill station, as one JSON object.
"""

from collections.abc import Iterator

from cylfile.judging.fill_answer import LOOK_FOR
from cylfile.record.dates import NEVER
from cylfile.show.machine.json_object import dump, paper_head
from cylfile.show.pages.may_fill_page import Asked
from cylfile.show.pages.reasons import in_full
from cylfile.show.terminal.heading import CAUTION_LINE


def may_fill_json(asked: Asked) -> Iterator[str]:
    answer, rules = asked.answer, asked.rules
    life = answer.life
    value = {
        **paper_head(asked.record, rules, answer.as_of),
        "asked": answer.asked,
        "cylinder": answer.name,
        "may_be_filled": answer.may,
        "to": answer.to or None,
        "stop": answer.stop or None,
        "at": answer.at or None,
        "settles": answer.settles or None,
        "colder": [{"at": temperature, "stop": stop} for temperature, stop in answer.colder],
        "exceeded_by": answer.exceeded_by,
        "serial": life.cylinder.serial if life else None,
        "rated": asked.head.rated or None if asked.head else None,
        "reasons": [
            {
                "text": in_full(reason), "rule": reason.rule or None, "working": list(reason.working),
                "advice": reason.advice, "cite": list(reason.cite),
            }
            for reason in answer.reasons
        ],
        "fillable_again": answer.remedies,
        "for_good": answer.is_over,
        "remarks": [
            {"rule": finding.rule, "level": finding.level, "text": finding.text, "working": finding.working}
            for finding in answer.remarks
        ],
        "test_due": _day(life and life.test_due),
        "life_end": _day(life and life.life_end),
        "look_for": list(LOOK_FOR),
        "caution": CAUTION_LINE,
    }  # fmt: skip
    yield dump(value) + "\n"


def _day(day) -> str | None:
    """A day that comes; None where none is known or it never comes."""
    return None if day in (None, NEVER) else str(day)
