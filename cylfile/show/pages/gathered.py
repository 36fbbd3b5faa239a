"""
Findings told together: those of one rule on one cylinder as one, and what is the same of several cylinders once.

Two findings say the same where their sentences have the same words but for figures, days and the texts that a rule
only passes on, such as a name or why a cylinder is barred; see `word_by_word`. What differs is told from the least to the greatest, and
so has the worst case in it whichever way is the worse.
"""

import posixpath
from collections.abc import Iterable, Sequence
from itertools import chain
from typing import NamedTuple

from cylfile.findings.finding import Finding
from cylfile.packs.rule import Rule
from cylfile.packs.ruleset import Ruleset
from cylfile.show.pages.word_by_word import (
    as_on_form,
    gaps,
    is_passed_on,
    long_texts_in,
    plain,
    shape_of,
    span_of,
    with_context,
    without_asides,
    word_by_word,
    words_of,
    worst_of,
)

# A line, and about what is left empty at the end of the last line of what has lines of its own, in letters.
_A_LINE, _LINE_END = 78, 40
# About the room of a line number and the signs around it.
_A_PLACE = 6
# What is told once is worth it where it needs less than this part of the room that it needs told of each.
_WORTH_IT = 0.6
# More own words than somebody can keep in mind are told in their sentences; of more rows than these the working is
# told from the least to the greatest.
_MOST_GAPS, _TOO_MANY = 4, 20
# Two sets of subjects are mostly the same where more than this part of them is in both.
_MOSTLY = 0.75


class Gathered(NamedTuple):
    """
    The findings of one rule on one subject that say the same, in the order of their days.

    `sentences` are the text, the lines of the working and the advice, each as its words; see `plain`.
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
        return plain(self.sentences[0])

    @property
    def working(self) -> list[str]:
        return [plain(words) for words in self.sentences[1:-1]]

    @property
    def advice(self) -> str:
        return plain(self.sentences[-1])

    @property
    def cites(self) -> list[str]:
        """What the findings rest on, each source once."""
        return list(dict.fromkeys(chain.from_iterable(finding.cite for finding in self.findings)))

    @property
    def passed_on(self) -> list[str]:
        """The texts that the rule passes on, of several words."""
        return [text for words in self.sentences for text in long_texts_in(words)]


class Shared(NamedTuple):
    """
    What one rule says of several subjects: the sentence, the working and the advice of all, and of each subject the words
    that are its own, in the order in which they stand in these.

    The sentence has the least and the greatest of the figures, the working leaves open what each subject has of its own.
    Words that are the same in two places, of every subject, are one of its own words: a day that is named twice.
    """

    text: str
    working: list[str]
    advice: str
    rows: list[tuple[Gathered, list[str]]]

    @property
    def first(self) -> Finding:
        return self.rows[0][0].first

    @property
    def own_words(self) -> int:
        """How many words of each subject are its own."""
        return len(self.rows[0][1])

    @property
    def cites(self) -> list[str]:
        return list(dict.fromkeys(chain.from_iterable(each.cites for each, _ in self.rows)))


def gather(findings: Iterable[Finding], rules: Ruleset, one_by_one: bool = False) -> list[Gathered]:
    """The findings of each rule and subject as one, in the order in which their first ones come."""
    alike: dict[object, list[tuple[Finding, list[list[str]]]]] = {}
    for number, finding in enumerate(findings):
        sentences = _sentences(finding, rules.rules.get(finding.rule))
        key = number if one_by_one else (finding.subject, *_kind_of(finding, sentences))
        alike.setdefault(key, []).append((finding, sentences))
    return [_as_one(sorted(group, key=lambda each: str(each[0].day or ""))) for group in alike.values()]


def share(gathered: Iterable[Gathered], only_worthwhile: bool = False) -> tuple[list[Shared], list[Gathered]]:
    """
    What a rule says of several subjects, told once, or `only_worthwhile` where that is much shorter; and what is left.
    """
    alike: dict[tuple, list[Gathered]] = {}
    for each in gathered:
        # What is about nobody has no row beside what is about somebody.
        alike.setdefault((not each.first.subject, *_kind_of(each.first, each.sentences)), []).append(each)
    told, left = [], []
    for group in alike.values():
        may_be = len(group) > 1 and not any(each.first.related and not each.first.names_related for each in group)
        shared = _shared(group) if may_be else None
        if shared is not None and (not only_worthwhile or _is_worth_it(shared)):
            told.append(shared)
        else:
            left += group
    return told, left


def side_by_side(several: Iterable[Shared | Gathered]) -> list[list[Shared | Gathered]]:
    """
    What is told, in its order; but what two rules of one level say of very many subjects that are mostly the same
    stands together, so that each of these has one row for both.
    """
    together: list[list[Shared | Gathered]] = []
    # Those that may get company, with their subjects: few of all that is told.
    of_many: list[tuple[set[str], list[Shared | Gathered]]] = []
    for one in several:
        ours = {each.first.subject for each, _ in one.rows} if isinstance(one, Shared) else set()
        level = one.first.level
        group = next(
            (told for theirs, told in of_many if told[0].first.level == level and _are_mostly_the_same(ours, theirs)),
            None,
        )
        if group is not None:
            group.append(one)
            continue
        together.append([one])
        if len(ours) > _TOO_MANY:
            of_many.append((ours, together[-1]))
    return together


def _are_mostly_the_same(ours: set[str], theirs: set[str]) -> bool:
    return len(ours & theirs) > max(_TOO_MANY, len(ours | theirs) * _MOSTLY)


def _is_worth_it(shared: Shared) -> bool:
    by_each = sum(_LINE_END + sum(map(len, (each.text, *each.working))) for each, _ in shared.rows)
    once = _LINE_END + sum(map(len, (shared.text, *shared.working)))
    _, rows = _room(group_rows(shared))
    return once + rows < _WORTH_IT * by_each


def _kind_of(finding: Finding, sentences: Iterable[Sequence[str]]) -> tuple:
    words = tuple(tuple(map(shape_of, sentence)) for sentence in sentences)
    return finding.rule, finding.level, finding.excuse, words


def _sentences(finding: Finding, rule: Rule | None) -> list[list[str]]:
    if rule is None:
        return [sentence.split(" ") for sentence in (finding.text, *finding.working, finding.advice)]
    return [
        words_of(finding.text, rule.texts_said),
        *(words_of(line, rule.texts_worked_with) for line in finding.working),
        words_of(finding.advice, rule.texts_advised),
    ]


def _as_one(found: list[tuple[Finding, list[list[str]]]]) -> Gathered:
    findings = [finding for finding, _ in found]
    return Gathered(findings, [[*map(span_of, zip(*alike))] for alike in zip(*(sentences for _, sentences in found))])


def _shared(group: list[Gathered]) -> Shared:
    columns = [list(word_by_word(zip(*alike))) for alike in zip(*(each.sentences for each in group))]
    text, *working, advice = columns
    text = without_asides(text, gaps([*working, advice]))
    own, shown = gaps([text, *working, advice]), [plain(map(as_on_form, line)) for line in working]
    if len(group) > _TOO_MANY:
        # Nobody works out so many one by one.
        own = list(dict.fromkeys([*gaps([text]), *gaps([*working, advice], is_passed_on)]))
        shown = [
            plain(as_on_form(words) if is_passed_on(words[0]) else span_of(words) for words in line) for line in working
        ]
    elif len(own) > _MOST_GAPS:
        # Too many to know by their order: then each has the lines of the working that differ in full.
        differ = [any(len(set(words)) > 1 for words in line) for line in working]
        lines = [tuple(map(plain, zip(*line))) for line, differs in zip(working, differ) if differs]
        told = tuple("; ".join(of_one) for of_one in zip(*lines))
        own = [*with_context(text, told), told, *gaps([advice])]
        shown = [line for line, differs in zip(shown, differ) if not differs]
    return Shared(
        plain(filter(None, map(worst_of, text))).removesuffix(":"),
        shown,
        plain(as_on_form(words) for words in advice if len(set(words)) == 1 or not is_passed_on(words[0])),
        list(zip(group, map(list, zip(*own)) if own else ([] for _ in group))),
    )


class RowGroup(NamedTuple):
    """Rows that have some of their own words the same: these, and of each row what is left."""

    same: list[str]
    rows: list[tuple[Gathered, list[str]]]


def group_rows(shared: Shared) -> list[RowGroup]:
    """The rows in groups that have the same for some of their words, for all or for none, whichever needs the fewest lines."""
    every = range(shared.own_words)
    ways = [tuple(every[first:last]) for first in every for last in range(first + 1, len(every) + 1)]
    apart = _grouped(shared, ())
    best = min((_grouped(shared, keys) for keys in ways), key=_room, default=apart)
    return best if _room(best)[0] < _room(apart)[0] else apart


def _grouped(shared: Shared, keys: tuple[int, ...]) -> list[RowGroup]:
    groups: dict[tuple[str, ...], list[tuple[Gathered, list[str]]]] = {}
    for each, own in shared.rows:
        left = [word for at, word in enumerate(own) if at not in keys]
        groups.setdefault(tuple(own[at] for at in keys), []).append((each, left))
    # A row that shares its words with no other has them all.
    alone = {id(rows[0][0]) for rows in groups.values() if keys and len(rows) == 1}
    whole = [row for row in shared.rows if id(row[0]) in alone]
    grouped = [RowGroup(list(same), rows) for same, rows in sorted(groups.items()) if id(rows[0][0]) not in alone]
    return [*([RowGroup([], whole)] if whole else []), *grouped]


def _room(groups: list[RowGroup]) -> tuple[int, int]:
    """About how many lines the groups take, and how many letters."""
    lines = letters = 0
    for same, rows in groups:
        lines, taken, near = lines + 1, sum(len(word) + 2 for word in same), ""
        for each, own in rows:
            size = sum(len(word) + 2 for word in (each.first.subject, *own))
            for finding in {id(end): end for end in (each.first, each.last) if end.about}.values():
                path = finding.span.source.path
                size += _A_PLACE + (len(posixpath.basename(path)) if path != near else 0)
                near = path
            if taken and taken + size > _A_LINE:
                lines, taken = lines + 1, 0
            taken += size
            letters += size
        letters += sum(map(len, same))
    return lines, letters
