"""
Rule packs in the editor: the words that can stand at a place, and what a fact or a rule means.
"""

import re

from cylfile.findings.core_rules import CORE_RULES
from cylfile.history.facts import FACTS, PLACES
from cylfile.packs.pack_sentences import HEADERS, LINES
from cylfile.packs.shipped import shipped_names
from cylfile.server.cursor import line_start
from cylfile.server.edited_record import EditedRecord
from cylfile.server.hovering import escaped, rule_in_words
from cylfile.server.ledger_completion import NAME, VALUE, WORD, Item
from cylfile.text.source import Source

_WORD = re.compile("[A-Za-z0-9][A-Za-z0-9._/-]*")
_LEVELS = ("danger", "warning", "caution", "notice")
_IN_EXPRESSION = ("when", "say", "working", "advice")
_OPERATORS = ("and", "or", "not", "known")


def complete(edited: EditedRecord, source: Source, offset: int) -> list[Item]:
    """What can stand at an offset of a pack."""
    text = source.text
    line = line_start(source, offset)
    start = offset
    while start > line and _WORD.fullmatch(text, start - 1, offset):
        start -= 1
    typed = text[start:offset].lower()
    before = text[line:start]
    first = before.split()[0] if before.split() else ""
    if "#" in before:
        return []
    item = lambda label, kind, detail="": Item(label, label, start, offset, kind, detail)
    items = []
    if not before:
        items = [item(word, WORD) for word in HEADERS]
    elif not before.strip():
        items = [item(word, WORD) for word in LINES.get(_block(source, line), ())]
    elif first == "on":
        items = [item(place, VALUE) for place in PLACES]
    elif first == "over":
        items = [item(name, NAME) for name in shipped_names()]
    elif first in ("level", "suspend") and len(before.split()) == 1:
        items = [item(name, NAME) for name in (*CORE_RULES, *edited.rules().ruleset.rules)]
    elif first in ("level", "rule"):
        items = [item(level, VALUE) for level in _LEVELS]
    elif first == "when" or (first in _IN_EXPRESSION and before.rfind("{") > before.rfind("}")):
        items = [item(name, NAME, fact.meaning) for name, fact in FACTS.items()]
        items += [item(name, NAME, "setting") for name in edited.rules().ruleset.settings]
        items += [item(word, WORD) for word in _OPERATORS]
    return [each for each in items if typed in each.label]


def _block(source: Source, line: int) -> str:
    """The first word of the header above a line."""
    text = source.text
    while line:
        line = text.rfind("\n", 0, line - 1) + 1
        if word := _WORD.match(text, line):
            return word.group()
    return ""


def hover(edited: EditedRecord, source: Source, offset: int) -> tuple[int, int, str] | None:
    """Start and end of the word at an offset of a pack, and what it means."""
    line = line_start(source, offset)
    for found in _WORD.finditer(source.text, line, source.line_end(line)):
        if found.start() <= offset <= found.end():
            said = _meaning(edited, found.group(), first=not source.text[line : found.start()].strip())
            return (found.start(), found.end(), said) if said else None
    return None


def _meaning(edited: EditedRecord, word: str, first: bool) -> str:
    if word in FACTS and not first:
        fact = FACTS[word]
        return f"**{escaped(word)}**, a {fact.dimension}\n\n{escaped(fact.meaning)}"
    return rule_in_words(edited, word)
