"""What neatening holds to for every text: it says the same, twice is once, and damage stays as it is."""

from hypothesis import HealthCheck, example, given, settings

from cylfile.record.reader import read_record
from cylfile.rewriting.neatening import neaten
from cylfile.rewriting.same_facts import comments_of, difference
from cylfile.text.language import Damaged
from cylfile.text.ledger import read_blocks
from cylfile.text.source import Source
from support.ledger_texts import heaps, ledgers

COMMON = settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large]
)


def neatened(text):
    source = Source("a.cyl", text)
    return neaten(source, read_record([source]))


def damaged_lines(source):
    found = []
    for block in read_blocks(source)[0]:
        for line in (block.header, *block.lines):
            if isinstance(line, Damaged):
                found.append(source.text[line.start : line.end].strip(" \t"))
    return found


def holds(text):
    once = neatened(text)
    assert once.refusal == ""
    before, after = Source("a.cyl", text), Source("a.cyl", once.text)
    assert neatened(once.text).text == once.text
    assert damaged_lines(before) == damaged_lines(after)
    assert list(comments_of(before)) == list(comments_of(after))
    assert difference(read_record([before]), read_record([after])) == ""
    assert once.text == "" or once.text.endswith(("\n", "\r"))
    if "\r\n" in text and text.count("\r\n") == text.count("\n"):
        assert once.text.count("\r\n") == once.text.count("\n")
    assert once.text.count("\r\n") == 0 or "\r\n" in text


@COMMON
@given(ledgers())
def test_ledgers(text):
    holds(text)


@COMMON
@given(heaps())
@example('cylinder K-1\n  2026-03-14 filled to 4500 psi # a\n\n      remark "b"')
@example('source C1 "x"\n bad\n  at st1\n')
def test_heaps(text):
    holds(text)
