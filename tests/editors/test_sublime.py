"""The Sublime syntaxes by the engine of bat, with a theme in which every class has a color of its own."""

import os
import re
import shutil
import subprocess

import pytest

from support.editor_corpus import EDITORS, check, rows, write_sample

SCOPES = {
    "#": "comment", "s": "markup.deleted", "k": "keyword.control", "p": "support.type", "v": "entity.name.function",
    "w": "constant.language", "c": "keyword.other", "d": "constant.other.date", "q": "constant.numeric",
    "n": "variable.other, entity.name.section", "t": "string", "b": "constant.other.placeholder", "e": "invalid",
    "o": "keyword.operator",
}  # fmt: skip
THEME = """<?xml version="1.0" encoding="UTF-8"?>
<plist version="1.0"><dict><key>name</key><string>corpus</string><key>settings</key><array>
<dict><key>settings</key><dict><key>background</key><string>#000000</string>
<key>foreground</key><string>#FFFFFF</string></dict></dict>
{}
</array></dict></plist>
"""
RULE = (
    "<dict><key>scope</key><string>{}</string><key>settings</key><dict><key>foreground</key>"
    "<string>#0000{:02X}</string></dict></dict>"
)


@pytest.fixture(scope="module")
def bat(tmp_path_factory):
    program = shutil.which("batcat") or shutil.which("bat")
    if not program:
        pytest.skip("needs bat")
    folder = tmp_path_factory.mktemp("bat")
    (folder / "source" / "themes").mkdir(parents=True)
    shutil.copytree(EDITORS / "sublime", folder / "source" / "syntaxes", ignore=shutil.ignore_patterns("*.md"))
    rules = "\n".join(RULE.format(scope, ord(letter)) for letter, scope in SCOPES.items())
    (folder / "source" / "themes" / "corpus.tmTheme").write_text(THEME.format(rules))
    environment = {**os.environ, "BAT_CACHE_PATH": str(folder / "cache"), "COLORTERM": "truecolor"}
    build = [program, "cache", "--build", "--source", folder / "source", "--target", folder / "cache"]
    built = subprocess.run(build, env=environment, capture_output=True, text=True, check=True)
    assert built.stderr == ""
    return lambda sample: subprocess.run(
        [program, "--color=always", "--style=plain", "--paging=never", "--theme=corpus", sample],
        env=environment, capture_output=True, text=True, check=True, encoding="utf-8",
    ).stdout  # fmt: skip


def letters_of(line: str) -> str:
    letters, here = "", "."
    for part in re.split("(\x1b\\[[0-9;]*m)", line):
        color = re.fullmatch("\x1b\\[38;2;0;0;([0-9]+)m", part)
        if color:
            here = chr(int(color[1]))
        elif part.startswith("\x1b"):
            here = "."
        else:
            letters += here * len(part)
    return letters


@pytest.mark.editors
@pytest.mark.parametrize("language", ("ledger", "pack"))
def test_colors(tmp_path, bat, language):
    lines = bat(write_sample(tmp_path, language)).split("\n")
    plain = [re.sub("\x1b\\[[0-9;]*m", "", line) for line in lines]
    assert plain[: len(rows(language))] == [row.text for row in rows(language)]
    check(language, [letters_of(line) for line in lines])
