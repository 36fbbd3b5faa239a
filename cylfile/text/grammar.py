"""
The one way to the grammar files, and to the lark parsers made from them.

The grammars stand at the top of the project so that a reader finds them. A wheel carries
them as `cylfile/grammar`; an editable install and a bare checkout have them beside the
package. A wheel also carries what lark made of them when it was built, since making it takes longer
than reading a small record, and so that lark is not imported at all; and what the shipped packs say, with the
code of their rules.
None of it is believed on its name: it is used where it was made of what is there now.
"""

import os.path
import pickle
from hashlib import sha256
from typing import Any

_PACKAGE = os.path.dirname(os.path.dirname(os.path.realpath(__file__)))


def grammar_folder() -> str:
    """The folder of the grammar files, wherever cylfile was installed or unpacked."""
    for parent in (_PACKAGE, os.path.dirname(_PACKAGE)):
        folder = os.path.join(parent, "grammar")
        if os.path.isfile(os.path.join(folder, "words.lark")):
            return folder
    raise FileNotFoundError(f"cylfile is not whole: no grammar folder in or beside {_PACKAGE}")


def load_language(file_name: str, starts: tuple[str, ...]) -> Any:
    """What lark made of a grammar file as it is now, where a wheel keeps that; None where it does not."""
    return load_made(os.path.join(grammar_folder(), f"{file_name}.made"), file_name, starts)


def load_made(path: str, file_name: str, texts: tuple[str, ...]) -> Any:
    """What `save_made` kept in a file of a grammar as it is now and of these texts; None where it is of others or not there."""
    if os.path.isfile(path):
        with open(path, "rb") as file:
            if file.readline() == _mark(grammar_folder(), file_name, texts):
                return pickle.load(file)
    return None


def save_made(made: Any, target: str, file_name: str, texts: tuple[str, ...]) -> None:
    """Keep what was made of some texts by a grammar, when a wheel is built."""
    with open(target, "wb") as file:
        file.write(_mark(grammar_folder(), file_name, texts))
        pickle.dump(made, file, pickle.HIGHEST_PROTOCOL)


def make_parser(file_name: str, starts: tuple[str, ...]) -> Any:
    """
    A lark LALR parser for a grammar file, with one start rule for each place in `starts`.

    The basic lexer is used, so what a word is never depends on what stands before it.
    """
    from lark import Lark

    folder = grammar_folder()
    return Lark(
        _read(folder, file_name).decode("utf-8"),
        parser="lalr",
        lexer="basic",
        start=list(starts),
        import_paths=[folder],
        maybe_placeholders=False,
    )


def _mark(folder: str, file_name: str, texts: tuple[str, ...]) -> bytes:
    """What a file must have been made of to be used: these grammars, and these places or texts."""
    parts = [text.encode() for text in texts]
    parts += [_read(folder, name) for name in ("words.lark", file_name)]
    return sha256(b"\0".join(parts)).hexdigest().encode() + b"\n"


def _read(folder: str, file_name: str) -> bytes:
    with open(os.path.join(folder, file_name), "rb") as file:
        return file.read()
