"""
`cylfile completion`: the script by which a shell completes commands and options.
"""

import argparse
from importlib import import_module

from cylfile.command_line.options import Options
from cylfile.command_line.registry import COMMANDS, Command
from cylfile.packs.shipped import shipped_names
from cylfile.show.machine.shell_scripts import SHELLS, CompletedCommand, CompletedOption
from cylfile.show.told import hand_on

_PURPOSE = "Print a script by which bash, zsh or fish completes the commands and options of cylfile."
_MORE = """\
examples:
  cylfile completion bash > ~/.local/share/bash-completion/completions/cylfile
  cylfile completion zsh > ~/.zfunc/_cylfile            where fpath has ~/.zfunc, before compinit
  cylfile completion fish > ~/.config/fish/completions/cylfile.fish

Print it again after an update of cylfile, for it holds what this version knows.
"""
# Placeholders of values that are files, or folders.
_FILES = ("FILE", "PATH", "MAP.toml", "FILE.csv", "FOLDER", "OUT", "OLD", "NEW")
_PACK = "PACK"


def run(arguments: list[str]) -> int:
    options = make_options().read(arguments)
    hand_on(SHELLS[options.shell](all_commands()))
    return 0


def make_options() -> Options:
    options = Options("completion", _PURPOSE, _MORE)
    options.add_argument("shell", choices=tuple(SHELLS), metavar="SHELL", help="the shell that is to do it")
    return options


def all_commands() -> list[CompletedCommand]:
    """Every command as a shell has to know it."""
    return [_completed(command) for command in COMMANDS]


def _completed(command: Command) -> CompletedCommand:
    actions = import_module(f"cylfile.commands.{command.module}").make_options()._actions
    options = [_option(action) for action in actions if action.option_strings and action.help != argparse.SUPPRESS]
    arguments = [_option(action) for action in actions if not action.option_strings]
    return CompletedCommand(command.name, command.purpose, options, arguments)


def _option(action: argparse.Action) -> CompletedOption:
    placeholder = action.metavar if isinstance(action.metavar, str) else ""
    is_pack = placeholder == _PACK
    repeats = action.nargs in ("*", "+") or isinstance(action, argparse._AppendAction)
    return CompletedOption(
        tuple(action.option_strings),
        action.help or "",
        action.nargs != 0,
        tuple(map(str, action.choices or (shipped_names() if is_pack and action.option_strings else ()))),
        any(word in _FILES for word in placeholder.replace(",", " ").split())
        or (is_pack and not action.option_strings),
        repeats,
    )
