"""
What an editor can do about a line at a word: put the right form in, strike it, open a missing card.

A measurement, a reason and a name that nobody wrote are never invented: where one is missing, the line
stays one that is refused until somebody writes it.
"""

import re
from typing import NamedTuple

from cylfile.findings.finding import Finding
from cylfile.packs.suggest import nearest
from cylfile.server.cursor import entry_at, line_at
from cylfile.server.edited_record import EditedRecord
from cylfile.text.source import Source

QUICKFIX, REFACTOR = "quickfix", "refactor.rewrite"
_NO_CARD = re.compile("no card declares `([^`]+)`")
_NO_BLOCK = re.compile("no block declares the ([a-z]+) `([^`]+)`")
_MOST_PEOPLE = 5


class Action(NamedTuple):
    """Texts to put in place of stretches of one file; `finding` is what it puts right, if anything."""

    title: str
    kind: str
    path: str
    edits: list[tuple[int, int, str]]
    finding: Finding | None = None
    is_preferred: bool = False


def actions(edited: EditedRecord, source: Source, start: int, end: int) -> list[Action]:
    """What can be done about the lines between two offsets."""
    found = []
    for finding in edited.findings().get(source.path, ()):
        if finding.span.start <= end and finding.span.end >= start and finding.span.source is source:
            found += _about(edited, source, finding)
    return [*found, *_strikes(edited, source, start)]


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
    record, found = edited.record, []
    card, block = _NO_CARD.match(finding.text), _NO_BLOCK.match(finding.text)
    if not card and not block:
        return []
    name, word = (card[1], "cylinder") if card else (block[2], block[1])
    table = {
        "cylinder": record.cylinders, "person": record.people, "site": record.sites, "tester": record.testers,
        "source": record.air_sources,
    }[word]  # fmt: skip
    meant = nearest(name, table)
    if meant:
        at = source.text.find(name, finding.span.start, finding.span.end)
        if at >= 0:
            found.append(Action(f"Write `{meant}`", QUICKFIX, source.path, [(at, at + len(name), meant)], finding))
    where = _home(edited, table, source)
    end = len(where.text)
    gap = "" if not where.text else "\n" if where.text.endswith("\n") else "\n\n"
    if card:
        found.append(
            Action(f"Open a card for {name}", QUICKFIX, where.path, [(end, end, f"{gap}cylinder {name}\n")], finding)
        )
    else:
        text = f'{gap}{word} {name} "'
        found.append(
            Action(f"Declare the {word} {name}, for you to title", QUICKFIX, where.path, [(end, end, text)], finding)
        )
    return found


def _home(edited: EditedRecord, table: dict, source: Source) -> Source:
    """The file that declares most things of a kind; this one where none does."""
    homes: dict[str, int] = {}
    for thing in table.values():
        homes[thing.span.source.path] = homes.get(thing.span.source.path, 0) + 1
    return edited.source(max(homes, key=homes.get)) if homes else source


def _strikes(edited: EditedRecord, source: Source, offset: int) -> list[Action]:
    """Striking the entry of a line, by each person who may have to."""
    record = edited.record
    entry = entry_at(record, source, offset)
    if entry is None or entry.struck is not None:
        return []
    today, end = edited.now.date(), entry.span.end
    people = [name for name in record.people if record.authority.may_fill(name, today)] or list(record.people)
    return [
        # The text is left open: the line is refused until the reason is written and closed.
        Action(
            f"Strike this line, by {name}: write the reason",
            REFACTOR,
            source.path,
            [(end, end, f'    struck {today} by {name} "')],
        )
        for name in people[:_MOST_PEOPLE]
    ]
