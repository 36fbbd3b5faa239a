"""
What one pack file says, read but not yet checked: expressions are still sentences of the grammar.
"""

from dataclasses import dataclass, field
from datetime import date
from typing import NamedTuple

from cylfile.packs.expressions import Value
from cylfile.text.language import Token
from cylfile.text.source import Source, Span


class Named(NamedTuple):
    """A name that a pack mentions, and where."""

    name: str
    span: Span


class Formula(NamedTuple):
    """
    An expression as parsed: lark's tree with slots for leaves, and the word of every slot.
    """

    span: Span
    tree: object
    words: list[Token]


# A text with expressions in braces: the stretches of text, and between them the expressions.
Template = tuple[str | Formula, ...]


class Setting(NamedTuple):
    """A figure that packs laid over this one may change."""

    name: str
    value: Value
    span: Span


class Example(NamedTuple):
    """
    A small record under `breaks` or `keeps`.

    `text` is a ledger, dedented, its own `class` blocks blanked out: line n of it is line
    `span.line + n - 1` of the pack, `indent` columns further in. `classes` are those blocks.
    `here` are the lines, from 1, that are marked `# here`. `as_of` is the day that the record
    is judged for.
    """

    title: str
    breaks: bool
    text: str
    span: Span
    indent: int
    here: tuple[int, ...]
    as_of: date
    classes: list["ClassSheet"]


@dataclass(slots=True)
class ClassSheet:
    """
    What a pack says of a class of cylinder: the fields of `Figures` that it gives.

    `patterns` are the markings that show the class, as written; `cites` the source of a figure.
    """

    name: str
    title: str
    span: Span
    figures: dict[str, float | int | bool] = field(default_factory=dict)
    patterns: list[str] = field(default_factory=list)
    cites: dict[str, str] = field(default_factory=dict)


@dataclass(slots=True)
class RuleSheet:
    """A rule as written. `on` are places of the fact table; `when` is None where it could not be read."""

    name: str
    level: str
    span: Span
    on: tuple[str, ...] = ()
    when: Formula | None = None
    once: bool = False
    say: Template | None = None
    why: str = ""
    working: list[Template] = field(default_factory=list)
    advice: Template = ()
    cite: list[str] = field(default_factory=list)
    breaks: list[Example] = field(default_factory=list)
    keeps: list[Example] = field(default_factory=list)


class LevelChange(NamedTuple):
    """`level RULE LEVEL`."""

    rule: Named
    level: str


class Silence(NamedTuple):
    """`silence RULE "reason"`."""

    rule: Named
    reason: str


@dataclass(slots=True)
class Pack:
    """
    One file of rules.

    `figures` are those that its header gives for every class: `reference`, `hot`, `hot_factor`
    and `to_the_day`. `extends` names the packs that it is laid over. `unreadable_rules` are the
    names of rules that stand in the file and are not in `rules`.
    """

    source: Source
    name: str = ""
    title: str = ""
    extends: list[Named] = field(default_factory=list)
    figures: dict[str, float | bool] = field(default_factory=dict)
    classes: dict[str, ClassSheet] = field(default_factory=dict)
    settings: dict[str, Setting] = field(default_factory=dict)
    rules: dict[str, RuleSheet] = field(default_factory=dict)
    levels: list[LevelChange] = field(default_factory=list)
    silences: list[Silence] = field(default_factory=list)
    unreadable_rules: set[str] = field(default_factory=set)
