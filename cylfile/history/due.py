"""
What comes: the days on which tests, inspections, replacements, samples and changes fall due.

Only what is in service is looked at. A cylinder out of service needs its test before it returns,
and no day can be given for that.
"""

from collections.abc import Iterator
from datetime import date
from typing import NamedTuple

from cylfile.history.figures import NO_LIMIT
from cylfile.history.life import Life
from cylfile.history.sources.air_log import AirLog
from cylfile.record.blocks import AirSource
from cylfile.record.dates import NEVER, Month, month_end, months_after
from cylfile.record.entries import Entry

TEST, VISUAL, REPLACEMENT, SAMPLE, CARTRIDGE = "test", "visual", "replacement", "air-sample", "cartridge"
# Kind -> what it is called.
KINDS = {
    TEST: "hydrostatic test",
    VISUAL: "visual inspection",
    REPLACEMENT: "replacement",
    SAMPLE: "air sample",
    CARTRIDGE: "cartridge change",
}


class Due(NamedTuple):
    """
    Something that falls due on a day: `every` so many months after `since`.

    Both are None where the day stands on the card or in an extension; `every` alone where nothing is
    counted, since the air sample of that day failed. `class_name` is None for a source. `life_end` is the end of the cylinder's life where it comes within a year after
    the day, so that somebody may ask whether it is worth it.
    """

    kind: str
    subject: str
    site: str | None
    class_name: str | None
    day: date
    since: date | None = None
    every: int | None = None
    life_end: date | None = None


class Untold(NamedTuple):
    """Something that falls due on a day that nobody can tell, for want of what `lacks` names."""

    kind: str
    subject: str
    site: str | None
    lacks: str


def coming(life: Life) -> Iterator[Due | Untold]:
    """What comes for one cylinder, once each; nothing where it is not in service."""
    if not life.in_service:
        return
    end = life.life_end
    if end is None:
        yield _untold(life, REPLACEMENT, "made" if life.figures.life is not None else _figure(life, "life"))
    elif end != NEVER:
        yield _replacement(life, end)
    # Nobody tests a cylinder that is at its end before the test falls due.
    last = NEVER if end is None else end
    if life.test_due is None:
        yield _untold(life, TEST, "made" if life.test_every is not None else _figure(life, "test-every"))
    elif life.test_due != NEVER and life.test_due < last and life.as_of <= last:
        yield _due(life, TEST, life.test_due, life.test_day, life.test_every)
    if life.visual_every not in (None, NO_LIMIT) and life.as_of <= last:
        if life.visual_due is None:
            yield _untold(life, VISUAL, "visual pass")
        elif life.visual_due < last:
            yield _due(life, VISUAL, life.visual_due, life.visual_day, life.visual_every)


def _replacement(life: Life, end: date) -> Due:
    by_age = life.due(life.made, life.figures.life) if life.figures.life_until is None else None
    if end == by_age:
        return _due(life, REPLACEMENT, end, life.made, life.figures.life)
    return _due(life, REPLACEMENT, end, None, None)


def _due(life: Life, kind: str, day: date, since: date | None, every: int | None) -> Due:
    ends_soon = kind != REPLACEMENT and life.life_end is not None and life.life_end <= months_after(day, 12)
    end = life.life_end if ends_soon else None
    return Due(kind, life.name, life.site, life.class_name, day, since, every, end)


def _figure(life: Life, property: str) -> str:
    """What has to be written so that a figure is known: it itself, where the class leaves it to the card."""
    return "class" if life.class_name is None else property


def _untold(life: Life, kind: str, lacks: str) -> Untold:
    return Untold(kind, life.name, life.site, lacks)


def coming_of_sources(air: AirLog, sample_every: int | None, cartridge_every: int | None) -> Iterator[Due | Untold]:
    """
    The next air sample and the next change of cartridge of each source in use.

    The periods are calendar months, None where the rules have none. A storage without samples of its
    own goes by those of what fills it. A cartridge can be spent long before its age says so; that
    depends on what is filled.
    """
    for source in air.sources.values():
        block, state = source.block, source.latest
        if state.out is not None:
            continue
        if sample_every not in (None, NO_LIMIT) and (state.sample is not None or block.kind != "storage"):
            yield _of_source(
                block, SAMPLE, source.sample_due(sample_every), state.sample, sample_every, "air sample pass"
            )
        if cartridge_every not in (None, NO_LIMIT) and block.cartridge is not None and block.kind != "storage":
            due = source.cartridge_due(cartridge_every)
            yield _of_source(block, CARTRIDGE, due, state.change, cartridge_every, "cartridge changed")


def _of_source(
    block: AirSource, kind: str, day: date | None, last: Entry | None, every: int, lacks: str
) -> Due | Untold:
    if day is None or last is None:
        return Untold(kind, block.name, block.site, lacks)
    return Due(kind, block.name, block.site, None, day, last.day, every if day != last.day else None)


class Outlay(NamedTuple):
    """A test or a replacement to budget for in a year; `is_overdue` where it should have been before the as-of day."""

    kind: str
    subject: str
    class_name: str | None
    year: int
    is_overdue: bool


def outlays(life: Life, last_year: int) -> Iterator[Outlay]:
    """
    The tests and the replacement of a cylinder up to the end of a year.

    Each test is taken to be made when it falls due, what is overdue this year. What replaces a
    cylinder is new, and its tests are not counted.
    """
    if not life.in_service:
        return
    this_year = life.as_of.year
    end = life.life_end if life.life_end is not None else NEVER
    due = life.test_due
    while due not in (None, NEVER) and due < end and due.year <= last_year and life.as_of <= end:
        made = max(due, month_end(life.as_of)) if due < life.as_of else due
        yield Outlay(TEST, life.name, life.class_name, made.year, due < life.as_of)
        due = life.due(made, life.test_every)
    if end != NEVER and end.year <= last_year:
        yield Outlay(REPLACEMENT, life.name, life.class_name, max(end.year, this_year), end < life.as_of)


def months_from(day: date, count: int) -> list[Month]:
    """The month of a day and those after it, so many in all."""
    first = day.year * 12 + day.month - 1
    return [Month(number // 12, number % 12 + 1, 1) for number in range(first, first + count)]
