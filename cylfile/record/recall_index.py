"""
The recalls of a record, dealt out by what they ask for, so that a card is held against a few of them.
"""

from collections import defaultdict
from collections.abc import Hashable, Iterable
from typing import TypeVar

from cylfile.record.blocks import Cylinder, Recall
from cylfile.record.serials import figures_of

_Numbered = list[tuple[int, Recall]]
_Key = TypeVar("_Key", bound=Hashable)


class RecallIndex:
    """
    Tells which recalls may fit a card, or lack something on it.

    Each stands by its serial numbers, else by its maker, its class, or by nothing.
    """

    def __init__(self, recalls: list[Recall]):
        # By what a pattern begins with; by what a range begins with, how wide it is and where it lies.
        self._by_pattern: dict[str, _Numbered] = defaultdict(list)
        self._by_range: dict[tuple[str, int, int], _Numbered] = defaultdict(list)
        self._widths: set[int] = set()
        self._by_maker: dict[str, _Numbered] = defaultdict(list)
        self._by_class: dict[str, _Numbered] = defaultdict(list)
        self._by_nothing: _Numbered = []
        for numbered in enumerate(recalls):
            recall = numbered[1]
            if recall.serials:
                for serials in recall.serials:
                    self._take_in(serials, numbered)
            elif recall.maker is not None:
                self._by_maker[folded(recall.maker)].append(numbered)
            elif recall.class_name is not None:
                self._by_class[recall.class_name].append(numbered)
            else:
                self._by_nothing.append(numbered)

    def _take_in(self, serials: str | tuple[str, str], numbered: tuple[int, Recall]) -> None:
        if isinstance(serials, str):
            self._by_pattern[serials.casefold().partition("*")[0]].append(numbered)
            return
        first, last = (figures_of(each.casefold()) for each in serials)
        if first is None or last is None:
            self._by_pattern[""].append(numbered)
            return
        low, high = int(first[1]), int(last[1])
        # Cut into pieces of a width that is a power of two and no less than its own, it lies in one or in two of them.
        width = max(high - low, 0).bit_length()
        self._widths.add(width)
        for piece in {low >> width, high >> width}:
            self._by_range[first[0], width, piece].append(numbered)

    def _of_serial(self, serial: str | None) -> _Numbered:
        if serial is None:
            return _of(self._by_pattern, None) + _of(self._by_range, None)
        serial = serial.casefold()
        found = _of(self._by_pattern, [serial[:end] for end in range(len(serial) + 1)])
        figures = figures_of(serial)
        if figures is not None:
            number = int(figures[1])
            found += _of(self._by_range, [(figures[0], width, number >> width) for width in self._widths])
        return found

    def about(self, card: Cylinder, class_name: str | None) -> list[Recall]:
        """All recalls that fit a card, or of which it lacks a property, in the order of the record; and some that do not fit."""
        found = [
            *self._by_nothing,
            *self._of_serial(card.serial),
            *_of(self._by_maker, None if card.maker is None else [folded(card.maker)]),
            *_of(self._by_class, None if class_name is None else [class_name]),
        ]
        return [recall for _, recall in sorted(dict(found).items())]


def _of(table: dict[_Key, _Numbered], keys: Iterable[_Key] | None) -> _Numbered:
    """The recalls by some keys; all of them where the card does not say."""
    lists = table.values() if keys is None else (table[key] for key in keys if key in table)
    return [each for numbered in lists for each in numbered]


def folded(name: str) -> str:
    """A maker's name as it is compared: without a difference of letters and blanks."""
    return " ".join(name.split()).casefold()
