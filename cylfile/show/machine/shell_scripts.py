"""
Scripts by which bash, zsh and fish complete the program's commands, options and their values.

A script holds all that it needs; nothing of the program runs while somebody types.
"""

from collections.abc import Iterator
from typing import NamedTuple


class CompletedOption(NamedTuple):
    """
    An option by its `names`, or an argument in its place, which has none.

    `takes_value` is false for a switch. A value is one of `choices`, or a file, or something
    that nobody can complete. `may_repeat` where the option may be given several times.
    """

    names: tuple[str, ...]
    help: str
    takes_value: bool
    choices: tuple[str, ...] = ()
    is_file: bool = False
    may_repeat: bool = False


class CompletedCommand(NamedTuple):
    """A command, its options, and its arguments in their order."""

    name: str
    purpose: str
    options: list[CompletedOption]
    arguments: list[CompletedOption]


_TOP = ("help", "--help", "--version")


def bash_lines(commands: list[CompletedCommand]) -> Iterator[str]:
    yield "# Completion of cylfile in bash. Made by `cylfile completion bash`."
    yield "_cylfile() {"
    yield '    local word=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD-1]} command=${COMP_WORDS[1]} words=""'
    yield "    COMPREPLY=()"
    yield "    # An option and its value with an equals sign between them come as three words."
    yield '    if [[ $word == "=" ]]; then word=""; elif [[ $before == "=" ]]; then before=${COMP_WORDS[COMP_CWORD-2]}; fi'
    yield "    if (( COMP_CWORD == 1 )); then"
    yield f'        COMPREPLY=($(compgen -W "{_names(commands)}" -- "$word"))'
    yield "        return"
    yield "    fi"
    yield '    case "$command $before" in'
    for command in commands:
        for option in command.options:
            if option.takes_value and not option.is_file:
                patterns = "|".join(f'"{command.name} {name}"' for name in option.names)
                if option.choices:
                    yield f'        {patterns}) words="{" ".join(option.choices)}" ;;'
                else:
                    yield f"        {patterns}) compopt +o default; return ;;"
        if command.arguments and command.arguments[0].choices:
            yield f'        "{command.name} {command.name}") words="{" ".join(command.arguments[0].choices)}" ;;'
    yield "    esac"
    yield "    if [[ -z $words && $word == -* ]]; then"
    yield "        case $command in"
    for command in commands:
        names = " ".join(name for option in command.options for name in option.names)
        yield f'            {command.name}) words="{names}" ;;'
    yield "        esac"
    yield "    fi"
    yield '    [[ -n $words ]] && COMPREPLY=($(compgen -W "$words" -- "$word"))'
    yield "    return 0"
    yield "}"
    yield "complete -o default -F _cylfile cylfile"


def zsh_lines(commands: list[CompletedCommand]) -> Iterator[str]:
    yield "#compdef cylfile"
    yield "# Completion of cylfile in zsh. Made by `cylfile completion zsh`."
    yield "_cylfile() {"
    yield "  local -a commands"
    yield "  commands=("
    for command in commands:
        yield f"    {_quoted(f'{command.name}:{command.purpose}')}"
    yield "  )"
    yield "  if (( CURRENT == 2 )); then"
    yield "    _describe -t commands command commands"
    yield f"    compadd -- {' '.join(_TOP)}"
    yield "    return"
    yield "  fi"
    yield "  local command=$words[2]"
    yield "  shift words"
    yield "  (( CURRENT-- ))"
    yield "  case $command in"
    for command in commands:
        specs = [_quoted(spec) for option in command.options for spec in _zsh_option(option)]
        specs += (_quoted(_zsh_argument(argument)) for argument in command.arguments)
        yield f"    {command.name})"
        yield "      _arguments \\"
        yield " \\\n".join(f"        {spec}" for spec in specs)
        yield "      ;;"
    yield "  esac"
    yield "}"
    yield 'if [[ $funcstack[1] == _cylfile ]]; then _cylfile "$@"; else compdef _cylfile cylfile; fi'


def _zsh_option(option: CompletedOption) -> Iterator[str]:
    for name in option.names:
        repeated = "*" if option.may_repeat else ""
        value = f":{_value_word(option)}:{_zsh_values(option)}" if option.takes_value else ""
        yield f"{repeated}{name}[{_zsh_text(option.help)}]{value}"


def _zsh_argument(argument: CompletedOption) -> str:
    position = "*" if argument.may_repeat else ""
    return f"{position}:{_value_word(argument)}:{_zsh_values(argument)}"


def _zsh_values(option: CompletedOption) -> str:
    if option.choices:
        return f"({' '.join(option.choices)})"
    return "_files" if option.is_file else " "


def _value_word(option: CompletedOption) -> str:
    return "file" if option.is_file else "value"


def _zsh_text(text: str) -> str:
    for sign in "\\[]:":
        text = text.replace(sign, f"\\{sign}")
    return text


def fish_lines(commands: list[CompletedCommand]) -> Iterator[str]:
    yield "# Completion of cylfile in fish. Made by `cylfile completion fish`."
    yield "complete -c cylfile -e"
    for name in _TOP:
        yield f"complete -c cylfile -n __fish_use_subcommand -f -l {name.removeprefix('--')}"
    for command in commands:
        yield f"complete -c cylfile -n __fish_use_subcommand -f -a {command.name} -d {_fish_quoted(command.purpose)}"
    for command in commands:
        start = f"complete -c cylfile -n '__fish_seen_subcommand_from {command.name}'"
        if not any(argument.is_file for argument in command.arguments):
            yield f"{start} -f"
        for argument in command.arguments:
            if argument.choices:
                yield f"{start} -a '{' '.join(argument.choices)}'"
        for option in command.options:
            names = " ".join(f"-l {name[2:]}" if name.startswith("--") else f"-s {name[1:]}" for name in option.names)
            yield f"{start} {names}{_fish_value(option)} -d {_fish_quoted(option.help)}"


def _fish_value(option: CompletedOption) -> str:
    if not option.takes_value:
        return ""
    if option.choices:
        return f" -x -a '{' '.join(option.choices)}'"
    return " -r -F" if option.is_file else " -x"


def _names(commands: list[CompletedCommand]) -> str:
    return " ".join((*(command.name for command in commands), *_TOP))


def _quoted(text: str) -> str:
    return "'" + text.replace("'", "'\\''") + "'"


def _fish_quoted(text: str) -> str:
    return "'" + text.replace("\\", "\\\\").replace("'", "\\'") + "'"


SHELLS = {"bash": bash_lines, "zsh": zsh_lines, "fish": fish_lines}
