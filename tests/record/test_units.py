"""
The units of quantities: those of the grammar, and no others.
"""

import re

import pytest

from cylfile.record.quantities import quantity
from cylfile.text.grammar import read_grammar
from cylfile.text.ledger import LEDGER
from cylfile.text.units import UNITS


@pytest.mark.parametrize("terminal", UNITS)
def test_the_units_of_a_terminal_are_those_of_its_rule_in_the_grammar(terminal):
    rule = re.search(rf"^{terminal}\.[0-9]+: (.*)$", read_grammar("words.lark").decode(), re.MULTILINE)[1]
    after_the_number = rule.split(")?", 1)[1].split("(?!")[0].replace("[ \\t]", "").replace("\\/", "/")
    letters_apart = re.sub(r"\[([A-Za-z]+)\]", lambda found: "|".join(found[1]), after_the_number)
    assert set(re.findall("[A-Za-z%]+(?:/[a-z])?[0-9]?", letters_apart)) == set(UNITS[terminal])


@pytest.mark.parametrize("terminal, unit", [(terminal, unit) for terminal in UNITS for unit in UNITS[terminal]])
def test_every_unit_can_be_written_and_reckoned_with(terminal, unit):
    (word,) = LEDGER.words(f"7 {unit}")
    assert word.type == terminal and quantity(terminal, word.text).unit == unit
