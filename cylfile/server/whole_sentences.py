"""
Whole sentences of verbs to fill in, as snippets of the protocol: a stop for every clause, and one within it for its value.

What is left as it was says nothing: what should stand there is written in capitals, and the text comes last and is left
open. A clause that is not wanted goes by one key while it is the stop. A word that alone tells a fact is left to be written.
"""

from collections.abc import Iterator
from itertools import count

from cylfile.record.vocabulary import FLAG, TEXT, WORD, Clause, Verb
from cylfile.server.signature import value_of


def sentence(verb: Verb, is_loose: bool) -> str:
    """The sentence of a verb from its first word on; a loose line names what it is about behind the verb's own words."""
    stops = count(1)
    words = [verb.verb, *([_stop(stops, "NAME")] if is_loose else [])]
    clauses = [clause for clause in verb.own if clause.value != FLAG]
    words += [_clause(verb, clause, stops) for clause in sorted(clauses, key=lambda clause: clause.value == TEXT)]
    return "  ".join(words) + "$0"


def _stop(stops: Iterator[int], text: str) -> str:
    return f"${{{next(stops)}:{text}}}"


def _clause(verb: Verb, clause: Clause, stops: Iterator[int]) -> str:
    if clause in verb.needs:
        return clause.form.format(_value(verb, clause, stops))
    number = iter([next(stops)])
    return _stop(number, clause.form.format(_value(verb, clause, stops)))


def _value(verb: Verb, clause: Clause, stops: Iterator[int]) -> str:
    if clause.value == WORD:
        return f"${{{next(stops)}|{clause.field.upper()},{','.join(clause.words)}|}}"
    if clause.value == TEXT:
        return '"' + _stop(stops, "TEXT")
    return _stop(stops, value_of(verb, clause))
