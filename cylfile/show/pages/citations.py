"""
Sources as a page cites them: each once, and the volume that several are of named once.
"""

import re
from collections.abc import Iterable

# `49 CFR 180.205(c)`: the volume, the section and what of it is meant. With a comma stands what is true of it alone.
_OF_A_CODE = re.compile("([0-9]+ CFR) ([0-9]+[.][0-9]+[a-z]?)([^,]*)", re.DOTALL)
# A source of one word, and how far it was read.
_OF_A_STANDING = re.compile("([^ ]+), (secondary source|from memory)")


def texts_of(cites: Iterable[str]) -> list[str]:
    """The single sources of some citations, each once, in their order."""
    return list(dict.fromkeys(filter(None, "; ".join(cites).split("; "))))


def cited(cites: Iterable[str]) -> str:
    """What something rests on, in one line."""
    return "; ".join(in_short_form(texts_of(cites)))


def in_short_form(texts: Iterable[str]) -> list[str]:
    """
    Sources as few citations as can be: those of one volume as one, a section named once, those of one standing as one.

    >>> in_short_form(["49 CFR 180.205(c)", "permit terms", "49 CFR 173.301(a)(6)", "49 CFR 180.205(d)"])
    ['49 CFR 180.205(c), (d), 173.301(a)(6)', 'permit terms']
    """
    # How each citation begins -> what it is of, and that of each section of a volume.
    volumes: dict[str, dict[str, list[str]]] = {}
    standings: dict[str, list[str]] = {}
    every: dict[str, None] = {}
    for text in texts:
        if found := _OF_A_CODE.fullmatch(text):
            volume, section, place = found.groups()
            volumes.setdefault(volume, {}).setdefault(section, []).append(place)
            every[volume] = None
        elif found := _OF_A_STANDING.fullmatch(text):
            name, standing = found.groups()
            standings.setdefault(standing, []).append(name)
            every[standing] = None
        else:
            every[text] = None
    return [
        f"{first} {', '.join(map(_of_section, volumes[first], volumes[first].values()))}"
        if first in volumes
        else f"{' and '.join(standings[first])}, {first}"
        if first in standings
        else first
        for first in every
    ]


def _of_section(section: str, places: list[str]) -> str:
    first, *others = places
    return ", ".join([f"{section}{first}", *(place.lstrip() or section for place in others)])
