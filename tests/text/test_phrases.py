"""
How messages count and join.
"""

import pytest

from cylfile.text.phrases import counted, either


@pytest.mark.parametrize(
    "number, words", [(0, "0 entries"), (1, "1 entry"), (-1, "-1 entry"), (2, "2 entries"), (1000, "1,000 entries")]
)
def test_one_is_told_from_several(number, words):
    assert counted(number, "entry", "entries") == words


def test_most_nouns_take_an_s():
    assert counted(2, "row") == "2 rows" and counted(1, "row") == "1 row"


@pytest.mark.parametrize("words, said", [(["a"], "a"), (("a", "b"), "a or b"), (["a", "b", "c"], "a, b or c")])
def test_one_of_several(words, said):
    assert either(words) == said
