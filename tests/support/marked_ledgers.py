"""
Ledgers that say, under each line, what is wrong with it.

A mark is a comment under the line it speaks of: carets under the columns, then the message; the
comment below it, in line with the message, is the cure. A mark that begins in column 1 has the
hash itself for its first caret.

    cylinder V-9
      2026-04-02  Filled  to 4500 psi
    #             ^^^^^^ `Filled` is not allowed here
    #                    Did you mean `filled`?

`<verbs of a cylinder>` stands for the list of all of them, and so for the other subjects, so that a
verb more is none of its business.
"""

import re
from collections.abc import Iterable
from typing import NamedTuple

from cylfile.record.vocabulary import CYLINDER_VERBS, SOURCE_VERBS, STORAGE, VERBS
from cylfile.text.source import Fault

_MARK = re.compile(r"#( *)(\^+) (\S.*)")
_CURE = re.compile(r"#( +)(\S.*)")
_LISTS = {"a cylinder": CYLINDER_VERBS, "a source": SOURCE_VERBS[STORAGE], "anything": tuple(VERBS)}


class Mark(NamedTuple):
    """A fault as it stands on paper: line and columns from 1, `end` just after the last column."""

    line: int
    column: int
    end: int
    text: str
    cure: str


def with_verbs(message: str) -> str:
    """A message with its lists of verbs written out."""
    for subject, verbs in _LISTS.items():
        *others, last = (f"`{verb}`" for verb in sorted(verbs))
        message = message.replace(f"<verbs of {subject}>", f"{', '.join(others)} or {last}")
    return message


def marks_of(ledger: str) -> list[Mark]:
    """The marks of a ledger, in the order of their places."""
    marks: list[Mark] = []
    spoken_of, beside = 0, 0
    for number, line in enumerate(re.split("\r?\n", ledger), 1):
        mark, cure = _MARK.fullmatch(line), _CURE.fullmatch(line)
        if mark:
            column = len(mark[1]) + 2 if mark[1] else 1
            width = len(mark[2]) + (column == 1)
            marks.append(Mark(spoken_of, column, column + width, with_verbs(mark[3]), ""))
            beside = mark.start(3)
        elif cure and beside and cure.start(2) == beside:
            marks[-1] = marks[-1]._replace(cure=with_verbs(cure[2]))
            beside = 0
        else:
            spoken_of, beside = number, 0
    return sorted(marks)


def as_marks(faults: Iterable[Fault]) -> list[Mark]:
    """Faults in the form of marks; each must lie within one line."""
    marks = []
    for fault in faults:
        span = fault.span
        assert span.line == span.end_line, fault
        marks.append(Mark(span.line, span.column, span.end_column, fault.text, fault.cure))
    return sorted(marks)
