"""
Text on its way out: nothing hidden is left in it, and nothing else is changed.
"""

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cylfile.show.visible import visible

SEEN = 'Quay Road, №4 Ærø, 東京 é ½ °F 🚒 \t"[red]" {x} \\u{1b}'


def test_text_that_can_be_seen_is_left_as_it_is():
    assert visible(SEEN) == SEEN


@pytest.mark.parametrize(
    "hidden, shown",
    [
        ("\x1b[31m", "\\u{1b}[31m"),
        ("\x9b31m", "\\u{9b}31m"),
        ("\x1b]0;title\x07", "\\u{1b}]0;title\\u{7}"),
        ("a\x00b\x7fc", "a\\u{0}b\\u{7f}c"),
        ("one\ntwo\r", "one\\u{a}two\\u{d}"),
        ("\u202egnp.\u2066x\u2069", "\\u{202e}gnp.\\u{2066}x\\u{2069}"),
        ("zero\u200bwidth\ufeff", "zero\\u{200b}width\\u{feff}"),
        ("soft\u00adhyphen", "soft\\u{ad}hyphen"),
        ("line\u2028paragraph\u2029", "line\\u{2028}paragraph\\u{2029}"),
        ("tag\U000e0041", "tag\\u{e0041}"),
        ("half a pair \ud800", "half a pair \\u{d800}"),
        ("a byte of no text \udcff", "a byte of no text \\u{dcff}"),
        ("blank letter \u3164", "blank letter \\u{3164}"),
    ],
)
def test_hidden_characters_are_shown_as_escapes(hidden, shown):
    assert visible(hidden) == shown


@given(st.text(alphabet=st.characters()))
def test_nothing_hidden_is_left_and_the_rest_stays(text):
    shown = visible(text)
    assert not any(unicodedata.category(sign) in ("Cc", "Cf", "Cs", "Zl", "Zp") for sign in shown if sign != "\t")
    assert visible(shown) == shown
    kept = "".join(sign for sign in text if sign in shown)
    assert len(shown) >= len(kept)
    # What is not hidden stands there in its order.
    rest = iter(shown)
    assert all(sign in rest for sign in text if visible(sign) == sign)
