"""
What a sentence leaves to the moment and to the person: `today` and `now`, and defaults for who and where.
"""

import os
import sys
from datetime import datetime
from typing import NamedTuple

from cylfile.cannot import CannotDo
from cylfile.record.entries import Entry
from cylfile.record.vocabulary import TESTER
from cylfile.text.ledger import LEDGER

TODAY, NOW = "today", "now"
_VARIABLES = {"by": "CYLFILE_PERSON", "at": "CYLFILE_SITE"}
# Clause -> field of the entry.
_FIELDS = {"by": "by", "at": "at_site"}


class Defaults(NamedTuple):
    """The person and the site that somebody means where none is written."""

    by: str | None = None
    at: str | None = None

    def apply(self, entry: Entry) -> tuple[Entry, list[str]]:
        """The entry with the defaults that its verb takes and that it does not state; and these, as clauses."""
        added = []
        for clause, field in _FIELDS.items():
            name = getattr(self, clause)
            # For a tester nobody may stand in.
            takes = field in entry._fields and not (clause == "by" and entry.row.signer == TESTER)
            if name is not None and takes and getattr(entry, field) is None:
                entry = entry._replace(**{field: name})
                added.append(f"{clause} {name}")
        return entry, added


def in_full(sentence: str, now: datetime) -> str:
    """The sentence with the day for `today` and the time for `now`; `now` alone stands for both."""
    words = LEDGER.words(sentence)
    day, time = f"{now:%Y-%m-%d}", f"{now:%H:%M}"
    meant = {0: {TODAY: day, NOW: f"{day} {time}"}, 1: {NOW: time}}
    for number in (1, 0):
        word = words[number] if number < len(words) else None
        if word is not None and word.text in meant[number]:
            sentence = sentence[: word.start] + meant[number][word.text] + sentence[word.end :]
    return sentence


def read_defaults() -> Defaults:
    """The defaults of whoever runs the program. Raises CannotDo where their file cannot be read."""
    found = _from_file(_defaults_path())
    for clause, variable in _VARIABLES.items():
        if os.environ.get(variable):
            found[clause] = os.environ[variable]
    for clause, name in found.items():
        words = LEDGER.words(name)
        if len(words) != 1 or words[0].type not in ("NAME", "COUNT"):
            raise CannotDo(
                f'the default `{clause}` is `{name}`, which is not a name; write one as in: {clause} = "ayla"'
            )
    return Defaults(**found)


def _defaults_path() -> str:
    if sys.platform == "win32":
        base = os.environ.get("APPDATA") or os.path.expanduser("~")
    else:
        base = os.environ.get("XDG_CONFIG_HOME") or os.path.join(os.path.expanduser("~"), ".config")
    return os.path.join(base, "cylfile", "defaults.toml")


def _from_file(path: str) -> dict[str, str]:
    if not os.path.isfile(path):
        return {}
    import tomllib

    try:
        with open(path, "rb") as opened:
            found = tomllib.load(opened)
    except (OSError, ValueError) as trouble:
        raise CannotDo(f"your defaults in {path} cannot be read ({trouble}); correct the file or remove it") from None
    for key, value in found.items():
        if key not in _FIELDS or not isinstance(value, str):
            raise CannotDo(f'your defaults in {path} say `{key}`; they may say by = "NAME" and at = "NAME"')
    return found
