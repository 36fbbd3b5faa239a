"""
What is known of the word under the pointer in a rule pack: what a fact or a rule means.
"""

import re

from cylfile.history.facts import FACTS
from cylfile.server.cursor import line_start
from cylfile.server.edited_record import EditedRecord
from cylfile.server.hovering import escaped, rule_in_words
from cylfile.text.source import Source

_WORD = re.compile("[A-Za-z0-9][A-Za-z0-9._/-]*")


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
