"""
What all lines of one verb have in common, whatever clauses they have and in whatever order.

Clauses come in any order, so that a verb has a shape for each choice and each order of them, and a record written by
many hands has thousands. An `Act` is made of lark's own rules: the words with which the lines of a verb begin, and the
clauses that may follow. One expression matches them all, and each value has a place of its own.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from itertools import chain, product
from operator import attrgetter
from typing import Any, NamedTuple

GAP = "[ \t]++"
LINE_END = "[ \t]*+(?:#[^\n]*+|)(?:\n|\r\n|\\Z)"


class Part(NamedTuple):
    """
    A value of an act, and the keywords `before` it: one set for each of them in turn, since some have two spellings.

    `rule` is that of the clause, or the terminal of a value that stands by itself. A value is one of the `terminals`,
    which are all keywords where it `is_keyword`. What has none is only the keywords.
    """

    rule: str
    before: tuple[frozenset[str], ...]
    terminals: tuple[str, ...]
    is_keyword: bool = False
    is_optional: bool = False

    @property
    def is_bare(self) -> bool:
        """Whether it is a keyword that is a value, and nothing else: the blanks before it are in its group."""
        return self.is_keyword and not self.before

    def expression(self, words: Mapping[str, str], group: int | None = None) -> str:
        """Matches it; the value in a group, which is this `group` and has to be empty still, where one is given."""
        keywords = [_any(words[each] for each in sorted(spellings)) for spellings in self.before]
        if not self.terminals:
            return GAP.join(keywords)
        value = _any(words[each] for each in self.terminals)
        # With the blanks before it no value is like a name that is a keyword.
        value = f"({GAP}{value})" if self.is_keyword else f"({value})"
        if group is not None:
            value = f"(?({group})(?!)|{value})"
        before = "".join(word + GAP for word in keywords)
        return before.removesuffix(GAP) + value if self.is_keyword else before + value


class Act:
    """
    A verb in one `place`: the `rule` of its tree, its `head`, and the `clauses` that come in any order.

    A sentence of an act has a value for each part of `values`, None where it does not say it. `heading` is as of a shape.
    """

    __slots__ = ("place", "rule", "heading", "head", "clauses", "values")

    def __init__(self, place: str, rule: str, head: tuple[Part, ...], clauses: tuple[Part, ...]):
        self.place = place
        self.rule = rule
        self.heading = rule if head[0].before else None
        self.head = head
        # Those that are bare come last, so that the groups stand in the order of the values.
        self.clauses = tuple(sorted(clauses, key=attrgetter("is_bare")))
        self.values = tuple(part for part in (*head, *self.clauses) if part.terminals)

    def __repr__(self) -> str:
        return f"Act({self.place}: {self.rule})"

    def expression(self, words: Mapping[str, str], indent: str) -> str:
        """
        Matches a whole line, a group for each of its values; `words` gives the expression of each terminal.

        A line that says a clause twice is not matched.
        """
        head, gap = "", indent
        for part in self.head:
            written = part.expression(words)
            if not part.is_bare:
                written = gap + written
            head += f"(?:{written})?+" if part.is_optional else written
            gap = GAP
        first_group = sum(bool(part.terminals) for part in self.head) + 1
        numbered = list(enumerate(self.clauses, first_group))
        spaced = [part.expression(words, group) for group, part in numbered if not part.is_bare]
        bare = [part.expression(words, group) for group, part in numbered if part.is_bare]
        clauses = "|".join([f"{GAP}{_any(spaced)}", *bare])
        return f"{head}(?:{clauses})*+{LINE_END}"


def _any(expressions: Iterable[str]) -> str:
    one, *others = expressions
    return f"(?:{'|'.join((one, *others))})" if others else one


def acts_of(rules: Iterable[Any], places: Iterable[str], values_in: Iterable[str]) -> dict[str, dict[str, Act]]:
    """
    The acts of each place by their rules, read from lark's rules; `values_in` are the terminals that carry values.

    A rule that ends with clauses in any order is an act. A clause of which an act cannot tell the value is left out,
    and so is a second way to begin: lines with these are read by their shapes.
    """
    reader = _Rules(rules, values_in)
    return {place: reader.acts(place) for place in places}


def act_of(tree: Any, acts: Mapping[str, Act]) -> Act | None:
    """The act that the lines of a shape's tree are lines of, if there is one that has all their clauses."""
    # A row is its act; in other lines one of the parts is.
    told = next((part for part in (tree, *tree.children) if getattr(part, "data", None) in acts), None)
    if told is None:
        return None
    act = acts[told.data]
    parts = (part for part in (*tree.children, *told.children) if part is not told)
    said = {part.data if hasattr(part, "data") else part.terminal for part in parts}
    return act if said <= {part.rule for part in act.values} else None


class _Rules:
    """Lark's rules by their names: the symbols of each of its forms."""

    def __init__(self, rules: Iterable[Any], values_in: Iterable[str]):
        self._values_in = frozenset(values_in)
        self._forms: dict[str, list[tuple[str, ...]]] = defaultdict(list)
        self._names: dict[str, str] = {}
        for rule in rules:
            name = str(rule.origin.name)
            self._forms[name].append(tuple(str(symbol.name) for symbol in rule.expansion))
            # What a tree calls it: a template has the name of its rule.
            self._names[name] = str(rule.alias or rule.options.template_source or name)

    def acts(self, place: str) -> dict[str, Act]:
        heads: dict[str, set[tuple[str, ...]]] = defaultdict(set)
        for name, symbols in self._heads(place, ()):
            heads[name].add(symbols)
        acts = {}
        for name, forms in heads.items():
            *head, clauses = longest = max(forms, key=len)
            optional = {symbol for symbol in head if tuple(each for each in longest if each != symbol) in forms}
            rule = self._names[name]
            acts[rule] = Act(place, rule, tuple(self._head(head, optional)), tuple(self._clauses(clauses)))
        return acts

    def _heads(self, name: str, before: tuple[str, ...]) -> Iterator[tuple[str, tuple[str, ...]]]:
        """The rules that end with clauses in any order, with all symbols from the beginning of the line to these."""
        for form in filter(None, self._forms[name]):
            *first, last = form
            if last.startswith("__"):
                yield name, (*before, *form)
            elif last in self._forms:
                yield from self._heads(last, (*before, *first))

    def _head(self, symbols: Iterable[str], optional: set[str]) -> Iterator[Part]:
        keywords: tuple[frozenset[str], ...] = ()
        for symbol in symbols:
            if symbol in self._values_in:
                yield Part(symbol, keywords, (symbol,), is_optional=symbol in optional)
            elif symbol in self._forms:
                if self._forms[symbol] == [()]:
                    continue
                part = self._part(symbol)
                assert part is not None and not part.before, "the value of a head stands by itself"
                yield part._replace(before=keywords)
            else:
                keywords = (*keywords, frozenset([symbol]))
                continue
            keywords = ()
        if keywords:
            yield Part("", keywords, ())

    def _clauses(self, name: str) -> Iterator[Part]:
        """The clauses that a rule repeats."""
        parts = [part for symbol in dict.fromkeys(self._choices(name)) if (part := self._part(symbol))]
        figures = [part.before for part in parts if not part.is_keyword]
        # A keyword in place of a figure says in another way what the clause says, and an act has one place for each.
        return (part for part in parts if not (part.is_keyword and part.before in figures))

    def _choices(self, name: str) -> Iterator[str]:
        for *_, symbol in self._forms[name]:
            if symbol.startswith("_"):
                yield from self._choices(symbol)
            else:
                yield symbol

    def _part(self, name: str) -> Part | None:
        """A clause as a part; None where it has several values, or one of several kinds."""
        forms = list(self._terminals(name))
        before = tuple(map(frozenset, zip(*(words[:-1] for words in forms))))
        terminals = tuple(dict.fromkeys(words[-1] for words in forms))
        values = self._values_in.intersection(terminals)
        is_mixed = 0 < len(values) < len(terminals) or (len(values) > 1 and "NAME" not in values)
        if is_mixed or not all(self._values_in.isdisjoint(words) for words in before):
            return None
        return Part(self._names[name], before, terminals, not values)

    def _terminals(self, name: str) -> Iterator[tuple[str, ...]]:
        """All that a rule can be, in terminals."""
        for form in self._forms[name]:
            for words in product(*(self._terminals(each) if each in self._forms else [(each,)] for each in form)):
                yield tuple(chain.from_iterable(words))
