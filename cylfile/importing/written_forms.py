"""
Days and times in the form that an export has them in, stated in words: `month/day/year hour:minute am`.

The form is stated and never guessed: 03/04/2026 is two days, and nothing in it tells which.
"""

import re
from datetime import UTC, datetime, timedelta, timezone, tzinfo

_DIGITS = {
    "year": "[0-9]{4}",
    "short-year": "[0-9]{2}",
    "month": "[0-9]{1,2}",
    "day": "[0-9]{1,2}",
    "hour": "[0-9]{1,2}",
    "minute": "[0-9]{2}",
    "second": "[0-9]{2}",
}
_OTHERS = {
    "month-name": "[A-Za-z]{3,9}\\.?",
    "fraction": "[0-9]{1,9}",
    "am": "[AaPp]\\.?[Mm]\\.?",
    "offset": "Z|[+-][0-9]{2}:?[0-9]{2}",
}
WORDS = (*_DIGITS, *_OTHERS)
_WORD = re.compile("|".join(sorted(WORDS, key=len, reverse=True)))
# Letters that stand in exports between the figures, as in 2026-03-14T09:42.
_LETTERS = "Tt"
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")


class FormRefused(ValueError):
    """A form that says nothing, and why."""


class Form:
    """
    How a cell says a day, a time or both; where that `month_will_do`, also a month.

    `says_day` and `says_time` tell which; with `says_offset` it tells the offset from UTC too.
    """

    def __init__(self, words: str, month_will_do: bool = False):
        self.words = words
        parts = _parts(words)
        found = [word for word, is_word in parts if is_word]
        twice = next((word for word in found if found.count(word) > 1), None)
        if twice:
            raise FormRefused(f"the form `{words}` says `{twice}` twice")
        year, month = ("year", "short-year"), ("month", "month-name")
        says_month = month_will_do and "day" not in found and _all_or_none(words, found, (year, month))
        self.says_day = not says_month and _all_or_none(words, found, (year, month, ("day",)))
        self.says_time = _all_or_none(words, found, (("hour",), ("minute",)))
        self.says_offset = "offset" in found
        self._is_half_day = "am" in found
        if not self.says_day and not self.says_time and not says_month:
            raise FormRefused(
                f"the form `{words}` says neither a day nor a time; write it as year-month-day hour:minute"
            )
        self._expression = re.compile("".join(_expressions(parts)))

    def read(self, cell: str) -> datetime | None:
        """
        What a cell says, None where it does not have this form or no calendar has the day.

        A part that the form does not say is that of 0001-01-01 00:00.
        """
        found = self._expression.fullmatch(cell)
        if not found:
            return None
        said = found.groupdict()
        try:
            return datetime(
                _year(said), _month(said), int(said.get("day", 1)),
                self._hour(said), int(said.get("minute", 0)), int(said.get("second", 0)), tzinfo=_offset(said),
            )  # fmt: skip
        except ValueError:
            return None

    def _hour(self, said: dict) -> int:
        hour = int(said.get("hour", 0))
        if not self._is_half_day:
            return hour
        if not 1 <= hour <= 12:
            raise ValueError
        return hour % 12 + (12 if said["am"][0] in "Pp" else 0)


def _parts(words: str) -> list[tuple[str, bool]]:
    """The pieces of a form: its words and what stands between them."""
    parts, at = [], 0
    for found in _WORD.finditer(words):
        parts += [(words[at : found.start()], False), (found.group(), True)]
        at = found.end()
    parts = [part for part in (*parts, (words[at:], False)) if part[0]]
    for text, is_word in parts:
        if not is_word and any(sign.isalpha() and sign not in _LETTERS for sign in text):
            raise FormRefused(f"`{text.strip()}` in the form `{words}` is none of the words {', '.join(WORDS)}")
    return parts


def _expressions(parts: list[tuple[str, bool]]):
    for index, (text, is_word) in enumerate(parts):
        if not is_word:
            yield re.sub("(?:\\\\? )+", "[ \u00a0]+", re.escape(text))
            continue
        pattern = _DIGITS.get(text) or _OTHERS[text]
        beside = parts[max(index - 1, 0) : index + 2]
        if len([1 for other, other_is_word in beside if other_is_word and other in _DIGITS]) > 1:
            # Figures with nothing between them have their full width, as in 20260314.
            pattern = pattern.replace("{1,2}", "{2}")
        yield f"(?P<{text.replace('-', '_')}>{pattern})"


def _all_or_none(words: str, found: list[str], needed: tuple[tuple[str, ...], ...]) -> bool:
    has = [any(word in found for word in choice) for choice in needed]
    if any(has) and not all(has):
        missing = next(choice[0] for choice, there in zip(needed, has) if not there)
        raise FormRefused(f"the form `{words}` does not say the {missing}")
    return all(has)


def _year(said: dict) -> int:
    if said.get("short_year"):
        return 2000 + int(said["short_year"])
    return int(said.get("year", 1))


def _month(said: dict) -> int:
    if "month_name" in said:
        return _MONTHS.index(said["month_name"][:3].lower()) + 1
    return int(said.get("month", 1))


def _offset(said: dict) -> tzinfo | None:
    text = said.get("offset")
    if text is None:
        return None
    if text == "Z":
        return UTC
    minutes = int(text[1:3]) * 60 + int(text[-2:])
    return timezone(timedelta(minutes=-minutes if text[0] == "-" else minutes))
