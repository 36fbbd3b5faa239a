"""
The one way to the grammar files, and to the lark parsers made from them.

The grammars stand at the top of the project so that a reader finds them. A wheel carries
them as `cylfile/grammar`; an editable install and a bare checkout have them beside the
package. lark is imported only where what it makes of them is not at hand, see `made`.
"""

import os.path
from functools import cache
from typing import Any

PACKAGE = os.path.dirname(os.path.dirname(os.path.realpath(__file__)))


def grammar_folder() -> str:
    """The folder of the grammar files, wherever cylfile was installed or unpacked."""
    for parent in (PACKAGE, os.path.dirname(PACKAGE)):
        folder = os.path.join(parent, "grammar")
        if os.path.isfile(os.path.join(folder, "words.lark")):
            return folder
    raise FileNotFoundError(f"cylfile is not whole: no grammar folder in or beside {PACKAGE}")


def make_parser(file_name: str, starts: tuple[str, ...]) -> Any:
    """
    A lark LALR parser for a grammar file, with one start rule for each place in `starts`.

    The basic lexer is used, so what a word is never depends on what stands before it.
    """
    from lark import Lark

    return Lark(
        read_grammar(file_name).decode("utf-8"),
        parser="lalr",
        lexer="basic",
        start=list(starts),
        import_paths=[grammar_folder()],
        maybe_placeholders=False,
    )


@cache
def read_grammar(file_name: str) -> bytes:
    """A grammar file as it was when it was first asked for."""
    with open(os.path.join(grammar_folder(), file_name), "rb") as file:
        return file.read()
