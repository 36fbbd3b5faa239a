"""
Grammar, rows and page speak of the same verbs and clauses, and no row leaves out what the program asks of it.

Whoever adds a verb or a clause is told by name what is still missing.
"""

import re
from pathlib import Path

import pytest
from lark import Lark

from cylfile.record.vocabulary import (
    ANSWERED,
    BY,
    CYLINDER,
    FIGURE,
    FLAG,
    MAY_BE,
    MONTH,
    NAME,
    SIGNED,
    SOURCES,
    TEXT,
    VERBS,
    WORD,
    Clause,
    Verb,
)
from cylfile.text.grammar import grammar_folder
from cylfile.text.ledger import LEDGER, LINES_OF, SHEETS, TOP

GRAMMAR = Path(grammar_folder(), LEDGER.file_name).read_text(encoding="utf-8")
PAGE = Path(grammar_folder(), "FORMAT.md").read_text(encoding="utf-8")


class Rules:
    """What a grammar says: rule -> the sequences of symbols that it can be."""

    def __init__(self, grammar: str):
        starts = [TOP, *dict.fromkeys(LINES_OF.values())]
        parser = Lark(grammar, parser="earley", start=starts, import_paths=[grammar_folder()])
        self.words = {terminal.name: terminal.pattern.value for terminal in parser.terminals}
        self.choices: dict[str, list[list[str]]] = {}
        self.alias: dict[str, str] = {}
        for rule in parser.rules:
            name = str(rule.origin.name)
            self.choices.setdefault(name, []).append([str(symbol.name) for symbol in rule.expansion])
            if rule.alias:
                self.alias[name] = str(rule.alias)

    def below(self, name: str) -> set[str]:
        """The rules with a name of their own that a rule is made of, those behind names that begin with `_` too."""
        found, seen, waiting = set(), set(), [name]
        while waiting:
            here = waiting.pop()
            for symbol in {symbol for choice in self.choices[here] for symbol in choice} - seen:
                seen.add(symbol)
                if symbol.startswith("_") and symbol in self.choices:
                    waiting.append(symbol)
                elif symbol in self.choices:
                    found.add(symbol)
        return found

    def verbs(self, start: str) -> set[str]:
        return {act.removesuffix("{_here}") for act in self.below(start) if act.endswith("{_here}")}

    def clauses(self, verb: str) -> set[str]:
        """The fields that the clauses of a verb fill."""
        return {self.alias.get(rule, rule) for rule in self.below(f"{verb}{{_here}}")}

    def values(self, field: str) -> set[str]:
        """The words that a clause may have for a value."""
        return {word.rstrip("_") for rule in (field, *self.below(field)) for word in self._words_below(rule)}

    def _words_below(self, rule: str) -> set[str]:
        return {below for below in self.below(rule) if all(len(choice) == 1 for choice in self.choices[below])} - {
            "name"
        }


def missing(grammar: str, rows: list[Verb], page: str) -> list[str]:
    """What a verb or a clause lacks, in words; nothing where all is there."""
    rules = Rules(grammar)
    written = {row.rule: row for row in rows}
    on_cylinders, on_sources = rules.verbs("cylinder_line"), rules.verbs("source_line")
    found = [f"`{verb}` has no row in VERBS" for verb in (on_cylinders | on_sources) - written.keys()]
    for rule, row in written.items():
        if rule not in on_cylinders | on_sources:
            found.append(f"`{rule}` has no rule in {LEDGER.file_name}")
            continue
        fields = {clause.field for clause in row.clauses}
        found += (f"`{field}` of `{rule}` is not in its row" for field in rules.clauses(rule) - fields)
        found += (f"`{field}` of `{rule}` is not in its rule" for field in fields - rules.clauses(rule))
        if (CYLINDER in row.about) != (rule in on_cylinders) or bool({*SOURCES} & {*row.about}) != (rule in on_sources):
            found.append(f"`{rule}`: its row and the grammar differ in what it is about")
        if row.sheet and row.sheet not in SHEETS:
            found.append(f"`{row.sheet}`, the sheet of `{rule}`, is not in SHEETS of text/ledger.py")
        if row.sheet and not {row.sheet_rule, row.row_rule} <= rules.choices.keys():
            found.append(f"`{rule}`: the grammar has no {row.sheet_rule} and {row.row_rule}")
        found += (
            f"`{clause.field}` of `{rule}` is needed, and has no `what`" for clause in row.needs if not clause.what
        )
        found += _not_on_page(row, page)
    for clause in dict.fromkeys(clause for row in rows for clause in row.clauses):
        found += (f"`{clause.field}` has no `{lacking}`" for lacking in _lacking(clause))
        if clause.words and not {*clause.words} <= rules.values(clause.field):
            found.append(f"`{clause.field}`: its row and the grammar differ in its words")
    return sorted(found)


def _lacking(clause: Clause):
    if clause.value not in (FIGURE, MONTH, TEXT, WORD, FLAG, NAME, SIGNED, ANSWERED):
        yield "value"
    if not clause.question and not clause.instead_of:
        yield "question"
    if clause.value in (FIGURE, MONTH) and not clause.example:
        yield "example"
    if clause.value == WORD and not clause.words:
        yield "words"
    if clause.value in (NAME, SIGNED, ANSWERED) and clause.names not in MAY_BE and clause != BY:
        yield "names"


def _not_on_page(row: Verb, page: str):
    """What the page does not say of a verb: it has a line in a table, which names its clauses."""
    line = re.search(rf"^\| `{row.verb}[ `].*", page, re.MULTILINE)
    if line is None:
        yield f"`{row.verb}` has no line in a table of FORMAT.md"
        return
    said = page if "(below)" in line[0] else line[0]
    for clause in row.own:
        if clause.word and not re.search(rf"`{re.escape(clause.word)}(?![\w-])", said):
            yield f"`{clause.word}` is not in the line of `{row.verb}` in FORMAT.md"


ROWS = list(VERBS.values())


LACKING = missing(GRAMMAR, ROWS, PAGE)


def test_nothing_is_missing():
    assert not LACKING, "\n".join(LACKING)


def also_missing(grammar: str, rows: list[Verb], page: str = PAGE) -> list[str]:
    """What is missing now, and was not before."""
    return [lacking for lacking in missing(grammar, rows, page) if lacking not in LACKING]


BURNISHED = Verb("burnished", (BY,), signer="person")


def test_a_verb_of_the_grammar_without_a_row_is_named():
    grammar = (
        GRAMMAR.replace("| retired{who}", "| retired{who} | burnished{who}")
        + '\nburnished{who}: "burnished" who (by | _tail)*\n'
    )
    assert also_missing(grammar, ROWS) == ["`burnished` has no row in VERBS"]
    assert also_missing(grammar, [*ROWS, BURNISHED]) == ["`burnished` has no line in a table of FORMAT.md"]
    assert also_missing(grammar, [*ROWS, BURNISHED], PAGE + "\n| `burnished` | | `by` |\n") == []


def test_a_row_without_a_rule_is_named():
    assert also_missing(GRAMMAR, [*ROWS, BURNISHED]) == [f"`burnished` has no rule in {LEDGER.file_name}"]


def test_a_sheet_that_is_not_read_is_named():
    rows = [*(row for row in ROWS if row.rule != "emptied"), VERBS["emptied"]._replace(sheet="empty")]
    assert also_missing(GRAMMAR, rows) == [
        "`emptied`: the grammar has no empty_sheet and empty_row",
        "`empty`, the sheet of `emptied`, is not in SHEETS of text/ledger.py",
    ]


def test_a_clause_of_the_grammar_without_a_row_is_named():
    grammar = GRAMMAR.replace('"emptied" who (', '"emptied" who (into | ') + '\ninto: "into" name\n'
    assert also_missing(grammar, ROWS) == ["`into` of `emptied` is not in its row"]
    into = Clause("into", "into {}", NAME, "Into which storage", names="source")
    rows = [row._replace(own=(*row.own, into)) if row.rule == "emptied" else row for row in ROWS]
    assert also_missing(grammar, rows) == ["`into` is not in the line of `emptied` in FORMAT.md"]


@pytest.mark.parametrize(
    "clause, lacking",
    [
        (Clause("heat", "heat", FLAG, ""), "`heat` has no `question`"),
        (Clause("heat", "heat", "hue", "By heat"), "`heat` has no `value`"),
        (Clause("heat", "heat", FIGURE, "By heat"), "`heat` has no `example`"),
        (Clause("heat", "heat", WORD, "By heat"), "`heat` has no `words`"),
        (Clause("heat", "heat", NAME, "By heat"), "`heat` has no `names`"),
        (Clause("heat", "heat", WORD, "By heat", words=("hot",)), "`heat`: its row and the grammar differ in its words"),
    ],
)  # fmt: skip
def test_what_a_row_leaves_out_is_named(clause, lacking):
    rows = [row._replace(own=tuple(clause if each.field == clause.field else each for each in row.own)) for row in ROWS]
    assert also_missing(GRAMMAR, rows) == [lacking]
