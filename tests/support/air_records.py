"""What the tests of the air share: records as text, their log, and the findings of the air pack."""

from datetime import date
from functools import cache

from cylfile.history.sources.air_log import AirLog
from cylfile.judging.by_itself import air_log
from cylfile.judging.judge import judge
from cylfile.packs.layering import load_rules
from cylfile.record.entries import Entry
from cylfile.record.reader import read_record
from cylfile.record.record import Record
from cylfile.text.source import Source

LATE = date(2030, 1, 1)


@cache
def air_rules():
    rules, faults = load_rules(["air"], lambda name: None)
    assert not faults
    return rules


def record_of(text: str) -> Record:
    record = read_record([Source("air.cyl", text)])
    assert not record.faults, [fault.text for fault in record.faults]
    return record


def log_of(text: str, as_of: date = LATE):
    """The record of a text and its air log, with the assumptions of the air pack."""
    record = record_of(text)
    return record, air_log(record, air_rules(), as_of)


class FillAir:
    """What a log says of a fill: what its source had to give, and what it had given by then."""

    def __init__(self, log: AirLog, fill: Entry):
        self.log = log
        self.fill = fill
        self.supply = log.at(fill)
        self.then = self.supply.then
        self.cartridge_used = self.supply.cartridge_used(fill)
        self.cartridge_assumed = self.supply.cartridge_assumed(fill)
        self.storage_given = self.supply.storage_given(fill)
        self.free_air = log.free_air_of(fill)

    @property
    def given(self) -> tuple:
        return self.cartridge_used, self.cartridge_assumed, self.storage_given


def last_fill(text: str, cylinder: str = "T-1") -> FillAir:
    """What the log says of the last fill of a cylinder."""
    record, log = log_of(text)
    return FillAir(log, [entry for entry in record.entries[cylinder] if entry.verb == "filled"][-1])


def findings(text: str, as_of: date, *rules: str) -> list[tuple[str, str]]:
    """Rule and subject of the findings of these rules."""
    found = judge(record_of(text), air_rules(), as_of).findings
    return sorted((finding.rule, finding.subject) for finding in found if finding.rule in rules)
