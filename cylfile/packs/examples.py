"""
The small records under `breaks` and `keeps`, which are a rule's documentation and its tests.
"""

import re
from datetime import date

from cylfile.packs.pack import Example
from cylfile.packs.pack_lines import Line, margin_of, read_lines, width
from cylfile.record import dates
from cylfile.text.ledger import SHEETS
from cylfile.text.source import Span, clip

_HERE = re.compile(r"#[ \t]*here[ \t]*\r?$")
_GAP = re.compile(r"#[ \t]*cannot[ \t]+judge[ \t]*\r?$")
_ENTRY_DAY = re.compile(
    rf"^[ \t]*(?:(?:{'|'.join(SHEETS)}) sheet[ \t]+)?([0-9]{{4}}-[0-9]{{2}}-[0-9]{{2}})(?![0-9-])", re.MULTILINE
)


def read_example(reader, line: Line, words) -> Example | None:
    """
    The record under a `breaks` or `keeps` line; None, and a fault, where there is none.

    It is judged for the day after the word `as-of`, else for the day of its last entry.
    """
    if line.record is None:
        reader.fault(
            line.start, line.rest, f"there is no record under `{line.word}`", "Write one below it, further in."
        )
        return None
    title = reader.text(words[0]) if words and words[0].type == "TEXT" else ""
    start, end = line.record
    source = reader.source
    lines = source.text[start:end].split("\n")
    margin = margin_of(lines)
    classes = _take_classes(reader, start, end, margin, lines)
    text = "\n".join(text.removeprefix(margin) for text in lines) + "\n"
    if words and words[-1].type == "DAY":
        as_of = _as_of(reader, *words[-2:])
        if as_of is None:
            return None
    else:
        as_of = _last_entry(text)
    if as_of is None:
        reader.fault(
            line.start,
            line.rest,
            f"no day to judge this record for: it has no entry and the `{line.word}` line no `as-of`",
            f"Write `{line.word}  as-of 2020-01-31`.",
        )
        return None
    here = tuple(number for number, text in enumerate(lines, 1) if _HERE.search(text))
    if bool(here) != (line.word == "breaks"):
        cure = (
            "Mark the lines that break the rule with `# here`."
            if not here
            else "Only a record that breaks the rule has marked lines."
        )
        reader.fault(line.start, line.rest, f"a record under `{line.word}` with{'' if here else 'out'} `# here`", cure)
        return None
    gaps = tuple(number for number, text in enumerate(lines, 1) if _GAP.search(text))
    span = Span(source, start, end)
    return Example(title, line.word == "breaks", text, span, len(margin), here, gaps, as_of, classes)


def _as_of(reader, name, day) -> date | None:
    if name.text != "as-of":
        reader.fault_word(name, f"`{clip(name.text)}` is not allowed here", "Write `as-of` and a day.", "as-of")
        return None
    value = reader.figure(day)
    return value and value.value


def _take_classes(reader, start: int, end: int, margin: str, lines: list[str]) -> list:
    """The `class` blocks of the record, whose lines are made blank in `lines`."""
    if not any(text.startswith("class", len(margin)) for text in lines):
        return []
    source = reader.source
    first = source.position(start)[0]
    classes = []
    blocks, _ = read_lines(source, start, end, width(margin + "x"))
    for block in blocks:
        if block.header.word != "class":
            continue
        sheet = reader.class_sheet(block)
        if sheet is not None:
            classes.append(sheet)
        last = block.lines[-1] if block.lines else block.header
        for number in range(source.position(block.header.start)[0], source.position(last.end)[0] + 1):
            lines[number - first] = ""
    return classes


def _last_entry(text: str) -> date | None:
    days = []
    for found in _ENTRY_DAY.finditer(text):
        try:
            days.append(dates.day(found.group(1)))
        except ValueError:
            # The reader of the record says so at its place.
            pass
    return max(days, default=None)
