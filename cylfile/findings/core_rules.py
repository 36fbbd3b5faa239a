"""
The core rules: what the reader and the histories find wrong whatever packs are laid over them.
"""

from typing import NamedTuple


class CoreRule(NamedTuple):
    """A rule that is always on: its level unless a pack sets another, and what it means."""

    level: str
    meaning: str


CORE_RULES = {
    "unreadable-line": CoreRule("danger", "A line cannot be read, so what it says has no effect."),
    "unreadable-folder": CoreRule("danger", "A folder, a link or a file that could not be looked into."),
    "unknown-name": CoreRule("warning", "A cylinder, person, site, source or tester that no block declares."),
    "name-taken": CoreRule(
        "danger", "Two blocks with one name, two cards with one serial number, or one tag on two cylinders on one day."
    ),
    "file-names-alike": CoreRule("caution", "Two files of a record whose names are the same on some machines."),
    "serial-in-two-records": CoreRule("caution", "One serial number is in service in two records of a county at once."),
    "barred-elsewhere": CoreRule(
        "danger", "Another record of the county bars the cylinder with this serial number, and this record does not."
    ),
    "no-rules": CoreRule("warning", "The department names no rules, so only the core checks were made."),
    "samples-not-judged": CoreRule(
        "warning", "There are sources of air, and no rule pack in force that judges their samples."
    ),
    "no-class": CoreRule("warning", "Neither class nor marking tells what kind of cylinder it is."),
    "marking-disagrees": CoreRule(
        "warning",
        "Class or rated pressure on the card contradicts the marking, which prevails; the stricter counts until it is cleared up.",
    ),
    "laxer-than-class": CoreRule("warning", "A figure on the card is laxer than the specification's, and is not used."),
    "cannot-judge": CoreRule("caution", "A rule could not be judged because a fact is not written down."),
    "same-entry-twice": CoreRule("caution", "Two entries that say exactly the same."),
    "order-not-told": CoreRule(
        "warning", "What some lines of one day mean depends on their order, and nothing tells it."
    ),
    "out-of-order-life": CoreRule(
        "danger", "An entry before the cylinder was made, or after it was condemned or retired."
    ),
    "filled-before-service": CoreRule("warning", "A cylinder was filled, gauged or moved before it entered service."),
    "never-entered-service": CoreRule("caution", "A cylinder is in use that never entered service."),
    "future-entry": CoreRule(
        "warning", "An entry, a strike or a late clause is dated after the day the record is judged for."
    ),
    "no-such-time": CoreRule("warning", "A time that was skipped, since the clocks of the zone were put forward."),
    "time-came-twice": CoreRule("notice", "A time that came twice, since the clocks of the zone were put back."),
    "signature-out-of-time": CoreRule(
        "caution", "A line was struck or written late on a day before what it speaks of."
    ),
    "bar-struck": CoreRule(
        "warning", "What barred a cylinder was struck, and nobody but the striker has answered for it."
    ),
    "answer-unused": CoreRule(
        "notice",
        "An answer that has no effect: no finding of its line can be answered so, or its signature does not count.",
    ),
    "empty-text": CoreRule("caution", "A text that says nothing, such as the reason of a strike or of a waiver."),
    "seal-broken": CoreRule("danger", "A sealed period no longer says what it said when it was sealed."),
    "late-entry": CoreRule("notice", "A line written after the day it speaks of, with who wrote it and why."),
    "waiver-unused": CoreRule("notice", "A waiver that covers no finding."),
    "waiver-expired": CoreRule("warning", "A waiver that has run out while what it waived goes on."),
    "two-places-at-once": CoreRule("caution", "One person or one cylinder at two sites, in less time than that takes."),
}
