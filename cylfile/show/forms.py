"""
The forms that the output of commands can have: one row a form.

The options `--as` and `--color`, their help and the writing come from this table. To add a form,
write its module and add its row. The maker of a page is given what a command has to show and a
`Layout`, and gives lines of styled pieces; that of a form for machines is given the same, and
gives texts with line ends of their own.
"""

from collections.abc import Sequence
from importlib import import_module
from typing import NamedTuple, TextIO

PAGE = "page"


class Form(NamedTuple):
    """
    A row: the command, the form as `--as` takes it, what it is in words, and its maker.

    The maker is a function, by its module below `cylfile.show` and its name.
    """

    command: str
    name: str
    meaning: str
    maker: str

    @property
    def is_page(self) -> bool:
        """Whether it is laid out for people, and not written for machines to the letter."""
        return self.maker.startswith("pages.")

    def make(self):
        """The function that makes it; its module is imported only now."""
        module, _, function = self.maker.partition(":")
        return getattr(import_module(f"cylfile.show.{module}"), function)


_FOR_PEOPLE = "for people"
_OBJECT = "one JSON object"
_ROWS = "rows for a spreadsheet"
# fmt: off
# The first form of a command is the one it has where nothing is said.
FORMS = (
    Form("briefing", PAGE, _FOR_PEOPLE, "pages.briefing_page:briefing_page"),
    Form("briefing", "json", _OBJECT, "machine.briefing_json:briefing_json"),
    Form("card", PAGE, _FOR_PEOPLE, "pages.card_page:card_page"),
    Form("card", "json", _OBJECT, "machine.card_json:card_json"),
    Form("coming", PAGE, _FOR_PEOPLE, "pages.coming_page:coming_page"),
    Form("coming", "csv", _ROWS, "machine.coming_csv:coming_csv"),
    Form("coming", "json", _OBJECT, "machine.coming_json:coming_json"),
    Form("compare", PAGE, _FOR_PEOPLE, "pages.compare_page:comparison_page"),
    Form("compare", "json", _OBJECT, "machine.compare_json:compare_json"),
    Form("compare", "csv", _ROWS, "machine.compare_csv:compare_csv"),
    Form("due", PAGE, _FOR_PEOPLE, "pages.due_page:due_page"),
    Form("due", "csv", _ROWS, "machine.due_csv:due_csv"),
    Form("due", "ics", "a calendar", "machine.due_calendar:due_calendar"),
    Form("due", "json", _OBJECT, "machine.due_json:due_json"),
    Form("enter", PAGE, _FOR_PEOPLE, "pages.lint_page:findings_alone"),
    Form("import", PAGE, _FOR_PEOPLE, "pages.import_page:import_page"),
    Form("import", "json", _OBJECT, "machine.import_json:import_json"),
    Form("inventory", PAGE, _FOR_PEOPLE, "pages.inventory_page:inventory_page"),
    Form("inventory", "csv", _ROWS, "machine.inventory_csv:inventory_csv"),
    Form("inventory", "json", _OBJECT, "machine.inventory_json:inventory_json"),
    Form("lint", PAGE, _FOR_PEOPLE, "pages.lint_page:findings_page"),
    Form("lint", "lines", "a line a finding, by which editors jump", "machine.finding_lines:finding_lines"),
    Form("lint", "json", _OBJECT, "machine.lint_json:lint_json"),
    Form("lint", "jsonl", "a JSON object a line", "machine.lint_jsonl:lint_jsonl"),
    Form("lint", "sarif", "SARIF 2.1.0", "machine.sarif:sarif_lines"),
    Form("may-fill", PAGE, _FOR_PEOPLE, "pages.may_fill_page:may_fill_page"),
    Form("may-fill", "json", _OBJECT, "machine.may_fill_json:may_fill_json"),
    Form("rules", PAGE, _FOR_PEOPLE, "pages.rules_page:rules_page"),
    Form("seal", PAGE, _FOR_PEOPLE, "pages.seal_page:seals_page"),
    Form("seal", "json", _OBJECT, "machine.seal_json:seal_json"),
    Form("totals", PAGE, _FOR_PEOPLE, "pages.totals_page:totals_page"),
    Form("totals", "csv", _ROWS, "machine.totals_csv:totals_csv"),
    Form("totals", "json", _OBJECT, "machine.totals_json:totals_json"),
    Form("trace", PAGE, _FOR_PEOPLE, "pages.trace_page:trace_page"),
    Form("trace", "tree", "for people, drawn from the source to the cylinders", "pages.trace_page:trace_tree"),
    Form("trace", "json", _OBJECT, "machine.trace_json:trace_json"),
    Form("trace", "csv", _ROWS, "machine.trace_csv:trace_csv"),
)
# fmt: on


def forms_of(command: str) -> dict[str, Form]:
    """The forms of a command by their names, the usual one first."""
    return {form.name: form for form in FORMS if form.command == command}


def help_of(command: str) -> str:
    """What `--as` can be, in words."""
    first, *others = forms_of(command).values()
    return "; ".join([f"{first.name}, {first.meaning} (default)", *(f"{form.name}, {form.meaning}" for form in others)])


def write_form(command: str, name: str, shown, stream: TextIO, color: str = "auto") -> None:
    """Write what a command has to show in one of its forms; `color` as `--color` takes it."""
    from cylfile.show.terminal.screen import in_color, layout_for, write, write_exactly

    form = forms_of(command)[name]
    make = form.make()
    if form.is_page:
        write(make(shown, layout_for(stream)), stream, in_color(stream, color))
    else:
        write_exactly(make(shown), stream)


def write_each(
    command: str, name: str, each: Sequence[tuple[str, object]], stream: TextIO, color: str, total: list[str]
) -> None:
    """
    Write what a command has to show of several records, one after the other, and for people then the sum.

    Each has the folder of its record; `total` is what all of them come to, in words.
    """
    from cylfile.show.several_records import joined_pages, joined_texts
    from cylfile.show.terminal.screen import in_color, layout_for, write, write_exactly

    form = forms_of(command)[name]
    make = form.make()
    if form.is_page:
        pages = (make(shown, layout_for(stream)) for _, shown in each)
        write(joined_pages(pages, len(each), total, layout_for(stream)), stream, in_color(stream, color))
    else:
        texts = ((folder, make(shown)) for folder, shown in each)
        write_exactly(joined_texts(name, texts), stream)
