"""
The pages of the working day on terminals of several widths: nothing runs over the edge.
"""

import re

import pytest

from cylfile.show.terminal.layout import cells
from support.running import Program
from support.station import AS_OF


def on_terminal(station, width, *arguments, **environment):
    """What a terminal of so many columns is sent, line by line."""
    done = Program(station.folder, AS_OF).on_terminal(width, *arguments, **environment)
    assert done.status in (0, 1) and done.err == ""
    return done.out.split("\n")


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
    lines = on_terminal(station, width, *arguments)
    assert len(lines) > 10
    assert max(cells(line) for line in lines) <= width
    assert not any("\x1b" in line for line in lines)


def test_color_only_helps(station):
    """What is written in color says the same without its escapes."""
    colored = on_terminal(station, 80, "may-fill", "K-10", NO_COLOR="")
    assert any("\x1b[" in line for line in colored)
    plain = on_terminal(station, 80, "may-fill", "K-10")
    assert [re.sub("\x1b\\[[0-9;]*m", "", line).rstrip() for line in colored] == plain
    dumb = on_terminal(station, 80, "may-fill", "K-10", NO_COLOR="", TERM="dumb")
    assert dumb == plain
