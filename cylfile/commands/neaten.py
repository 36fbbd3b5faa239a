"""
`cylfile neaten`: one layout for all files of a record; what they say stays the same, or nothing is written.
"""

import difflib
import gc

from cylfile.command_line.options import Options
from cylfile.files.stored_record import StoredFile, StoredRecord, folder_to_write, read_stored
from cylfile.files.tree import STANDARD_INPUT
from cylfile.files.writing import locked, write_file
from cylfile.rewriting.neatening import neaten
from cylfile.show.told import hand_on_exactly, note, tell, tell_beside
from cylfile.show.visible import visible
from cylfile.text.phrases import counted

_PURPOSE = (
    "Lay the files of a record out in one way: columns in line, clauses in one order, one space between a number "
    "and its unit. Comments, blank lines and line ends are kept, and lines that cannot be read are not touched. "
    "Before a file is written it is proven that it says exactly what it said."
)
_MORE = """\
examples:
  cylfile neaten                      all files of the record in this folder
  cylfile neaten --preview fills      what would change in one folder; nothing is written
  cylfile neaten --check              for a hook: exit status 1 where a file is not neat
  cylfile neaten - < in.cyl           from standard input to standard output, for editors

Exit status: 0 done, 1 with --check or --preview something would change, 2 a file could not be laid out.
"""
CANNOT = 2


def run(arguments: list[str]) -> int:
    options = make_options().read(arguments)
    # See `reading.read`.
    gc.disable()
    if options.paths == [STANDARD_INPUT]:
        return _neaten_input()
    if options.check or options.preview:
        return _Neatening(read_stored(options.paths)).show(options.preview)
    with locked(folder_to_write(options.paths)):
        return _Neatening(read_stored(options.paths)).write()


def make_options() -> Options:
    options = Options("neaten", _PURPOSE, _MORE)
    options.add_argument("paths", nargs="*", metavar="PATH", help="files or folders of the record; - is standard input")
    options.add_argument("--check", action="store_true", help="write nothing; exit status 1 where a file is not neat")
    options.add_argument("--preview", action="store_true", help="write nothing; print what would change")
    return options


class _Neatening:
    """The files of a record, those that are not neat, and what each would become."""

    def __init__(self, stored: StoredRecord):
        self.neat = 0
        self.changes: list[tuple[StoredFile, str]] = []
        self.has_refused = False
        asked = stored.folder.asked
        for file in stored.files.values():
            if asked is None or file.path in asked:
                self._look_at(file, stored)

    def _look_at(self, file: StoredFile, stored: StoredRecord) -> None:
        if not file.is_whole:
            self._refuse(file, "it is not UTF-8 text")
            return
        text, refusal = neaten(file.source, stored.record, stored.read_before[file.source])
        if refusal:
            self._refuse(
                file,
                f"laid out neatly it would say something else ({refusal}); this is a fault of the program, report it",
            )
        elif text.encode("utf-8") == file.data:
            self.neat += 1
        else:
            self.changes.append((file, text))

    def _refuse(self, file: StoredFile, why: str) -> None:
        self.has_refused = True
        note(f"`{file.shown}` is left unchanged: {why}")

    def show(self, with_preview: bool) -> int:
        for file, text in self.changes:
            if with_preview:
                _print_diff(file, text)
            else:
                tell(f"not neat  {file.shown}")
        return CANNOT if self.has_refused else int(bool(self.changes))

    def write(self) -> int:
        for file, text in self.changes:
            write_file(file.path, file.data, text.encode("utf-8"))
            tell(f"neatened  {file.shown}")
        tell_beside(f"{counted(len(self.changes), 'file')} neatened, {self.neat} neat already")
        return CANNOT if self.has_refused else 0


def _neaten_input() -> int:
    (file,) = (stored := read_stored([STANDARD_INPUT])).files.values()
    neatening = _Neatening(stored)
    text = neatening.changes[0][1] if neatening.changes else file.source.text
    hand_on_exactly(file.data if neatening.has_refused else text.encode("utf-8"))
    return CANNOT if neatening.has_refused else 0


def _print_diff(file: StoredFile, text: str) -> None:
    name = visible(file.shown)
    before, after = (_lines(whole) for whole in (file.source.text, text))
    for line in difflib.unified_diff(before, after, name, f"{name}, neatened", lineterm=""):
        tell(line.removesuffix("\r"))
    if file.source.text == text:
        tell(f"{name}: a byte-order mark would be taken off")
    elif file.source.text[-1:] not in ("", "\n"):
        tell(f"{name}: its last line would be ended")


def _lines(text: str) -> list[str]:
    """The lines of a text. What stands after the last line end is one only where anything does."""
    *lines, last = text.split("\n")
    return [*lines, last] if last else lines
