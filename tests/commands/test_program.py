"""
The program as a whole: its version, its help, its exit statuses, and what it does when something goes wrong.
"""

import os
import re
import subprocess
import sys
from importlib import import_module

import pytest

import cylfile
from cylfile import __main__
from cylfile.command_line.registry import AUDIENCES, COMMANDS, find_command
from cylfile.show.forms import forms_of

TRACEBACK = "Traceback"
FORMS_OF_LINT = " or ".join(", ".join(forms_of("lint")).rsplit(", ", 1))


def test_the_version(here):
    assert here("--version") == (0, f"cylfile {cylfile.__version__}\n", "")


def test_the_version_needs_no_library(program):
    """Whoever asks for the version waits for nothing: the program says it before it imports what it works with."""
    asked = "import sys; sys.argv = ['cylfile', '--version']\n"
    asked += "from cylfile.__main__ import main; main()\n"
    asked += "print(*[name for name in ('argparse', 'lark', 'rich', 're', 'datetime') if name in sys.modules])"
    ran = subprocess.run([sys.executable, "-S", "-c", asked], env=program.environment(), capture_output=True, text=True)
    assert ran.stdout == f"cylfile {cylfile.__version__}\n\n"


def test_help_names_every_command_under_who_needs_it(here):
    status, out, err = here("--help")
    assert (status, err) == (0, "") and max(map(len, out.split("\n"))) <= 80
    for command in COMMANDS:
        purpose = r"\s+".join(map(re.escape, command.purpose.split(" ")))
        assert re.search(rf"^{command.audience}\n(?:  .*\n)*  {command.name} +{purpose}$", out, re.M)
    assert here("-h").out == here("help").out == out


@pytest.mark.parametrize("command", COMMANDS, ids=lambda command: command.name)
def test_every_command_exists_and_has_help(here, command):
    assert command.audience in AUDIENCES
    status, out, err = here(command.name, "--help", as_of=None)
    assert (status, err) == (0, "") and out.startswith(f"  cylfile {command.name} ")
    assert here("help", command.name, as_of=None).out == out
    assert not any(stock in out for stock in ("usage:", "positional", "show this help", "options:", "{page"))


def test_help_tells_exit_statuses_in_one_form():
    for command in COMMANDS:
        more = import_module(f"cylfile.commands.{command.module}").make_options().epilog or ""
        told = re.findall("(.xit status[^:.]*): 0 ", more)
        assert told or command.name in ("completion", "plain", "rules", "serve"), command.name
        assert all(each.startswith("Exit") for each in told), command.name


def test_without_a_command_there_is_help_and_no_success(here):
    status, out, err = here()
    assert status == 2 and "Keeping the record" in out
    assert err == "cylfile: no command was given; name one of those above\n"


@pytest.mark.parametrize(
    "argument, message",
    [
        ("lnt", "there is no command `lnt`. Did you mean `lint`?"),
        ("xyzzy", "there is no command `xyzzy`. See cylfile help."),
        ("--verison", "`--verison` must come after a command; `cylfile help` lists them"),
        (os.curdir, "`.` is not a command; to check it: cylfile lint ."),
    ],
)
def test_an_unknown_command_is_one_line(here, argument, message):
    assert here(argument) == (2, "", f"cylfile: {message}\n")


@pytest.mark.parametrize(
    "arguments, message",
    [
        (["--fail", "json"], "`cylfile lint` does not know `--fail`. Did you mean `--fail-at`?"),
        (["--rule", "osha"], "`cylfile lint` does not know `--rule`. Did you mean `--rules`?"),
        (["--as", "xml"], f"`cylfile lint --as` does not take `xml`. It takes {FORMS_OF_LINT}."),
        (["--as-of", "yesterday"], "`--as-of`: `yesterday` is not a day; write it as 2026-03-14"),
        (["--as-of", "2026-02-30"], "`--as-of`: `2026-02-30` is not a day; write it as 2026-03-14"),
        (["--jobs", "0"], "`--jobs`: `0` is not a number of processes; write 1 or more"),
        (["--as"], "`--as` needs a value after it: --as FORM. See cylfile help lint."),
        (["--color=always", "--help=yes"], "`--help` takes no value; leave `yes` out. See cylfile help lint."),
        (["--jobs", "two"], "`--jobs`: `two` is not a number of processes; write 1 or more"),
    ],
)
def test_a_wrong_option_is_one_line(house, arguments, message):
    status, out, err = house("lint", *arguments, as_of=None)
    assert (status, out) == (2, "") and err.count("\n") == 1
    assert err.startswith(f"cylfile: {message}")


def test_only_what_must_be_given_is_asked_for(house):
    assert house("may-fill").err == "cylfile: `cylfile may-fill` needs NAME. See cylfile help may-fill.\n"
    assert (
        house("completion", "tcsh", as_of=None).err
        == "cylfile: `cylfile completion` does not take `tcsh`. It takes bash, zsh or fish.\n"
    )


def test_an_option_that_is_not_known_is_told_before_what_is_missing(house):
    """What is missing may be what it was meant to be."""
    status, _, err = house("trace", "C1", "--frist", "2026-01-01")
    assert (status, err) == (2, "cylfile: `cylfile trace` does not know `--frist`. Did you mean `--first`?\n")


def test_options_are_never_abbreviated(house):
    status, _, err = house("lint", "--cyl", "K-1")
    assert status == 2 and "does not know `--cyl`" in err


def test_a_message_shows_hidden_characters(here):
    assert "\\u{1b}[31m" in here("\x1b[31m").err and "\x1b" not in here("\x1b[31m").err


def test_a_fault_of_the_program_is_one_line(house, monkeypatch):
    """Nobody is shown a traceback, and nobody takes it for a fault of the record."""

    def fail(arguments):
        print("half a page")
        raise KeyError("a fault")

    monkeypatch.setattr("cylfile.commands.lint.run", fail)
    status, out, err = house("lint", as_of=None)
    assert (status, out) == (2, "half a page\n")
    assert err == (
        "cylfile: a fault of the program (KeyError); please report it, with the command and what CYLFILE_DEBUG=1 prints\n"
    )


def test_a_fault_of_the_program_is_told_in_full_where_that_is_asked_for(house, monkeypatch):
    monkeypatch.setattr("cylfile.commands.lint.run", lambda arguments: {}["missing"])
    status, _, err = house("lint", CYLFILE_DEBUG="1")
    assert status == 2 and err.startswith(f"cylfile: {TRACEBACK}") and err.endswith("prints\n")


def test_stopping_it_is_quiet(house, monkeypatch):
    def stop(arguments):
        raise KeyboardInterrupt

    monkeypatch.setattr("cylfile.commands.lint.run", stop)
    assert house("lint", as_of=None) == (__main__.INTERRUPTED, "", "")


def test_a_reader_that_goes_away_is_no_trouble(house):
    (house.folder / "many.cyl").write_text("x\n" * 4_000)
    with house.start("lint", "--as", "lines") as running:
        running.stdout.readline()
        running.stdout.close()
        assert running.stderr.read() == b""
    assert running.returncode == __main__.BROKEN_PIPE


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="this system has no device that is always full")
def test_a_full_disk_is_one_line(house):
    with open("/dev/full", "wb") as full, house.start("lint", pipes={"stdout": full}) as running:
        err = running.stderr.read().decode()
    assert running.returncode == 2
    assert err == "cylfile: the system says: no space left on device; correct that and run it again\n"


def test_a_closed_output_is_no_traceback(house):
    with house.start("lint", pipes={"preexec_fn": lambda: os.close(1)}) as running:
        err = running.stderr.read().decode()
    assert TRACEBACK not in err and running.returncode in (1, 2)


def test_a_command_is_found_by_its_whole_name():
    assert [find_command(command.name) for command in COMMANDS] == list(COMMANDS)


@pytest.mark.parametrize(
    "arguments",
    [
        ("rules", "show", "heat-and-aluminium"),
        ("inventory", "--class", "un-aluminium", "--rules", "us-dot"),
        ("lint", "--only", "heat-and-aluminium", "--without", "tester-not-authorised", "--rules", "us-dot"),
    ],
)
def test_options_read_british_spelling(house, arguments):
    done = house(*arguments, as_of=None)
    assert done.status < 2 and done.err == "" and "aluminium" not in done.out
