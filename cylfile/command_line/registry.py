"""
The commands there are. A command is a module with `run(arguments) -> exit status`, and
`make_options()` for whoever has to know its options without running it.

It is imported only when it is asked for. To add a command, write its module and add one line
to `COMMANDS`.
"""

import gc
import os
from importlib import import_module
from typing import NamedTuple

from cylfile import __version__
from cylfile.cannot import CannotDo


class Command(NamedTuple):
    """One line of the table: `module` in `cylfile.commands`, what it is for, and who needs it."""

    name: str
    module: str
    audience: str
    purpose: str

    def run(self, arguments: list[str]) -> int:
        # What is imported stays, and is not looked through for garbage.
        gc.disable()
        command = import_module(f"cylfile.commands.{self.module}")
        gc.enable()
        return command.run(arguments)


# Who needs a command, in the order of the overview.
FILL_STATION = "At the fill station"
RECORD_KEEPER = "Keeping the record"
AUDITOR = "Looking back"
RULES = "The rules"
AUDIENCES = (FILL_STATION, RECORD_KEEPER, AUDITOR, RULES)

# fmt: off
COMMANDS = (
    Command("briefing", "briefing", FILL_STATION, "one screen: what must come out of use, what must not be filled, what falls due"),
    Command("may-fill", "may_fill", FILL_STATION, "may this cylinder be filled now, and to what pressure"),
    Command("lint", "lint", RECORD_KEEPER, "judge the whole record and say what is wrong, cylinder by cylinder"),
    Command("enter", "enter", FILL_STATION, "write one entry in the ledger's own words, judged before it is written"),
    Command("card", "card", FILL_STATION, "one cylinder's whole life, with what is wrong and what comes next"),
    Command("import", "import_", RECORD_KEEPER, "fills exported by a fill station or a spreadsheet; cards of an inventory"),
    Command("inventory", "inventory", RECORD_KEEPER, "all cylinders today: state, site, class, last fill, next test, end of life"),
    Command("due", "due", RECORD_KEEPER, "what falls due: tests, inspections, replacements, samples, cartridges"),
    Command("coming", "coming", RECORD_KEEPER, "tests and replacements to budget for, by year and class"),
    Command("totals", "totals", RECORD_KEEPER, "the annual report: fills, free air, tests, inspections, by month and more"),
    Command("publish", "publish", RECORD_KEEPER, "pages for people without the program: a folder to look at, to print, to hang up"),
    Command("start", "start", RECORD_KEEPER, "begin a record, with an example of everything"),
    Command("regroup", "regroup", RECORD_KEEPER, "arrange the same record as cards or as sheets"),
    Command("neaten", "neaten", RECORD_KEEPER, "one layout for all files; what they say stays the same"),
    Command("serve", "serve", RECORD_KEEPER, "answer an editor: findings as you type, completion and the rest"),
    Command("completion", "completion", RECORD_KEEPER, "a script by which your shell completes all these"),
    Command("compare", "compare", AUDITOR, "what was added, struck, changed and removed between two states of a record"),
    Command("seal", "seal", AUDITOR, "close a period so that changes to it show, or check that none was made"),
    Command("plain", "plain", AUDITOR, "what one file says, in plain forms; for git to compare"),
    Command("trace", "trace", AUDITOR, "which cylinders the air of a source reached, and which still hold it"),
    Command("rules", "rules", RULES, "what is judged, by which text, and in which words"),
)
# fmt: on


def find_command(name: str) -> Command:
    """The command of this name. Raises CannotDo, with the name that may have been meant."""
    for command in COMMANDS:
        if command.name == name:
            return command
    if name.startswith("-"):
        raise CannotDo(f"`{name}` must come after a command; `cylfile help` lists them")
    if os.path.exists(name):
        raise CannotDo(f"`{name}` is not a command; to check it: cylfile lint {name}")
    from cylfile.packs.suggest import did_you_mean

    raise CannotDo(
        f"there is no command `{name}`. {did_you_mean(name, [command.name for command in COMMANDS], 'See cylfile help.')}"
    )


def overview() -> str:
    """What `cylfile help` prints: the commands by who needs them."""
    from cylfile.command_line.help_page import help_layout, help_text

    indent = max(len(command.name) for command in COMMANDS) + 5
    layout = help_layout()
    layout.put(f"cylfile {__version__}: the life of breathing-air cylinders, in plain text")
    layout.blank()
    layout.put("  cylfile COMMAND [OPTION...]")
    for audience in AUDIENCES:
        layout.blank()
        layout.put(audience)
        for command in COMMANDS:
            if command.audience == audience:
                layout.put(command.purpose, indent, first=[(f"  {command.name}", "")])
    layout.blank()
    layout.put("`cylfile help COMMAND` tells more of one of them; `cylfile --version` which version this is.")
    return help_text(layout)
