"""
Values in the reader's words: 12 days, 5 years, 4500 psi, 8.3 %, not known.
"""

from datetime import timedelta

from cylfile.history.figures import NO_LIMIT
from cylfile.record.dates import NEVER
from cylfile.record.quantities import CUBIC_FOOT_ML, PSI_IN_BAR
from cylfile.text.phrases import counted

NOT_KNOWN = "not known"


def in_words(value, dimension: str, unit: str) -> str:
    """A value of a dimension as people read it; `unit`, psi or bar, is the unit of pressures."""
    if value is None:
        return NOT_KNOWN
    words = _WORDS.get(dimension)
    return words(value, unit) if words else str(value)


def free_air_in_words(milliliters: float, unit: str) -> str:
    """The free air of many fills, where pressures are in `unit`: 12,345 ft3, 349,560 L."""
    return f"{milliliters / 1e3:,.0f} L" if unit == "bar" else f"{milliliters / CUBIC_FOOT_ML:,.0f} ft3"


# The `z` of a format turns a number that rounds to -0 into 0.


def _pressure(psi, unit):
    """Whole psi, and tenths of a bar. A few psi are the difference of two pressures, and count to the tenth."""
    if unit == "bar":
        return f"{psi / PSI_IN_BAR:z.1f} bar"
    return f"{psi:z.0f} psi" if abs(psi) >= 10 else f"{_number(round(psi, 1))} psi"


def _temperature(kelvin, unit):
    degrees, letter = (kelvin * 1.8 - 459.67, "F") if unit == "psi" else (kelvin - 273.15, "C")
    return f"{_number(round(degrees, 1))} {letter}"


def _volume(milliliters, unit):
    """
    Expansions in cc, cylinders in liters, and air in cubic feet where pressures are in psi, else
    in liters and cubic meters.
    """
    size = abs(milliliters)
    if size < 5_000:
        return f"{milliliters:z.1f} cc"
    if unit == "psi" and size >= CUBIC_FOOT_ML:
        feet = milliliters / CUBIC_FOOT_ML
        return f"{feet:.0f} ft3" if abs(feet) >= 100 else f"{_number(round(feet, 1))} ft3"
    if size >= 10_000_000:
        return f"{_number(round(milliliters / 1e6, 1))} m3"
    return f"{_number(round(milliliters / 1e3, 1))} L"


def _share(share, unit):
    """
    To one decimal, and to more where that would round it to a whole percentage that it is not:
    a share a hair over a limit of 10 % must not read as 10 %.
    """
    percent = round(share * 100, 6)
    for decimals in range(1, 7):
        rounded = round(percent, decimals)
        if rounded % 1 or percent == rounded:
            break
    return f"{_number(rounded)} %"


def _count(count, unit):
    return _number(round(count, 3))


def _number(number) -> str:
    """Without the decimals that say nothing."""
    return f"{number:z.6f}".rstrip("0").rstrip(".")


def _duration(duration: timedelta, unit) -> str:
    sign = "-" if duration < timedelta(0) else ""
    seconds = round(abs(duration).total_seconds())
    days, seconds = divmod(seconds, 86_400)
    hours, seconds = divmod(seconds, 3600)
    minutes, seconds = divmod(seconds, 60)
    written = [counted(days, "day")] if days else []
    written += [f"{number} {name}" for number, name in ((hours, "h"), (minutes, "min"), (seconds, "s")) if number]
    return sign + " ".join(written) if written else "0 days"


def _period(months, unit):
    if months == NO_LIMIT:
        return "no limit"
    return counted(months, "month") if months % 12 else counted(months // 12, "year")


def _date(day, unit):
    return "never" if day == NEVER else str(day)


def _rate(psi_a_minute, unit):
    number = psi_a_minute if unit == "psi" else psi_a_minute / PSI_IN_BAR
    return f"{_number(round(number, 1))} {unit}/min"


def _factor(factor, unit):
    # Imported late, for hardly any answer tells a factor.
    from fractions import Fraction

    return str(Fraction(factor).limit_denominator(100))


_WORDS = {
    "pressure": _pressure,
    "temperature": _temperature,
    "volume": _volume,
    "share": _share,
    "count": _count,
    "factor": _factor,
    "bare": lambda value, unit: "yes",
    "names": lambda names, unit: ", ".join(names),
    "duration": _duration,
    "period": _period,
    "date": _date,
    "rate": _rate,
    "concentration": lambda value, unit: f"{_number(round(value, 3))} ppm",
    "density": lambda value, unit: f"{_number(round(value, 3))} mg/m3",
    "flag": lambda value, unit: "yes" if value else "no",
}
