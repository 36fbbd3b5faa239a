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
# What stands for words that differ from cylinder to cylinder, by what they are.
_DAYS, _FIGURES, _WORDS = "DAY", "N", "WORDS"
# About what is left empty at the end of the last line of what has lines of its own, in letters.
_LINE_END = 40
# What is told once has to need less than this part of the room that it needs told of each, and no more gaps than
# somebody can keep in mind.
_WORTH_IT, _MOST_GAPS = 0.6, 4


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
    What one rule says of several subjects: the sentences that all share, with a name for each gap of words
    that differ, and of each subject what stands in the gaps.

    The same words of a subject stand in one gap, wherever they are: `filled N days after DAY`.
    """

    sentences: list[str]
    gaps: list[str]
    rows: list[tuple[Gathered, list[str]]]

    @property
    def first(self) -> Finding:
        return self.rows[0][0].first


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
        if shared is not None and len(shared.gaps) <= _MOST_GAPS and _is_worth_it(shared):
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


def _shape_of(word: str) -> str:
    """The word, without its plural; of a figure or a day only that it is one."""
    inner = _WORD.fullmatch(word).group(2)
    if _FIGURE.match(inner):
        return "#"
    return "day" if inner == "days" else word


def _sentences(finding: Finding) -> list[str]:
    return [finding.text, *finding.working]


def _as_one(findings: list[Finding]) -> Gathered:
    sentences = [[*map(span_of, zip(*words))] for words in _columns(list(map(_sentences, findings)))]
    return Gathered(findings, sentences)


def _columns(sentences: list[list[str]]) -> list[list[list[str]]]:
    """For each sentence, its words in each of the findings."""
    return [[sentence.split() for sentence in alike] for alike in zip(*sentences)]


def span_of(words: Sequence[str]) -> str:
    """One word where all are the same, else the least and the greatest of figures and days."""
    distinct = list(dict.fromkeys(words))
    if len(distinct) == 1:
        return distinct[0]
    parts = [_WORD.fullmatch(word).groups() for word in distinct]
    before, after = parts[0][0], parts[0][2]
    inner = [part[1] for part in parts]
    for pattern, key in ((_DAY, str), (_NUMBER, float)):
        if all(map(pattern.fullmatch, inner)):
            return f"{before}{min(inner, key=key)} to {max(inner, key=key)}{after}"
    return f"{before}{'/'.join(inner)}{after}"


def _shared(group: list[Gathered]) -> Shared:
    sentences: list[str] = []
    # The words in each gap, one a subject -> the name of the gap.
    names: dict[tuple[str, ...], str] = {}
    for alike in zip(*(each.sentences for each in group)):
        said: list[str] = []
        gap: list[list[str]] = []
        for words in zip(*alike):
            if len(set(words)) > 1:
                gap.append(list(words))
                continue
            said += _closed(gap, names)
            said.append(words[0])
        said += _closed(gap, names)
        sentences.append(" ".join(said))
    rows = [list(row) for row in zip(*names)] if names else [[] for _ in group]
    return Shared(sentences, list(names.values()), list(zip(group, rows)))


def _closed(gap: list[list[str]], names: dict[tuple[str, ...], str]) -> list[str]:
    """The name of a gap that ends here, with the signs around it that all its words have; empties the gap."""
    if not gap:
        return []
    whole = [_WORD.fullmatch(" ".join(words)).groups() for words in zip(*gap)]
    gap.clear()
    before, after = (signs.pop() if len(signs := {part[at] for part in whole}) == 1 else "" for at in (0, 2))
    column = tuple("".join(part).removeprefix(before).removesuffix(after) for part in whole)
    if column not in names:
        kind = next((kind for kind, fits in _KINDS if all(map(fits, column))), _WORDS)
        count = sum(name.partition("-")[0] == kind for name in names.values())
        names[column] = f"{kind}-{count + 1}" if count else kind
    return [f"{before}{names[column]}{after}"]


_KINDS = ((_DAYS, re.compile(f"{_DAY.pattern}( to {_DAY.pattern})?").fullmatch),
          (_FIGURES, re.compile(f"{_NUMBER.pattern}( to {_NUMBER.pattern})?").fullmatch))  # fmt: skip


class RowGroup(NamedTuple):
    """Rows that have the same in some of the gaps: what that is, and of each row what is left."""

    same: list[tuple[str, str]]
    rows: list[tuple[Gathered, list[str]]]


def group_rows(shared: Shared) -> list[RowGroup]:
    """The rows in groups that have the same in one gap, in all or in none, whichever needs the least room."""
    every = range(len(shared.gaps))
    ways = [(), *((at,) for at in every), *([tuple(every)] if len(shared.gaps) > 1 else [])]
    return min((_grouped(shared, keys) for keys in ways), key=_room)


def _grouped(shared: Shared, keys: tuple[int, ...]) -> list[RowGroup]:
    groups: dict[tuple[str, ...], list[tuple[Gathered, list[str]]]] = {}
    for each, own in shared.rows:
        left = [word for at, word in enumerate(own) if at not in keys]
        groups.setdefault(tuple(own[at] for at in keys), []).append((each, left))
    names = [shared.gaps[at] for at in keys]
    return [RowGroup(list(zip(names, same)), rows) for same, rows in sorted(groups.items())]


def _room(groups: list[RowGroup]) -> int:
    """About how many letters the groups take."""
    heads = sum(_LINE_END + sum(map(len, (*name, *word))) for group in groups for name, word in group.same)
    names = sum(len(each.first.subject) + 2 for group in groups for each, _ in group.rows)
    return heads + names + sum(len(word) + 2 for group in groups for _, left in group.rows for word in left)
