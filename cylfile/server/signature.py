"""
The sentence of a verb, with the clauses that it needs and may have, and the one that is being written.
"""

from typing import NamedTuple

from cylfile.record.vocabulary import ANSWERED, FIGURE, FLAG, MONTH, NAME, SIGNED, TEXT, WORD, Clause, Verb
from cylfile.server.cursor import Line, line_at
from cylfile.text.language import Token
from cylfile.text.ledger import LEDGER, TOP
from cylfile.text.source import Source

_SIGNED = {SIGNED: 'DAY by PERSON "why"', ANSWERED: 'RULE DAY by PERSON "how"'}


class Part(NamedTuple):
    """One clause as the sentence shows it, in brackets where it may be left out, and what it is about."""

    text: str
    about: str


class Signature(NamedTuple):
    """A sentence, its parts in their order, and the number of the part that is being written."""

    text: str
    parts: list[Part]
    active: int | None


def signature(source: Source, offset: int) -> Signature | None:
    """The sentence of the entry or row that is being written at an offset; None where there is none."""
    line = line_at(source, offset)
    verb = line.verb
    is_row = line.place is not None and line.place.endswith("_row")
    if verb is None or not line.words or not (is_row or line.words[0].type in ("DAY", "MONTH")):
        return None
    clauses = [clause for clause in verb.clauses if not clause.instead_of]
    parts = [Part(_shown(verb, clause), clause.question) for clause in clauses]
    begins = "[TIME] NAME" if is_row else f"DAY [TIME] {verb.verb}" + (" NAME" if line.place == TOP else "")
    text = " ".join((begins, *(part.text for part in parts)))
    return Signature(text, parts, _active(verb, clauses, line, offset))


def _shown(verb: Verb, clause: Clause) -> str:
    form = clause.form.format(value_of(verb, clause))
    return form if clause in verb.needs else f"[{form}]"


def value_of(verb: Verb, clause: Clause) -> str:
    """What a clause of a verb has for a value: what kind of thing in capitals, or which words."""
    return {
        FIGURE: "".join(word.type for word in LEDGER.words(clause.example)), MONTH: "MONTH", TEXT: '"TEXT"', FLAG: "",
        WORD: "|".join(clause.words), NAME: (clause.names or verb.signer).replace(" ", "-").upper(),
    }.get(clause.value) or _SIGNED.get(clause.value, "")  # fmt: skip


def _active(verb: Verb, clauses: list[Clause], line: Line, offset: int) -> int | None:
    """The clause that was begun last; once its value is there, a needed one that is missing."""
    lacking = next((clauses.index(clause) for clause in verb.needs if clause.word in line.lacks), None)
    for index in range(len(line.words) - 1, -1, -1):
        word = line.words[index]
        if word.text == "by" and line.words[index - 1].type == "DAY" and index > 1:
            # Part of what somebody signs: `struck 2026-03-15 by`.
            continue
        found = [clause for clause in clauses if clause.word.split()[:1] == [word.text]]
        if found:
            value = line.words[index + 1] if index + 1 < len(line.words) else None
            if lacking is not None and value is not None and value.end < offset:
                return lacking
            return clauses.index(next((clause for clause in found if _fits(clause, value)), found[0]))
    if lacking is None:
        return next((clauses.index(clause) for clause in verb.needs if not clause.word), None)
    return lacking


def _fits(clause: Clause, value: Token | None) -> bool:
    if value is None:
        return True
    types = [word.type for word in LEDGER.words(clause.example)] if clause.value == FIGURE else ["NAME", "COUNT"]
    return value.type in types
