"""
The one way to the grammar files, and to the lark parsers made from them.

The grammars stand at the top of the project so that a reader finds them. A wheel carries
them as `cylfile/grammar`; an editable install and a bare checkout have them beside the
package.
"""

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent.parent


def grammar_folder() -> Path:
    """The folder of the grammar files, wherever cylfile was installed or unpacked."""
    for folder in (_PACKAGE / "grammar", _PACKAGE.parent / "grammar"):
        if (folder / "words.lark").is_file():
            return folder
    raise FileNotFoundError(f"cylfile is not whole: no grammar folder in or beside {_PACKAGE}")


def load_parser(file_name: str, starts: tuple[str, ...]):
    """
    A lark LALR parser for a grammar file, with one start rule for each place in `starts`.

    The basic lexer is used, so what a word is never depends on what stands before it.
    """
    from lark import Lark

    folder = grammar_folder()
    return Lark(
        (folder / file_name).read_text(encoding="utf-8"),
        parser="lalr",
        lexer="basic",
        start=list(starts),
        import_paths=[str(folder)],
        maybe_placeholders=False,
    )
