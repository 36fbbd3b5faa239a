"""
What a page says of a cylinder that somebody may want to fill: never that it may be.

A page outlives the record that it was made from, so the best that it has to say is that nothing was against it on a day.
"""

from datetime import date
from typing import NamedTuple

from cylfile.judging.heads import Head
from cylfile.packs.ruleset import Ruleset
from cylfile.show.pages.reasons import DO_NOT_FILL

BARRED, OPEN, GONE, UNTOLD = "barred", "open", "gone", "untold"


class AnswerMark(NamedTuple):
    """The kind of an answer, which has a shape of its own on the page, and the answer in words."""

    kind: str
    words: str


def answer_mark(head: Head, rules: Ruleset, as_of: date) -> AnswerMark:
    if not rules.names:
        return AnswerMark(UNTOLD, "there are no rules: it cannot be told, ask")
    if head.is_barred:
        return AnswerMark(BARRED, DO_NOT_FILL)
    if head.gone:
        return AnswerMark(GONE, head.gone)
    return AnswerMark(OPEN, f"nothing against it on {as_of}: ask before filling")
