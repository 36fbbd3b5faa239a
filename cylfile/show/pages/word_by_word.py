"""
Sentences of several beside each other, word by word: which words say the same, and what each has of its own.

Aligned sentences hold, of each word, that of each of several who are told of in the same words; what differs
between them are figures, days and the texts that a rule only passes on, each of which counts as one word.
"""

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import groupby

from cylfile.packs.wording import NOT_KNOWN

# The words of a sentence, each as it is of each of several.
Aligned = list[tuple[str, ...]]

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
# How many words before a figure tell what it is, and the signs that end it.
_BEFORE, _SIGNS = 2, ",;:"


def plain(words: Iterable[str]) -> str:
    """Words as they are read."""
    return " ".join(words).translate(_WITHOUT_MARKS)


def long_texts_in(words: Iterable[str]) -> list[str]:
    """The texts of several words that the rule passes on in a sentence."""
    return [plain([inner]) for _, inner, _ in map(parted, words) if _BLANK in inner]


def parted(word: str) -> tuple[str, str, str]:
    """The signs before a word, the word, and the signs after it."""
    if _OPEN in word:
        before, _, rest = word.partition(_OPEN)
        inner, _, after = rest.rpartition(_CLOSE)
        return before, inner, after
    found = _WORD.fullmatch(word)
    assert found is not None, "anything is a word between signs"
    before, inner, after = found.groups()
    return before, inner, after


def shape_of(word: str) -> str:
    """The word, without its plural; of a figure, a day or a text that is passed on only that it is one."""
    before, inner, after = parted(word)
    if _OPEN in word:
        return f"{before}{_A_FIGURE}{after}"
    if _FIGURE.match(inner) or inner == _NOT_KNOWN:
        return _A_FIGURE
    return _ONE_DAY if inner == _DAYS else word


def words_of(sentence: str, texts_in: Callable[[str], list[tuple[int, int]]]) -> list[str]:
    """The words of a sentence; a text that the rule passes on is one word."""
    if not {_OPEN, _CLOSE, _BLANK} & set(sentence):
        for start, end in reversed(texts_in(sentence)):
            passed_on = sentence[start:end].replace(" ", _BLANK)
            sentence = f"{sentence[:start]}{_OPEN}{passed_on}{_CLOSE}{sentence[end:]}"
        sentence = sentence.replace(NOT_KNOWN, _NOT_KNOWN)
    return sentence.split(" ")


def span_of(words: Sequence[str]) -> str:
    """
    One word where all are the same, else the least and the greatest of figures and days, each of which may be a span.

    What stands in backquotes is said as it was written: a figure there may be a name, and has no least and no greatest.
    """
    distinct = list(dict.fromkeys(words))
    if len(distinct) == 1:
        return distinct[0]
    parts = [parted(word) for word in distinct]
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


def word_by_word(column: Iterable[tuple[str, ...]]) -> Iterator[tuple[str, ...]]:
    """The words of a sentence; those of texts that are passed on one by one, where these say the same of all."""
    for words in column:
        apart = {tuple(map(shape_of, word.translate(_WITHOUT_MARKS).split(" "))) for word in words}
        if is_passed_on(words[0]) and len(apart) == 1 and len(set(words)) > 1:
            yield from zip(*(word.translate(_WITHOUT_MARKS).split(" ") for word in words))
        else:
            yield words


def _differs(word: str) -> bool:
    """Whether a word is one by which what says the same may differ."""
    return is_passed_on(word) or shape_of(word) == _A_FIGURE


def is_passed_on(word: str) -> bool:
    return _OPEN in word


def gaps(columns: Iterable[Aligned], differs: Callable[[str], bool] = _differs) -> list[tuple[str, ...]]:
    """What stands in each gap between words that all share, one a subject; each once."""
    return list(dict.fromkeys(own for column in columns for _, _, own in _runs(column, differs)))


def _runs(column: Aligned, differs: Callable[[str], bool]) -> Iterator[tuple[int, int, tuple[str, ...]]]:
    """The first and the last place of each gap of a sentence, and what stands there."""
    for is_gap, run in groupby(enumerate(column), lambda place: len(set(place[1])) > 1 and differs(place[1][0])):
        if is_gap:
            places = list(run)
            yield places[0][0], places[-1][0], _own([words for _, words in places])


def _own(gap: Aligned) -> tuple[str, ...]:
    """What stands in a gap, without the signs around it that all its words have."""
    whole = [parted(" ".join(words)) for words in zip(*gap)]
    before, after = (signs.pop() if len(signs := {part[at] for part in whole}) == 1 else "" for at in (0, 2))
    return tuple(plain(["".join(part).removeprefix(before).removesuffix(after)]) for part in whole)


def with_context(column: Aligned, told: Sequence[str]) -> Iterator[tuple[str, ...]]:
    """What stands in each gap and is not `told`, with a word or two around it."""
    for first, last, own in _runs(column, _differs):
        if not all(f" {word} " in f" {line} " for word, line in zip(own, told)):
            around = column[max(first - _BEFORE, 0) : last + 2]
            yield tuple(plain(words).strip(_SIGNS) for words in zip(*around))


def without_asides(text: Aligned, own: list[tuple[str, ...]]) -> Aligned:
    """A sentence without what differs and stands in parentheses, where each has it among its `own` words as it is."""
    kept: Aligned = []
    for words in text:
        opened, _, closed = parted(words[0])
        if kept and opened == "(" and closed[:1] == ")" and tuple(inner for _, inner, _ in map(parted, words)) in own:
            kept[-1] = tuple(f"{word}{closed[1:]}" for word in kept[-1])
        else:
            kept.append(words)
    return kept


def worst_of(words: Sequence[str]) -> str:
    """The span of the words; of what is too long to stand side by side only that each has its own, or nothing."""
    span = span_of(words)
    if len(set(words)) == 1 or _OTHER not in span or len(span) <= _SHORT:
        return span
    return "" if is_passed_on(words[0]) else as_on_form(words)


def as_on_form(words: Sequence[str]) -> str:
    """The word, or that each has its own."""
    if len(set(words)) == 1 or not _differs(words[0]):
        return span_of(words)
    before, _, after = parted(words[0])
    return f"{before}{_EACH}{after}"
