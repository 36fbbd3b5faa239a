"""
Cylinders that one department of a county has of another.

A department goes by its text. A record knows nothing of its neighbors: what is said here is seen only where several
are looked at together.
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from cylfile.history.barring import Bar
from cylfile.history.life import Life
from cylfile.history.order import in_order, told
from cylfile.history.sources.air_path import Holding, lets_out
from cylfile.record.blocks import Cylinder
from cylfile.record.entries import Entry
from cylfile.record.record import Record


class Neighbor(NamedTuple):
    """A department as others know it: its text, and the texts of its sites by their names."""

    title: str
    sites: Mapping[str, str]

    def goes_by(self, words: str | None) -> bool:
        return bool(self.title) and words is not None and words.casefold() == self.title.casefold()


class Loan(NamedTuple):
    """A cylinder that is with another department than its owner's: its name on the card of the one, else of the other."""

    name: str
    serial: str | None
    owner: str
    keeper: str


def neighbor(record: Record) -> Neighbor:
    title = record.department.title if record.department else ""
    return Neighbor(title, {name: site.title for name, site in record.sites.items()})


def is_with(site: str | None, own: Neighbor, other: Neighbor) -> bool:
    """
    Whether a cylinder that a record has at a site is with another department.

    That is so at a site of its own that has the other's text, and at one that it does not declare and the other does.
    """
    if site is None:
        return False
    return other.goes_by(own.sites[site]) if site in own.sites else site in other.sites


def loans_between(each: Sequence[tuple[Record, Iterable[Life]]]) -> list[Loan]:
    """What departments have of each other: as the owner's record says by `moved`, or the keeper's by `owner`."""
    departments = [neighbor(record) for record, _ in each]
    by_owner: list[Loan] = []
    by_keeper: list[Loan] = []
    for own, (_, lives) in zip(departments, each):
        others = [(other, record) for other, (record, _) in zip(departments, each) if other is not own and other.title]
        for life in lives:
            card = life.cylinder
            if life.retired_day or life.condemned_day or not own.title:
                continue
            away = [other for other, _ in others if is_with(life.site, own, other)]
            owners = [(other, record) for other, record in others if other.goes_by(card.owner)]
            if owners and owners[0][0] not in away:
                owner, record = owners[0]
                by_keeper.append(Loan(_name_in(record, card), card.serial, owner.title, own.title))
            elif not owners and len(away) == 1:
                by_owner.append(Loan(card.name, card.serial, own.title, away[0].title))
    return list(dict.fromkeys([*by_owner, *by_keeper]))


def _name_in(record: Record, card: Cylinder) -> str:
    """The name in another record of the cylinder of a card; that on the card where the other has none of its serial."""
    same = (other.name for other in record.cylinders.values() if _is_same(card, other))
    return next(same, card.name)


def _is_same(card: Cylinder, other: Cylinder) -> bool:
    """Whether two cards have one serial number."""
    return card.serial is not None and other.serial is not None and card.serial.casefold() == other.serial.casefold()


def written_elsewhere(card: Cylinder, others: Iterable[Record]) -> list[tuple[str, list[Entry]]]:
    """What other records say of the cylinder of a serial number: the text of each one's department, and the entries."""
    return [
        (neighbor(record).title, in_order(record.entries.get(other.name, ())).entries)
        for record in others
        for other in record.cylinders.values()
        if _is_same(card, other)
    ]


_COPY_IT = "Copy that line to its card here, or correct the serial number, or strike the line there if it is wrong."
_EMPTY_IT = "Empty it and write `emptied` on its card here, or correct the serial number."
_SUSPECT_AIR = "suspect-air"
# What bars a cylinder at a department alone, which may have given it back.
_THERE_ALONE = ("retired", "out-of-service")


def barred_elsewhere(entries: Iterable[Entry], elsewhere: Iterable[Bar]) -> list[Bar]:
    """
    Those of another department's bars of a cylinder that hold here too: all that tell of the cylinder itself.

    `entries` are those of the own record. One of them that has the verb and the day of a bar's entry is its copy, and
    bars by itself. Suspect air is gone with all that was in the cylinder.
    """
    own = list(entries)
    copied = {(entry.verb, entry.day) for entry in own}
    letting_out = [entry for entry in own if lets_out(entry) and entry.struck is None]
    return [
        bar
        for bar in elsewhere
        if bar.kind not in _THERE_ALONE
        and (
            not any(told(bar.entry, entry) == -1 for entry in letting_out)
            if bar.kind == _SUSPECT_AIR
            else (bar.entry.verb, bar.day) not in copied
        )
    ]


def bars_of(life: Life, suspicion: Holding | None) -> list[Bar]:
    """What bars a cylinder of a record, as others ask that: the air too that it took there and is a suspicion."""
    if suspicion is None:
        return life.bars
    fill, sample = suspicion.fill_of_cylinder, suspicion.stretch.sample
    because = f"sample of {sample.subject} failed {sample.day}"
    return [*life.bars, Bar(_SUSPECT_AIR, fill.day, because, fill, False)]


def advice_on(bar: Bar) -> str:
    """What to do here about a bar there."""
    return _EMPTY_IT if bar.kind == _SUSPECT_AIR else _COPY_IT
