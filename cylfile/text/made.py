"""
What is made once, when the program is installed: lark's tables, what the shipped packs say, and the code of their rules.

To make it takes longer than to read a small record. A wheel carries it; an editable install has it in the checkout, where
git does not see it. None of it is believed on its name: it is used where it was made of what is there now. In a checkout
that is the program too, for there any of it may be changed at any time; the program of a wheel is the one that made it.
"""

import os
import pickle
from functools import cache
from hashlib import sha256
from typing import Any, NamedTuple

from cylfile.text.grammar import PACKAGE, grammar_folder, read_grammar

FOLDER = os.path.join(PACKAGE, "made")


class MadeOnce(NamedTuple):
    """A thing that is kept in the file `name`: made of a grammar and some texts, by `packages` of the program."""

    name: str
    grammar: str
    texts: tuple[str, ...]
    packages: tuple[str, ...]

    def load(self) -> Any:
        """What is kept; None where it is not there, or was made of something else."""
        path = os.path.join(FOLDER, self.name)
        if os.path.isfile(path):
            with open(path, "rb") as file:
                if file.readline() == self._mark():
                    return pickle.load(file)
        return None

    def save(self, made: Any) -> None:
        """Keep it from now on. The program may be running meanwhile, so the file comes into its place whole."""
        path = os.path.join(FOLDER, self.name)
        with open(f"{path}.new", "wb") as file:
            file.write(self._mark())
            pickle.dump(made, file, pickle.HIGHEST_PROTOCOL)
        os.replace(f"{path}.new", path)

    def _mark(self) -> bytes:
        parts = [text.encode() for text in self.texts]
        parts += [read_grammar(name) for name in ("words.lark", self.grammar)]
        if os.path.dirname(grammar_folder()) != PACKAGE:
            parts += map(program_of, self.packages)
        return sha256(b"\0".join(parts)).hexdigest().encode() + b"\n"


@cache
def program_of(package: str) -> bytes:
    """What stands in the modules of a package, with their names."""
    said = sha256()
    for folder, _, names in os.walk(os.path.join(PACKAGE, package)):
        for name in sorted(names):
            if name.endswith(".py"):
                with open(os.path.join(folder, name), "rb") as file:
                    said.update(f"{name}\0".encode() + sha256(file.read()).digest())
    return said.digest()
