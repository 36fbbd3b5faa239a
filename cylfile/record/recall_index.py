"""
The recalls of a record, dealt out by what they ask for, so that a card is held against a few of them.
"""

from collections import defaultdict
from collections.abc import Iterable
from itertools import takewhile

from cylfile.record.blocks import Cylinder, Recall
from cylfile.record.serials import figures_of

_Numbered = list[tuple[int, Recall]]


class RecallIndex:
    """
    Tells which recalls may fit a card, or lack something on it.

    Each stands by the beginning of its serial numbers, else by its maker, its class, or by nothing.
    """

    def __init__(self, recalls: list[Recall]):
        self._by_serial: dict[str, _Numbered] = defaultdict(list)
        self._by_maker: dict[str, _Numbered] = defaultdict(list)
        self._by_class: dict[str, _Numbered] = defaultdict(list)
        self._by_nothing: _Numbered = []
        for numbered in enumerate(recalls):
            recall = numbered[1]
            if recall.serials:
                for beginning in {_beginning(each) for each in recall.serials}:
                    self._by_serial[beginning].append(numbered)
            elif recall.maker is not None:
                self._by_maker[folded(recall.maker)].append(numbered)
            elif recall.class_name is not None:
                self._by_class[recall.class_name].append(numbered)
            else:
                self._by_nothing.append(numbered)

    def about(self, card: Cylinder, class_name: str | None) -> list[Recall]:
        """All recalls that fit a card, or of which it lacks a property, in the order of the record; and some that do not fit."""
        serial = None if card.serial is None else card.serial.casefold()
        beginnings = None if serial is None else [serial[:end] for end in range(len(serial) + 1)]
        found = [
            *self._by_nothing,
            *_of(self._by_serial, beginnings),
            *_of(self._by_maker, None if card.maker is None else [folded(card.maker)]),
            *_of(self._by_class, None if class_name is None else [class_name]),
        ]
        return [recall for _, recall in sorted(dict(found).items())]


def _of(table: dict[str, _Numbered], keys: Iterable[str] | None) -> Iterable[tuple[int, Recall]]:
    """The recalls by some keys; all of them where the card does not say."""
    lists = table.values() if keys is None else (table[key] for key in keys if key in table)
    return (each for numbered in lists for each in numbered)


def _beginning(pattern: str | tuple[str, str]) -> str:
    """What every serial number that a pattern or a range means begins with."""
    if isinstance(pattern, str):
        return pattern.casefold().partition("*")[0]
    first, last = (figures_of(each.casefold()) for each in pattern)
    if first is None or last is None:
        return ""
    # Numbers of as many figures lie between the two only if they begin as both do.
    alike = takewhile(lambda pair: pair[0] == pair[1], zip(first[1], last[1])) if len(first[1]) == len(last[1]) else ()
    return first[0] + "".join(figure for figure, _ in alike)


def folded(name: str) -> str:
    """A maker's name as it is compared: without a difference of letters and blanks."""
    return " ".join(name.split()).casefold()
