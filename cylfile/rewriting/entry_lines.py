"""
An entry as a line of paper: on its card, as a row of a sheet, and what heads a sheet.

The words are those of its plain form, with one space between them; how they are set is the
business of `cylfile.rewriting.arrangement`.
"""

from collections.abc import Container, Iterator, Mapping, Sequence
from functools import cache
from typing import Any

from cylfile.record.dates import Month
from cylfile.record.entries import SOURCE, Entry, entry_kind, write_time, write_value
from cylfile.record.plans import EntryPlan, Refusal, act_plan, columns, entry_plan
from cylfile.record.vocabulary import SHEETS
from cylfile.text.acts import Act
from cylfile.text.language import Sentence, Shape
from cylfile.text.ledger import LEDGER
from cylfile.text.source import Source


def card_line(entry: Entry) -> str:
    """The entry as a line of the card of its cylinder, or of its source's block."""
    time = [] if entry.time is None else [write_time(entry.time)]
    return " ".join([str(entry.day), *time, entry.verb, *_clauses(entry)])


def row(entry: Entry, header: Mapping[str, object]) -> str:
    """The entry as a row of a sheet whose header says what `header` maps fields to."""
    time = [] if entry.time is None else [write_time(entry.time)]
    same = {field for field, value in header.items() if getattr(entry, field) == value}
    return " ".join([*time, entry.subject, *_clauses(entry, same)])


def sheet_header(entry: Entry, fields: Container[str]) -> str:
    """The header of a sheet for the entry, with those of the entry's clauses that are in `fields`."""
    other = {field for _, _, field in entry.written if field not in fields}
    return " ".join([entry.row.sheet, "sheet", str(entry.day), *_clauses(entry, other)])


def has_sheet(entry: Entry) -> bool:
    """Whether an entry can be a row of a sheet: its verb has one, and its day is known."""
    return bool(entry.row.sheet) and not isinstance(entry.day, Month)


@cache
def _plan_of_header(shape: Shape, sheet: str) -> EntryPlan:
    return entry_plan(shape, entry_kind(SHEETS[sheet].rule))


def headers_say(source: Source, headers: Sequence[Sentence], sheet: str) -> list[dict[str, Any] | None]:
    """Field -> value of what each header of a kind of sheet says, the day among them; None where it says what cannot be."""
    by_act = [header for header in headers if isinstance(header.shape, Act)]
    bases = [(None, source, None)] * len(by_act)
    made = iter(act_plan(by_act[0].shape).make(by_act, columns(by_act), bases) if by_act else ())
    said: list[dict[str, Any] | None] = []
    for header in headers:
        entry = next(made) if isinstance(header.shape, Act) else None
        if entry is None:
            entry = _made_by_shape(source, LEDGER.in_order(source, header), sheet)
        fields = () if entry is None else zip(entry._fields, entry[:SOURCE])
        said.append({field: value for field, value in fields if value is not None} or None)
    return said


def _made_by_shape(source: Source, header: Sentence, sheet: str) -> Entry | None:
    kind = entry_kind(SHEETS[sheet].rule)
    plan = _plan_of_header(header.shape, sheet)
    base = tuple(source if field == "source" else None for field in kind._fields)
    try:
        (entry,) = plan.make([header], base)
    except Refusal:
        return None
    return None if plan.fault else entry


def clause_words(entry: Entry, field: str) -> str:
    """One clause of an entry, in words: `by ayla`."""
    return " ".join(_clauses(entry, {other for _, _, other in entry.written if other != field}))


def _clauses(entry: Entry, leave_out: Container[str] = ()) -> Iterator[str]:
    for index, word, field in entry.written:
        value = entry[index]
        if value is not None and field not in leave_out:
            if word:
                yield word
            if value is not True:
                yield write_value(field, value)
