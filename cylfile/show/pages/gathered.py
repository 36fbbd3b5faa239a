"""
Findings told together: those of one rule on one cylinder as one, and what is the same of several cylinders once.

Two findings say the same where their sentences have the same words but for figures, days and the texts that a rule
only passes on, such as a name or why a cylinder is barred. What differs is told from the least to the greatest, and
so has the worst case in it whichever way is the worse.
"""

import posixpath
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import chain, groupby
from typing import NamedTuple

from cylfile.findings.finding import Finding
from cylfile.packs.rule import Rule
from cylfile.packs.ruleset import Ruleset
from cylfile.packs.wording import NOT_KNOWN

_NUMBER = re.compile(r"-?[0-9]{1,3}(?:,[0-9]{3})+(?:\.[0-9]+)?|-?[0-9]+(?:\.[0-9]+)?")
_FIGURE = re.compile("-?[0-9]")
_DAY = re.compile("[0-9]{4}-[0-9]{2}(?:-[0-9]{2})?")
# A word between what stands around it: `(2026-06-30),` is the day and its signs.
_WORD = re.compile(r"([(`\"]*)(.*?)([)`\".,:;]*)", re.DOTALL)
# Around a text that a rule passes on, and in place of its blanks, while it counts as one word.
_OPEN, _CLOSE, _BLANK = "\x02", "\x03", "\x1f"
_WITHOUT_MARKS = str.maketrans({_OPEN: "", _CLOSE: "", _BLANK: " "})
# The shape of a word that is a figure or a day of the calendar; and the word whose plural makes no difference.
_A_FIGURE, _ONE_DAY, _DAYS = "#", "day", "days"
_NOT_KNOWN = f"not{_BLANK}known"
# What stands between the ends of a span, and, as on a form, for what each of several has of its own.
_TO, _EACH, _OTHER = " to ", "_", "/"
# Names up to this long are told side by side, longer texts only of each.
_SHORT = 20
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
# How many words before a figure tell what it is, and the signs that end it.
_BEFORE, _SIGNS = 2, ",;:"


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
        return [plain([word]) for words in self.sentences for word in map(inner_of, words) if _BLANK in word]


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


def plain(words: Iterable[str]) -> str:
    """Words as they are read."""
    return " ".join(words).translate(_WITHOUT_MARKS)


def _kind_of(finding: Finding, sentences: Iterable[Sequence[str]]) -> tuple:
    words = tuple(tuple(map(_shape_of, sentence)) for sentence in sentences)
    return finding.rule, finding.level, finding.excuse, words


def inner_of(word: str) -> str:
    return _parted(word)[1]


def _parted(word: str) -> tuple[str, str, str]:
    """The signs before a word, the word, and the signs after it."""
    if _OPEN in word:
        before, _, rest = word.partition(_OPEN)
        inner, _, after = rest.rpartition(_CLOSE)
        return before, inner, after
    found = _WORD.fullmatch(word)
    assert found is not None, "anything is a word between signs"
    before, inner, after = found.groups()
    return before, inner, after


def _shape_of(word: str) -> str:
    """The word, without its plural; of a figure, a day or a text that is passed on only that it is one."""
    before, inner, after = _parted(word)
    if _OPEN in word:
        return f"{before}{_A_FIGURE}{after}"
    if _FIGURE.match(inner) or inner == _NOT_KNOWN:
        return _A_FIGURE
    return _ONE_DAY if inner == _DAYS else word


def _sentences(finding: Finding, rule: Rule | None) -> list[list[str]]:
    if rule is None:
        return [sentence.split(" ") for sentence in (finding.text, *finding.working, finding.advice)]
    return [
        _words(finding.text, rule.texts_said),
        *(_words(line, rule.texts_worked_with) for line in finding.working),
        _words(finding.advice, rule.texts_advised),
    ]


def _words(sentence: str, texts_in: Callable[[str], list[tuple[int, int]]]) -> list[str]:
    """The words of a sentence; a text that the rule passes on is one word."""
    if not {_OPEN, _CLOSE, _BLANK} & set(sentence):
        for start, end in reversed(texts_in(sentence)):
            passed_on = sentence[start:end].replace(" ", _BLANK)
            sentence = f"{sentence[:start]}{_OPEN}{passed_on}{_CLOSE}{sentence[end:]}"
        sentence = sentence.replace(NOT_KNOWN, _NOT_KNOWN)
    return sentence.split(" ")


def _as_one(found: list[tuple[Finding, list[list[str]]]]) -> Gathered:
    findings = [finding for finding, _ in found]
    return Gathered(findings, [[*map(span_of, zip(*alike))] for alike in zip(*(sentences for _, sentences in found))])


def span_of(words: Sequence[str]) -> str:
    """
    One word where all are the same, else the least and the greatest of figures and days, each of which may be a span.

    What stands in backquotes is said as it was written: a figure there may be a name, and has no least and no greatest.
    """
    distinct = list(dict.fromkeys(words))
    if len(distinct) == 1:
        return distinct[0]
    parts = [_parted(word) for word in distinct]
    before, after = parts[0][0], parts[0][2]
    inner = [part[1] for part in parts]
    if _DAYS in inner:
        return f"{before}{_DAYS}{after}"
    or_not_known = f"{_OTHER}{_NOT_KNOWN}" if any(each.endswith(_NOT_KNOWN) for each in inner) else ""
    ends = [end for each in inner if each != _NOT_KNOWN for end in each.removesuffix(or_not_known).split(_TO)]
    for pattern, key in ((_DAY, str), (_NUMBER, _value)):
        if not before.endswith("`") and all(map(pattern.fullmatch, ends)):
            first, last = min(ends, key=key), max(ends, key=key)
            return f"{before}{first if first == last else f'{first}{_TO}{last}'}{or_not_known}{after}"
    if _OPEN in distinct[0]:
        names = dict.fromkeys(name for each in inner for name in each.split(_OTHER))
        return f"{before}{_OPEN}{_OTHER.join(names)}{_CLOSE}{after}"
    return f"{before}{_OTHER.join(inner)}{after}"


def _value(number: str) -> float:
    return float(number.replace(",", ""))


def _shared(group: list[Gathered]) -> Shared:
    columns = [list(_word_by_word(zip(*alike))) for alike in zip(*(each.sentences for each in group))]
    text, *working, advice = columns
    text = _without_asides(text, _gaps([*working, advice]))
    own, shown = _gaps([text, *working, advice]), [plain(map(_open, line)) for line in working]
    if len(group) > _TOO_MANY:
        # Nobody works out so many one by one.
        own = list(dict.fromkeys([*_gaps([text]), *_gaps([*working, advice], _is_passed_on)]))
        shown = [
            plain(_open(words) if _is_passed_on(words[0]) else span_of(words) for words in line) for line in working
        ]
    elif len(own) > _MOST_GAPS:
        # Too many to know by their order: then each has the lines of the working that differ in full.
        differ = [any(len(set(words)) > 1 for words in line) for line in working]
        lines = [tuple(map(plain, zip(*line))) for line, differs in zip(working, differ) if differs]
        told = tuple("; ".join(of_one) for of_one in zip(*lines))
        own = [*_with_context(text, told), told, *_gaps([advice])]
        shown = [line for line, differs in zip(shown, differ) if not differs]
    return Shared(
        plain(filter(None, map(_worst_of, text))).removesuffix(":"),
        shown,
        plain(_open(words) for words in advice if len(set(words)) == 1 or not _is_passed_on(words[0])),
        list(zip(group, map(list, zip(*own)) if own else ([] for _ in group))),
    )


def _word_by_word(column: Iterable[tuple[str, ...]]) -> Iterator[tuple[str, ...]]:
    """The words of a sentence; those of texts that are passed on one by one, where these say the same of all."""
    for words in column:
        apart = {tuple(map(_shape_of, word.translate(_WITHOUT_MARKS).split(" "))) for word in words}
        if _is_passed_on(words[0]) and len(apart) == 1 and len(set(words)) > 1:
            yield from zip(*(word.translate(_WITHOUT_MARKS).split(" ") for word in words))
        else:
            yield words


def _differs(word: str) -> bool:
    """Whether a word is one by which what says the same may differ."""
    return _is_passed_on(word) or _shape_of(word) == _A_FIGURE


def _is_passed_on(word: str) -> bool:
    return _OPEN in word


def _gaps(columns: Iterable[list[tuple[str, ...]]], differs: Callable[[str], bool] = _differs) -> list[tuple[str, ...]]:
    """What stands in each gap between words that all share, one a subject; each once."""
    return list(dict.fromkeys(own for column in columns for _, _, own in _runs(column, differs)))


def _runs(column: list[tuple[str, ...]], differs: Callable[[str], bool]) -> Iterator[tuple[int, int, tuple[str, ...]]]:
    """The first and the last place of each gap of a sentence, and what stands there."""
    for is_gap, run in groupby(enumerate(column), lambda place: len(set(place[1])) > 1 and differs(place[1][0])):
        if is_gap:
            places = list(run)
            yield places[0][0], places[-1][0], _own([words for _, words in places])


def _own(gap: list[tuple[str, ...]]) -> tuple[str, ...]:
    """What stands in a gap, without the signs around it that all its words have."""
    whole = [_parted(" ".join(words)) for words in zip(*gap)]
    before, after = (signs.pop() if len(signs := {part[at] for part in whole}) == 1 else "" for at in (0, 2))
    return tuple(plain(["".join(part).removeprefix(before).removesuffix(after)]) for part in whole)


def _with_context(column: list[tuple[str, ...]], told: Sequence[str]) -> Iterator[tuple[str, ...]]:
    """What stands in each gap and is not `told`, with a word or two around it."""
    for first, last, own in _runs(column, _differs):
        if not all(f" {word} " in f" {line} " for word, line in zip(own, told)):
            around = column[max(first - _BEFORE, 0) : last + 2]
            yield tuple(plain(words).strip(_SIGNS) for words in zip(*around))


def _without_asides(text: list[tuple[str, ...]], gaps: list[tuple[str, ...]]) -> list[tuple[str, ...]]:
    """A sentence without what differs and stands in parentheses, where each subject has it among its words as it is."""
    kept: list[tuple[str, ...]] = []
    for words in text:
        opened, _, closed = _parted(words[0])
        if kept and opened == "(" and closed[:1] == ")" and _inner(words) in gaps:
            kept[-1] = tuple(f"{word}{closed[1:]}" for word in kept[-1])
        else:
            kept.append(words)
    return kept


def _inner(words: Sequence[str]) -> tuple[str, ...]:
    return tuple(map(inner_of, words))


def _worst_of(words: Sequence[str]) -> str:
    """The span of the words; of what is too long to stand side by side only that each has its own, or nothing."""
    span = span_of(words)
    if len(set(words)) == 1 or _OTHER not in span or len(span) <= _SHORT:
        return span
    return "" if _is_passed_on(words[0]) else _open(words)


def _open(words: Sequence[str]) -> str:
    """The word, or that each has its own."""
    if len(set(words)) == 1 or not _differs(words[0]):
        return span_of(words)
    before, _, after = _parted(words[0])
    return f"{before}{_EACH}{after}"


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
