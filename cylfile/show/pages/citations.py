"""
Sources as a page cites them: each once, and the volume that several are of named once.
"""

import re
from collections.abc import Iterable

# `49 CFR 180.205(c)`: the volume, the section and what of it is meant.
_OF_A_CODE = re.compile("([0-9]+ CFR) ([0-9]+[.][0-9]+[a-z]?)(.*)", re.DOTALL)


def texts_of(cites: Iterable[str]) -> list[str]:
    """The single sources of some citations, each once, in their order."""
    return list(dict.fromkeys(filter(None, "; ".join(cites).split("; "))))


def cited(cites: Iterable[str]) -> str:
    """What something rests on, in one line."""
    return "; ".join(in_short_form(texts_of(cites)))


def in_short_form(texts: Iterable[str]) -> list[str]:
    """
    Sources as few citations as can be: those of one volume as one, and a section named once for those right after it.

    >>> in_short_form(["49 CFR 180.205(c)", "permit terms", "49 CFR 180.205(d)", "49 CFR 173.301(a)(6)"])
    ['49 CFR 180.205(c), (d), 173.301(a)(6)', 'permit terms']
    """
    volumes: dict[str, list[str]] = {}
    last: dict[str, str] = {}
    for text in texts:
        found = _OF_A_CODE.fullmatch(text)
        volume, section, place = found.groups() if found else (text, "", "")
        places = volumes.setdefault(volume, [])
        places.append(place.lstrip() if last.get(volume) == section and place else f"{section}{place}")
        last[volume] = section
    return [f"{volume} {', '.join(places)}".rstrip() for volume, places in volumes.items()]
