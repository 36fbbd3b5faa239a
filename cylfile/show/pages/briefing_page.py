"""
The chief's ten seconds: one screen of 24 lines by 80 columns.

Names that do not fit are counted, but those of what is in use and must come out of use never are: then
the screen is longer.
"""

from collections.abc import Iterable

from cylfile.history.due import KINDS, SAMPLE, Due, Untold
from cylfile.judging.brief import Brief
from cylfile.judging.heads import Head, natural
from cylfile.show.pages.reasons import DO_NOT_FILL, in_short
from cylfile.show.terminal.heading import CAUTION_LINE, put_heading, put_origin
from cylfile.show.terminal.layout import Layout, Line, cells
from cylfile.text.phrases import counted

# The last line of the screen is the prompt's.
HEIGHT = 23


def briefing_page(brief: Brief, layout: Layout) -> list[Line]:
    case = brief.case
    count = counted(len(brief.heads), "cylinder")
    put_heading(layout, case.record, case.rules, [count, f"as of {case.as_of}"], in_short=True)
    _put_out_of_use(brief, layout)
    below = Layout(layout.width if layout.wraps else None)
    _put_due(brief, below)
    _put_sources(brief, below)
    below.put(CAUTION_LINE)
    # One screen is for today; a paper that is kept is asked for with `--stamp`.
    if case.record.origin().stamp:
        put_origin(below, case.record, case.rules)
    _put_not_filled(brief, layout, HEIGHT - len(layout.lines) - len(below.lines) - 1)
    return [*layout.lines, *below.lines]


def must_come_out(brief: Brief) -> list[tuple[str, list[str]]]:
    """Why cylinders that are in use must not be, each reason with their names."""
    return _by_reason(head for head in brief.heads if head.in_use and head.is_barred) if brief.case.rules.names else []


def must_not_be_filled(brief: Brief) -> list[tuple[str, list[str]]]:
    """The other reasons for which cylinders must not be filled, with their names."""
    return _by_reason((head for head in brief.heads if head.is_barred), False) if brief.case.rules.names else []


def _by_reason(heads: Iterable[Head], ends_use: bool = True) -> list[tuple[str, list[str]]]:
    """The reasons in short, the ones of most cylinders first."""
    names: dict[str, list[str]] = {}
    for head in heads:
        reasons = (reason for reason in head.reasons if (reason.ends_use and head.in_use) == ends_use)
        for words in dict.fromkeys(map(in_short, reasons)):
            names.setdefault(words, []).append(head.name)
    by_number = sorted(names.items(), key=lambda item: -len(item[1]))
    return [(words, sorted(group, key=natural)) for words, group in by_number]


def _put_out_of_use(brief: Brief, layout: Layout) -> None:
    reasons = must_come_out(brief)
    if not reasons:
        layout.put("Nothing in use has to come out of use.", style="strong")
        return
    layout.put(f" TAKE OUT OF USE NOW {len(brief.to_take_out)} ", style="danger")
    layout.put("", 2, right=[f"{words}: {', '.join(group)}" for words, group in reasons])


def _put_not_filled(brief: Brief, layout: Layout, room: int) -> None:
    """A line a reason, at most `room` lines in all, but for one that says that there are more."""
    reasons = must_not_be_filled(brief)
    if not brief.case.rules.names:
        layout.put("There are no rules, so it cannot be told which cylinders may be filled.", style="strong")
    if not reasons:
        return
    layout.put(f" {DO_NOT_FILL} {len(brief.barred)} ", style="danger")
    shown = reasons if len(reasons) <= room or not layout.wraps else reasons[: max(room - 1, 1)]
    for words, group in shown:
        _put_names(layout, words, group)
    left = reasons[len(shown) :]
    if left:
        _put_names(
            layout, f"and {len(left)} other reasons", list(dict.fromkeys(name for _, group in left for name in group))
        )


def _put_names(layout: Layout, words: str, names: list[str]) -> None:
    """One line: as many names as fit, and how many more there are."""
    line = f"  {words}, {len(names)}: {', '.join(names)}"
    shown = len(names)
    while layout.wraps and shown and cells(line) > layout.width:
        shown -= 1
        line = f"  {words}, {len(names)}: {', '.join(names[:shown])} and {len(names) - shown} more"
    layout.put_pieces([(line, "")])


def _put_due(brief: Brief, layout: Layout) -> None:
    layout.put(f"Due by {brief.until}" if brief.due else f"Nothing else falls due by {brief.until}.", style="strong")
    for kind, called in KINDS.items():
        due = [each for each in brief.due if each.kind == kind]
        if due:
            _put_names(layout, called, sorted((each.subject for each in due), key=natural))


def of_each_source(brief: Brief) -> list[tuple[str, str, bool]]:
    """Of each source of air its name, what comes next in words, and whether any of that is late."""
    sources: dict[str, list[Due | Untold]] = {name: [] for name in brief.case.record.air_sources}
    for each in brief.of_sources:
        sources[each.subject].append(each)
    return [
        (
            name,
            ", ".join(_next(each, brief) for each in coming) or "no sample or cartridge to come",
            _is_late(coming, brief),
        )
        for name, coming in sources.items()
    ]


def _put_sources(brief: Brief, layout: Layout) -> None:
    alike: dict[tuple[str, bool], list[str]] = {}
    for name, said, is_late in of_each_source(brief):
        alike.setdefault((said, is_late), []).append(name)
    for (said, is_late), names in alike.items():
        title = f"air from {', '.join(names)}: "
        # More names than a quarter of the screen takes stand above what is said of them.
        indent = len(title) if len(title) < layout.width // 2 else 4
        layout.put(said, indent, "warning" if is_late else "", first=[(title, "strong")])


def _next(each: Due | Untold, brief: Brief) -> str:
    what = "sample" if each.kind == SAMPLE else "cartridge"
    if isinstance(each, Untold):
        return f"{what}: none on record"
    return f"{what} {'OVERDUE since' if each.day < brief.case.as_of else 'by'} {each.day}"


def _is_late(coming: list[Due | Untold], brief: Brief) -> bool:
    return any(isinstance(each, Due) and each.day < brief.case.as_of for each in coming)
