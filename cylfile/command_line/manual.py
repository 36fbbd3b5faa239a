"""
The page of the manual, for `man cylfile`: the texts of the help, in the language of man pages.

It is made when the wheel is built, so that it says what this version does.
"""

import re
from collections.abc import Iterator
from importlib import import_module

from cylfile import __version__
from cylfile.command_line.options import Options, help_of_option
from cylfile.command_line.registry import AUDIENCES, COMMANDS

_ABOUT = "the life of breathing-air cylinders, in plain text"
_DESCRIPTION = (
    "cylfile keeps the life of a fire department's breathing-air cylinders as plain text, and judges it by rule packs. "
    "Paths default to the current folder; all *.cyl files of a folder together are one record."
)
# Variables that the program asks the environment for.
VARIABLES = {
    "NO_COLOR": "where it is set, output has no color",
    "COLUMNS": "how wide output into a pipe or a file is to be; a terminal knows it by itself",
    "CYLFILE_PERSON, CYLFILE_SITE": "the person and the site that `cylfile enter` takes where a sentence names none",
    "CYLFILE_DEBUG": "where it is set, a fault of the program is told at length",
}
_STATUS = {
    "0": "nothing is at or above the level that fails the run",
    "1": "something is, or a list could not read all of its record",
    "2": "the job could not be done, and one line says what to do",
}
_CAUTION = (
    "It checks the record, not the cylinder. The marking on it, its permit, local code and qualified, licensed people "
    "decide whether a cylinder may be filled and used."
)


def manual_page() -> str:
    """The page, in the macros of man(7)."""
    return "".join(f"{line}\n" for line in _lines())


def _lines() -> Iterator[str]:
    yield f'.TH CYLFILE 1 "" "cylfile {__version__}" "Breathing-air cylinders"'
    # Lines are broken, not filled up with blanks, and words stay whole.
    yield ".nh"
    yield ".ad l"
    yield from (".SH NAME", f"cylfile \\- {_text(_ABOUT)}")
    yield from (".SH SYNOPSIS", ".B cylfile", "COMMAND [OPTION...]")
    yield from (".SH DESCRIPTION", _text(_DESCRIPTION))
    for audience in AUDIENCES:
        yield f".SS {_text(audience)}"
        for command in COMMANDS:
            if command.audience == audience:
                yield from _item(_bold(command.name), command.purpose)
    yield ".SH COMMANDS"
    for command in COMMANDS:
        yield from _command(import_module(f"cylfile.commands.{command.module}").make_options())
    for title, said in (("EXIT STATUS", _STATUS), ("ENVIRONMENT", VARIABLES)):
        yield f".SH {title}"
        for word, meaning in said.items():
            yield from _item(_bold(word), meaning)
    yield from (".SH CAUTION", _text(_CAUTION))


def _command(options: Options) -> Iterator[str]:
    yield f".SS {_text(options.synopsis)}"
    yield _text(options.description or "")
    for action in options.said_actions():
        names = ", ".join(map(_bold, action.option_strings))
        value = _text(action.metavar) if isinstance(action.metavar, str) and action.nargs != 0 else ""
        yield from _item(f"{names} {value}".strip(), help_of_option(action))
    lines = (options.epilog or "").rstrip("\n").split("\n")
    if len(lines) == 1:
        yield from (".PP", _text(lines[0]))
    else:
        yield from (".PP", ".nf", *map(_text, lines), ".fi")


def _item(tag: str, said: str) -> Iterator[str]:
    yield from (".TP", tag, _text(said))


def _bold(word: str) -> str:
    return f"\\fB{_text(word)}\\fR"


def _text(words: str) -> str:
    """Words that mean nothing to the formatter: no line is a request, and every sign is itself."""
    plain = words.replace("\\", "\\e").replace("-", "\\-").replace("`", "\\(ga").replace("'", "\\(aq")
    return re.sub("^(?=[.])", "\\&", plain.replace("~", "\\(ti").replace("^", "\\(ha"))
