"""
Building a wheel: the grammars' parse tables and the page of the manual are made here and carried along.
"""

import os.path
import sys

from setuptools.command.build_py import build_py


class BuildWithTables(build_py):
    """Copies the package, and adds the parse tables, see `cylfile.text.grammar`, and `man cylfile`."""

    def run(self):
        super().run()
        if not self.editable_mode:
            # The build tool runs this file by its path and does not know the package.
            sys.path.insert(0, os.path.dirname(os.path.dirname(os.path.realpath(__file__))))
            from cylfile.packs.pack_sentences import pack_language
            from cylfile.text.ledger import LEDGER

            folder = os.path.join(self.build_lib, "cylfile", "grammar")
            for language in (LEDGER, pack_language()):
                language.save_tables(os.path.join(folder, f"{language.file_name}.tables"))
            self._add_manual()

    def _add_manual(self) -> None:
        from cylfile.command_line.manual import manual_page

        folder = os.path.join(self.get_finalized_command("build").build_temp, "manual")
        os.makedirs(folder, exist_ok=True)
        path = os.path.join(folder, "cylfile.1")
        with open(path, "w", encoding="ascii", newline="\n") as file:
            file.write(manual_page())
        self.distribution.data_files = [*(self.distribution.data_files or ()), ("share/man/man1", [path])]
