"""
Pages about rules: which there are, what one says, the vocabulary, and which examples fail.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable
from functools import cache

from cylfile.findings.core_rules import CORE_RULES
from cylfile.history.facts import CYLINDER_PLACES, CYLINDER_VERBS, DIMENSIONS, FACTS, STATUS
from cylfile.history.figures import Figures
from cylfile.packs.classes import CylinderClass
from cylfile.packs.pack_lines import Block, read_lines
from cylfile.packs.pack_sentences import LINES
from cylfile.packs.proving import Unproved
from cylfile.packs.rule import Rule
from cylfile.packs.ruleset import Ruleset
from cylfile.packs.wording import in_words
from cylfile.show.terminal.layout import Layout, Line
from cylfile.text.phrases import counted
from cylfile.text.source import Source

# Level, name and meaning stand in columns; on a narrow terminal the meaning stands under the name.
_LEVEL = 11
_MEANING = 38
_UNDER = 11
# Of a class: where its figures begin, and where their sources do.
_FIGURE = 20
_SOURCE = 38
_NARROW = 80


def rules_page(put: Callable[[Layout], None], layout: Layout) -> list[Line]:
    """The lines of one of the pages below, which `put` puts on the layout."""
    put(layout)
    return layout.lines


class Listing:
    """Lays out lists of rules, one pack after the other."""

    def __init__(self, layout: Layout):
        self.layout = layout

    def ruleset(self, rules: Ruleset) -> None:
        """All that packs laid over each other come to: rules, levels in force and settings."""
        self.layout.put(f"rules: {', '.join(rules.names) or 'none'}", style="strong")
        self.core(rules.levels)
        for pack in dict.fromkeys(rule.pack for rule in rules.rules.values()):
            self._pack(pack, [rule for rule in rules.rules.values() if rule.pack == pack], rules)
        self._settings(rules)
        for easing in rules.laxer:
            self._row("laxer", "", easing.pack, str(easing))

    def core(self, levels: dict[str, str] | None = None) -> None:
        """The rules that need no pack; `levels` are those in force, where packs have changed them."""
        rows = [((levels or {}).get(name, rule.level), name, rule.meaning) for name, rule in CORE_RULES.items()]
        self._rows("core", "what reading finds itself, whatever the packs", rows)

    def pack(self, name: str, own: list[Rule], rules: Ruleset) -> None:
        """A pack alone; `own` are its own rules, `rules` all that it comes to."""
        self._pack(name, own, rules)
        self._settings(rules)

    def _pack(self, name: str, own: list[Rule], rules: Ruleset) -> None:
        rows = [(rule.level, rule.name, _meaning(rule, rules.suspended)) for rule in own]
        self._rows(name, _title_of(own[0].span.source) if own else "no rules of its own", rows)

    def _settings(self, rules: Ruleset) -> None:
        for name, value in rules.settings.items():
            cite = rules.setting_cites.get(name)
            figure = in_words(value.value, value.dimension, "psi")
            self._row("setting", "", name, f"{figure}  ({cite})" if cite else figure)

    def _rows(self, name: str, title: str, rows: list[tuple[str, str, str]]) -> None:
        if self.layout.lines:
            self.layout.blank()
        self.layout.put(title, len(name) + 3, first=[(name, "strong")])
        for level, rule, meaning in rows:
            self._row(level.upper(), level, rule, meaning)

    def _row(self, word: str, style: str, name: str, meaning: str) -> None:
        first = [(" ", ""), (f" {word:8}", style), (" ", ""), (name, "strong")]
        self.layout.put(meaning, _MEANING if self.layout.width >= _NARROW else _UNDER, first=first)


def _title_of(source: Source) -> str:
    """What a pack says in its first line that it is."""
    headers = (block.header for block in _blocks_of(source) if block.header.word == "pack")
    return next((source.text[header.rest : header.end].partition('"')[2].strip().rstrip('"') for header in headers), "")


def _meaning(rule: Rule, suspended: dict[str, str]) -> str:
    """What a rule is there for, in a sentence; else what it says when it is broken, as written."""
    if rule.name in suspended:
        return f"suspended: {suspended[rule.name]}"
    if rule.why:
        sentence, ends, _ = rule.why.partition(". ")
        return sentence + ends.strip()
    return next(line for word, line in _lines_of(rule) if word == "say").strip('"')


def core_rule_page(name: str, level: str, layout: Layout) -> None:
    """One rule that needs no pack."""
    layout.put(
        CORE_RULES[name].meaning, _LEVEL, first=[(" ", ""), (f" {level.upper():8}", level), (" ", ""), (name, "strong")]
    )
    layout.put("A rule of the reader itself; it is always on and stands in no pack.", _LEVEL)


def rule_page(rule: Rule, rules: Ruleset, layout: Layout) -> None:
    """One rule: where it stands, whether it is in force, and its text as it is written, with its examples."""
    first = [(" ", ""), (f" {rule.level.upper():8}", rule.level), (" ", "")]
    layout.put(rule.name, _LEVEL, "strong", first=first, right=[rule.span.place])
    layout.put(
        f"from pack {rule.pack}, asked on {', '.join(rule.on)}" + (", once a cylinder" if rule.once else ""), _LEVEL
    )
    if rule.name in rules.suspended:
        layout.put(f"suspended: {rules.suspended[rule.name]}", _LEVEL, "strong")
    layout.blank()
    for line in _text_of(rule):
        layout.put_line(line)


@cache
def _blocks_of(source: Source) -> list[Block]:
    """The blocks of a pack, read once for all its rules."""
    return read_lines(source)[0]


def _block_of(rule: Rule) -> Block:
    return next(
        block for block in _blocks_of(rule.span.source) if block.header.start <= rule.span.start < block.header.end
    )


def _lines_of(rule: Rule) -> Iterable[tuple[str, str]]:
    text = rule.span.source.text
    return ((line.word, text[line.rest : line.end].strip()) for line in _block_of(rule).lines)


def _text_of(rule: Rule) -> list[str]:
    """The lines of a rule as they stand in its pack."""
    source, block = rule.span.source, _block_of(rule)
    last = block.lines[-1]
    end = source.line_end(max(last.end, last.record[1] if last.record else 0))
    return source.text[source.line_starts[rule.span.line - 1] : end].replace("\r", "").split("\n")


def classes_page(rules: Ruleset, layout: Layout, pack: str | None = None) -> None:
    """Every class, or every one of a pack, with its figures, where they are from, and the markings that lead to it."""
    for of in rules.classes.values():
        if pack in (None, of.pack):
            if layout.lines:
                layout.blank()
            layout.put(of.title, len(of.name) + 2, first=[(of.name, "strong")], right=[f"pack {of.pack}"])
            for word, figure in figures_of_class(of, rules.of_every):
                before, cite = f"  {word:{_FIGURE - 2}}", of.cites.get(word, "")
                if len(before) + len(figure) <= layout.width:
                    layout.put(cite, _SOURCE, first=[(f"{before}{figure}", "")])
                    continue
                layout.put(figure, _FIGURE, first=[(before, "")])
                if cite:
                    layout.put(cite, _SOURCE)
            for pattern in of.patterns:
                layout.put(pattern.written, _FIGURE, first=[("  marked", "")])


def figures_of_class(of: CylinderClass, of_every: Figures) -> Iterable[tuple[str, str]]:
    """The figures that a class has of its own, by the names of their properties, in words."""
    for word, dimension in LINES["class"].items():
        figure = getattr(of.figures, word.replace("-", "_"), None)
        if figure is not None and figure != getattr(of_every, word.replace("-", "_")):
            yield word, in_words(figure, dimension, "psi")


def words_page(layout: Layout) -> None:
    """The vocabulary of rules: every fact with its dimension and meaning, by where it may be asked."""
    by_place = defaultdict(list)
    for fact in FACTS.values():
        by_place[fact.at].append(fact)
    name_width = max(map(len, FACTS)) + 3
    column = 2 + name_width + max(map(len, DIMENSIONS)) + 3
    for places, facts in by_place.items():
        if layout.lines:
            layout.blank()
        layout.put(_where(places), style="strong")
        for fact in facts:
            first = [(f"  {fact.name:{name_width}}", "strong"), (fact.dimension, "")]
            indent = column if layout.width >= _NARROW else _UNDER
            layout.put(fact.meaning, indent, first=first)
            if fact.write:
                layout.put(f"written as {fact.write}", indent, "faint")


# What is said of places that stand together often.
_MANY_PLACES = (
    (CYLINDER_PLACES, "At every entry of a cylinder, and on the as-of day"),
    (CYLINDER_VERBS, "At every entry of a cylinder"),
)
_STATUSES = {STATUS: "status, which is the as-of day"}


def _where(places: tuple[str, ...]) -> str:
    for many, words in _MANY_PLACES:
        if places[: len(many)] == many:
            return ", at ".join((words, *places[len(many) :]))
    return f"At {', '.join(_STATUSES.get(place, place) for place in places)}"


def proof_page(pack: str, unproved: list[Unproved], rules: int, examples: int, layout: Layout) -> None:
    """Which of a pack's own examples fail, and that the others do not."""
    for failure in unproved:
        example = failure.example
        word = "breaks" if example.breaks else "keeps"
        title = f'{word} "{example.title}"' if example.title else word
        layout.put(f"{failure.rule}: {title}", style="strong", right=[example.span.place])
        layout.put(failure.text, 2)
        for number, line in enumerate(example.text.rstrip("\n").split("\n"), 1):
            layout.put_line(f"  {number:4}  {line}")
        layout.blank()
    failing = len({id(failure.example) for failure in unproved})
    ruled = f"{pack}: {counted(rules, 'rule')} with {counted(examples, 'example')}"
    layout.put(
        f"{ruled}, of which {failing or 'none'} {'fails' if failing == 1 else 'fail'}",
        style="strong" if failing else "",
    )
