"""
Building a wheel, or installing a checkout in place: what takes longer to make than to read a small record is made here, see
`cylfile.text.made`. A wheel gets the page of the manual as well.
"""

import os.path
import shutil
import sys
from collections.abc import Iterator
from itertools import permutations

from setuptools.command.build_py import build_py


class BuildWithTables(build_py):
    """Copies the package, or leaves it where it is, and has it make what it keeps; adds `man cylfile` to a wheel."""

    def run(self):
        super().run()
        # The build tool runs this file by its path and does not know the package. A wheel's own copy makes what the wheel keeps.
        here = os.path.dirname(os.path.dirname(os.path.realpath(__file__)))
        sys.path.insert(0, here if self.editable_mode else os.path.abspath(self.build_lib))
        sys.dont_write_bytecode = True
        _make()
        if not self.editable_mode:
            self._add_manual()

    def _add_manual(self) -> None:
        from cylfile.command_line.manual import manual_page

        folder = os.path.join(self.get_finalized_command("build").build_temp, "manual")
        os.makedirs(folder, exist_ok=True)
        path = os.path.join(folder, "cylfile.1")
        with open(path, "w", encoding="ascii", newline="\n") as file:
            file.write(manual_page())
        self.distribution.data_files = [*(self.distribution.data_files or ()), ("share/man/man1", [path])]


def _make() -> None:
    from cylfile.packs.judges import save_judges
    from cylfile.packs.pack_sentences import pack_language
    from cylfile.packs.shipped import save_shipped
    from cylfile.text import made
    from cylfile.text.ledger import LEDGER

    shutil.rmtree(made.FOLDER, ignore_errors=True)
    os.makedirs(made.FOLDER)
    for language in (LEDGER, pack_language()):
        language.save()
    save_shipped()
    save_judges(_usual_rules())


def _usual_rules() -> Iterator[list]:
    """The rules of a department that names one of the shipped packs, or two in whatever order."""
    from cylfile.packs.layering import load_rules
    from cylfile.packs.shipped import shipped_names

    for count in (1, 2):
        for names in permutations(shipped_names(), count):
            rules, _ = load_rules(names, lambda name: None)
            yield list(rules.rules.values())
