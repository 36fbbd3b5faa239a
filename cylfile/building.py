"""
Building a wheel: what lark makes of the grammars, what the shipped packs say, the code of their rules and the page of the
manual are made here and carried along.
"""

import os.path
import sys
from collections.abc import Iterator
from itertools import permutations

from setuptools.command.build_py import build_py


class BuildWithTables(build_py):
    """Copies the package, and adds what is made of grammars and packs, see `cylfile.text.grammar`, and `man cylfile`."""

    def run(self):
        super().run()
        if not self.editable_mode:
            # The build tool runs this file by its path and does not know the package.
            sys.path.insert(0, os.path.dirname(os.path.dirname(os.path.realpath(__file__))))
            from cylfile.packs.judges import save_judges
            from cylfile.packs.pack_sentences import pack_language
            from cylfile.packs.shipped import save_shipped
            from cylfile.text.ledger import LEDGER

            folder = os.path.join(self.build_lib, "cylfile", "grammar")
            for language in (LEDGER, pack_language()):
                language.save(os.path.join(folder, f"{language.file_name}.made"))
            packs = os.path.join(self.build_lib, "cylfile", "packs")
            save_shipped(packs)
            save_judges(_usual_rules(), packs)
            self._add_manual()

    def _add_manual(self) -> None:
        from cylfile.command_line.manual import manual_page

        folder = os.path.join(self.get_finalized_command("build").build_temp, "manual")
        os.makedirs(folder, exist_ok=True)
        path = os.path.join(folder, "cylfile.1")
        with open(path, "w", encoding="ascii", newline="\n") as file:
            file.write(manual_page())
        self.distribution.data_files = [*(self.distribution.data_files or ()), ("share/man/man1", [path])]


def _usual_rules() -> Iterator[list]:
    """The rules of a department that names one of the shipped packs, or two in whatever order."""
    from cylfile.packs.layering import load_rules
    from cylfile.packs.shipped import shipped_names

    for count in (1, 2):
        for names in permutations(shipped_names(), count):
            rules, _ = load_rules(names, lambda name: None)
            yield list(rules.rules.values())
