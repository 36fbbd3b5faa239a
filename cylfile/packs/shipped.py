"""The packs that come with the program, and the way to them."""

import os
import re
from functools import cache

from cylfile.packs.pack import Pack
from cylfile.text.made import MadeOnce
from cylfile.text.source import Fault, Source

_FOLDER = os.path.dirname(os.path.realpath(__file__))
_ENDING = ".cylpack"
GRAMMAR = "pack.lark"
# The packages of the program that have a part in what is made of a pack.
MAKERS = ("air", "findings", "history", "packs", "record", "text")
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


@cache
def read_shipped(name: str) -> tuple[Pack, list[Fault]] | None:
    """What a shipped pack says, by its bare name, and what of it cannot be read; None where there is none of this name."""
    source = open_shipped(name)
    if source is None:
        return None
    kept = _kept(source).load()
    if kept is not None:
        return kept, []
    from cylfile.packs.pack_reader import read_pack

    return read_pack(source)


def save_shipped() -> None:
    """Keep what each shipped pack says."""
    for name in shipped_names():
        read = read_shipped(name)
        assert read is not None and not read[1], name
        _kept(read[0].source).save(read[0])


def _kept(source: Source) -> MadeOnce:
    return MadeOnce(f"{source.path}.read", GRAMMAR, (source.text,), MAKERS)
