"""The packs that come with the program, and the way to them."""

import re
from functools import cache
from pathlib import Path

from cylfile.text.source import Source

_FOLDER = Path(__file__).resolve().parent
_NAME = re.compile("[a-z][a-z0-9-]*")


@cache
def shipped_names() -> tuple[str, ...]:
    """The names of the shipped packs."""
    return tuple(sorted(path.stem for path in _FOLDER.glob("*.pack")))


def open_shipped(name: str) -> Source | None:
    """A shipped pack by its bare name, None where there is none of this name."""
    if not _NAME.fullmatch(name) or name not in shipped_names():
        return None
    return Source(f"{name}.pack", (_FOLDER / f"{name}.pack").read_text(encoding="utf-8"))
