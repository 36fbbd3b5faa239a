"""
Figures as they stand in a pack: from the word of the text to a value and its dimension.
"""

from datetime import timedelta

from cylfile.packs.expressions import Value
from cylfile.record import dates
from cylfile.record.quantities import quantity

# Far above anything of the trade, and far below what would overflow in reckoning.
_MOST_DIGITS = 9
_LONGEST_PERIOD = 200 * 12
_QUANTITIES = {
    "PRESSURE": "pressure",
    "TEMPERATURE": "temperature",
    "VOLUME": "volume",
    "DURATION": "duration",
    "SHARE": "share",
    "PPM": "concentration",
    "DENSITY": "density",
}


class Refused(ValueError):
    """A word that has the form of a figure and is none: 2026-02-30, or a number of twenty digits."""


def figure(terminal: str, word: str) -> Value:
    """The value of a figure of the terminal `terminal` of pack.lark. Raises Refused."""
    if sum(map(str.isdigit, word)) > _MOST_DIGITS:
        raise Refused(f"a number of more than {_MOST_DIGITS} digits")
    if terminal in _QUANTITIES:
        return Value(quantity(terminal, word).value, _QUANTITIES[terminal])
    if terminal in ("DAY", "MONTH"):
        try:
            return Value(dates.day(word) if terminal == "DAY" else dates.month(word), "date")
        except ValueError:
            raise Refused(f"the calendar has no {word}") from None
    number = word.split()[0]
    match terminal:
        case "RATE":
            return Value(quantity("PRESSURE", word.removesuffix("/min")).value, "rate")
        case "DAYS":
            return Value(timedelta(days=int(number)), "duration")
        case "PERIOD":
            months = int(number) * (12 if "year" in word else 1)
            if months > _LONGEST_PERIOD:
                raise Refused("a period of more than 200 years; where there is no limit, write `none`")
            return Value(months, "period")
        case "FRACTION":
            over, under = map(int, number.split("/"))
            return Value(over / under, "count")
        case "DECIMAL":
            return Value(float(number), "count")
        case "COUNT":
            return Value(int(number), "count")
    raise AssertionError(f"{terminal} is no figure")
