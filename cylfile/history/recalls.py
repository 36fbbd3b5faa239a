"""
Which recalls mean a cylinder.

A recall means the cylinders that fit all of the properties it has. Letters are the same small
or capital, since a maker's notice and a card are seldom written alike, and a cylinder too many
that is looked at does less harm than one too few. Where a card lacks a property that a recall
asks for, and nothing else on it rules the cylinder out, nobody can tell.
"""

from datetime import date
from typing import TYPE_CHECKING

from cylfile.record.blocks import Cylinder, Recall
from cylfile.record.entries import Entry, write_text
from cylfile.record.recall_index import folded
from cylfile.record.serials import in_serials

if TYPE_CHECKING:
    from cylfile.history.life import Life


class Recalls:
    """
    The recalls of a record that mean one cylinder, or may mean it.

    `certain` are those that do, by day; `in_doubt` those of which the card lacks a property.
    """

    __slots__ = ("certain", "in_doubt")

    def __init__(self, card: Cylinder, class_name: str | None, recalls: list[Recall]):
        self.certain: list[Recall] = []
        self.in_doubt: list[Recall] = []
        for recall in sorted(recalls, key=lambda recall: recall.day):
            fits = _fits(card, class_name, recall)
            if not fits or False in fits.values():
                continue
            (self.in_doubt if None in fits.values() else self.certain).append(recall)

    def means(self, day: date, and_on_it: bool) -> list[Recall]:
        """Those of `certain` that were made before a day, and where `and_on_it` is true on the day itself."""
        return [recall for recall in self.certain if _made(recall, day, and_on_it)]

    def may_mean(self, day: date, and_on_it: bool) -> bool | None:
        """Whether a recall of before the day means the cylinder; None where nobody can tell."""
        if self.means(day, and_on_it):
            return True
        return None if any(_made(recall, day, and_on_it) for recall in self.in_doubt) else False


def _made(recall: Recall, day: date, and_on_it: bool) -> bool:
    return recall.day < day or (and_on_it and recall.day == day)


def _fits(card: Cylinder, class_name: str | None, recall: Recall) -> dict[str, bool | None]:
    """Of each property that a recall has, whether the cylinder fits it; None where its card does not say."""
    fits: dict[str, bool | None] = {}
    if recall.class_name is not None:
        fits["class"] = None if class_name is None else class_name == recall.class_name
    if recall.maker is not None:
        fits["maker"] = None if card.maker is None else folded(card.maker) == folded(recall.maker)
    if recall.serials:
        fits["serial"] = None if card.serial is None else any(in_serials(card.serial, each) for each in recall.serials)
    if recall.made is not None:
        first, last = recall.made
        made = card.made
        fits["made"] = (
            None if made is None else (first.year, first.month) <= (made.year, made.month) <= (last.year, last.month)
        )
    return fits


# The facts of the pack language: of a cylinder's life and a fill, or with None for the as-of day.


def recalled(life: "Life", entry: Entry | None) -> bool | None:
    """Whether a recall of an earlier day means a cylinder that is filled, or one of today one that is in service."""
    if life.recalls is None or (entry is None and not life.in_service):
        return False
    return life.recalls.may_mean(life.as_of if entry is None else entry.day, entry is None)


def recall_day(life: "Life", entry: Entry | None) -> date | None:
    return min((recall.day for recall in _meaning(life, entry)), default=None)


def recall_titles(life: "Life", entry: Entry | None) -> str | None:
    return "; ".join(f"{write_text(recall.title)} of {recall.day}" for recall in _meaning(life, entry)) or None


def _meaning(life: "Life", entry: Entry | None) -> list[Recall]:
    if life.recalls is None:
        return []
    return life.recalls.means(life.as_of if entry is None else entry.day, entry is None)
