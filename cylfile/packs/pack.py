"""
What one pack file says, read but not yet checked: expressions are still sentences of the grammar.
"""

from datetime import date
from typing import Any, NamedTuple

from cylfile.packs.expressions import Value
from cylfile.packs.marking import Pattern
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
    tree: Any
    words: list[Token]


# A text with expressions in braces: the stretches of text, and between them the expressions.
Template = tuple[str | Formula, ...]


class Setting(NamedTuple):
    """A figure that packs laid over this one may change."""

    name: str
    value: Value
    cite: str
    span: Span


class Example(NamedTuple):
    """
    A small record under `breaks` or `keeps`.

    `text` is a ledger, dedented, its own `class` blocks blanked out: line n of it is line
    `span.line + n - 1` of the pack, `indent` columns further in. `classes` are those blocks.
    `here` are the lines, from 1, that are marked `# here`, and `gaps` those marked `# cannot judge`. `as_of` is the day that the record
    is judged for.
    """

    title: str
    breaks: bool
    text: str
    span: Span
    indent: int
    here: tuple[int, ...]
    gaps: tuple[int, ...]
    as_of: date
    classes: list["ClassSheet"]


class ClassSheet:
    """
    What a pack says of a class of cylinder: the fields of `Figures` that it gives.

    `patterns` are the markings that show the class; `cites` gives the source of a figure
    by the name of its property and `where` its place, `rule_cites` what a rule rests on for cylinders
    of this class.
    """

    def __init__(self, name: str, title: str, span: Span):
        self.name = name
        self.title = title
        self.span = span
        self.figures: dict[str, Any] = {}
        self.patterns: list[Pattern] = []
        self.cites: dict[str, str] = {}
        self.where: dict[str, Span] = {}
        self.rule_cites: dict[str, list[str]] = {}
        self.cited_rules: list[Named] = []


class RuleSheet:
    """A rule as written. `on` are places of the fact table; `when` is None where it could not be read."""

    def __init__(self, name: str, level: str, span: Span):
        self.name = name
        self.level = level
        self.span = span
        self.on: tuple[str, ...] = ()
        self.when: Formula | None = None
        self.once = False
        self.say: Template | None = None
        self.why = ""
        self.working: list[Template] = []
        self.advice: Template = ()
        self.cite: list[str] = []
        self.breaks: list[Example] = []
        self.keeps: list[Example] = []


class LevelChange(NamedTuple):
    """`level RULE LEVEL`."""

    rule: Named
    level: str


class Suspension(NamedTuple):
    """`suspend RULE "reason"`."""

    rule: Named
    reason: str


class RuleSource(NamedTuple):
    """`cite RULE "source"`: what a rule of another pack rests on where this pack is laid."""

    rule: Named
    cite: str


class Pack:
    """
    One file of rules.

    `figures` are those that its header gives for every class: `reference`, `hot`, `hot_factor`,
    `gauge_allowance`, `to_the_day` and `until_emptied`; `cites` gives the source of one by the name
    of its property, and `where` its place. `over` names the packs that it is laid over. `unreadable_rules` are the
    names of rules that stand in the file and are not in `rules`.
    """

    def __init__(self, source: Source):
        self.source = source
        self.name = ""
        self.title = ""
        self.over: list[Named] = []
        self.figures: dict[str, Any] = {}
        self.cites: dict[str, str] = {}
        self.where: dict[str, Span] = {}
        self.classes: dict[str, ClassSheet] = {}
        self.settings: dict[str, Setting] = {}
        self.rules: dict[str, RuleSheet] = {}
        self.levels: list[LevelChange] = []
        self.suspensions: list[Suspension] = []
        self.sources: list[RuleSource] = []
        self.unreadable_rules: set[str] = set()
        self.is_shipped = False
