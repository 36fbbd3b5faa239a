"""
The pages of the working day on terminals of several widths: nothing runs over the edge.
"""

import fcntl
import os
import pty
import re
import struct
import subprocess
import sys
import termios

import pytest

from cylfile.show.terminal.layout import cells
from support.station import AS_OF, ROOT


def on_terminal(folder, width, *arguments, **environment):
    """What a terminal of 200 lines and so many columns is sent, line by line."""
    reader, terminal = pty.openpty()
    fcntl.ioctl(terminal, termios.TIOCSWINSZ, struct.pack("HHHH", 200, width, 0, 0))
    process = subprocess.Popen(
        [sys.executable, "-m", "cylfile", *arguments, "--as-of", AS_OF],
        cwd=folder, stdout=terminal, stderr=subprocess.PIPE,
        env={**os.environ, "PYTHONPATH": str(ROOT), "TERM": "xterm-256color", "NO_COLOR": "", **environment},
    )  # fmt: skip
    os.close(terminal)
    shown = b""
    try:
        while piece := os.read(reader, 65536):
            shown += piece
    except OSError:
        # That is how a terminal ends that nobody writes to any more.
        pass
    os.close(reader)
    assert process.wait() in (0, 1) and process.stderr.read() == b""
    return shown.decode().split("\r\n")


COMMANDS = [
    ("inventory",),
    ("due", "--within", "6y"),
    ("coming", "--years", "12"),
    ("card", "K-10"),
    ("may-fill", "K-10"),
]


@pytest.mark.parametrize("arguments", COMMANDS, ids=lambda arguments: arguments[0])
@pytest.mark.parametrize("width", [60, 140])
def test_nothing_runs_over_the_edge(station, arguments, width):
    lines = on_terminal(station, width, *arguments, NO_COLOR="1")
    assert len(lines) > 10
    assert max(cells(line) for line in lines) <= width
    assert not any("\x1b" in line for line in lines)


def test_color_only_helps(station):
    """What is written in color says the same without its escapes."""
    colored = on_terminal(station, 80, "may-fill", "K-10")
    assert any("\x1b[" in line for line in colored)
    plain = on_terminal(station, 80, "may-fill", "K-10", NO_COLOR="1")
    assert [re.sub("\x1b\\[[0-9;]*m", "", line).rstrip() for line in colored] == plain
    dumb = on_terminal(station, 80, "may-fill", "K-10", TERM="dumb")
    assert dumb == plain
