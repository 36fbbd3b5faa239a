"""
One cylinder's whole life: what it is, what comes, and every entry with what is wrong about it.
"""

from collections import defaultdict
from collections.abc import Iterator
from itertools import groupby

from cylfile.findings.finding import Finding
from cylfile.history.due import KINDS, Due, Untold, coming
from cylfile.history.fold import steps_of
from cylfile.history.life import Life
from cylfile.history.order import in_order
from cylfile.history.service_state import state_of
from cylfile.history.standing import stands
from cylfile.judging.heads import Head, head_of
from cylfile.judging.judge import Judgement
from cylfile.judging.report import worst_first
from cylfile.packs.marking import take_apart
from cylfile.packs.ruleset import Ruleset
from cylfile.packs.wording import free_air_in_words, in_words
from cylfile.record.dates import NEVER
from cylfile.record.entries import Entry, Filled, plain_form, write_text
from cylfile.record.record import Record
from cylfile.show.pages.citations import in_short_form, texts_of
from cylfile.show.pages.reasons import DO_NOT_FILL, in_full
from cylfile.show.terminal.days import counted_from, days_away
from cylfile.show.terminal.heading import put_foot, put_unread, title_of
from cylfile.show.terminal.layout import Layout, Line
from cylfile.show.terminal.life_line import LifeLine, life_line_of, put_life_line
from cylfile.text.phrases import counted

_INDENT = 12
_NARROW_INDENT = 4
_NARROW = 50
# Ordinary fills in a row that are told together, unless all are asked for.
_MANY = 4


class Card:
    """
    A cylinder on the as-of day.

    `entries` are all that name it, in the order in which they happened, struck ones and ones to
    come among them. `findings` are those about it; `free_air` is the air it took in mL, and the
    number of fills of which nobody can tell. With `every_fill`, ordinary fills have a line each too.
    `of_neighbors` are what other departments of the county have written of it, each with its text.
    """

    def __init__(
        self, record: Record, rules: Ruleset, life: Life, head: Head, entries: list[Entry], findings: list[Finding],
        coming: list[Due | Untold], line: LifeLine, free_air: tuple[float, int], every_fill: bool,
    ):  # fmt: skip
        self.record = record
        self.rules = rules
        self.life = life
        self.head = head
        self.entries = entries
        self.findings = findings
        self.coming = coming
        self.line = line
        self.free_air = free_air
        self.every_fill = every_fill
        self.of_neighbors: list[tuple[str, list[Entry]]] = []
        places = {entry.place for entry in self.entries}
        self.beside: dict[str, list[Finding]] = defaultdict(list)
        self.elsewhere: list[Finding] = []
        for finding in worst_first(self.findings):
            place = finding.span.place
            (self.beside[place] if place in places else self.elsewhere).append(finding)


def card_of(judgement: Judgement, name: str, every_fill: bool = False) -> Card:
    """The card of a cylinder whose life the judgement has."""
    record, rules, as_of = judgement.record, judgement.rules, judgement.as_of
    verdict, said = judgement.verdicts[name], record.entries.get(name, ())
    life = verdict.life_here
    fills = [entry for entry in said if entry.__class__ is Filled and stands(entry, as_of)]
    volumes = [judgement.air.free_air_of(fill) for fill in fills]
    free_air = sum(max(volume, 0.0) for volume in volumes if volume is not None), volumes.count(None)
    head = verdict.head or head_of(record, rules, life, verdict.findings)
    line = life_line_of(steps_of(record, rules, record.cylinders[name], as_of))
    entries, findings = in_order(said).entries, judgement.about(name)
    return Card(record, rules, life, head, entries, findings, list(coming(life)), line, free_air, every_fill)


def said_of(entry: Entry) -> str:
    """What an entry says, on the card of what it is about: without the day and the name."""
    return plain_form(entry).removeprefix(f"{entry.day} ").replace(f"{entry.verb} {entry.subject}", entry.verb, 1)


def card_page(card: Card, layout: Layout) -> list[Line]:
    _Page(card, layout).put()
    return layout.lines


class _Page:
    def __init__(self, card: Card, layout: Layout):
        self.card = card
        self.life = card.life
        self.layout = layout
        self.indent = _INDENT if layout.width >= _NARROW else _NARROW_INDENT
        # Advice that stands on the page already, with its rule.
        self.told: set[tuple[str, str]] = set()

    def put(self) -> None:
        self._head()
        self.layout.blank()
        put_life_line(self.layout, self.card.line)
        self._coming()
        self._counts()
        self._findings_elsewhere()
        self._entries()
        self._neighbors()
        self.layout.blank()
        put_foot(self.layout, self.card.record, self.card.rules)

    def _title(self, text: str) -> None:
        self.layout.blank()
        self.layout.put(text, style="strong")

    def _head(self) -> None:
        card, head, layout = self.card, self.card.head, self.layout
        barred = head.is_barred
        mark = DO_NOT_FILL if barred else head.gone or state_of(self.life)
        indent = max(self.indent, len(head.name) + 3)
        layout.put(
            head.words,
            indent,
            first=[(head.name, "strong")],
            right=[mark],
            right_style="danger" if barred else "strong",
        )
        layout.put(f"as of {self.life.as_of}, rules: {', '.join(card.rules.names) or 'none'}", indent, style="faint")
        put_unread(layout, card.record)
        layout.put("", indent, right=marks_on(self.life))
        if not head.gone:
            for reason in head.reasons:
                layout.put(in_full(reason), 4, first=[("  -", "")])

    def _coming(self) -> None:
        if not self.card.coming:
            return
        self._title("Coming up")
        for each in sorted(self.card.coming, key=lambda each: each.day if isinstance(each, Due) else NEVER):
            if isinstance(each, Untold):
                text, style = (
                    f"{KINDS[each.kind]}: not known, `{each.lacks}` is not written down",
                    "caution",
                )
            else:
                away = days_away(each.day, self.life.as_of)
                text, style = f"{KINDS[each.kind]} by {each.day}, {away}   {working_of(each)}", ""
                style = "warning" if each.day < self.life.as_of else ""
            self.layout.put(text, 4, style=style, first=[("  -", "")])

    def _counts(self) -> None:
        self._title("Totals")
        for text in totals_of(self.card):
            self.layout.put(text, 4, first=[("  -", "")])

    def _findings_elsewhere(self) -> None:
        if self.card.elsewhere:
            self._title("Findings on the card")
            for finding in self.card.elsewhere:
                self._finding(finding, is_placed=True)

    def _entries(self) -> None:
        self._title(f"Entries   {len(self.card.entries):,}")
        groups = groupby(self.card.entries, key=lambda entry: entry.__class__ is Filled and self._is_ordinary(entry))
        for together, group in groups:
            entries = list(group)
            if together and len(entries) > _MANY and not self.card.every_fill:
                self._fills(entries)
            else:
                for entry in entries:
                    self._entry(entry)

    def _neighbors(self) -> None:
        for title, entries in self.card.of_neighbors:
            self._title(f"Written by {title or 'another department'}   {len(entries):,}")
            self.layout.put("Nothing of this is judged here: copy what counts, such as a test or damage, to this card.")
            for entry in entries:
                self._entry(entry)

    def _is_ordinary(self, entry: Entry) -> bool:
        told = entry.struck or entry.late or entry.remark or entry.day > self.life.as_of
        return not told and entry.place not in self.card.beside

    def _fills(self, fills: list) -> None:
        """Fills of which there is nothing to say but how many they were."""
        reached = sorted((fill.reading for fill in fills if fill.reading is not None), key=lambda each: each.value)
        ends = list(dict.fromkeys(map(str, (reached[0], reached[-1])))) if reached else ["unread"]
        to = " to ".join(ends)
        self.layout.put(
            f"to {fills[-1].day}   {len(fills):,} fills, to {to}",
            self.indent,
            first=[(str(fills[0].day), "")],
            style="faint",
        )

    def _entry(self, entry: Entry) -> None:
        text = said_of(entry)
        is_void = entry.struck is not None or entry.day > self.life.as_of
        self.layout.put(
            text,
            self.indent,
            first=[(str(entry.day), "faint" if is_void else "strong")],
            style="faint" if is_void else "",
            right=[entry.place],
            right_style="faint",
        )
        for finding in self.card.beside.get(entry.place, ()):
            self._finding(finding)

    def _finding(self, finding: Finding, is_placed: bool = False) -> None:
        layout = self.layout
        word, style = (
            (finding.level.upper(), finding.level) if finding.stands else (finding.excuse.split()[0], "waived")
        )
        place = [finding.span.place] if is_placed else []
        layout.put(
            finding.text, self.indent, first=[("  ", ""), (f" {word} ", style)], right=place, right_style="faint"
        )
        if not finding.stands:
            layout.put(f"{finding.level.upper()}, {finding.excuse}", self.indent)
        for line in finding.working:
            layout.put(line, self.indent)
        advice, sources = finding.advice, [*in_short_form(texts_of(finding.cite)), finding.rule]
        if (finding.rule, advice) in self.told:
            advice, sources = "", [finding.rule]
        self.told.add((finding.rule, finding.advice))
        layout.put(advice, self.indent, right=sources, right_style="faint", narrows=False)


def marks_on(life: Life) -> Iterator[str]:
    """What is on its card besides what the head says."""
    card = life.cylinder
    if card.serial is not None:
        yield f"serial {card.serial}"
    yield from (f"marked {write_text(marking)}" for marking in card.marked)
    if earned := take_apart(tuple(card.marked)).earned:
        yield f"the {earned} behind the marking is that of a test: it counts where a hydro says it"
    if life.class_name is not None:
        yield f"class {life.class_name}"
    if card.holds is not None:
        yield f"holds {card.holds}"
    yield from (f"tag {tag}" for tag in card.tags_on(life.as_of))
    if card.owner is not None:
        yield f"owner {card.owner}"


def working_of(due: Due) -> str:
    if due.since is None or due.every is None:
        return "from the card or the permit"
    return counted_from(due.since, due.every)


def totals_of(card: Card) -> Iterator[str]:
    life = card.life
    unit = life.pressure_unit
    fills = card.line.fills
    if fills:
        yield f"{counted(len(fills), 'fill')}, from {fills[0]} to {fills[-1]}"
        volume, unknown = card.free_air
        if unknown < len(fills):
            yield f"about {free_air_in_words(volume, unit)} of free air taken" + (
                f", {counted(unknown, 'fill')} not counted that do not say enough" if unknown else ""
            )
    else:
        yield "never filled"
    passed = sum(mark == "T" for _, mark in card.line.tests)
    failed = sum(mark == "X" for _, mark in card.line.tests)
    yield f"{counted(passed, 'hydrostatic test')} passed" + (f", {failed} not" if failed else "")
    visuals = [mark for _, mark in card.line.visuals]
    yield f"{counted(visuals.count('v'), 'visual inspection')} passed" + (
        f", {visuals.count('x')} not" if "x" in visuals else ""
    )
    if life.last_pressure is not None and life.last_reading is not None:
        yield f"{in_words(life.last_pressure, 'pressure', unit)} in it when it was last read, on {life.last_reading.day}"
    if life.site is not None:
        yield f"now at {title_of(card.record, life.site)}"
