"""The nanorc by nano itself, in a terminal kept by tmux."""

import os
import re
import shutil
import subprocess
import time

import pytest

from support.editor_corpus import EDITORS, check, rows, write_sample
from support.workspaces import put_on_path, write_with_overfill

RCFILE = EDITORS / "nano" / "cyl.nanorc"
# Foreground, background and bold -> letter.
LETTER = {
    "34": "p", "33": "d", "33b": "k", "32b": "v", "35": "w", "36": "c", "35b": "q", "32": "t", "30b": "s",
    "34b": "#", "37b41": "e", "36b": "o",
}  # fmt: skip


@pytest.fixture
def terminal(tmp_path):
    """A function that opens a file in nano, types some keys and gives the screen, escapes and all."""
    if not shutil.which("nano") or not shutil.which("tmux"):
        pytest.skip("needs nano and tmux")
    socket = str(tmp_path / "tmux")

    def tmux(*arguments) -> str:
        command = ["tmux", "-S", socket, "-f", "/dev/null", *arguments]
        return subprocess.run(command, capture_output=True, text=True, encoding="utf-8", check=True).stdout

    def wait(ready) -> str:
        before = None
        for _ in range(100):
            screen = tmux("capture-pane", "-pe")
            # Two pictures that are the same: it has drawn all that it means to.
            if screen == before and ready(screen):
                return screen
            before = screen
            time.sleep(0.2)
        raise AssertionError(f"nano did not come to it:\n{screen}")

    def show(path, *keys, ready=None) -> str:
        # The terminal has its size only some time after the program has started, unless it is told.
        nano = f"stty rows 300 cols 200; cd {path.parent} && LC_ALL=C.UTF-8 PATH={os.environ['PATH']} nano -x --rcfile={RCFILE} {path.name}"
        tmux("new-session", "-d", "-x", "200", "-y", "300", nano)
        screen = wait(lambda screen: re.search(r"\[ Read [0-9]+ lines \]|Mistake", screen))
        for key in keys:
            tmux("send-keys", key)
        return wait(ready) if keys else screen

    yield show
    subprocess.run(["tmux", "-S", socket, "kill-server"], capture_output=True)


def letters_of(screen: str) -> list[str]:
    """A letter a character of the screen, by its colors."""
    lines = []
    fore, back, bold = "39", "49", ""
    for line in screen.split("\n"):
        letters = ""
        for part in re.split("(\x1b\\[[0-9;]*m)", line):
            if not part.startswith("\x1b"):
                key = (fore if fore != "39" else "") + bold + (back if back != "49" else "")
                letters += LETTER.get(key, ".") * len(part)
                continue
            for code in part[2:-1].split(";"):
                if code in ("0", ""):
                    fore, back, bold = "39", "49", ""
                elif code == "1":
                    bold = "b"
                elif code[0] == "3":
                    fore = code
                elif code[0] == "4":
                    back = code
        lines.append(letters)
    return lines


@pytest.mark.editors
@pytest.mark.parametrize("language", ("ledger", "pack"))
def test_colors(tmp_path, terminal, language):
    screen = terminal(write_sample(tmp_path, language))
    assert "Mistake" not in screen
    lines = letters_of(screen)[1:]
    assert len(rows(language)) < 290
    if language == "ledger":
        check(language, lines, allowed={"n": ".q", "e": ".", "t": "c"})
    else:
        check(language, lines, allowed={"n": ".", "e": ".oc", "c": ".", "b": "v"})


@pytest.mark.editors
def test_the_linter_key_judges_the_file_with_its_record(tmp_path, monkeypatch, terminal):
    put_on_path(tmp_path, monkeypatch)
    record = tmp_path / "record"
    record.mkdir()
    sheet = write_with_overfill(record)
    screen = terminal(sheet, "M-b", ready=lambda screen: "filled-over-test-pressure" in screen)
    assert "Error in" not in screen and "unknown-name" not in screen
