"""The packs that come with the program, and the way to them."""

import os
import re
from functools import cache

from cylfile.text.source import Source

_FOLDER = os.path.dirname(os.path.realpath(__file__))
_ENDING = ".cylpack"
_NAME = re.compile("[a-z][a-z0-9-]*")


@cache
def shipped_names() -> tuple[str, ...]:
    """The names of the shipped packs."""
    return tuple(sorted(name.removesuffix(_ENDING) for name in os.listdir(_FOLDER) if name.endswith(_ENDING)))


def file_of_shipped(name: str) -> str | None:
    """Where on disk a shipped pack is, by its bare name; None where there is none of this name."""
    if not _NAME.fullmatch(name) or name not in shipped_names():
        return None
    return os.path.join(_FOLDER, name + _ENDING)


def open_shipped(name: str) -> Source | None:
    """A shipped pack by its bare name, None where there is none of this name."""
    file_name = file_of_shipped(name)
    if file_name is None:
        return None
    with open(file_name, encoding="utf-8") as file:
        return Source(name + _ENDING, file.read())
