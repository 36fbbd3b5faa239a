"""
The options of a command: argparse without abbreviations, with our own help, and with refusals of one line.
"""

import argparse
import re
import shlex
import sys
from collections.abc import Sequence
from functools import partial
from itertools import groupby, takewhile

from cylfile.cannot import CannotDo
from cylfile.command_line.help_page import help_layout, help_text
from cylfile.packs.suggest import did_you_mean
from cylfile.show.forms import forms_of, help_of, write_each, write_form
from cylfile.show.terminal.layout import Layout
from cylfile.show.terminal.screen import COLOR_WHEN
from cylfile.text.phrases import either

# Where the meaning of an option begins.
_INDENT = 26
# A page narrower than this has the meaning under the option.
_NARROW, _UNDER = 60, 6


class Options(argparse.ArgumentParser):
    """Reads the arguments of one command."""

    def __init__(self, command: str, purpose: str, more: str = ""):
        self.command = command
        self._places: list[str] = []
        super().__init__(
            prog=f"cylfile {command}",
            description=purpose,
            epilog=more,
            allow_abbrev=False,
            add_help=False,
            # It only looks whether options are whole, for pages are set elsewhere; a width spares asking the terminal.
            formatter_class=partial(argparse.HelpFormatter, width=80),
        )
        self.add_argument("-h", "--help", action="help", help="this page")

    def add_argument(self, *names, **settings):
        # Without a default, argparse says of an argument that may be left out that it is required.
        if settings.get("nargs") == "*":
            settings.setdefault("default", [])
        action = super().add_argument(*names, **settings)
        if not action.option_strings:
            # While it parses, argparse has another `nargs` there.
            self._places.append(
                {"?": f"[{action.metavar}]", "*": f"[{action.metavar}...]"}.get(action.nargs, action.metavar)
            )
        return action

    def read(self, arguments: list[str]) -> argparse.Namespace:
        """The values of the options. Raises CannotDo where an argument means nothing."""
        self._refuse_unknown(arguments)
        values, strange = self.parse_known_intermixed_args(arguments)
        if strange:
            raise self._does_not_know(strange[0])
        values.written = shlex.join([*self.prog.split(), *arguments])
        return values

    # What argparse has to say, in words of ours: what was not understood, and what is.

    @property
    def _known(self) -> list[str]:
        return [option for action in self._actions for option in action.option_strings]

    def _refuse_unknown(self, arguments: list[str]) -> None:
        """Say first that an option is not known, for what else is missing may be what it was meant to be."""
        for word in takewhile(lambda word: word != "--", arguments):
            if word.startswith("--") and word.partition("=")[0] not in self._known:
                raise self._does_not_know(word)

    def _does_not_know(self, word: str) -> CannotDo:
        meant = did_you_mean(word.partition("=")[0], self._known, self._see())
        return CannotDo(f"`{self.prog}` does not know `{word}`. {meant}")

    def _check_value(self, action: argparse.Action, value) -> None:
        if action.choices is not None and value not in action.choices:
            known = list(map(str, action.choices))
            what = f"{self.prog} {action.option_strings[-1]}" if action.option_strings else self.prog
            raise CannotDo(f"`{what}` does not take `{value}`. It takes {either(known)}.")

    def error(self, message: str):
        named = re.match("argument ([^:]+): ", message)
        names = named[1].split("/") if named else []
        rest = message[named.end() :] if named else message
        if lacking := re.match("the following arguments are required: (.*)", rest):
            raise CannotDo(f"`{self.prog}` needs {lacking[1].replace(', ', ' and ')}. {self._see()}")
        if rest == "expected one argument":
            (action,) = (action for action in self._actions if names[-1] in action.option_strings)
            raise CannotDo(f"`{names[-1]}` needs a value after it: {names[-1]} {action.metavar}. {self._see()}")
        if surplus := re.match("ignored explicit argument '(.*)'", rest):
            raise CannotDo(f"`{names[-1]}` takes no value; leave `{surplus[1]}` out. {self._see()}")
        about = f"`{names[-1]}`: " if names else ""
        raise CannotDo(f"{about}{rest}. {self._see()}")

    def _see(self) -> str:
        return f"See cylfile help {self.command}."

    # The page of help.

    @property
    def synopsis(self) -> str:
        return " ".join([self.prog, *self._places, "[OPTION...]"])

    def said_actions(self) -> list[argparse.Action]:
        """The arguments, and then the options, that help tells of."""
        return sorted(self._actions, key=lambda action: bool(action.option_strings))

    def format_help(self) -> str:
        layout = help_layout()
        layout.put(self.synopsis, 2, first=[("  ", "")])
        layout.blank()
        layout.put(self.description or "")
        for _, actions in groupby(self.said_actions(), key=lambda action: bool(action.option_strings)):
            layout.blank()
            for action in actions:
                self._put(action, layout)
        if self.epilog:
            layout.blank()
            lines = self.epilog.rstrip("\n").split("\n")
            if len(lines) == 1:
                layout.put(lines[0])
            # What has lines of its own, such as examples, stays as it is.
            layout.lines += [[(line, "")] for line in lines if len(lines) > 1]
        return help_text(layout)

    @staticmethod
    def _put(action: argparse.Action, layout: Layout) -> None:
        names = ", ".join(action.option_strings)
        title = f"  {names} {action.metavar}" if names and action.nargs != 0 else f"  {names or action.metavar}"
        indent = _INDENT if layout.width >= _NARROW else _UNDER
        layout.put(help_of_option(action), indent, first=[(title, "")])


def help_of_option(action: argparse.Action) -> str:
    """What an option means, after what it can be."""
    said = action.help or ""
    if action.choices is not None and action.dest != "form":
        said = f"{either(list(map(str, action.choices)))}: {said}"
    return said


def add_form_options(options: Options) -> None:
    """The options of how output looks: `--as` where the command has more than one form, and `--color`."""
    names = tuple(forms_of(options.command))
    if len(names) > 1:
        meaning = help_of(options.command)
        options.add_argument("--as", dest="form", metavar="FORM", choices=names, default=names[0], help=meaning)
    meaning = "auto, the default, is in color on a terminal without NO_COLOR"
    options.add_argument("--color", metavar="WHEN", choices=COLOR_WHEN, default="auto", help=meaning)
    options.add_argument("--stamp", action="store_true", help="say when this was made, and by which command")
    options.set_defaults(command=options.command, form=names[0])


def show(shown, values: argparse.Namespace) -> None:
    """Print what a command has to show, in the form that was asked for."""
    write_form(values.command, values.form, shown, sys.stdout, values.color)


def show_each(each: Sequence[tuple[str, object]], values: argparse.Namespace, total: list[str]) -> None:
    """Print what a command has to show of each record, by the records' folders, and then what all of them come to."""
    if len(each) == 1:
        show(each[0][1], values)
    else:
        write_each(values.command, values.form, each, sys.stdout, values.color, total)
