"""
Checking expressions: every word is a fact or a setting, every fact exists where the rule stands,
and values are added and compared only with their like.
"""

from cylfile.history.facts import CYLINDER_PLACES, CYLINDER_VERBS, FACTS, PLACES
from cylfile.packs.expressions import And, Arithmetic, Asked, Comparison, Known, Node, Not, Or, Times, Value, parts
from cylfile.packs.operations import ARITHMETIC, COMPARISONS, OPERATIONS, comparable
from cylfile.packs.pack import Formula
from cylfile.packs.pack_figures import Refused, figure
from cylfile.packs.suggest import did_you_mean, nearest
from cylfile.packs.texts import unescaped
from cylfile.text.parse_table import Slot
from cylfile.text.source import Fault, Span, clip
from cylfile.text.spelling import american

_ARTICLES = {"pressure": "a pressure", "temperature": "a temperature", "volume": "a volume", "duration": "a duration",
             "period": "a period", "date": "a date", "share": "a share", "count": "a number", "rate": "a rate of filling",
             "concentration": "a concentration", "density": "a density", "text": "a text", "flag": "a yes or no"}  # fmt: skip


class _Wrong(Exception):
    """An expression that means nothing; its fault is written down already."""


class Checker:
    """
    Checks the expressions of one rule, which stands on `places`; `settings` maps names to values.

    Faults are put into `faults`.
    """

    def __init__(self, places: tuple[str, ...], settings: dict[str, Value], faults: list[Fault]):
        self.places = places
        self.settings = settings
        self.faults = faults
        self.used_settings: set[str] = set()

    def condition(self, formula: Formula) -> Node | None:
        """The condition of a rule; None, and a fault, where it is none."""
        node = self.expression(formula, may_count=False)
        if node is None:
            return None
        if node.dimension != "flag":
            self.faults.append(
                Fault(
                    formula.span,
                    f"the condition is {_ARTICLES[node.dimension]}, not a yes or no",
                    "Compare it with something.",
                )
            )
            return None
        if node != Value(True, "flag") and not any(isinstance(part, (Asked, Known)) for part in parts(node)):
            self.faults.append(
                Fault(formula.span, "the condition asks for no fact", "Ask for one, or write `yes` for every entry.")
            )
            return None
        return node

    def expression(self, formula: Formula, may_count: bool) -> Node | None:
        """Any expression; `may_count` allows `times`, the count of a rule that reports once a cylinder."""
        try:
            return _Formula(self, formula, may_count).node(formula.tree)
        except _Wrong:
            return None


class _Formula:
    """One expression: its words and the checker of its rule."""

    def __init__(self, checker: Checker, formula: Formula, may_count: bool):
        self.checker = checker
        self.formula = formula
        self.may_count = may_count

    def node(self, tree) -> Node:
        match tree.data:
            case "figure":
                return self._figure(tree)
            case "text_value":
                return Value(unescaped(self._word(tree).text[1:-1]), "text")
            case "word":
                return self._named(tree)
            case "known":
                return Known(self._fact(self._word(tree)))
            case "not":
                return Not(self._flag(tree.children[0]))
            case "and" | "or":
                left, right = map(self._flag, tree.children)
                return (And if tree.data == "and" else Or)(left, right)
            case sign if sign in COMPARISONS:
                return self._comparison(tree, COMPARISONS[sign])
            case sign:
                return self._arithmetic(tree, ARITHMETIC[sign])

    # Leaves.

    def _word(self, tree):
        return self.formula.words[tree.children[0].index]

    def _figure(self, tree) -> Value:
        word = self._word(tree)
        try:
            return figure(word.type, word.text)
        except Refused as refusal:
            raise self._wrong(tree, f"`{clip(word.text)}`: {refusal}", "Write the figure that was meant.") from None

    def _named(self, tree) -> Node:
        word = self._word(tree)
        name = word.text
        if name in ("yes", "no"):
            return Value(name == "yes", "flag")
        if name == "times" and self.may_count:
            return Times()
        if name in self.checker.settings:
            self.checker.used_settings.add(name)
            return self.checker.settings[name]
        return Asked(self._fact(word))

    def _fact(self, word):
        fact = FACTS.get(american(word.text))
        if fact is None:
            span = Span(self.formula.span.source, word.start, word.end)
            text = f"there is no fact and no setting `{clip(word.text)}`"
            # `day-test-due` is one word to the reader and two to the writer.
            spaced = next(filter(None, (_two_facts(word.text, sign) for sign in "-/")), None)
            if spaced:
                fault = Fault(span, text, f"Write spaces round the sign: `{spaced}`.", spaced)
            else:
                known = (*FACTS, *self.checker.settings)
                cure = did_you_mean(word.text, known, "`cylfile rules facts` lists the facts.")
                fault = Fault(span, text, cure, nearest(word.text, known))
            self.checker.faults.append(fault)
            raise _Wrong
        missing = [place for place in self.checker.places if place not in fact.at]
        if missing:
            span = Span(self.formula.span.source, word.start, word.end)
            cure = f"It can be asked on {_listed(fact.at)}."
            self.checker.faults.append(Fault(span, f"`{word.text}` does not exist on {_listed(missing)}", cure))
            raise _Wrong
        return fact

    # What is put together.

    def _flag(self, tree) -> Node:
        node = self.node(tree)
        if node.dimension != "flag":
            raise self._wrong(
                tree,
                f"{self._name(tree, node)}, not a yes or no",
                "Compare it with something, or ask whether it is `known`.",
            )
        return node

    def _comparison(self, tree, sign: str) -> Node:
        left, right = map(self.node, tree.children)
        if not comparable(sign, left.dimension, right.dimension):
            names = f"{self._name(tree.children[0], left)} and {self._name(tree.children[1], right)}"
            if left.dimension == right.dimension:
                raise self._wrong(tree, f"{names}, which have no order", "Compare them with `=` or `!=`.")
            raise self._wrong(tree, f"{names}; only like can be compared with like")
        if left.dimension == "flag" and not all(isinstance(side, (Asked, Value)) for side in (left, right)):
            raise self._wrong(tree, "conditions cannot be compared with each other", "Use `and`, `or` and `not`.")
        return Comparison(sign, left, right)

    def _arithmetic(self, tree, sign: str) -> Node:
        left, right = map(self.node, tree.children)
        operation = OPERATIONS.get((sign, left.dimension, right.dimension))
        if operation is None:
            names = f"{self._name(tree.children[0], left)} and {self._name(tree.children[1], right)}"
            raise self._wrong(tree, f"{names}; there is no `{sign}` between them")
        if sign == "/" and isinstance(right, Value) and not right.value:
            raise self._wrong(tree, "a division by nothing")
        return Arithmetic(sign, left, right, operation.result)

    # Words for messages.

    def _name(self, tree, node: Node) -> str:
        return f"`{clip(self._span(tree).text)}` is {_ARTICLES[node.dimension]}"

    def _span(self, tree) -> Span:
        """From the first to the last word of a part that carries a value."""
        words = [self.formula.words[slot.index] for slot in _slots(tree)]
        return Span(self.formula.span.source, words[0].start, words[-1].end)

    def _wrong(self, tree, text: str, cure: str = "") -> _Wrong:
        self.checker.faults.append(Fault(self._span(tree), text, cure))
        return _Wrong()


def _slots(tree):
    for child in tree.children:
        if isinstance(child, Slot):
            yield child
        else:
            yield from _slots(child)


def _two_facts(word: str, sign: str) -> str | None:
    for at, letter in enumerate(word):
        if letter == sign and word[:at] in FACTS and word[at + 1 :] in FACTS:
            return f"{word[:at]} {sign} {word[at + 1 :]}"
    return None


def _listed(places) -> str:
    if len(places) == len(PLACES):
        return "every place"
    shown = list(places)
    for many, words in ((CYLINDER_PLACES, "every place of a cylinder"), (CYLINDER_VERBS, "every entry of a cylinder")):
        if set(many) <= set(shown):
            shown = [words, *(place for place in shown if place not in many)]
    return ", ".join(shown)
