"""
The core rules: what the reader and the histories find wrong whatever packs are laid over them.
"""

from typing import NamedTuple


class CoreRule(NamedTuple):
    """A rule that is always on: its level unless a pack sets another, and what it means."""

    level: str
    meaning: str


CORE_RULES = {
    "unreadable-line": CoreRule("danger", "A line could not be read, so the history has a hole here."),
    "unreadable-folder": CoreRule(
        "danger", "A folder or a file could not be looked into, so nobody knows what it says."
    ),
    "unknown-name": CoreRule("warning", "A cylinder, person, site, source or tester that no block declares."),
    "name-taken": CoreRule("danger", "Two blocks, two serial numbers or two tags of one name."),
    "serial-in-two-records": CoreRule("caution", "One serial number is in service in two departments at once."),
    "no-rules": CoreRule("warning", "The department names no rules, so only the core checks were made."),
    "no-class": CoreRule("warning", "Neither class nor marking tells what kind of cylinder it is."),
    "marking-disagrees": CoreRule("warning", "Class or rated pressure on the card contradicts the marking."),
    "laxer-than-class": CoreRule("warning", "A figure on the card is laxer than the specification's, and is not used."),
    "cannot-judge": CoreRule("caution", "A rule could not be judged for want of a fact."),
    "same-entry-twice": CoreRule("caution", "Two entries that say exactly the same."),
    "out-of-order-life": CoreRule("danger", "An entry that cannot stand where it does in a cylinder's life."),
    "never-entered-service": CoreRule("caution", "A cylinder is in use that never entered service."),
    "future-entry": CoreRule("warning", "An entry dated after the day the record is judged for."),
    "seal-broken": CoreRule("danger", "A sealed period no longer says what it said when it was sealed."),
    "late-entry": CoreRule("notice", "A line written after the day it speaks of, with who wrote it and why."),
    "order-not-told": CoreRule("warning", "What lines of one day mean depends on an order that nothing tells."),
    "waiver-unused": CoreRule("notice", "A waiver that covers no finding."),
    "waiver-expired": CoreRule("warning", "A waiver that has run out while what it waived goes on."),
    "two-places-at-once": CoreRule("caution", "One person or one cylinder at two sites, closer in time than can be."),
}
