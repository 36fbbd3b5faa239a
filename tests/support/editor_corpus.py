"""
The corpus of colors, and the one way to hold an editor to it.

See `corpus.txt` for what the letters mean. An editor's test gives, for every line of a file, one
letter a character; what differs is shown as the line, what was expected and what came.
"""

import sys
from functools import cache
from pathlib import Path
from typing import NamedTuple

PROJECT = Path(__file__).resolve().parents[2]
FOLDER = PROJECT / "tests" / "editors"
EDITORS = PROJECT / "editors"
LETTERS = "kpvwcdqnts#eob."

sys.path.insert(0, str(EDITORS))
import generate  # noqa: E402


class Row(NamedTuple):
    """A line of text and the letters expected of it; no letters where nothing is."""

    text: str
    letters: str | None


@cache
def rows(language: str) -> tuple[Row, ...]:
    """All lines of the corpus in one language, `ledger` or `pack`, then one for each word of it."""
    found: list[Row] = []
    current = None
    for line in (FOLDER / "corpus.txt").read_text(encoding="utf-8").split("\n"):
        if line.startswith("= "):
            current = line.split()[1]
            # A line in column 1 ends whatever an editor may hold open.
            found += [Row("", None)] * (current == language)
        elif current == language and line.startswith("|"):
            found.append(Row(line[1:], None))
        elif current == language and line.startswith(":"):
            found[-1] = Row(found[-1].text, line[1:])
    return (*found, *_every_word(language))


def _every_word(language: str):
    """Each word of the grammar at a place where it stands with its own meaning."""
    forms = {
        "ledger": (
            ("header", "", "", "k"),
            ("property", "  ", "", "p"),
            ("verb", "  2026-01-01  ", "  dddddddddd  ", "v"),
            ("value", "  2026-01-01  remarked ", "  dddddddddd  vvvvv ", "w"),
            ("clause", "  2026-01-01  remarked ", "  dddddddddd  vvvvv ", "c"),
        ),
        "pack": (
            ("pack_header", "", "", "k"),
            ("pack_property", "  ", "", "p"),
            ("place", "  on ", "  pp ", "v"),
            ("pack_level", "rule x ", "kkkk n ", "w"),
            ("pack_operator", "  when ", "  pppp ", "o"),
            ("pack_clause", "  life ", "  pppp ", "c"),
        ),
    }
    for group, before, letters, letter in forms[language]:
        for word in sorted(generate.words()[group]):
            yield Row(before + word, letters.ljust(len(before)) + letter * len(word))


def check(language: str, came: list[str], *, allowed: dict[str, str] | None = None) -> None:
    """
    Hold an editor's letters for all lines of `language` to the corpus.

    `allowed` maps an expected letter to others that may stand for it, for an editor that cannot
    tell the two apart.
    """
    wrong = []
    expected_rows = rows(language)
    assert len(came) >= len(expected_rows), f"{len(came)} lines came back of {len(expected_rows)}"
    for (text, letters), line in zip(expected_rows, came):
        if letters is None:
            continue
        got = line.ljust(len(text))
        for at, letter in enumerate(letters):
            here = got[at] if got[at] != " " else "."
            if (
                text[at : at + 1] not in ("", " ")
                and letter != " "
                and here not in letter + (allowed or {}).get(letter, "")
            ):
                shown = "".join(" " if a == " " else b for a, b in zip(text, got))
                wrong.append(f"  text |{text}\n  want |{letters}\n  came |{shown}\n")
                break
    assert not wrong, f"{len(wrong)} lines:\n" + "\n".join(wrong)


def write_sample(folder: Path, language: str) -> Path:
    """The corpus of a language as a file that an editor can open."""
    path = folder / ("sample.cyl" if language == "ledger" else "sample.cylpack")
    path.write_text("".join(row.text + "\n" for row in rows(language)), encoding="utf-8")
    return path
