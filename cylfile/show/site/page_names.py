"""
Names of files that any system can have, made from names that a record may have.
"""

import hashlib
import re
from collections import Counter
from collections.abc import Iterable

_STRANGE = re.compile("[^a-z0-9]+")
_LONGEST = 40
# Names that some systems keep for devices.
_DEVICES = re.compile("(con|prn|aux|nul|com[0-9]|lpt[0-9])")


def page_names(names: Iterable[str]) -> dict[str, str]:
    """
    The name of a page for each of some names, without an ending; no two are one where capitals make no difference.

    It is the name itself in small letters where that tells it from the others, else with a few digits that only
    this name gives, so that a link stays good while others come and go.
    """
    plain = {name: _STRANGE.sub("-", name.lower()).strip("-")[:_LONGEST].strip("-") for name in names}
    counts = Counter(plain.values())
    return {name: word if _is_enough(name, word, counts) else _told_apart(name, word) for name, word in plain.items()}


def _is_enough(name: str, word: str, counts: Counter) -> bool:
    return bool(word) and counts[word] == 1 and len(name) <= _LONGEST and not _DEVICES.fullmatch(word)


def _told_apart(name: str, word: str) -> str:
    digits = hashlib.sha256(name.encode("utf-8")).hexdigest()[:12]
    return f"{word}-{digits}" if word else digits
