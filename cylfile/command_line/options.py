"""
The options of a command: argparse without abbreviations, and with refusals of one line.
"""

import argparse
import sys

from cylfile.cannot import CannotDo
from cylfile.packs.suggest import did_you_mean
from cylfile.show.forms import forms_of, help_of, write_form
from cylfile.show.terminal.screen import COLOR_WHEN


class _HelpFormatter(argparse.HelpFormatter):
    """Fills paragraphs, and keeps a text that has lines of its own, such as examples, as it is."""

    def _fill_text(self, text: str, width: int, indent: str) -> str:
        if "\n" not in text:
            return super()._fill_text(text, width, indent)
        return "".join(f"{indent}{line}\n" for line in text.rstrip("\n").split("\n"))


class Options(argparse.ArgumentParser):
    """Reads the arguments of one command."""

    def __init__(self, command: str, purpose: str, more: str = ""):
        self.command = command
        super().__init__(
            prog=f"cylfile {command}",
            description=purpose,
            epilog=more or None,
            allow_abbrev=False,
            formatter_class=lambda prog: _HelpFormatter(prog, max_help_position=26),
        )

    def add_argument(self, *names, **settings):
        # Without a default, argparse says of an argument that may be left out that it is required.
        if settings.get("nargs") == "*":
            settings.setdefault("default", [])
        return super().add_argument(*names, **settings)

    def read(self, arguments: list[str]) -> argparse.Namespace:
        """The values of the options. Raises CannotDo where an argument means nothing."""
        values, strange = self.parse_known_intermixed_args(arguments)
        if strange:
            known = [option for action in self._actions for option in action.option_strings]
            meant = did_you_mean(strange[0].partition("=")[0], known, f"See {self.prog} --help.")
            raise CannotDo(f"`{self.prog}` does not know `{strange[0]}`. {meant}")
        return values

    def error(self, message: str):
        raise CannotDo(f"{message}; see {self.prog} --help")


def add_form_options(options: Options) -> None:
    """The options of how output looks: `--as` where the command has more than one form, and `--color`."""
    names = tuple(forms_of(options.command))
    if len(names) > 1:
        options.add_argument("--as", dest="form", choices=names, default=names[0], help=help_of(options.command))
    options.add_argument("--color", choices=COLOR_WHEN, default="auto", help="auto is on a terminal, without NO_COLOR")
    options.set_defaults(command=options.command, form=names[0])


def show(shown, values: argparse.Namespace) -> None:
    """Print what a command has to show, in the form that was asked for."""
    write_form(values.command, values.form, shown, sys.stdout, values.color)
