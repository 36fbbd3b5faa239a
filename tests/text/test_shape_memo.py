"""
However often a shape was met, a line says what lark alone finds in it, or is refused in the same way.

Three readers are compared: lark by itself; a language that parses the first line of each shape and
never uses a matcher; and one that has met every shape so often that its matchers read the lines.
"""

from contextlib import contextmanager
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lark import UnexpectedInput

from cylfile.text import language as language_module
from cylfile.text.language import LONGEST_LINE, Damaged, Language
from cylfile.text.ledger import LEDGER, TOP, read_blocks
from cylfile.text.parse_table import Slot
from cylfile.text.source import Source, decode
from support.ledger_lines import HEADERS, PLACES, ledgers, lines

PROJECT = Path(__file__).parents[2]
LEDGERS = sorted(path for path in PROJECT.rglob("*.cyl") if "/." not in path.relative_to(PROJECT).as_posix())
unhurried = settings(deadline=None)


def new_language() -> Language:
    """A language that has met nothing, on the parser that is already made."""
    language = Language(LEDGER.file_name, PLACES, has_acts=True)
    language.__dict__.update(_made=LEDGER._made)
    return language


@contextmanager
def matchers(often: int, many: int):
    """While it lasts, shapes met `often` times are read by a matcher that is made each `many` lines."""
    kept = language_module._OFTEN, language_module._MANY
    language_module._OFTEN, language_module._MANY = often, many
    try:
        yield
    finally:
        language_module._OFTEN, language_module._MANY = kept


def no_new_matchers():
    return matchers(often=-1, many=10**9)


def warmed_up(*texts: str) -> Language:
    """A language whose matchers read every line of these ledgers that a matcher can read."""
    language = new_language()
    for often, many in ((1, 10**9), (-1, 1)):
        with matchers(often, many):
            for text in texts:
                read_blocks(Source("x", text), language)
    return language


def without_matchers(text: str) -> list:
    language = new_language()
    with no_new_matchers():
        said = what(read_blocks(Source("x", text), language))
    assert not any(language.matchers.values())
    return said


def what(read) -> list:
    """All that reading gave: shapes with their trees, words and offsets, damage and faults."""
    blocks, faults = read
    return [
        [(line_of(block.header), block.place, [*map(line_of, block.lines)]) for block in blocks],
        *map(fault_of, faults),
    ]


def line_of(line):
    if isinstance(line, Damaged):
        return line.start, line.end, fault_of(line.fault)
    return line and (line.start, line.values, line.shape.place, line.shape.terminals, tree_of(line.shape.tree))


def fault_of(fault) -> tuple:
    return fault.span.start, fault.span.end, fault.text, fault.cure, fault.instead, fault.rule


def tree_of(tree, values=None):
    """A tree as tuples; where values are given, with the word of each slot."""
    if isinstance(tree, Slot):
        return tree if values is None else values[tree.index]
    if not hasattr(tree, "children"):
        return str(tree)
    return str(tree.data), *(tree_of(child, values) for child in tree.children)


def check_against_lark(text: str, place: str) -> None:
    """A line by itself: our sentence is lark's tree, and what lark refuses is damaged here."""
    ours = new_language().read(Source("x", text), 0, len(text), place)
    try:
        tree = LEDGER._lark.parse(text, start=place)
    except UnexpectedInput:
        assert isinstance(ours, Damaged)
    else:
        assert tree_of(ours.shape.tree, ours.values) == tree_of(tree)


def bare_lines(text: str):
    """The lines of a text that say something, without their indents, by the place they stand in."""
    for block in read_blocks(Source("x", text))[0]:
        for line, place in ((block.header, TOP), *((line, block.place) for line in block.lines)):
            if line is not None and place is not None:
                end = line.end if isinstance(line, Damaged) else text.find("\n", line.start) % (len(text) + 1)
                yield text[line.start : end].strip(), place


@pytest.mark.parametrize("path", LEDGERS, ids=lambda path: path.relative_to(PROJECT).as_posix())
def test_lines_of_ledgers_are_read_as_lark_reads_them(path):
    text = decode(str(path), path.read_bytes())[0].text
    for line, place in dict.fromkeys(bare_lines(text)):
        if line:
            check_against_lark(line, place)


@pytest.mark.parametrize("path", LEDGERS, ids=lambda path: path.relative_to(PROJECT).as_posix())
def test_a_ledger_is_read_the_same_after_its_shapes_were_met_often(path):
    text = decode(str(path), path.read_bytes())[0].text
    warm = warmed_up(text)
    with no_new_matchers():
        assert what(read_blocks(Source("x", text), warm)) == without_matchers(text)


def test_the_matchers_read_the_demo():
    """With nothing changed, the lines that a record is full of are met often and matched."""
    warm, read_line_by_line = new_language(), 0
    sources = [Source(path.name, path.read_text("utf-8")) for path in LEDGERS if "clean" in path.parts]
    for _ in range(2):
        for source in sources:
            read_blocks(source, warm)
    assert {place for place, matchers in warm.matchers.items() if matchers} >= {"cylinder_line", "fill_row"}
    read = warm.read

    def counted(*arguments):
        nonlocal read_line_by_line
        read_line_by_line += 1
        return read(*arguments)

    warm.read = counted
    said = [what(read_blocks(source, warm)) for source in sources]
    assert read_line_by_line < sum(source.text.count("\n") for source in sources) / 2
    assert said == [without_matchers(source.text) for source in sources]


@unhurried
@given(st.data())
def test_any_line_is_read_as_lark_reads_it(data):
    place = data.draw(st.sampled_from(PLACES))
    check_against_lark(data.draw(lines(place)), place)


@settings(deadline=None, max_examples=40)
@given(st.sampled_from([place for place in PLACES if place != TOP]), st.data())
def test_any_lines_are_read_the_same_after_their_shapes_were_met_often(place, data):
    """The matcher of a place, made from the shapes of some lines, reads those lines and others."""
    known = data.draw(st.lists(lines(place), min_size=1, max_size=5))
    others = data.draw(st.lists(lines(place), max_size=5))
    newline = data.draw(st.sampled_from(["\n", "\r\n"]))
    header = HEADERS[place] + newline
    warm = warmed_up(header + "".join(f"  {line}{newline}" for line in known))
    with no_new_matchers():
        text = header + "".join(f"  {line}{newline}" for line in (*known, *others, *known))
        assert what(read_blocks(Source("x", text), warm)) == without_matchers(text)


@settings(deadline=None, max_examples=25)
@given(ledgers(), ledgers())
def test_any_ledger_is_read_the_same_after_its_shapes_were_met_often(text, other):
    warm = warmed_up(text)
    with no_new_matchers():
        for again in (text, other, text + other):
            assert what(read_blocks(Source("x", again), warm)) == without_matchers(again)


@pytest.mark.parametrize(
    "row",
    [
        "09:42 K-1 to 4500 psi # " + "x" * LONGEST_LINE,
        "09:42 K-1" + " " * LONGEST_LINE + "to 4500 psi",
        "09:42 " + "7" * 64 + " to 4500 psi",
        "09:42 " + "a" * 64 + " to 4500 psi",
        "09:42 " + "K" * 65 + " to 4500 psi",
        "09:42 12 F to 4500 psi",
        "09:42 12F to 4500 psi",
        "09:42 filled to 4500 psi",
        "09:42 K-1 to 4500 psig",
        "09:42 K-1 to 4500psi#c",
        "09:42 K-1 to 4500 psi\r",
        "09:42 K-1 to 4500 psi \u202e",
        "09:42 K-1 to 4500 psi# \u2028 \x85",
        "09:42 K-1 to\u00a04500 psi",
        "09:42K-1 to 4500 psi",
        "to 4500 psi",
    ],
)
def test_what_only_looks_like_a_line_met_often(row):
    header = HEADERS["fill_row"] + "\n"
    rows = ("09:42 K-1 to 4500 psi", "09:42 114 to 4500 psi", "09:42 K-1 to 4500 psi by wren")
    warm = warmed_up(header + "".join(f"  {row}\n" for row in rows))
    assert warm.matchers["fill_row"]
    text = f"{header}  09:41 K-0 to 4400 psi\n  {row}\n  09:43 K-2 to 4500 psi\n"
    with no_new_matchers():
        assert what(read_blocks(Source("x", text), warm)) == without_matchers(text)


def test_nothing_follows_what_begins_no_sentence():
    assert LEDGER.may_follow("top", ["FILL"]) == {"SHEET"}
    assert LEDGER.may_follow("top", ["DAY", "FILLED", "SHEET", "DAY"]) == set()
