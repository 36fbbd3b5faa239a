"""
Sources as a page cites them: each once, and the volume that several are of named once.
"""

import re
from collections.abc import Iterable
from typing import NamedTuple

# `49 CFR 180.205(c)`: the volume, the section and what of it is meant. With a comma stands what is true of it alone.
_OF_A_CODE = re.compile("([0-9]+ CFR) ([0-9]+[.][0-9]+[a-z]?)([^,]*)", re.DOTALL)
# A source of one word, and how far it was read.
_OF_A_STANDING = re.compile("([^ ]+), (secondary source|from memory)")
# The same of any source.
_STANDING = re.compile("(.+), (secondary source|from memory)", re.DOTALL)
# For whom a volume is the law, which is so of all of it.
_WHERE = re.compile(" (where [^ ]+ governs)")


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


class Note(NamedTuple):
    """A source with its number, as it stands under the title of its group."""

    number: int
    text: str


class Notes:
    """
    The sources of a page, each numbered and told once: those of a volume under it by section, and those that were not read
    in their text under what was.

    >>> notes = Notes(["permit terms", "49 CFR 180.205(c)", "A-1, from memory", "49 CFR 180.205(b)", "49 CFR 173.301(a)"])
    >>> notes.numbered(["49 CFR 180.205(c)", "permit terms", "49 CFR 180.205(b)"])
    '[1,3-4]'
    >>> [(title, [note.text for note in group]) for title, group in notes.groups]
    [('', ['permit terms']), ('49 CFR', ['173.301(a)', '180.205(b)', '(c)']), ('from memory', ['A-1'])]
    """

    def __init__(self, cites: Iterable[str]):
        volumes: dict[str, dict[tuple[str, str], None]] = {}
        others: dict[str, dict[str, None]] = {"": {}}
        governed: dict[str, str] = {}
        for text in texts_of(cites):
            if found := _OF_A_CODE.fullmatch(text):
                volume, section, place = found.groups()
                if where := _WHERE.search(place):
                    governed[volume] = where[1]
                volumes.setdefault(volume, {})[section, _WHERE.sub("", place)] = None
            elif found := _STANDING.fullmatch(text):
                others.setdefault(found[2], {})[found[1]] = None
            else:
                others[""][text] = None
        self.groups: list[tuple[str, list[Note]]] = []
        self._numbers: dict[str, int] = {}
        self._put_group("", [(text, text) for text in others.pop("")])
        for volume, places in volumes.items():
            group, last = [], ""
            for section, place in sorted(places):
                named = place.lstrip() if section == last and place else f"{section}{place}"
                group.append((f"{volume} {section}{place}", named))
                last = section
            self._put_group(", ".join(filter(None, [volume, governed.get(volume)])), group)
        for standing, texts in others.items():
            self._put_group(standing, [(f"{text}, {standing}", text) for text in texts])

    def _put_group(self, title: str, texts: list[tuple[str, str]]) -> None:
        """Number some sources, each with what names it under the title."""
        for text, _ in texts:
            self._numbers[text] = len(self._numbers) + 1
        if texts:
            self.groups.append((title, [Note(self._numbers[text], named) for text, named in texts]))

    def numbered(self, texts: Iterable[str]) -> str:
        """The numbers of some sources, in brackets; empty where there are none."""
        numbers = sorted({self._numbers[_WHERE.sub("", text)] for text in texts})
        runs: list[list[int]] = []
        for number in numbers:
            if runs and number == runs[-1][-1] + 1:
                runs[-1].append(number)
            else:
                runs.append([number])
        named = (f"{run[0]}-{run[-1]}" if len(run) > 1 else str(run[0]) for run in runs)
        return f"[{','.join(named)}]" if runs else ""
