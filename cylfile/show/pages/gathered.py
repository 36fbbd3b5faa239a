"""
Findings told together: those of one rule on one cylinder as one, and what is the same of several cylinders once.

Two findings say the same where their sentences have the same words but for figures and days.
What differs is told from the least to the greatest, and so has the worst case in it whichever way
is the worse.
"""

import re
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from cylfile.findings.finding import Finding

_NUMBER = re.compile(r"-?[0-9]+(?:\.[0-9]+)?")
_FIGURE = re.compile("-?[0-9]")
_DAY = re.compile("[0-9]{4}-[0-9]{2}(?:-[0-9]{2})?")
# A word between what stands around it: `(2026-06-30),` is the day and its signs.
_WORD = re.compile(r"([(`\"]*)(.*?)([)`\".,:;]*)", re.DOTALL)
# The shape of a word that is a figure or a day of the calendar; and the word whose plural makes no difference.
_A_FIGURE, _ONE_DAY, _DAYS = "#", "day", "days"
# What stands between the ends of a span.
_TO = " to "
# About what is left empty at the end of the last line of what has lines of its own, in letters.
_LINE_END = 40
# What is told once has to need less than this part of the room that it needs told of each, and no more gaps than
# somebody can keep in mind, but where there are this many rows for each.
_WORTH_IT, _MOST_GAPS, _MANY = 0.7, 4, 3


class Gathered(NamedTuple):
    """
    The findings of one rule on one subject that say the same, in the order of their days.

    `sentences` are the text and the lines of the working, each as its words.
    """

    findings: list[Finding]
    sentences: list[list[str]]

    @property
    def first(self) -> Finding:
        return self.findings[0]

    @property
    def last(self) -> Finding:
        return self.findings[-1]

    @property
    def text(self) -> str:
        return " ".join(self.sentences[0])

    @property
    def working(self) -> list[str]:
        return [" ".join(words) for words in self.sentences[1:]]


class Shared(NamedTuple):
    """
    What one rule says of several subjects: the sentences of all, with the least and the greatest of their figures, and of
    each subject the words that are its own, in the order in which they stand in these.

    Words that are the same in two places of a sentence, of every subject, are one of its own words: a day that is named twice.
    """

    sentences: list[str]
    rows: list[tuple[Gathered, list[str]]]

    @property
    def first(self) -> Finding:
        return self.rows[0][0].first

    @property
    def own_words(self) -> int:
        """How many words of each subject are its own."""
        return len(self.rows[0][1])


def gather(findings: Iterable[Finding], one_by_one: bool = False) -> list[Gathered]:
    """The findings of each rule and subject as one, in the order in which their first ones come."""
    alike: dict[object, list[Finding]] = {}
    for number, finding in enumerate(findings):
        key = number if one_by_one else (finding.subject, *_kind_of(finding))
        alike.setdefault(key, []).append(finding)
    return [_as_one(sorted(group, key=lambda each: str(each.day or ""))) for group in alike.values()]


def share(gathered: Iterable[Gathered]) -> tuple[list[Shared], list[Gathered]]:
    """
    What a rule says of several subjects, told once where that is much shorter; and what is left.
    """
    alike: dict[tuple, list[Gathered]] = {}
    for each in gathered:
        alike.setdefault(_kind_of(each.first), []).append(each)
    told, left = [], []
    for group in alike.values():
        shared = _shared(group) if len(group) > 1 and not group[0].first.related else None
        if shared is not None and shared.own_words <= max(_MOST_GAPS, len(group) // _MANY) and _is_worth_it(shared):
            told.append(shared)
        else:
            left += group
    return told, left


def _is_worth_it(shared: Shared) -> bool:
    by_each = sum(_LINE_END + sum(map(len, (each.text, *each.working))) for each, _ in shared.rows)
    return _LINE_END + sum(map(len, shared.sentences)) + _room(group_rows(shared)) < _WORTH_IT * by_each


def _kind_of(finding: Finding) -> tuple:
    words = tuple(tuple(map(_shape_of, sentence.split())) for sentence in _sentences(finding))
    return finding.rule, finding.level, finding.advice, tuple(finding.cite), finding.excuse, words


def _parted(word: str) -> tuple[str, str, str]:
    """The signs before a word, the word, and the signs after it."""
    found = _WORD.fullmatch(word)
    assert found is not None, "anything is a word between signs"
    before, inner, after = found.groups()
    return before, inner, after


def _shape_of(word: str) -> str:
    """The word, without its plural; of a figure or a day only that it is one."""
    inner = _parted(word)[1]
    if _FIGURE.match(inner):
        return _A_FIGURE
    return _ONE_DAY if inner == _DAYS else word


def _sentences(finding: Finding) -> list[str]:
    return [finding.text, *finding.working]


def _as_one(findings: list[Finding]) -> Gathered:
    sentences = [[*map(span_of, zip(*words))] for words in _columns(list(map(_sentences, findings)))]
    return Gathered(findings, sentences)


def _columns(sentences: list[list[str]]) -> list[list[list[str]]]:
    """For each sentence, its words in each of the findings."""
    return [[sentence.split() for sentence in alike] for alike in zip(*sentences)]


def span_of(words: Sequence[str]) -> str:
    """One word where all are the same, else the least and the greatest of figures and days, each of which may be a span."""
    distinct = list(dict.fromkeys(words))
    if len(distinct) == 1:
        return distinct[0]
    parts = [_parted(word) for word in distinct]
    before, after = parts[0][0], parts[0][2]
    inner = [part[1] for part in parts]
    if _DAYS in inner:
        return f"{before}{_DAYS}{after}"
    ends = [end for each in inner for end in each.split(_TO)]
    for pattern, key in ((_DAY, str), (_NUMBER, float)):
        if all(map(pattern.fullmatch, ends)):
            return f"{before}{min(ends, key=key)}{_TO}{max(ends, key=key)}{after}"
    return f"{before}{'/'.join(inner)}{after}"


def _shared(group: list[Gathered]) -> Shared:
    # What stands in each gap between words that all share, one a subject.
    gaps: dict[tuple[str, ...], None] = {}
    for alike in zip(*(each.sentences for each in group)):
        gap: list[tuple[str, ...]] = []
        for words in zip(*alike):
            if len(set(words)) > 1 and _shape_of(words[0]) == _A_FIGURE:
                gap.append(words)
            else:
                _close(gap, gaps)
        _close(gap, gaps)
    rows = [list(row) for row in zip(*gaps)] if gaps else [[] for _ in group]
    sentences = [" ".join(map(span_of, zip(*alike))) for alike in zip(*(each.sentences for each in group))]
    return Shared(sentences, list(zip(group, rows)))


def _close(gap: list[tuple[str, ...]], gaps: dict[tuple[str, ...], None]) -> None:
    """Add what stands in a gap that ends here, without the signs around it that all its words have; empties the gap."""
    if not gap:
        return
    whole = [_parted(" ".join(words)) for words in zip(*gap)]
    gap.clear()
    before, after = (signs.pop() if len(signs := {part[at] for part in whole}) == 1 else "" for at in (0, 2))
    gaps[tuple("".join(part).removeprefix(before).removesuffix(after) for part in whole)] = None


class RowGroup(NamedTuple):
    """Rows that have some of their own words the same: these, and of each row what is left."""

    same: list[str]
    rows: list[tuple[Gathered, list[str]]]


def group_rows(shared: Shared) -> list[RowGroup]:
    """The rows in groups that have the same for one of their words, for all or for none, whichever needs the least room."""
    every = range(shared.own_words)
    ways = [(), *((at,) for at in every), *([tuple(every)] if len(every) > 1 else [])]
    return min((_grouped(shared, keys) for keys in ways), key=_room)


def _grouped(shared: Shared, keys: tuple[int, ...]) -> list[RowGroup]:
    groups: dict[tuple[str, ...], list[tuple[Gathered, list[str]]]] = {}
    for each, own in shared.rows:
        left = [word for at, word in enumerate(own) if at not in keys]
        groups.setdefault(tuple(own[at] for at in keys), []).append((each, left))
    return [RowGroup(list(same), rows) for same, rows in sorted(groups.items())]


def _room(groups: list[RowGroup]) -> int:
    """About how many letters the groups take."""
    heads = sum(_LINE_END + len(word) for group in groups for word in group.same)
    names = sum(len(each.first.subject) + 2 for group in groups for each, _ in group.rows)
    return heads + names + sum(len(word) + 2 for group in groups for _, left in group.rows for word in left)
