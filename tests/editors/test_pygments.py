"""The lexers for Pygments by Pygments itself, which rich brings."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pygments.lexers import get_lexer_by_name, get_lexer_for_filename
from pygments.token import Comment, Error, Generic, Keyword, Literal, Name, Number, Operator, String

from cylfile.show.machine.pygments_lexer import LedgerLexer, PackLexer
from support.editor_corpus import check, rows

LETTER = {
    Comment.Single: "#", Generic.Deleted: "s", Keyword.Declaration: "k", Name.Attribute: "p", Name.Function: "v",
    Keyword.Constant: "w", Keyword: "c", Literal.Date: "d", Number: "q", Name: "n", String.Double: "t",
    String.Interpol: "b", Error: "e", Operator: "o", Operator.Word: "o",
}  # fmt: skip
LEXERS = {"ledger": LedgerLexer, "pack": PackLexer}


@pytest.mark.parametrize("language", LEXERS)
def test_colors(language):
    text = "".join(row.text + "\n" for row in rows(language))
    letters = ""
    for kind, piece in LEXERS[language]().get_tokens(text):
        letters += "".join("\n" if character == "\n" else LETTER.get(kind, ".") for character in piece)
    # Pygments takes the empty lines at the start off.
    skipped = len(text) - len(text.lstrip("\n"))
    check(language, [""] * skipped + letters.split("\n"))


@pytest.mark.parametrize("language", LEXERS)
@given(text=st.text(st.sampled_from(list('ab "#\\{}\n\t0129-:.,/%<=breakscylinder')) | st.characters(), max_size=200))
def test_no_text_is_lost(language, text):
    lexer = LEXERS[language](stripnl=False, ensurenl=False)
    assert "".join(piece for _, piece in lexer.get_tokens(text)) == text.replace("\r\n", "\n").replace("\r", "\n")


def test_pygments_finds_the_lexers_of_the_installed_package():
    from importlib.metadata import entry_points

    if not any(point.value.startswith("cylfile.") for point in entry_points(group="pygments.lexers")):
        pytest.skip("needs an installed cylfile")
    assert isinstance(get_lexer_by_name("cyl"), LedgerLexer)
    assert isinstance(get_lexer_for_filename("rules/house.cylpack"), PackLexer)
