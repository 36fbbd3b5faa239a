"""The examples of grammar/PACKS.md: what it shows works, and what it says is refused is refused."""

import re
from pathlib import Path

import pytest

from cylfile.history.facts import PLACES
from cylfile.packs.pack_sentences import LINES
from cylfile.packs.proving import prove
from cylfile.packs.shipped import shipped_names
from cylfile.text.grammar import grammar_folder
from support.house_pack import findings, load

PAGE = Path(grammar_folder(), "PACKS.md").read_text(encoding="utf-8")
_FENCE = re.compile(r"^```(\w*)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
_REFUSED = re.compile(r"# refused: (.*)$")


def fences(kind: str):
    found = [match for match in _FENCE.finditer(PAGE) if match[1] == kind]
    return [pytest.param(match[2], id=f"line {PAGE.count(chr(10), 0, match.start()) + 1}") for match in found]


def test_every_fence_is_run():
    assert {match[1] for match in _FENCE.finditer(PAGE)} == {"pack", "refused"}
    assert (len(fences("pack")), len(fences("refused"))) == (8, 3)


@pytest.mark.parametrize("text", fences("pack"))
def test_a_pack_of_the_page_is_read_and_proved(text):
    ruleset, faults = load(text)
    assert faults == []
    # A house that changes a setting changes what the examples of a shipped pack show.
    unproved = [str(found) for found in prove(ruleset, findings) if found.example.span.source.path.startswith("house")]
    assert unproved == []


@pytest.mark.parametrize("text", fences("refused"))
def test_what_the_page_says_is_refused(text):
    expected = {}
    for number, line in enumerate(text.split("\n"), 1):
        message = _REFUSED.search(line)
        if message:
            expected[number] = message[1]
    _, faults = load(text)
    assert {fault.span.line: fault.text for fault in faults} == expected
    assert len(faults) == len(expected)
    assert all(fault.span.end > fault.span.start for fault in faults)


def test_the_page_names_every_property_and_every_header():
    for lines in LINES.values():
        for word in lines:
            assert f"`{word}" in PAGE or f"`{word}`" in PAGE, f"{word} is not on the page"
    assert "status" in PLACES and "`status`" in PAGE


def test_every_pack_that_ships_is_in_the_table():
    rows = "\n".join(line.split("|")[1] for line in PAGE.splitlines() if line.startswith("| `"))
    assert [name for name in shipped_names() if f"`{name}`" not in rows] == []
