"""
A rule, checked and ready: it knows where it stands, when it holds and what it says.
"""

from functools import cached_property

from cylfile.history.facts import Entry, Fact, History
from cylfile.packs.expressions import Asked, Known, Node, asked, parts
from cylfile.packs.pack import Example
from cylfile.packs.sources import properties_behind, sources_of
from cylfile.packs.wording import in_words
from cylfile.packs.worth import worth
from cylfile.text.source import Span


class Phrase:
    """A text with expressions in it."""

    __slots__ = ("parts", "_facts")

    def __init__(self, parts: tuple[str | Node, ...]):
        self.parts = parts
        self._facts: list[Fact] | None = None

    @property
    def facts(self) -> list[Fact]:
        """The facts that it asks for."""
        if self._facts is None:
            self._facts = [fact for part in self.parts if not isinstance(part, str) for fact in asked(part)]
        return self._facts

    def texts_in(self, text: str) -> list[tuple[int, int]]:
        """
        Where in a text that was made of it, from where to where, the values stand that are texts themselves.

        Empty for any other text. The words between the values are looked for one after the other, each once.
        """
        spans, at, values = [], 0, list[Node]()
        for number, part in enumerate((*self.parts, "")):
            if not isinstance(part, str):
                values.append(part)
                continue
            if number >= len(self.parts) - 1:
                start = len(text) - len(part) if text.endswith(part) else -1
            else:
                start = text.find(part, at)
            if start < at or (start > at and not values):
                return []
            if len(values) == 1 and values[0].dimension == "text":
                spans.append((at, start))
            at = start + len(part)
            values.clear()
        return spans

    def is_known(self, life: History, entry: Entry | None) -> bool:
        """Whether it asks for no fact, or for one that is known."""
        return not self.facts or any(fact.value(life, entry) is not None for fact in self.facts)

    def text(self, life: History, entry: Entry | None, times: int = 1) -> str:
        """The text for one place in a history, values in the reader's words."""
        unit = life.pressure_unit
        return "".join(
            [
                part if isinstance(part, str) else in_words(worth(part, life, entry, times), part.dimension, unit)
                for part in self.parts
            ]
        )


def _expressions(phrases: list[Phrase]) -> list[Node]:
    return [part for phrase in phrases for part in phrase.parts if not isinstance(part, str)]


class Rule:
    """
    One rule of a ruleset.

    `level` is the level that holds after all packs are laid over each other; `on` are places of
    the fact table; `once` is for a rule that gives one finding a cylinder, at the first place
    where it holds; `words` tell all that its `condition` says; `pack` names the pack that the rule
    stands in, `span` its place there; `why` explains the rule, `cite` lists its sources, those
    included that other packs add; `breaks` and `keeps` are its examples.
    """

    def __init__(
        self, *, name: str, level: str, on: tuple[str, ...], once: bool, pack: str, span: Span, condition: Node, words: str,
        why: str, cite: list[str], breaks: list[Example], keeps: list[Example], say: Phrase, working: list[Phrase], advice: Phrase,
        setting_cites: list[str],
    ):  # fmt: skip
        self.name = name
        self.level = level
        self.on = on
        self.once = once
        self.pack = pack
        self.span = span
        self.condition = condition
        self.words = words
        self.why = why
        self.cite = cite
        self.breaks = breaks
        self.keeps = keeps
        self._say = say
        self._working = working
        self._advice = advice
        self._setting_cites = setting_cites

    @cached_property
    def _properties(self) -> tuple[str, ...]:
        """The properties of a class that the condition and the working go back to."""
        read = (self.condition, *_expressions(self._working))
        return properties_behind(fact.name for node in read for fact in asked(node))

    @property
    def facts(self) -> set[Fact]:
        """All facts that its condition and what it says name."""
        nodes = [self.condition, *_expressions([self._say, *self._working, self._advice])]
        return {part.fact for node in nodes for part in parts(node) if isinstance(part, Asked | Known)}

    def sources(self, life: History) -> list[str]:
        """
        What a finding about this life rests on, each source once: that of the rule, or in place of
        it that of the life's class, and those of the figures and settings that the condition and the
        working read.
        """
        own = life.figures.rule_cites.get(self.name, self.cite)
        return list(dict.fromkeys([*own, *sources_of(self._properties, life), *self._setting_cites]))

    def say(self, life: History, entry: Entry | None, times: int = 1) -> str:
        """
        What is wrong, for the life as it was when the rule was judged and the entry it judged,
        None on the as-of day. `times` is how often a rule with `once` has held.
        """
        return self._say.text(life, entry, times)

    def working(self, life: History, entry: Entry | None) -> list[str]:
        """
        How the rule came to it: the figures, and the arithmetic between them.

        A line that asks for facts, none of which is known, says nothing and is left out.
        """
        return [phrase.text(life, entry) for phrase in self._working if phrase.is_known(life, entry)]

    def advice(self, life: History, entry: Entry | None) -> str:
        """What to do; empty where the rule gives none."""
        return self._advice.text(life, entry)

    def texts_said(self, sentence: str) -> list[tuple[int, int]]:
        """Where in a sentence that it said the values stand that are texts themselves; see `Phrase.texts_in`."""
        return self._say.texts_in(sentence)

    def texts_worked_with(self, line: str) -> list[tuple[int, int]]:
        """The same of a line of its working."""
        return next(filter(None, (phrase.texts_in(line) for phrase in self._working)), [])

    def texts_advised(self, advice: str) -> list[tuple[int, int]]:
        """The same of its advice."""
        return self._advice.texts_in(advice)

    def __repr__(self) -> str:
        return f"Rule({self.name!r}, {self.level!r})"
