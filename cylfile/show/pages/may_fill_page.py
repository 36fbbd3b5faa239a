"""
The answer at the fill station, in words that can be read from two meters, with what it rests on.
"""

from collections.abc import Iterator
from typing import NamedTuple

from cylfile.judging.fill_answer import LOOK_CITE, LOOK_FOR, FillAnswer
from cylfile.judging.heads import Head
from cylfile.packs.ruleset import Ruleset
from cylfile.packs.wording import in_words
from cylfile.record.dates import NEVER
from cylfile.record.record import Record
from cylfile.show.pages.citations import cited
from cylfile.show.pages.reasons import DO_NOT_FILL, in_full
from cylfile.show.terminal.heading import put_foot
from cylfile.show.terminal.layout import Layout, Line
from cylfile.show.terminal.letters import KNOWN, fits, in_letters
from cylfile.text.phrases import counted, either

MAY_BE_FILLED = "MAY BE FILLED"


class Asked(NamedTuple):
    """An answer, the head of its cylinder, None where there is none, the rules that it goes by, and the record."""

    answer: FillAnswer
    head: Head | None
    rules: Ruleset
    record: Record


def may_fill_page(asked: Asked, layout: Layout) -> list[Line]:
    """
    The lines of the answer.

    On a terminal the answer stands in big letters, at the top where all of the page fits in the
    height of the layout, else at the end, where it stays in sight.
    """
    rules, height = asked.rules, layout.height
    page = _Page(asked, layout)
    if not layout.wraps:
        page.put_answer()
        page.put_rest(rules, compares=True)
        return layout.lines
    page.put_big()
    big, layout.lines = layout.lines, []
    page.put_rated()
    rated, layout.lines = layout.lines, []
    page.put_compare()
    compare, layout.lines = layout.lines, []
    page.put_rest(rules, compares=True)
    rest, layout.lines = layout.lines, []
    if rated:
        rated.append([])
    # Below the page stands the prompt.
    if height is not None and len(big) + 1 + len(rated) + len(rest) >= height:
        page.put_rest(rules, compares=False)
        return [*layout.lines, [], *compare, *rated, *big]
    return [*big, [], *rated, *rest]


class _Page:
    def __init__(self, asked: Asked, layout: Layout):
        self.answer = answer = asked.answer
        self.head = asked.head
        self.record = asked.record
        self.layout = layout
        self.style = "safe" if answer.may else "danger"
        self.name = answer.name or answer.asked

    @property
    def words(self) -> str:
        return f"{MAY_BE_FILLED} to {self.answer.to}" if self.answer.may else DO_NOT_FILL

    def put_answer(self) -> None:
        self.layout.put(f"{self.name}: {self.words}", style="strong")

    def put_rest(self, rules: Ruleset, compares: bool) -> None:
        """All that the answer rests on; what to compare among it where that is asked for."""
        answer, layout = self.answer, self.layout
        if layout.wraps:
            layout.put(self.name, style="strong")
        if self.head is not None:
            layout.put(self.head.words)
        if answer.name and answer.asked != answer.name:
            what = "serial number" if answer.life and answer.asked == answer.life.cylinder.serial else "tag"
            layout.put(f"found by its {what} {answer.asked}")
        layout.put(f"as of {answer.as_of}, rules: {', '.join(rules.names) or 'none'}", style="faint")
        if compares:
            self.put_compare()
        if answer.may:
            self._stop()
            self._why_it_may()
        else:
            self._why_not()
        if answer.remarks:
            self._heading("Mind")
            for finding in answer.remarks:
                self._item(f"{finding.level.upper()}: {finding.text}", finding.working, finding.cite)
        if answer.life is not None and not answer.is_over:
            self._look()
        layout.blank()
        put_foot(layout, self.record, rules)

    def put_rated(self) -> None:
        """
        The rated pressure in big letters, to be compared with the stamp; beside a yes only.

        Beside a no it would be, from afar, a pressure to fill to.
        """
        if self.answer.may and self.head is not None and self.head.rated:
            for number, drawn in enumerate(self._drawn(f"RATED {self.head.rated}".upper())):
                if number:
                    self.layout.blank()
                for line in drawn:
                    self.layout.put_pieces([(f" {line}", "strong")])

    def _drawn(self, text: str) -> Iterator[list[str]]:
        return in_letters(text, self.layout.width - 2, self.layout.signs.ink) if KNOWN.issuperset(text) else iter(())

    def put_big(self) -> None:
        """The words in big letters on a field of their color; small where there is no such letter."""
        layout, words = self.layout, self.words.upper()
        if not KNOWN.issuperset(words):
            layout.put(words, style=self.style)
            return
        answer, _, pressure = words.partition(" TO ")
        texts = [words] if fits(words, layout.width - 2) else [answer, f"TO {pressure}"] if pressure else [answer]
        layout.put_pieces([(" " * layout.width, self.style)])
        for text in texts:
            for drawn in self._drawn(text):
                for line in (*drawn, ""):
                    layout.put_pieces([(f" {line}".ljust(layout.width), self.style)])

    def put_compare(self) -> None:
        """What to compare with the cylinder itself: its serial number and its rated pressure."""
        life, head = self.answer.life, self.head
        if life is None:
            return
        serial = life.cylinder.serial
        shown = f"SERIAL {serial}" if serial else "serial number not on the card"
        rated = f"RATED {head.rated}" if head is not None and head.rated else "rated pressure not known"
        self.layout.put(f"{shown}   {rated}   must be what is stamped on the cylinder", style="strong")

    def _stop(self) -> None:
        """Where the gauge has to stop, for gas of this temperature and for colder gas."""
        answer = self.answer
        self._heading("Stop the gauge at")
        if answer.stop:
            life = answer.life
            reference = life.figures.reference if life is not None else None
            when = f", with the gas at {answer.at}" if answer.at else ""
            if not answer.at and life is not None and reference is not None:
                when = f", with the gas at {in_words(reference, 'temperature', life.pressure_unit)} or warmer"
            settles = f", which settles to {answer.settles}" if answer.settles else ""
            self._item(f"{answer.stop}{when}{settles}")
        if answer.colder:
            self._item("colder gas: " + ", ".join(f"{stop} at {temperature}" for temperature, stop in answer.colder))
        for source in answer.exceeded_by:
            self._item(f"{source} can give more than that: stay at the gauge")
        self._item("fill it in the enclosure")

    def _heading(self, text: str) -> None:
        self.layout.blank()
        self.layout.put(text, style="strong")

    def _why_it_may(self) -> None:
        self._heading("What the record says")
        for text in _good_standing(self.answer):
            self._item(text)

    def _why_not(self) -> None:
        answer = self.answer
        self._heading("Why")
        for reason in answer.reasons:
            self._item(in_full(reason), reason.working, reason.cite)
        self._heading("What would allow a fill again" if answer.life is not None else "What to do")
        if answer.is_over:
            self._item("Nothing. It is not to be filled again.")
        for remedy in answer.remedies:
            self._item(remedy)

    def _item(self, text: str, working=(), cite=()) -> None:
        self.layout.put(text, 4, first=[("  -", "")])
        for line in working:
            self.layout.put(line, 6)
        if cite:
            self.layout.put(cited(cite), 6, style="faint")

    def _look(self) -> None:
        self._heading("Before any fill, look at the outside of it")
        self._item(f"for {either(LOOK_FOR)} ({LOOK_CITE})")
        self._item("if you find one of these, do not fill it, whatever the record says")


def _good_standing(answer: FillAnswer) -> Iterator[str]:
    """What a yes rests on."""
    life = answer.life
    if life is None:
        return
    if life.test_due == NEVER:
        yield "it needs no periodic test"
    else:
        yield f"its test is in date until {life.test_due} (last test {life.test_day})"
    if life.visual_day is not None:
        due = f", in date until {life.visual_due}" if life.visual_due not in (None, NEVER) else ""
        yield f"last visual inspection passed {life.visual_day}{due}"
    yield "it has no service life limit" if life.life_end == NEVER else f"its life ends on {life.life_end}"
    if life.last_fill is not None:
        yield f"last filled {life.last_fill.day} to {life.last_fill.reading or 'unread'}; {counted(life.fill_count, 'fill')} on record"
    yield "nothing in the record bars it"
