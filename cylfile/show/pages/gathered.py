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
# What stands for a word that differs from cylinder to cylinder.
GAP = "..."


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
    What one rule says of several subjects: the sentences that all share, with `GAP` for what differs,
    and of each subject what stands in the gaps.
    """

    sentences: list[str]
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
    What a rule says of several subjects, told once where that has fewer gaps than subjects; and what is left.
    """
    alike: dict[tuple, list[Gathered]] = {}
    for each in gathered:
        alike.setdefault(_kind_of(each.first), []).append(each)
    told, left = [], []
    for group in alike.values():
        shared = _shared(group) if len(group) > 1 and not group[0].first.related else None
        if shared is not None and len(shared.rows) > len(shared.rows[0][1]):
            told.append(shared)
        else:
            left += group
    return told, left


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
    gaps: list[list[str]] = [[] for _ in group]
    for alike in zip(*(each.sentences for each in group)):
        said: list[str] = []
        before = False
        for words in zip(*alike):
            if len(set(words)) == 1:
                said.append(words[0])
                before = False
                continue
            if not before:
                said.append(GAP)
            for own, word in zip(gaps, words):
                if before:
                    own[-1] = f"{own[-1]} {word}"
                else:
                    own.append(word)
            before = True
        sentences.append(" ".join(said))
    return Shared(sentences, list(zip(group, gaps)))
