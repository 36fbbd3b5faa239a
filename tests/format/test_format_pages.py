"""Every example of grammar/FORMAT.md holds, and the page leaves no word of the language out."""

import re
from itertools import chain
from pathlib import Path
from typing import NamedTuple

import pytest

from cylfile.history.order import in_order
from cylfile.record.entries import entry_kind, plain_form
from cylfile.record.reader import read_record
from cylfile.record.vocabulary import VERBS
from cylfile.rewriting.same_facts import difference
from cylfile.text.ledger import LEDGER
from cylfile.text.source import Source
from cylfile.text.units import UNITS

PAGE = (Path(__file__).parents[2] / "grammar" / "FORMAT.md").read_text(encoding="utf-8")


class Example(NamedTuple):
    """A fenced block of the page: what stands after the fence, its text, and the line it starts on."""

    kind: str
    text: str
    line: int


EXAMPLES = [
    Example(found[1], found[2], PAGE.count("\n", 0, found.start(2)) + 1)
    for found in re.finditer(r"^```(\S[^\n]*)\n(.*?)^```$", PAGE, re.MULTILINE | re.DOTALL)
]
READABLE = [example for example in EXAMPLES if example.kind == "cyl"]
REFUSED = [example for example in EXAMPLES if example.kind == "cyl refused"]


def files_but(left_out: Example | None = None) -> list[Source]:
    """The readable examples, which are the files of one record."""
    return [Source(at_line(example), example.text) for example in READABLE if example is not left_out]


def at_line(example: Example) -> str:
    return f"line {example.line:03}"


WHOLE = read_record(files_but())
ENTRIES = [entry for entries in WHOLE.entries.values() for entry in entries]


def test_no_example_is_lost():
    assert PAGE.count("```") == 2 * len(EXAMPLES)
    kinds = [example.kind for example in EXAMPLES]
    assert {kind: kinds.count(kind) for kind in kinds} == {
        "cyl": 12,
        "cyl refused": 4,
        "plain": 1,
        "order": 1,
        "order not told": 2,
    }


def test_the_examples_are_one_record_without_a_fault():
    assert [(fault.span.source.path, fault.span.line, fault.text) for fault in WHOLE.faults] == []


@pytest.mark.parametrize("example", REFUSED, ids=at_line)
def test_a_refused_line_gets_the_words_under_it(example):
    source = Source(at_line(example), example.text)
    record = read_record([*files_but(), source])
    assert all(fault.span.source is source for fault in record.faults)
    said = sorted((fault.span.line, f"{fault.text} | {fault.cure}") for fault in record.faults)
    assert said and said == sorted(refusals_of(example.text))


def refusals_of(text: str):
    """Line and words of each `# refused:` comment: it stands under the line that it speaks of."""
    line = 0
    for number, content in enumerate(text.split("\n"), 1):
        found = re.fullmatch(" *# refused: (.*)", content)
        if found:
            yield line, found[1]
        else:
            line = number


@pytest.mark.parametrize("example", READABLE, ids=at_line)
def test_no_line_of_a_record_is_idle(example):
    """Each line says something: without it, the record says something else."""
    lines = example.text.splitlines()
    for number, line in enumerate(lines):
        if line.split("#")[0].strip():
            text = "\n".join(lines[:number] + lines[number + 1 :])
            less = read_record([*files_but(example), Source(at_line(example), text)])
            assert difference(WHOLE, less), line


def test_the_plain_forms_are_those_of_the_sheets():
    (plain,) = [example for example in EXAMPLES if example.kind == "plain"]
    before = EXAMPLES[EXAMPLES.index(plain) - 1]
    entries = [entry for entry in ENTRIES if entry.source.path == at_line(before)]
    assert sorted(map(plain_form, entries)) == sorted(plain.text.splitlines())


@pytest.mark.parametrize("example", [each for each in EXAMPLES if each.kind.startswith("order")], ids=at_line)
def test_the_order_of_entries_is_told_where_the_page_says_so(example):
    record = read_record([Source("order.cyl", example.text)])
    assert record.faults == []
    ((name, entries),) = record.entries.items()
    order = in_order(entries)
    assert bool(order.untold) is (example.kind == "order not told")
    if not order.untold:
        lines = example.text.splitlines()
        numbers = [int(lines[entry.span.line - 1].rpartition("# ")[2]) for entry in order.entries]
        assert numbers == list(range(1, len(entries) + 1))


# What stands in the examples and in backticks on the page.
CODE = "\n".join([*re.findall(r"`[^`\n]+`", PAGE), *(example.text for example in EXAMPLES)])


@pytest.mark.parametrize("keyword", sorted(LEDGER.keywords))
def test_every_word_of_the_language_is_on_the_page(keyword):
    assert re.search(rf"(?<![\w-]){re.escape(keyword)}(?![\w-])", CODE)


@pytest.mark.parametrize("verb", sorted(VERBS))
def test_every_entry_is_in_a_table_and_in_an_example(verb):
    assert re.search(rf"^\|.*`{verb}[ `]", PAGE, re.MULTILINE), f"`{verb}` has no line in a table of FORMAT.md"
    in_a_card = any(
        re.search(rf"^  [-0-9]+(?: [:0-9]+)? +{verb}\b", example.text, re.MULTILINE) for example in READABLE
    )
    assert in_a_card, f"no card in FORMAT.md has an entry of `{verb}`"


@pytest.mark.parametrize("verb", sorted(VERBS))
def test_every_clause_of_an_entry_is_in_an_example(verb):
    """Each clause that an entry can have stands in an example with this very verb."""
    kind = entry_kind(VERBS[verb].rule)
    entries = [entry for entry in ENTRIES if entry.verb == verb]
    general = {"remark", "struck", "late", "answers"}
    lacking = [
        clause.field
        for clause in kind.row.clauses
        if clause.field not in general and all(getattr(entry, clause.field) is None for entry in entries)
    ]
    assert lacking == [], f"no entry of `{verb}` in the examples of FORMAT.md has these clauses"


def test_every_unit_is_on_the_page():
    for unit in ("°F", "°C", *chain.from_iterable(UNITS.values())):
        assert f"`{unit}`" in PAGE
        assert len(LEDGER.words(f"12 {unit}")) == 1
