"""
What falls due: a page for people by month and site, a calendar, and rows for machines.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import date
from typing import NamedTuple

from cylfile.history.due import KINDS, REPLACEMENT, Due, Untold, months_from
from cylfile.history.life import Life
from cylfile.history.whereabouts import at_tester_since
from cylfile.judging.case import Case
from cylfile.judging.heads import natural
from cylfile.packs.ruleset import Ruleset
from cylfile.record.record import Record
from cylfile.show.terminal.bars import put_bars
from cylfile.show.terminal.days import counted_from, days_away
from cylfile.show.terminal.heading import put_foot, put_heading, title_of, whom_to_call
from cylfile.show.terminal.layout import Layout, Line, cells
from cylfile.text.phrases import counted

_WIDEST_KIND = max(map(cells, KINDS.values()))
_WIDEST_WHEN = len("9,999 days ago")
_MOST_MONTHS = 36
OVERDUE = "overdue"
_INDENT = 4


class DueList(NamedTuple):
    """
    What falls due in a record up to a day.

    `untold` is what falls due on a day that nobody can tell. `left_out` counts the cylinders
    that are out of service. `at_tester_since` has the days since which cylinders are at the tester, by name.
    """

    record: Record
    rules: Ruleset
    as_of: date
    until: date
    due: list[Due]
    untold: list[Untold]
    left_out: int
    at_tester_since: dict[str, date]


def due_list(case: Case, lives: Sequence[Life], found: Sequence[Due | Untold], until: date) -> DueList:
    """The list of a record up to a day, from the lives of its cylinders and all that comes."""
    record, as_of = case.record, case.as_of
    left_out = sum(bool(life.out_of_service_day) and not (life.retired_day or life.condemned_day) for life in lives)
    kinds = list(KINDS)
    due = sorted(
        (each for each in found if isinstance(each, Due) and each.day <= until),
        key=lambda each: (each.day, title_of(record, each.site), kinds.index(each.kind), natural(each.subject)),
    )
    untold = [each for each in found if isinstance(each, Untold)]
    since = {life.name: at_tester_since(record, life.name, life.site, as_of) for life in lives}
    at_tester = {name: day for name, day in since.items() if day is not None}
    return DueList(record, case.rules, as_of, until, due, untold, left_out, at_tester)


def due_page(listed: DueList, layout: Layout) -> list[Line]:
    as_of = listed.as_of
    put_heading(layout, listed.record, listed.rules, [f"due by {listed.until}", f"as of {as_of}"])
    layout.blank()
    if listed.due:
        put_bars(layout, KINDS, _bars(listed))
    else:
        layout.put("Nothing falls due.", style="strong")
    for month, in_month in by_month(listed):
        layout.blank()
        layout.put(f"{month.upper()}   {len(in_month):,} due", style="warning" if month == OVERDUE else "strong")
        for site, at_site in by_site(listed, in_month):
            call = whom_to_call(listed.record, at_site[0].site) if month == OVERDUE else ""
            layout.put("   ".join(filter(None, (site, call))), 2, first=[("  ", "")])
            for alike in _alike(at_site):
                _put_alike(layout, alike, as_of, listed.at_tester_since)
    if listed.untold:
        layout.blank()
        layout.put("No due day is known for these", style="caution")
        for untold in listed.untold:
            text = f"{KINDS[untold.kind]}: {lack(untold)}"
            layout.put(text, 14, first=[(f"    {untold.subject}", "strong"), (" ", "")])
    layout.blank()
    if listed.left_out:
        are = "is" if listed.left_out == 1 else "are"
        layout.put(f"{counted(listed.left_out, 'cylinder')} that {are} out of service {are} not listed.")
    put_foot(layout, listed.record, listed.rules)
    return layout.lines


def _bars(listed: DueList) -> list[tuple[str, Counter]]:
    counts: dict[str, Counter] = {}
    if any(due.day < listed.as_of for due in listed.due):
        counts[OVERDUE] = Counter()
    months = (listed.until.year - listed.as_of.year) * 12 + listed.until.month - listed.as_of.month + 1
    if months <= _MOST_MONTHS:
        counts.update((str(month), Counter()) for month in months_from(listed.as_of, months))
    for due in listed.due:
        counts.setdefault(_month_of(due, listed), Counter())[due.kind] += 1
    return list(counts.items())


def _month_of(due: Due, listed: DueList) -> str:
    return OVERDUE if due.day < listed.as_of else f"{due.day:%Y-%m}"


def by_month(listed: DueList) -> Iterator[tuple[str, list[Due]]]:
    months: dict[str, list[Due]] = {}
    for due in listed.due:
        months.setdefault(_month_of(due, listed), []).append(due)
    return iter(months.items())


def by_site(listed: DueList, due_list: list[Due]) -> Iterator[tuple[str, list[Due]]]:
    sites: dict[str, list[Due]] = {}
    for due in due_list:
        sites.setdefault(title_of(listed.record, due.site), []).append(due)
    return iter(sorted(sites.items(), key=lambda item: natural(item[0])))


def _alike(due_list: list[Due]) -> Iterator[list[Due]]:
    """Those that differ in nothing but what they are about."""
    groups: dict[tuple, list[Due]] = {}
    for due in due_list:
        groups.setdefault((due.kind, due.day, due.since, due.every, due.life_end), []).append(due)
    return iter(groups.values())


def _put_alike(layout: Layout, alike: list[Due], as_of: date, since: dict[str, date]) -> None:
    """What is to be done by when and why, and for which cylinders."""
    due = alike[0]
    is_past = due.day < as_of
    line = [
        (" " * _INDENT + KINDS[due.kind].ljust(_WIDEST_KIND) + "  ", ""),
        (f"by {due.day}", "danger" if is_past and due.kind == REPLACEMENT else "warning" if is_past else ""),
        (f"  {days_away(due.day, as_of):>{_WIDEST_WHEN}}  ", ""),
    ]
    has_room = not layout.wraps or sum(cells(text) for text, _ in line) + cells(why_then(due)) <= layout.width
    layout.put_pieces([*line, (why_then(due), "faint")] if has_room else line)
    if not has_room:
        layout.put(why_then(due), _INDENT + 2, style="faint")
    layout.put(", ".join(named(each, since) for each in alike), _INDENT + 2, style="strong")


def named(due: Due, since: dict[str, date]) -> str:
    return f"{due.subject} (at the tester since {since[due.subject]})" if due.subject in since else due.subject


def why_then(due: Due) -> str:
    if due.since is None:
        return "from the card or the permit"
    if due.every is None:
        return f"at once: the air sample of {due.since} failed"
    word = "made" if due.kind == REPLACEMENT else "last"
    end = f"; its life ends on {due.life_end}" if due.life_end else ""
    return f"{word} {counted_from(due.since, due.every)}{end}"


def lack(untold: Untold) -> str:
    return f"`{untold.lacks}` is not written down"


def working_of_due(due: Due) -> str:
    """By when, and why then."""
    return f"due by {due.day}: {why_then(due)}"
