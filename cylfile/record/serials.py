"""
Serial numbers, and what a recall says of them: patterns and ranges.

Letters are the same small or capital.
"""

import re

_ANY = "*"
# A serial number's last figures, what stands before and what after them.
_FIGURES = re.compile("(.*?)([0-9]+)([^0-9]*)", re.DOTALL)


def in_serials(serial: str, pattern: str | tuple[str, str]) -> bool:
    """
    Whether a serial number fits a pattern, in which `*` stands for any characters or none, or
    lies in a range of (first, last).
    """
    serial = serial.casefold()
    if isinstance(pattern, str):
        return _fits_pattern(serial, pattern.casefold().split(_ANY))
    own, first, last = (figures_of(each.casefold()) for each in (serial, *pattern))
    if own is None or first is None or last is None or own[::2] != first[::2]:
        return False
    return len(first[1]) <= len(own[1]) <= len(last[1]) and int(first[1]) <= int(own[1]) <= int(last[1])


def _fits_pattern(text: str, parts: list[str]) -> bool:
    """Whether the parts stand in the text one after the other, the first at its start and the last at its end."""
    first, *middle = parts
    if not middle:
        return text == first
    last = middle.pop()
    if not text.startswith(first):
        return False
    at = len(first)
    for part in middle:
        at = text.find(part, at)
        if at < 0:
            return False
        at += len(part)
    return len(text) - at >= len(last) and text.endswith(last)


def figures_of(serial: str) -> tuple[str, str, str] | None:
    """What stands before a serial number's last figures, the figures, and what stands after; None where it has none."""
    found = _FIGURES.fullmatch(serial)
    return None if found is None else (found[1], found[2], found[3])


def is_range(first: str, last: str) -> bool:
    """Whether two serial numbers are the ends of a range: alike but for their last figures, the lower first."""
    one, other = figures_of(first.casefold()), figures_of(last.casefold())
    return one is not None and other is not None and one[::2] == other[::2] and int(one[1]) <= int(other[1])
