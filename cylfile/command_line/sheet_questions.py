"""
`cylfile enter --sheet`: fills at the station, a cylinder and its reading after the other.

Whatever is typed where a reading is asked for and names a cylinder begins the next row: a scanner does not look at
the screen.
"""

import re
import sys
from collections.abc import Callable
from functools import partial

from cylfile.cannot import CannotDo
from cylfile.command_line.defaults import Defaults
from cylfile.command_line.questions import Choice, Chooser
from cylfile.files.fill_session import FillSession, Override, SheetHead
from cylfile.judging.fill_answer import FillAnswer
from cylfile.judging.new_entry import Written
from cylfile.show.pages.fill_row_page import put_row, put_verdict
from cylfile.show.pages.may_fill_page import Asked
from cylfile.show.terminal.heading import CAUTION_LINE
from cylfile.show.terminal.layout import Layout
from cylfile.show.terminal.screen import in_color, layout_for, write
from cylfile.text.units import UNITS

_HELP = (
    "Scan or type a cylinder: its name, tag or serial number. Then its reading and, where it was read, the "
    "temperature of the gas, such as `4400 85`, or in full, `from 900 psi to 4400 psi at 85 F`. Each row is in the "
    "file before the next question. `by NAME`, `on NAME` and `at NAME` change who fills, from which source and where; "
    "`end` ends."
)
_NUMBER = r"[0-9]+(?:\.[0-9]+)?"
_PRESSURE = rf"(?:{_NUMBER}) ?(?:{'|'.join(UNITS['PRESSURE'])})?"
# Readings as they are typed with gloves on.
_READING = re.compile(
    rf"(?:(?:from )?(?P<before>{_PRESSURE}) to |to )?(?P<after>{_PRESSURE}|unread)"
    rf"(?: (?:at )?(?P<warm>-?{_NUMBER} ?[FC]?))?"
)
_IN_FULL = re.compile("(?:from|to) ")
_END = "end"
_HEAD = re.compile("(by|on|at) ([^ ]+)")


def fill_sheet(session: FillSession, defaults: Defaults, by: str | None, color: str) -> int:
    """Ask for one fill after the other until there are no more; the exit status."""
    talk = _Talk(session, color)
    try:
        talk.begin(defaults, by)
        talk.go_on()
    except EOFError:
        pass
    finally:
        talk.end()
    return 0


class _Next(Exception):
    """Something that names a cylinder was typed where something else was asked for."""


class _Talk:
    def __init__(self, session: FillSession, color: str):
        self.session = session
        self.color = in_color(sys.stdout, color)
        self.written: list[Written] = []
        # The cylinder that was asked about and has no row yet.
        self.open = ""
        self.left: list[str] = []
        self.is_begun = False

    # Asking and telling.

    def ask(self, question: str) -> str:
        """What is typed, without the blanks and the control characters that a scanner may put round it."""
        sys.stdout.flush()
        try:
            return input(question if sys.stdin.isatty() else "").strip(_ROUND)
        except UnicodeDecodeError:
            return "?"

    def say(self, text: str, style: str = "", indent: int = 0) -> None:
        self.show(lambda layout: layout.put(text, indent, style, first=[(" " * indent, "")]))

    def show(self, put: Callable[[Layout], None]) -> None:
        layout = layout_for(sys.stdout)
        put(layout)
        write(layout.lines, sys.stdout, self.color)
        sys.stdout.flush()

    # The session.

    def begin(self, defaults: Defaults, by: str | None) -> None:
        record = self.session.record
        usual = record.department.usual_source if record.department else None
        chooser = Chooser(self.ask, self.say)
        head = SheetHead(
            self._known(chooser, "Who fills", record.people, by or defaults.by),
            self._known(chooser, "Air from which source", record.air_sources, usual),
            self._known(chooser, "At which site", record.sites, defaults.at),
        )
        self.session.begin(head)
        self.is_begun = True
        self.say(f"Fill sheet of {self.session.as_of} {head.words}", "strong")
        self.say(_HELP)
        self.say(CAUTION_LINE)

    @staticmethod
    def _known(chooser: Chooser, question: str, named: dict, known: str | None) -> str | None:
        """The name that is known already, or the only one there is, or the one that is answered; None where there is none."""
        if known is not None or len(named) < 2:
            return known or next(iter(named), None)
        return chooser.name(question, [Choice(thing.name, thing.title) for thing in named.values()], needed=True)

    def go_on(self) -> None:
        typed = ""
        while True:
            typed = typed or self.ask("Cylinder? ")
            try:
                if not typed or typed == "?":
                    self.say(_HELP)
                elif typed == _END and self.session.cylinder(typed) is None:
                    return
                elif (head := _HEAD.fullmatch(typed)) is not None:
                    self._change(head[1], head[2])
                else:
                    self._row(typed)
                typed = ""
            except _Next as following:
                self._leave()
                typed = str(following)
            except CannotDo as trouble:
                self.say(f"{trouble}", "warning")
                typed = ""

    def _change(self, word: str, name: str) -> None:
        self.session.begin(self.session.head._replace(**{word: name}))
        self.say(f"Fill sheet of {self.session.as_of} {self.session.head.words}", "strong")

    def _row(self, word: str) -> None:
        found, head = self.session.answer(word)
        session = self.session
        asked = Asked(found, head, session.case.rules, session.record)
        self.show(lambda layout: put_verdict(layout, asked, session.head.on))
        if found.name is None or found.life is None:
            return
        self.open = found.name
        unit, warm = ("psi", "F") if found.life.pressure_unit == "psi" else (found.life.pressure_unit, "C")
        while True:
            clauses = self._reading(found, unit, warm)
            if not clauses:
                self._leave()
                return
            try:
                if self._write(found, clauses):
                    self.open = ""
                    return
            except CannotDo as trouble:
                self.say(f"{trouble}", "warning")

    def _reading(self, found: FillAnswer, unit: str, warm: str) -> str:
        """What was read, in the words of the language; empty where nothing was."""
        question = f"{found.name} to ({unit}, then {warm})? "
        if not found.may:
            question = f"{found.name} was filled all the same, to ({unit}, then {warm}; empty for no)? "
        while True:
            typed = self.ask(question)
            if not typed:
                return ""
            read = _READING.fullmatch(typed)
            named = self._named(typed)
            if read and not named:
                return _in_words(read, unit, warm)
            if read:
                self.say(f"`{typed}` is a cylinder as well. Write a reading with its unit, such as `{typed} {unit}`.")
                continue
            if named:
                raise _Next(typed)
            if _IN_FULL.match(typed):
                return typed
            self.say(
                f"`{typed}` is neither a reading nor a cylinder. A reading is such as `4400`, `4400 85` or `unread`."
            )

    def _named(self, typed: str) -> bool:
        """Whether something names a cylinder: to the letter where it could be a number that was read."""
        if typed.replace(".", "").isdigit():
            return typed in self.session.record.marks.holders
        return " " not in typed and self.session.cylinder(typed) is not None

    def _write(self, found: FillAnswer, clauses: str) -> bool:
        """Write a row, if nothing is against it or somebody signs for it; whether it was written."""
        name = found.name or found.asked
        self.session.fill(name, clauses)
        written = self.session.write(name, clauses) if found.may else None
        if written is None or written.refusing:
            if written is not None:
                self.show(partial(put_row, written=written))
            signed = self._override()
            if signed is None:
                return False
            # What is wrong with it has been said.
            written = self.session.write(name, clauses, signed)._replace(findings=[])
        self.written.append(written)
        self.show(partial(put_row, written=written))
        return True

    def _override(self) -> Override | None:
        people = self.session.record.people
        while True:
            by = self.ask("It is refused. Who answers for it (empty for nobody: nothing is written)? ")
            if not by:
                return None
            if by in people:
                break
            if self._named(by):
                raise _Next(by)
            self.say(f"No block declares the person `{by}`: {', '.join(people)}.")
        why = self.ask("Why? ")
        if self._named(why):
            raise _Next(why)
        return Override(by, why) if why else None

    def _leave(self) -> None:
        """Say of a cylinder that it has no row."""
        if self.open:
            self.say(f"Nothing is written for {self.open}.")
            self.left.append(self.open)
            self.open = ""

    def end(self) -> None:
        """Say what is in the file and what is not."""
        if not self.is_begun:
            return
        if sys.stdin.isatty():
            print()
        places = [written.place for written in self.written]
        if place := self.session.place_of_last():
            self.say(f"The fill of {self.open} was written before the end: {place}")
            places.append(place)
            self.open = ""
        self._leave()
        count = len(places)
        files = ", ".join(dict.fromkeys(place.rpartition(":")[0] for place in places))
        self.say(f"{count} {'fill is' if count == 1 else 'fills are'} written{f' to {files}' if files else ''}.")
        if self.left:
            self.say(f"Without a row: {', '.join(dict.fromkeys(self.left))}.")


# Blanks, and what scanners send before and after a tag.
_ROUND = "".join(map(chr, range(0x21))) + "\x7f"


def _in_words(read: re.Match, unit: str, warm: str) -> str:
    """A reading as the language writes it, with the units that were asked for where none is typed."""

    def of(figure: str, unit: str) -> str:
        number = re.match(f"-?{_NUMBER}", figure)
        return f"{number[0]} {figure[number.end() :].strip() or unit}" if number else figure

    clauses = [f"to {of(read['after'], unit)}"]
    if read["before"]:
        clauses.insert(0, f"from {of(read['before'], unit)}")
    if read["warm"]:
        clauses.append(f"at {of(read['warm'], warm)}")
    return " ".join(clauses)
