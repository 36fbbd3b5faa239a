"""Nothing of a file is lost in its words, and they are the words that lark itself would find."""

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cylfile.text.ledger import LEDGER
from cylfile.text.source import Source, decode
from support.ledger_lines import STRAYS, WORDS, ledgers

PROJECT = Path(__file__).parents[2]
LEDGERS = sorted(path for path in PROJECT.rglob("*.cyl") if "/." not in path.relative_to(PROJECT).as_posix())
unhurried = settings(deadline=None)


def text_of(path: Path) -> str:
    return decode(str(path), path.read_bytes())[0].text


def as_lark_lexes(text: str) -> list[tuple[str, str, int]]:
    return [(token.type, str(token), token.start_pos) for token in LEDGER._lark.lex(text, dont_ignore=True)]


def as_we_lex(text: str) -> list[tuple[str, str, int]]:
    return [tuple(token) for token in LEDGER.tokens(text)]


# Words of the language, their neighbors, and whatever else there is in Unicode.
ANY_TEXT = st.lists(
    st.one_of(
        st.sampled_from([*LEDGER.keywords, *(word for words in WORDS.values() for word in words), *STRAYS]),
        st.sampled_from(
            [" ", "  ", "\t", "\n", "\r\n", "\r", '"', "#", "\\", "\x00", "\u2028", "\ufeff", "\U0001f692"]
        ),
        st.text(max_size=5),
    ),
    max_size=25,
).map("".join)


def test_there_are_ledgers_to_look_at():
    assert {path.parent.name for path in LEDGERS} >= {"clean", "faulty", "ok", "err"}


@pytest.mark.parametrize("path", LEDGERS, ids=lambda path: path.relative_to(PROJECT).as_posix())
def test_a_files_words_are_the_file(path):
    text = text_of(path)
    assert "".join(token.text for token in LEDGER.tokens(text)) == text


@pytest.mark.parametrize("path", LEDGERS, ids=lambda path: path.relative_to(PROJECT).as_posix())
def test_a_files_words_are_those_of_lark(path):
    text = text_of(path)
    assert as_we_lex(text) == as_lark_lexes(text)


@unhurried
@given(st.one_of(ANY_TEXT, st.text()))
def test_any_texts_words_are_the_text(text):
    tokens = list(LEDGER.tokens(text))
    assert "".join(token.text for token in tokens) == text
    assert [token.start for token in tokens] == [len("".join(t.text for t in tokens[:n])) for n in range(len(tokens))]


@unhurried
@given(st.one_of(ANY_TEXT, ledgers()))
def test_any_texts_words_are_those_of_lark(text):
    assert as_we_lex(text) == as_lark_lexes(text)


@unhurried
@given(ANY_TEXT, st.data())
def test_a_stretch_has_the_words_of_its_own_text(text, data):
    """What a word is depends on nothing before it."""
    start = data.draw(st.integers(0, len(text)))
    end = data.draw(st.integers(start, len(text)))
    alone = [(token.type, token.text, token.start + start) for token in LEDGER.tokens(text[start:end])]
    assert [tuple(token) for token in LEDGER.tokens(text, start, end)] == alone


@unhurried
@given(ANY_TEXT)
def test_places_are_counted_in_code_points_and_lines_end_at_line_feeds(text):
    source = Source("x", text)
    for offset in range(len(text) + 1):
        before = text[:offset]
        assert source.position(offset) == (before.count("\n") + 1, offset - (before.rfind("\n") + 1) + 1)


@pytest.mark.parametrize("terminal", sorted(WORDS))
def test_a_word_of_a_terminal_is_one_word_of_it(terminal):
    for word in WORDS[terminal]:
        assert [(token.type, token.text) for token in LEDGER.tokens(word)] == [(terminal, word)]


def test_no_digits_but_those_of_ascii_make_a_figure():
    for word in ("\u0662\u0660\u0662\u0666-03-14", "45\u0660\u0660 psi", "\uff14\uff15\uff10\uff10psi", "09:4\u0662"):
        assert "STRAY" in [token.type for token in LEDGER.tokens(word)]
