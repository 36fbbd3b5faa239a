"""
Building a wheel: the grammars' parse tables are made here and carried along.
"""

import sys
from pathlib import Path

from setuptools.command.build_py import build_py


class BuildWithTables(build_py):
    """Copies the package and adds the parse tables; see `cylfile.text.grammar`."""

    def run(self):
        super().run()
        if not self.editable_mode:
            # The build tool runs this file by its path and does not know the package.
            sys.path.insert(0, str(Path(__file__).resolve().parent.parent))
            from cylfile.packs.sentences import pack_language
            from cylfile.text.ledger import LEDGER

            folder = Path(self.build_lib) / "cylfile" / "grammar"
            for language in (LEDGER, pack_language()):
                language.save_tables(folder / f"{language.file_name}.tables")
