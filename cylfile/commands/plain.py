"""
`cylfile plain`: what one file says, in plain forms, cylinder by cylinder; git can compare that in place of the file.
"""

from collections.abc import Iterable

from cylfile.cannot import CannotDo
from cylfile.command_line.options import Options
from cylfile.files.git.attributes import setup_lines
from cylfile.files.ledger_files import file_source
from cylfile.record.plain_form import plain_file
from cylfile.record.reader import read_record
from cylfile.show.told import hand_on

_PURPOSE = "Print what one file says: every block and every entry in plain form, whatever the layout."
_MORE = "Comments are not printed, and lines that cannot be read stand at the end as they are."


def run(arguments: list[str]) -> int:
    values = make_options().read(arguments)
    if values.for_git:
        lines: Iterable[str] = setup_lines()
    elif values.file is None:
        raise CannotDo("name the file to print: cylfile plain FILE")
    else:
        source, faults = file_source(values.file)
        lines = plain_file(read_record([source], faults))
    hand_on(lines)
    return 0


def make_options() -> Options:
    options = Options("plain", _PURPOSE, _MORE)
    options.add_argument("file", nargs="?", metavar="FILE", help="a ledger; - is standard input")
    options.add_argument("--for-git", action="store_true", help="print what git has to be told so that it uses this")
    return options
