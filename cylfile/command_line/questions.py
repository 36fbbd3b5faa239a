"""
`cylfile enter` without a sentence: one question after the other, and the sentence as it grows.

Nothing here knows a rule of the language: what may be asked is in the clauses of the verb, and
whether an answer can be read the grammar says.
"""

from collections.abc import Callable
from typing import NamedTuple

from cylfile.cannot import CannotDo
from cylfile.command_line.defaults import Defaults
from cylfile.packs.suggest import did_you_mean
from cylfile.record.entries import write_text
from cylfile.record.one_sentence import read_entry
from cylfile.record.record import Record
from cylfile.record.vocabulary import (
    CORRECTIONS,
    CYLINDER_VERBS,
    FLAG,
    NAME,
    PERSON,
    PLACE,
    SIGNER,
    SITE,
    SOURCE,
    SOURCE_VERBS,
    TESTER,
    TEXT,
    VERBS,
    Clause,
)
from cylfile.show.visible import visible
from cylfile.text.source import Source

# As many names as are told apart at a glance.
_MOST_SHOWN = 16


class Choice(NamedTuple):
    """Something that can be named: its name, and what else is known of it."""

    name: str
    more: str = ""


def ask_for_entry(record: Record, defaults: Defaults, ask: Callable = input, say: Callable = print) -> str:
    """
    The sentence that the answers make. Raises CannotDo where they end too soon, or it is not to be written.

    `ask` is given a question and gives the answer, and raises EOFError where there is none.
    """
    try:
        return _Asking(record, defaults, ask, lambda text: say(visible(text))).sentence()
    except EOFError:
        raise CannotDo("the questions were not answered to the end; nothing was written") from None


class Chooser:
    """Asks for one of several names."""

    def __init__(self, ask: Callable, say: Callable):
        self.ask = ask
        self.say = say

    def name(self, question: str, choices: list[Choice], needed=False, listed=False, default: str | None = None) -> str:
        """One of the choices, given by name, by what else is known of it, by its beginning, or by number; or nothing."""
        shown = choices
        if listed:
            self._list(shown)
        hint = f" (empty for {default})" if default else ""
        while True:
            answer = self.ask(f"{question}?{hint} ").strip()
            if not answer and (default or not needed):
                return default or ""
            if answer == "?" or not answer:
                shown = choices
                self._list(shown)
                continue
            found = _meant(answer, choices, shown)
            if len(found) == 1:
                return found[0].name
            if found:
                shown = found
                self._list(shown)
            else:
                names = [choice.name for choice in choices]
                self.say(f"  `{answer}` is none of them. {did_you_mean(answer, names, '`?` lists them.')}")

    def _list(self, choices: list[Choice]) -> None:
        for number, choice in enumerate(choices[:_MOST_SHOWN], 1):
            self.say(f"  {number:2}  {choice.name}  {choice.more}".rstrip())
        if len(choices) > _MOST_SHOWN:
            self.say(f"      and {len(choices) - _MOST_SHOWN} more; type how a name begins")


class _Asking:
    def __init__(self, record: Record, defaults: Defaults, ask: Callable, say: Callable):
        self.record = record
        self.defaults = defaults
        self.ask = ask
        self.say = say
        self._name = Chooser(ask, say).name
        self.day = "today now"
        self.verb = ""
        self.subject = ""
        # Field -> the clause in words.
        self.said: dict[str, str] = {}

    def sentence(self) -> str:
        self.say(
            "An empty answer leaves a thing out; `?` lists the names there are. An answer may say more, in the words"
        )
        self.say("of the language, such as `4400 psi at 85 F by ayla`: then that is not asked.")
        self.subject = self._name("Which cylinder or source", self._subjects(), needed=True)
        self.verb = self._name("What was done", [Choice(verb) for verb in self._verbs()], needed=True, listed=True)
        self._ask_when()
        row = VERBS[self.verb]
        # Corrections are made to lines that are there already.
        clauses = [clause for clause in row.clauses if clause.question and clause.field not in CORRECTIONS]
        for clause in sorted(clauses, key=lambda clause: clause not in row.needs):
            if clause.field not in self.said:
                self._ask_clause(clause)
        if self.ask("Write it? (y/n) ").strip().lower() not in ("y", "yes"):
            raise CannotDo("nothing was written, as you said")
        return self._so_far()

    def _so_far(self) -> str:
        """The sentence as far as it goes, with its clauses in the order of the language."""
        clauses = [words for clause in VERBS[self.verb].clauses if (words := self.said.get(clause.field))]
        return " ".join([self.day, self.verb, self.subject, *clauses])

    def _subjects(self) -> list[Choice]:
        cylinders = [
            Choice(card.name, " ".join(tag.name for tag in card.tags)) for card in self.record.cylinders.values()
        ]
        return cylinders + [Choice(source.name, source.title) for source in self.record.air_sources.values()]

    def _verbs(self) -> tuple[str, ...]:
        source = self.record.air_sources.get(self.subject)
        if source is None:
            return ("filled", *(verb for verb in CYLINDER_VERBS if verb != "filled"))
        return SOURCE_VERBS[source.kind]

    def _ask_when(self) -> None:
        while True:
            answer = self.ask("When? (empty for now; or a day, or day and time) ").strip()
            if not answer or self._can_be_read(f'{answer} remarked X "x"'):
                self.day = answer or self.day
                return

    def _can_be_read(self, sentence: str, clause: Clause | None = None) -> bool:
        """Whether the grammar takes a sentence, with a value for the clause just asked. If not, it is said why."""
        from datetime import datetime

        from cylfile.command_line.defaults import in_full

        entry, faults = read_entry(Source("", in_full(sentence, datetime(2000, 1, 1))))
        for fault in faults[:1]:
            self.say(f"  {fault.text}. {fault.cure}")
        if entry is not None and not faults and clause is not None and getattr(entry, clause.field) is None:
            # Clauses share words: `at quay` is a place, and no answer to how warm it was.
            such_as = f" Write it such as {clause.example}." if clause.example else ""
            self.say(f"  That does not answer this question.{such_as}")
            return False
        if entry is not None and not faults and clause is not None:
            # What an answer says besides need not be asked.
            others = (
                other.field for other in VERBS[self.verb].clauses if getattr(entry, other.field, None) is not None
            )
            self.said |= {field: "" for field in others if field not in self.said}
        return not faults

    # One clause.

    def _ask_clause(self, clause: Clause) -> None:
        needs = VERBS[self.verb].needs
        while True:
            value = self._value(clause, clause in needs)
            if value is None and clause in needs:
                self.say("  This cannot be left out.")
                continue
            if value is None:
                return
            self.said[clause.field] = clause.form.format(value)
            if any(other.field not in self.said for other in needs) or self._can_be_read(self._so_far(), clause):
                self.say(f"    {self._so_far()}")
                return
            del self.said[clause.field]

    def _value(self, clause: Clause, is_needed: bool) -> str | None:
        """The answer for a clause as the language writes it, None where it is left out."""
        question = clause.question
        if clause.value == FLAG:
            return "" if self.ask(f"{question}? (y/n) ").strip().lower() in ("y", "yes") else None
        if clause.words:
            choices = [Choice(word) for word in clause.words]
            return self._name(question, choices, needed=is_needed, listed=True) or None
        names = self._names_for(clause)
        if names is not None:
            return self._name(question, names, default=self._default(clause.field)) or None
        such_as = f", such as {clause.example}" if clause.example else ""
        answer = self.ask(f"{question}{such_as}? ").strip()
        if clause.value == TEXT:
            return write_text(answer) if answer else None
        return answer or None

    def _names_for(self, clause: Clause) -> list[Choice] | None:
        if clause.value != NAME:
            return None
        record = self.record
        tables: dict[str, list] = {
            PERSON: [record.people],
            TESTER: [record.testers],
            SIGNER: [record.people],
            SITE: [record.sites],
            PLACE: [record.sites, record.testers],
            SOURCE: [record.air_sources],
        }
        named = tables[clause.names or VERBS[self.verb].signer]
        return [Choice(thing.name, thing.title) for table in named for thing in table.values()]

    def _default(self, field: str) -> str | None:
        if field == "by" and VERBS[self.verb].signer != TESTER:
            return self.defaults.by
        department = self.record.department
        usual = {"at_site": self.defaults.at, "on": department.usual_source if department else None}
        return usual.get(field)


def _meant(answer: str, choices: list[Choice], shown: list[Choice]) -> list[Choice]:
    """The choices that an answer can mean: a name itself before a number of the list shown, that before a beginning."""
    exact = [choice for choice in choices if answer == choice.name or answer in choice.more.split()]
    if exact:
        return exact[:1]
    if answer.isascii() and answer.isdigit() and 1 <= int(answer) <= min(len(shown), _MOST_SHOWN):
        return [shown[int(answer) - 1]]
    low = answer.lower()
    begins = [choice for choice in choices if choice.name.lower().startswith(low)]
    return begins or [choice for choice in choices if low in f"{choice.name} {choice.more}".lower()]
