"""
What stands beside a cylinder's name wherever it is shown: what it is, where, and whether it may be filled.
"""

import re
from collections.abc import Iterable
from typing import NamedTuple

from cylfile.findings.finding import Finding
from cylfile.history.life import Life
from cylfile.judging.fill_verdict import Reason, doubts, must_not_be_filled
from cylfile.packs.ruleset import Ruleset
from cylfile.packs.wording import in_words
from cylfile.record.record import Record

_NUMBER = re.compile("([0-9]+)")


class Head(NamedTuple):
    """
    The head of one cylinder's card on a day, in words; empty where something is not known.

    `gone` says since when it is condemned or retired. `reasons` say why it must not be filled; `in_use` that it is
    in service, or was used though it was taken out of service, condemned or retired.
    """

    name: str
    kind: str
    rated: str
    made: str
    site: str
    gone: str
    reasons: list[Reason]
    in_use: bool
    class_name: str

    @property
    def is_barred(self) -> bool:
        """Whether somebody might take it for a cylinder to fill, and must not."""
        return bool(self.reasons) and (self.in_use or not self.gone)

    @property
    def in_short(self) -> str:
        """As `words`, with the name of its class in place of the title."""
        parts = (self.class_name or "of no known kind", self.rated, self.made and f"made {self.made}", self.site)
        return ", ".join(part for part in parts if part)

    @property
    def words(self) -> str:
        """What it is and where, in one line."""
        parts = (self.kind or "of no known kind", self.rated, self.made and f"made {self.made}", self.site)
        return ", ".join(part for part in parts if part)


def head_of(
    record: Record, rules: Ruleset, life: Life, findings: list[Finding], elsewhere: Iterable[Reason] = ()
) -> Head:
    """
    The head of a cylinder, of which `findings` are the rules' on its own card and entries. `elsewhere` is what other
    records of a county have against it.
    """
    known = rules.classes.get(life.class_name or "")
    site = record.sites.get(life.site or "")
    gone = f"condemned {life.condemned_day}" if life.condemned_day else ""
    gone = f"retired {life.retired_day}" if life.retired_day else gone
    return Head(
        life.name,
        # What comes after a semicolon in a title is advice for writing the card.
        known.title.partition(";")[0] if known else life.class_name or life.cylinder.class_name or "",
        life.rated_as_written or in_words(life.rated, "pressure", life.pressure_unit) if life.rated else "",
        str(life.made or ""),
        site.title if site else life.site or "",
        gone,
        [*must_not_be_filled(life, rules, doubts(record, life.name), findings), *elsewhere],
        life.in_service or life.used_though_out is not None,
        life.class_name or life.cylinder.class_name or "",
    )


def natural(name: str) -> tuple:
    """Sort key by which K-9 comes before K-10, and capitals make no difference but between the same names."""
    parts = _NUMBER.split(name.lower())
    return tuple(int(part) if index % 2 else part for index, part in enumerate(parts)), name
