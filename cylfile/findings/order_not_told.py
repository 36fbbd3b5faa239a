"""
What depends on an order that nothing tells: one finding a cylinder and day.

The entries of such a day were judged in two orders; see `cylfile.history.order`. What both say is
said as ever. What only one says is gathered here.
"""

from collections.abc import Callable, Iterable
from datetime import date

from cylfile.findings.finding import Finding, severity
from cylfile.history.barring import Bar
from cylfile.history.order import weight
from cylfile.record.entries import Entry, plain_form

ORDER_NOT_TOLD = "order-not-told"
_ADVICE = "Write times, or one block in order."
_MOST = 6


class Way:
    """One of the two orders: its `entries`, the findings that it `alone` gives, what bars `afterwards` with it alone."""

    def __init__(self, entries: list[Entry], alone: list[Finding], afterwards: list[Bar]):
        self.entries = entries
        self.alone = alone
        self.afterwards = afterwards

    def take(self, other: "Way") -> None:
        """Take in what else depends on the order of the same day."""
        known = {id(entry) for entry in self.entries}
        self.entries += (entry for entry in other.entries if id(entry) not in known)
        said = {(finding.rule, finding.span) for finding in self.alone}
        self.alone += (finding for finding in other.alone if (finding.rule, finding.span) not in said)
        self.afterwards += other.afterwards

    def says(self) -> list[str]:
        """What this order alone would mean: the rules that would be broken, and what would bar."""
        parts = [finding.rule for finding in self.alone]
        parts += [f"afterwards {bar.text}" for bar in self.afterwards]
        return list(dict.fromkeys(parts))


def order_not_told(day: date, subject: str, ways: tuple[Way, Way], level_of: Callable[[str], str]) -> Finding | None:
    """The finding about a day whose order matters and is not told; None where it makes no difference."""
    alone = [finding for way in ways for finding in way.alone]
    afterwards = [bar for way in ways for bar in way.afterwards]
    if not alone and not afterwards:
        return None
    level = level_of(ORDER_NOT_TOLD)
    if level == "warning" and all(severity(finding.level) > severity("warning") for finding in alone):
        level = "caution"
    if alone:
        worst = min(alone, key=lambda finding: (severity(finding.level), finding.about, finding.rule))
        # What is found of the as-of day depends on the first of the lines.
        span, day = (worst.span, worst.day or day) if worst.about else (ways[0].entries[0].span, day)
    else:
        first = min((bar.entry for bar in afterwards), key=plain_form)
        span, day = first.span, first.day
    named = _named(ways[0].entries, {finding.span for finding in alone})
    labels = [f"{_label(entry)} ({entry.place})" for entry in named[:_MOST]]
    if len(named) > _MOST:
        labels.append(f"and {len(named) - _MOST} more")
    meant = list(dict.fromkeys(each for way in ways for each in way.says()))
    meant = [*meant[:_MOST], *([f"and {len(meant) - _MOST} more"] if len(meant) > _MOST else [])]
    orders = [list(map(_label, _of(way.entries, named))) for way in ways]
    working = []
    if orders[0] != orders[1]:
        for way, order in zip(ways, orders):
            working.append(f"in the order {', '.join(order)}: {', '.join(way.says()[:_MOST]) or 'none of that'}")
    text = f"order not told: {', '.join(labels)}; in one order: {', '.join(meant)}"
    about = "\n".join(sorted(map(plain_form, named)))
    finding = Finding(ORDER_NOT_TOLD, level, subject, span, text, working, _ADVICE, day=day, about=about)
    finding.related = [(entry.span, "one of the lines whose order matters") for entry in named[:_MOST]]
    finding.names_related = True
    return finding


def _named(entries: list[Entry], spans: set) -> list[Entry]:
    """The entries whose order may matter, in an order that no file name decides: all, where none stands out."""
    found = [entry for entry in entries if weight(entry) or entry.span in spans]
    return sorted(found if len(found) > 1 else entries, key=lambda entry: (entry.day, plain_form(entry)))


def _of(entries: Iterable[Entry], named: list[Entry]) -> list[Entry]:
    meant = {id(entry) for entry in named[:_MOST]}
    return [entry for entry in entries if id(entry) in meant]


def _label(entry: Entry) -> str:
    """What happened, in a word or two."""
    words = [str(entry.time)[:5]] if entry.time is not None else []
    words.append(entry.verb)
    words += filter(None, (getattr(entry, "outcome", None), getattr(entry, "result", None)))
    return " ".join(words)
