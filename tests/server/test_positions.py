"""Places as the protocol counts them, in each encoding."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cylfile.server.positions import Positions

LINE = '  remark "🚒 é bad"'


@pytest.mark.parametrize("encoding, column", (("utf-8", 18), ("utf-16", 15), ("utf-32", 14)))
def test_columns_are_counted_in_units_of_the_encoding(encoding, column):
    positions = Positions("a\r\n" + LINE, encoding)
    offset = 3 + LINE.index("bad")
    assert positions.position(offset) == (1, column)
    assert positions.offset(*positions.position(offset)) == offset


def test_only_line_feeds_and_carriage_returns_end_lines():
    text = "a\u2028b\x0cc\x85d\re\r\nf"
    assert Positions(text, "utf-16").position(len(text))[0] == 2


def test_beyond_the_end_is_the_end():
    positions = Positions("ab\ncd", "utf-16")
    assert positions.offset(0, 99) == 2 and positions.offset(9, 0) == 5


@given(st.text(st.sampled_from("aé🚒\n\r\u2028 "), max_size=30), st.sampled_from(("utf-8", "utf-16", "utf-32")))
def test_there_and_back(text, encoding):
    positions = Positions(text, encoding)
    for offset in range(len(text) + 1):
        line, column = positions.position(offset)
        if not text[:offset].endswith("\r") or not text[offset:].startswith("\n"):
            assert positions.offset(line, column) == offset
