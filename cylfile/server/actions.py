"""
What an editor can do about a line: put the right form in, strike it, answer or waive what is found, open a missing card.

A measurement, a reason and a name that nobody wrote are never invented: where one is missing, the line
stays one that is refused until somebody writes it.
"""

from collections import Counter
from collections.abc import Mapping
from typing import NamedTuple

from cylfile.findings.finding import Finding
from cylfile.findings.signatures import may_be_answered
from cylfile.packs.suggest import nearest
from cylfile.record.blocks import Declared
from cylfile.record.entries import Entry
from cylfile.record.vocabulary import MAY_BE
from cylfile.server.cursor import entry_at, line_at, line_start, names_between, property_terminals
from cylfile.server.edited_record import EditedRecord
from cylfile.server.ledger_completion import may_stand
from cylfile.text.ledger import LEDGER
from cylfile.text.source import Source

QUICKFIX, REFACTOR = "quickfix", "refactor.rewrite"
_MOST_PEOPLE = 5
# What is wrong with the text or its names is put right.
_NEVER_WAIVED = ("unreadable-line", "unknown-name", "name-taken", "future-entry")


class Action(NamedTuple):
    """Texts to put in place of stretches of one file; `finding` is what it puts right, if anything."""

    title: str
    kind: str
    path: str
    edits: list[tuple[int, int, str]]
    finding: Finding | None = None
    is_preferred: bool = False


def actions(edited: EditedRecord, source: Source, start: int, end: int) -> list[Action]:
    """What can be done about the lines between two offsets, wherever in them these are."""
    entry = entry_at(edited.record, source, start)
    first = line_start(source, start) if entry is None else entry.start
    last = source.line_end(end if entry is None else max(end, entry.span.end))
    here = [
        finding
        for finding in edited.findings().get(source.path, ())
        if finding.span.start <= last and finding.span.end >= first
    ]
    found = [action for finding in here for action in _about(edited, source, finding)]
    people = _may_sign(edited)
    for finding in here:
        found += _waivers(edited, source, finding, people)
    if entry is not None:
        found += _answers(edited, source, entry, here, people)
        ends_at = entry.span.end if entry.struck is None else None
    else:
        ends_at = _end_of_property(source, start)
    if ends_at is not None:
        found += _signed(edited, source, ends_at, "Strike this line", "struck", people)
    return found


def _end_of_property(source: Source, offset: int) -> int | None:
    """Where the line of a head that an offset is in ends, if it may be struck there."""
    line = line_at(source, source.line_end(offset))
    may_follow = may_stand(LEDGER, line.place, (word.type for word in line.words))
    if not line.words or line.words[0].type not in property_terminals() or LEDGER.keywords["struck"] not in may_follow:
        return None
    return line.words[-1].end


def _about(edited: EditedRecord, source: Source, finding: Finding) -> list[Action]:
    span, found = finding.span, []
    if finding.instead is not None:
        edit = (span.start, span.end, finding.instead)
        found.append(Action(f"Write `{finding.instead}`", QUICKFIX, source.path, [edit], finding, True))
    if finding.rule == "unreadable-line":
        line = line_at(source, span.end)
        for word in line.lacks if line.words else ():
            edit = (line.words[-1].end, line.words[-1].end, f"  {word} ")
            found.append(Action(f"Add `{word}`, for you to fill in", QUICKFIX, source.path, [edit], finding))
    if finding.rule == "unknown-name":
        found += _of_unknown_name(edited, source, finding)
    return found


def _of_unknown_name(edited: EditedRecord, source: Source, finding: Finding) -> list[Action]:
    record, found, name = edited.record, [], finding.subject
    span = finding.span
    word = next((word for word in names_between(source, span.start, span.end) if word.text == name), None)
    if word is None or name in record.declared:
        return []
    named = line_at(source, word.start).named
    kinds = MAY_BE[named] if named is not None else ("cylinder",)
    tables: dict[str, Mapping[str, Declared]] = {
        "cylinder": record.cylinders, "person": record.people, "site": record.sites, "tester": record.testers,
        "source": record.air_sources,
    }  # fmt: skip
    meant = nearest(name, [known for kind in kinds for known in tables[kind]])
    if meant:
        found.append(Action(f"Write `{meant}`", QUICKFIX, source.path, [(word.start, word.end, meant)], finding))
    for kind in kinds:
        where = _home(edited, tables[kind], source)
        end = len(where.text)
        gap = "" if not where.text else "\n" if where.text.endswith("\n") else "\n\n"
        if kind == "cylinder":
            title, text = f"Open a card for {name}", f"{gap}cylinder {name}\n"
        else:
            title, text = f"Declare the {kind} {name}, for you to title", f'{gap}{kind} {name} "'
        found.append(Action(title, QUICKFIX, where.path, [(end, end, text)], finding))
    return found


def _home(edited: EditedRecord, table: Mapping[str, Declared], source: Source) -> Source:
    """The file that declares most things of a kind; this one where none does."""
    homes = Counter(thing.span.source.path for thing in table.values())
    most = homes.most_common(1)
    return most and edited.source(most[0][0]) or source


def _may_sign(edited: EditedRecord) -> list[str]:
    """The people who do this work today, else all."""
    record, today = edited.record, edited.today
    return ([name for name in record.people if record.authority.may_fill(name, today)] or list(record.people))[
        :_MOST_PEOPLE
    ]


def _signed(
    edited: EditedRecord,
    source: Source,
    end: int,
    what: str,
    words: str,
    people: list[str],
    finding: Finding | None = None,
) -> list[Action]:
    """Something that each of some people may sign at the end of a line, today."""
    # The text is left open: the line is refused until the reason is written and closed.
    return [
        Action(
            f"{what}, by {name}: write the reason",
            REFACTOR if finding is None else QUICKFIX,
            source.path,
            [(end, end, f'    {words} {edited.today} by {name} "')],
            finding,
        )
        for name in people
    ]


def _answers(
    edited: EditedRecord, source: Source, entry: Entry, here: list[Finding], people: list[str]
) -> list[Action]:
    """Writing on the line what was done about what is found of it; who signed it does not answer for it."""
    found = {finding.rule: finding for finding in here if finding.span == entry.span and may_be_answered(finding)}
    others = [name for name in people if name != entry.by]
    return [
        action
        for rule, finding in found.items()
        for action in _signed(edited, source, entry.span.end, f"Answer {rule}", f"answered {rule}", others, finding)
    ]


def _waivers(edited: EditedRecord, source: Source, finding: Finding, people: list[str]) -> list[Action]:
    """Exempting a cylinder from a rule from today on: what happened before is answered for, not waived."""
    today = edited.today
    is_past = finding.day is not None and finding.day < today
    if not finding.stands or is_past or finding.subject not in edited.record.declared or finding.rule in _NEVER_WAIVED:
        return []
    waivers = edited.record.waivers
    where = waivers[-1].span.source if waivers else source
    end = len(where.text)
    gap = "" if not where.text or where.text.endswith("\n") else "\n"
    # Until when is not for a program to say, nor why: the line is refused until both are written.
    return [
        Action(
            f"Waive {finding.rule} for {finding.subject}, by {name}: write until when and the reason",
            QUICKFIX,
            where.path,
            [(end, end, f'{gap}waived {finding.rule} for {finding.subject} from {today} until  by {name} "')],
            finding,
        )
        for name in people
    ]
