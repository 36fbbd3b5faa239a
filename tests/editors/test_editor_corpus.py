"""The corpus itself: it says what the languages say, and the editors' words are the grammars' words."""

import pytest

from cylfile.text.ledger import LEDGER
from support.editor_corpus import EDITORS, FOLDER, LETTERS, PROJECT, generate, rows

_FIGURES = ("PRESSURE", "TEMPERATURE", "VOLUME", "DURATION", "SHARE", "PPM", "DENSITY")
# Type of a token -> the letters that may stand under it. Keywords may have any of theirs.
_LETTERS_OF = {
    "DAY": "d", "MONTH": "d", "TIME": "d", "TEXT": "t", "NAME": "ne", "DIGEST": "n", "COUNT": "nqe",
    "COMMENT": "#", "OPEN_TEXT": "e", "STRAY": "e", **dict.fromkeys(_FIGURES, "q"),
}  # fmt: skip


@pytest.mark.parametrize("language", ("ledger", "pack"))
def test_the_corpus_is_well_formed(language):
    for text, letters in rows(language):
        assert letters is None or (len(letters) <= len(text) and set(letters) <= set(LETTERS + " ")), text


def test_the_letters_are_what_the_language_reads():
    """Every word of a ledger line has the letter of its token, unless it is struck or stands in a conflict."""
    for text, letters in rows("ledger"):
        if letters is None or text.startswith(("<<<", "===", ">>>")):
            continue
        for token in LEDGER.tokens(text):
            if token.type == "BLANK":
                continue
            under = set(letters.ljust(len(text))[token.start : token.end]) - {" "}
            allowed = set(_LETTERS_OF.get(token.type, "kpvwcq")) | {"s"}
            assert under and under <= allowed, f"{token} of {text!r} has {under}"


def test_every_editor_has_the_words_of_the_grammars():
    assert generate.stale() == [], "run: python editors/generate.py"


def test_no_editor_lacks_anything():
    """Its file among those generated, a page of its own, a row in the table of editors, and a test."""
    page = (EDITORS / "README.md").read_text(encoding="utf-8")
    tests = "".join(path.read_text(encoding="utf-8") for path in FOLDER.glob("test_*.py"))
    lacking = []
    for folder in (path for path in sorted(EDITORS.iterdir()) if path.is_dir() and path.name != "__pycache__"):
        name = folder.name
        lacking += [f"{name}/README.md"] * (not (folder / "README.md").exists())
        lacking += [f"a row of {name}/ in editors/README.md"] * (f"`{name}/`" not in page)
        lacking += [f"a test of {name} in tests/editors"] * (name not in tests.lower())
        for path in folder.rglob("*"):
            file = path.relative_to(PROJECT).as_posix()
            if path.is_file() and "node_modules" not in file and file not in generate.FILES:
                lacking += [f"{file} in FILES of generate.py"] * generate.has_marks(path.read_text("utf-8", "replace"))
    assert not lacking, "\n".join(lacking)


def test_every_keyword_of_the_ledger_is_in_a_group():
    groups = generate.words()
    inside = {word for group in ("header", "property", "verb", "value", "clause") for phrase in groups[group]
              for word in phrase.split()}  # fmt: skip
    assert set(LEDGER.keywords) - inside == {"year", "years", "entries"}
