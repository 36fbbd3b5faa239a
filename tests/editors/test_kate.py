"""The KSyntaxHighlighting definitions by Kate's own engine, with a theme in which every class has its color."""

import json
import os
import re
import shutil
import subprocess
from html import unescape

import pytest

from support.editor_corpus import EDITORS, check, rows, write_sample

LETTER = {
    "Normal": ".", "Comment": "#", "Header": "k", "Property": "p", "Verb": "v", "Value": "w", "Level": "w",
    "Clause": "c", "Date": "d", "Quantity": "q", "Name": "n", "Text": "t", "Brace": "b", "Struck": "s", "Error": "e",
    "Operator": "o",
}  # fmt: skip
NAMES = {"ledger": "Cylinder Record", "pack": "Cylinder Rule Pack"}


def theme() -> dict:
    styles = {name: {"text-color": f"#0000{ord(letter):02x}"} for name, letter in LETTER.items()}
    return {
        "metadata": {"name": "Corpus", "revision": 1},
        "text-styles": {},
        "editor-colors": {},
        "custom-styles": dict.fromkeys(NAMES.values(), styles),
    }


def letters_of(html: str) -> list[str]:
    """A letter a character, by the colors of the output."""
    body = re.search("<pre>\n?(.*)</pre>", html, re.S)[1]
    lines, here, letters = [], ["."], ""
    for part in re.split("(<[^>]*>|\n)", body):
        if part == "\n":
            lines.append(letters)
            letters = ""
        elif part.startswith("</"):
            here.pop()
        elif part.startswith("<"):
            color = re.search("[^-]color:#0000([0-9a-f]{2});", part)
            here.append(chr(int(color[1], 16)) if color else here[-1])
        else:
            letters += here[-1] * len(unescape(part))
    return [*lines, letters]


@pytest.mark.editors
@pytest.mark.parametrize("language", NAMES)
def test_colors(tmp_path, language):
    program = shutil.which("kate-syntax-highlighter") or shutil.which("ksyntaxhighlighter6")
    if not program:
        pytest.skip("needs kate-syntax-highlighter")
    folder = tmp_path / "data" / "org.kde.syntax-highlighting"
    shutil.copytree(EDITORS / "kate", folder / "syntax", ignore=shutil.ignore_patterns("*.md"))
    (folder / "themes").mkdir()
    (folder / "themes" / "corpus.theme").write_text(json.dumps(theme()))
    environment = {
        **os.environ,
        "XDG_DATA_HOME": str(tmp_path / "data"),
        "LC_ALL": "C.UTF-8",
        "QT_QPA_PLATFORM": "offscreen",
    }
    sample = write_sample(tmp_path, language)
    command = [program, "--theme", "Corpus", sample]
    run = subprocess.run(command, env=environment, capture_output=True, text=True, encoding="utf-8", check=True)
    # What is wrong with a definition is only said on standard error; the status is 0.
    assert run.stderr == ""
    lines = letters_of(run.stdout)
    assert [len(line) for line in lines[: len(rows(language))]] == [len(row.text) for row in rows(language)]
    check(language, lines)
