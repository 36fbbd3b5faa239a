"""
What packs name, rules, classes, settings and other packs: where each is declared and used, in packs and in ledgers.
"""

import posixpath
import re
from collections.abc import Iterator
from typing import NamedTuple

from cylfile.findings.core_rules import CORE_RULES
from cylfile.history.facts import FACTS
from cylfile.packs.pack_lines import Line, read_lines
from cylfile.packs.pack_sentences import pack_language
from cylfile.packs.shipped import file_of_shipped
from cylfile.server.cursor import line_start, words_between
from cylfile.server.edited_record import EditedRecord
from cylfile.server.names import Refused
from cylfile.text.language import Token
from cylfile.text.source import Source, Span
from cylfile.text.spelling import american

RULE, CLASS, SETTING, PACK = "rule", "class", "setting", "pack"
_HEADERS = {
    "pack": PACK,
    "class": CLASS,
    "setting": SETTING,
    "rule": RULE,
    "level": RULE,
    "suspend": RULE,
    "cite": RULE,
}
# The words of a ledger that such a name follows.
_IN_LEDGERS = {"class": CLASS, "waived": RULE, "answered": RULE, "rules": PACK}
_TEMPLATES = ("say", "working", "advice")
_BRACES = re.compile(r"\{([^{}]*)\}")
_NAME = re.compile("[a-z][a-z0-9-]{0,63}")


class Mention(NamedTuple):
    """A place that names something of a pack; a pack that is named by its file has its path for a name."""

    kind: str
    name: str
    start: int
    end: int
    is_declared: bool = False


def mentions(source: Source) -> Iterator[Mention]:
    """All that a pack names."""
    language = pack_language()
    for block in read_lines(source)[0]:
        header = block.header
        words = language.words(source.text, header.rest, header.end)
        if header.word in _HEADERS and words and words[0].type == "NAME":
            kind = _HEADERS[header.word]
            yield _mention(kind, words[0], header.word == kind)
        for line in block.lines:
            yield from _in_line(source, header, line)


def _in_line(source: Source, header: Line, line: Line) -> Iterator[Mention]:
    words = pack_language().words(source.text, line.rest, line.end)
    if line.word == "over" and words:
        yield _mention(PACK, words[0])
    elif line.word == "cite" and header.word == "class" and words and words[0].type == "NAME":
        yield _mention(RULE, words[0])
    elif line.word == "when":
        yield from _settings(words)
    elif line.word in _TEMPLATES:
        for word in words:
            for found in _BRACES.finditer(source.text, word.start, word.end):
                yield from _settings(pack_language().words(source.text, found.start(1), found.end(1)))
    if line.record is not None:
        start, end = line.record
        while start < end:
            yield from _in_ledger_line(source, start)
            start = source.line_end(start) + 1


def _mention(kind: str, word: Token, is_declared: bool = False) -> Mention:
    if word.type == "TEXT":
        return Mention(kind, word.text[1:-1], word.start + 1, word.end - 1)
    return Mention(kind, american(word.text), word.start, word.end, is_declared)


def _settings(words: list[Token]) -> Iterator[Mention]:
    for word in words:
        if word.type == "NAME" and word.text not in FACTS:
            yield _mention(SETTING, word)


def _in_ledger_line(source: Source, start: int) -> Iterator[Mention]:
    words = words_between(source, start, source.line_end(start))
    for before, word in zip(words, words[1:]):
        kind = _IN_LEDGERS.get(before.text)
        if kind is not None and (word.type == "NAME" or (kind == PACK and word.type == "TEXT")):
            yield _mention(kind, word)


def _in_ledger(source: Source, name: str) -> Iterator[Mention]:
    """What the lines of a ledger that hold a name have of packs."""
    at = source.text.find(name)
    while at >= 0:
        yield from _in_ledger_line(source, line_start(source, at))
        at = source.text.find(name, source.line_end(at))


def mention_at(source: Source, offset: int, is_pack: bool) -> Mention | None:
    """What a ledger or a pack names at an offset."""
    found = mentions(source) if is_pack else _in_ledger_line(source, line_start(source, offset))
    return next((each for each in found if each.start <= offset <= each.end), None)


def packs_named(source: Source, is_pack: bool) -> Iterator[Mention]:
    """The places of a ledger or a pack that name a pack, but for the header of a pack."""
    if is_pack:
        yield from (each for each in mentions(source) if each.kind == PACK and not each.is_declared)
        return
    for found in re.finditer(r"^[ \t]+rules[ \t]", source.text, re.MULTILINE):
        yield from (each for each in _in_ledger_line(source, found.start()) if each.kind == PACK)


def file_of_pack(edited: EditedRecord, source: Source, named: Mention, is_pack: bool) -> str | None:
    """The file of a pack that a ledger or another pack names, None where there is none."""
    shipped = file_of_shipped(named.name)
    if shipped is not None:
        return shipped
    path = posixpath.normpath(posixpath.join(posixpath.dirname(source.path) if is_pack else "", named.name))
    return edited.file_of(path) if edited.source(path) is not None else None


def _packs(edited: EditedRecord, source: Source) -> list[Source]:
    """The packs that judge the record, and the one that is looked at."""
    found = {pack.source.path: pack.source for pack in edited.rules().ruleset.packs.values()}
    return list((found | {source.path: source} if source.path not in edited.sources else found).values())


def definitions(edited: EditedRecord, source: Source, named: Mention) -> list[Span]:
    """Where packs declare something of a pack: several times where one is laid over another."""
    return [span for span, is_declared in _places(edited, source, named, edited_only=False) if is_declared]


def references(edited: EditedRecord, source: Source, named: Mention) -> list[Span]:
    """Every place that names it, where it is declared among them."""
    return [span for span, _ in _places(edited, source, named, edited_only=False)]


def highlights(source: Source, named: Mention, is_pack: bool) -> list[tuple[Span, bool]]:
    """The places of one file that name it, and whether it is declared there."""
    found = mentions(source) if is_pack else _in_ledger(source, named.name)
    return [(Span(source, each.start, each.end), each.is_declared) for each in found if each[:2] == named[:2]]


def _places(edited: EditedRecord, source: Source, named: Mention, edited_only: bool) -> Iterator[tuple[Span, bool]]:
    for pack in _packs(edited, source):
        if edited_only and edited.shipped_file(pack) is not None:
            continue
        for each in mentions(pack):
            if each[:2] == named[:2]:
                yield Span(pack, each.start, each.end), each.is_declared
    for ledger in edited.record.sources:
        for each in _in_ledger(ledger, named.name):
            if each[:2] == named[:2]:
                yield Span(ledger, each.start, each.end), False


def renamed(edited: EditedRecord, source: Source, named: Mention, new: str) -> list[Span]:
    """The places where `new` is to be put in place of a name. Raises Refused."""
    declared = definitions(edited, source, named)
    if named.kind == PACK or not declared:
        raise Refused(f"this is no rule, class or setting of a pack of the house: `{named.name}`")
    shipped = [span for span in declared if edited.shipped_file(span.source) is not None]
    if shipped:
        raise Refused(f"`{named.name}` is a {named.kind} of `{shipped[0].source.path}`, which comes with the program")
    if not _NAME.fullmatch(new):
        raise Refused("names are of small letters, digits and hyphens, 64 at most")
    if new != named.name and _is_taken(edited, source, named.kind, new):
        raise Refused(f"`{new}` is taken")
    return [span for span, _ in _places(edited, source, named, edited_only=True)]


def _is_taken(edited: EditedRecord, source: Source, kind: str, name: str) -> bool:
    if (kind == RULE and name in CORE_RULES) or (kind == SETTING and name in FACTS):
        return True
    return bool(definitions(edited, source, Mention(kind, name, 0, 0)))
