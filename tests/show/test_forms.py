"""
The table of output forms: every row is whole, and what a command prints comes by way of it.
"""

import inspect
import json
import re

import pytest

from cylfile.command_line.registry import COMMANDS
from cylfile.show import forms
from cylfile.show.forms import FORMS, PAGE, Form, forms_of, help_of
from cylfile.show.machine.lint_jsonl import lint_jsonl
from support.shown_record import report

# Commands whose output is text for other programs, or a word on what was written, and has no forms.
WITHOUT_FORMS = {"completion", "neaten", "plain", "publish", "regroup", "serve", "start"}


def missing(form: Form) -> list[str]:
    """What a row lacks."""
    lacks = []
    if form.command not in [command.name for command in COMMANDS]:
        lacks.append(f"command {form.command}")
    if not re.fullmatch("[a-z]+", form.name):
        lacks.append("name")
    if not form.meaning:
        lacks.append("meaning")
    if not form.maker.startswith(("pages.", "machine.")):
        lacks.append("maker in pages or machine")
    try:
        parameters = inspect.signature(form.make()).parameters
    except (ImportError, AttributeError):
        lacks.append(f"maker {form.maker}")
    else:
        if len(parameters) != (2 if form.is_page else 1):
            lacks.append("parameters of the maker")
    return lacks


def test_every_row_is_whole():
    assert {f"{form.command} as {form.name}": missing(form) for form in FORMS if missing(form)} == {}


@pytest.mark.parametrize(
    "row, lacks",
    [
        (Form("lynt", "json", "x", "machine.lint_json:lint_json"), ["command lynt"]),
        (Form("lint", "", "x", "machine.lint_json:lint_json"), ["name"]),
        (Form("lint", "json", "", "machine.lint_json:lint_json"), ["meaning"]),
        (Form("lint", "json", "x", "machine.lint_json:lynt"), ["maker machine.lint_json:lynt"]),
        (Form("lint", "json", "x", "machine.nowhere:lint_json"), ["maker machine.nowhere:lint_json"]),
        (Form("lint", "json", "x", "pages.reasons:in_full"), ["parameters of the maker"]),
        (Form("lint", "json", "x", "terminal.bars:put_bars"), ["maker in pages or machine", "parameters of the maker"]),
    ],
)
def test_an_incomplete_row_is_told_by_what_it_lacks(row, lacks):
    assert missing(row) == lacks


def test_every_command_has_its_forms_and_the_page_comes_first():
    names = {command.name for command in COMMANDS}
    assert {form.command for form in FORMS} == names - WITHOUT_FORMS
    assert all(next(iter(forms_of(name))) == PAGE for name in names - WITHOUT_FORMS)
    rows = [(form.command, form.name) for form in FORMS]
    assert len(rows) == len(set(rows))


def test_the_options_and_their_help_come_from_the_table(monkeypatch):
    """A row more is an option more, with its help."""
    from cylfile.commands.lint import make_options

    monkeypatch.setattr(forms, "FORMS", (*FORMS, Form("lint", "haiku", "in verse", "machine.lint_json:lint_json")))
    assert make_options().read(["--as", "haiku"]).form == "haiku"
    assert "haiku, in verse" in " ".join(make_options().format_help().split()) and "haiku" in help_of("lint")


def test_json_lines_are_one_object_each_and_say_what_json_says():
    of = report()
    first, *findings, last = [json.loads(line) for line in lint_jsonl(of)]
    assert list(first) == ["record"] and list(last) == ["counts"]
    assert all(list(each) == ["finding"] for each in findings) and len(findings) == len(of.findings)
    assert last["counts"]["danger"] == of.count("danger") and first["record"]["as_of"] == str(of.as_of)
