"""
Completion in three shells: what the scripts hold, and what the shells make of them.
"""

import shutil
import subprocess

import pytest

from cylfile.command_line.registry import COMMANDS
from cylfile.commands.completion import all_commands
from cylfile.show.forms import forms_of
from cylfile.show.machine.shell_scripts import SHELLS
from support.running import Here

needs = {
    shell: pytest.mark.skipif(shutil.which(shell) is None, reason=f"{shell} is not on this machine") for shell in SHELLS
}
IN_SHELLS = [pytest.param(shell, marks=needs[shell]) for shell in SHELLS]


@pytest.fixture(scope="module")
def scripts(tmp_path_factory):
    """The path of the script for each shell, as the command prints it."""
    folder = tmp_path_factory.mktemp("scripts")
    for shell in SHELLS:
        done = Here(folder)("completion", shell)
        assert done.status == 0 and done.err == ""
        (folder / shell).write_text(done.out)
    return folder


def options_of_commands():
    return [(command.name, name) for command in all_commands() for option in command.options for name in option.names]


def test_every_command_and_every_option_is_known():
    commands = {command.name: command for command in all_commands()}
    assert list(commands) == [command.name for command in COMMANDS]
    lint = {name: option for option in commands["lint"].options for name in option.names}
    assert lint["--fail-at"].choices == ("danger", "warning", "caution", "notice")
    assert lint["--only"].may_repeat and lint["--only"].takes_value and not lint["--only"].choices
    assert "us-dot" in lint["--rules"].choices and not lint["--help"].takes_value
    assert commands["import"].arguments[0].is_file and not commands["card"].arguments[0].is_file
    assert commands["rules"].arguments[0].choices


@pytest.mark.parametrize("shell", SHELLS)
def test_every_script_holds_every_command_and_option(scripts, shell):
    text = (scripts / shell).read_text()
    for command, option in options_of_commands():
        assert command in text
        assert (
            option if shell != "fish" else f" {'-l' if option.startswith('--') else '-s'} {option.lstrip('-')}"
        ) in text


@pytest.mark.parametrize("shell", IN_SHELLS)
def test_the_shell_takes_its_script(scripts, shell):
    done = subprocess.run([shell, "-n", scripts / shell], capture_output=True, text=True)
    assert done.returncode == 0 and done.stderr == ""


def in_bash(scripts, *words):
    """What bash offers for the last of the words."""
    script = (
        f"source {scripts / 'bash'}\ncompopt() {{ :; }}\n"
        'COMP_WORDS=("$@") COMP_CWORD=$(($# - 1))\n_cylfile\nprintf "%s\\n" "${COMPREPLY[@]}"\n'
    )
    done = subprocess.run(["bash", "-c", script, "bash", "cylfile", *words], capture_output=True, text=True)
    assert done.stderr == ""
    return done.stdout.split()


def in_fish(scripts, *words):
    line = " ".join(["cylfile", *words])
    done = subprocess.run(
        ["fish", "--no-config", "-c", f"source {scripts / 'fish'}; complete -C '{line}'"],
        capture_output=True,
        text=True,
    )
    assert done.stderr == ""
    return [offered.split("\t")[0] for offered in done.stdout.split("\n") if offered]


CASES = [
    (["inv"], ["inventory"]),
    (["lint", "--fail-at", "da"], ["danger"]),
    (["lint", "--as", ""], list(forms_of("lint"))),
    (["due", "--wi"], ["--within"]),
    (["may-fill", "K-1", "--as", "j"], ["json"]),
    (["completion", "z"], ["zsh"]),
    (["inventory", "--state", "in"], ["in-service"]),
]


@needs["bash"]
@pytest.mark.parametrize(
    "words, offered", [*CASES, (["lint", "--as", "=", "pa"], ["page"]), (["due", "--within", ""], [])]
)
def test_bash(scripts, words, offered):
    assert in_bash(scripts, *words) == offered


@needs["fish"]
@pytest.mark.parametrize("words, offered", CASES)
def test_fish(scripts, words, offered):
    assert sorted(in_fish(scripts, *words)) == sorted(offered)


@needs["zsh"]
def test_zsh(scripts):
    """The two functions of its own that zsh is asked for are put in place by ones that tell what they are given."""
    script = (
        'compdef() { : }; _arguments() { print -rl -- "$@" }; _describe() { print -rl -- "${(@P)4}" }; compadd() { : }\n'
        f"source {scripts / 'zsh'}\n"
        "words=(cylfile inv) CURRENT=2; _cylfile\nwords=(cylfile lint '') CURRENT=3; _cylfile\n"
    )
    done = subprocess.run(["zsh", "-f", "-c", script], capture_output=True, text=True)
    assert done.stderr == ""
    lines = done.stdout.split("\n")
    assert any(line.startswith("inventory:all cylinders today") for line in lines)
    assert any(line.startswith("--fail-at[") and line.endswith(":(danger warning caution notice)") for line in lines)
    assert "*:file:_files" in lines


def test_a_shell_that_there_is_not(here):
    done = here("completion", "csh")
    assert done.status == 2 and done.out == "" and "bash" in done.err
