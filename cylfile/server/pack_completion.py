"""
What can stand at a place of a rule pack: the words of its grammar, the names that are known, and in an example those of a ledger.
"""

import posixpath
from collections.abc import Iterator

from cylfile.findings.core_rules import CORE_RULES
from cylfile.history.facts import FACTS, PLACES
from cylfile.packs.pack_lines import Block, Line, margin_of, read_lines
from cylfile.packs.pack_sentences import HEADERS, LINES, NAMES, pack_language
from cylfile.packs.shipped import shipped_names
from cylfile.server import ledger_completion
from cylfile.server.cursor import line_start
from cylfile.server.edited_record import EditedRecord
from cylfile.server.ledger_completion import NAME, SENTENCE, VALUE, WORD, Item, may_stand, units
from cylfile.text.source import Source

_FORMULA = "formula"
_TEMPLATES = ("say", "working", "advice")


def complete(edited: EditedRecord, source: Source, offset: int) -> list[Item]:
    """What can stand at an offset of a pack, no label twice."""
    start = line_start(source, offset)
    words = list(pack_language().tokens(source.text, start, offset))
    if words and words[-1].type == "COMMENT":
        return []
    blocks = read_lines(source)[0]
    block = next((each for each in reversed(blocks) if each.header.start <= offset), None)
    line = _line_at(block, offset)
    if line is not None and line.record is not None and line.record[0] <= offset:
        return _in_example(edited, source, line.record[0], offset)
    if line is None or offset <= line.rest:
        # The first word of a line, which is being written or is still to come.
        begin = line.start if line is not None else offset
        typed = source.text[begin:offset]
        is_header = begin == start
        places = HEADERS if is_header else LINES.get(block.header.word, {}) if block else {}
        return [Item(word, word, begin, offset, WORD) for word in places if typed in word]
    assert block is not None
    places = HEADERS if line is block.header else LINES.get(block.header.word, {})
    place = places.get(line.word)
    return _behind(edited, source, line, place, offset) if place else []


def _line_at(block: Block | None, offset: int) -> Line | None:
    """The line of a block that an offset is in, or in whose record it is."""
    for line in (block.header, *block.lines) if block is not None else ():
        if line.start <= offset <= max(line.end, line.record[1] if line.record else 0):
            return line
    return None


def _behind(edited: EditedRecord, source: Source, line: Line, place: str, offset: int) -> list[Item]:
    """What may stand behind the first word of a line, by the grammar of its sentence."""
    language, text, start = pack_language(), source.text, line.rest
    if line.word in _TEMPLATES:
        opened = text.rfind("{", start, offset)
        if opened <= text.rfind("}", start, offset):
            return []
        place, start = _FORMULA, opened + 1
    words = language.words(text, start, offset)
    partial = words[-1] if words and words[-1].end == offset else None
    before = words[:-1] if partial else words
    begin = partial.start if partial else offset
    if place == "places":
        # Verbs of several words are one name each.
        begin = text.rfind(",", start, offset) + 1 or start
        begin += len(text[begin:offset]) - len(text[begin:offset].lstrip(" \t"))
        before = [word for word in before if word.end <= begin]
    accepted = may_stand(language, place, (word.type for word in before))
    typed = text[begin:offset]
    items = units(language, source, place, words, start, offset)
    for terminal in sorted(accepted & language.keyword_terminals.keys()):
        keyword = language.keyword_terminals[terminal]
        if keyword.isalpha() and typed in keyword:
            items.append(Item(keyword, keyword, begin, offset, WORD))
    if "NAME" in accepted:
        for name, kind, about in _names(edited, source, line, place, is_first=not before):
            if typed in name:
                items.append(Item(name, name, begin, offset, kind, about))
    return list({item.label: item for item in reversed(items)}.values())[::-1]


def _names(
    edited: EditedRecord, source: Source, line: Line, place: str, is_first: bool
) -> Iterator[tuple[str, str, str]]:
    """The names that may stand in a sentence: each with its kind and what it means."""
    rules = edited.rules().ruleset
    if place == _FORMULA:
        yield from ((name, NAME, fact.meaning) for name, fact in FACTS.items())
        yield from ((name, NAME, "setting") for name in rules.settings)
    elif place == "places":
        yield from ((verb, VALUE, "") for verb in PLACES)
    elif place == "names":
        yield from ((name, VALUE, "") for name in NAMES[line.word])
    elif not is_first:
        return
    elif place == "over":
        yield from ((name, NAME, "a pack that comes with the program") for name in shipped_names())
        for path in edited.pack_files():
            if path != source.path:
                # Named by its way from there.
                there = posixpath.relpath(path, posixpath.dirname(source.path) or ".")
                yield f'"{there}"', NAME, "a pack of the house"
    elif place in ("level", "suspend", "rule_source"):
        core = () if place == "suspend" else CORE_RULES
        yield from ((name, NAME, "") for name in (*core, *rules.rules))
    elif place == "class":
        yield from ((name, NAME, known.title) for name, known in rules.classes.items())
    elif place == "setting":
        yield from ((name, NAME, "setting") for name in rules.settings)
    elif place == "flag":
        yield from (("yes", VALUE, ""), ("no", VALUE, ""))
    elif place == "scope":
        yield "cylinder", VALUE, "one finding a cylinder"
    elif place == "example":
        yield "as-of", WORD, "the day that the record is judged for"


def _in_example(edited: EditedRecord, source: Source, start: int, offset: int) -> list[Item]:
    """The words of a ledger that may stand in an example record; the names of the department are none of its."""
    lines = source.text[start : source.line_end(offset)].split("\n")
    margin = margin_of(lines)
    by = start + len(margin) * (source.text.count("\n", start, offset) + 1)
    if offset < by:
        return []
    record = Source(source.path, "\n".join(line.removeprefix(margin) for line in lines))
    return [
        item._replace(start=item.start + by, end=item.end + by)
        for item in ledger_completion.complete(edited, record, offset - by)
        if item.kind in (WORD, VALUE, SENTENCE)
    ]
