"""
What to say of a line that the grammar refuses: the fault, its place and its cure.

The parser gives the first word that does not fit and the words that would have. The rest is
knowing what people write by mistake: dates and numbers in their own country's form, a unit in
capitals, a misspelt verb. A replacement text is offered only where there is no doubt.
"""

import re
import unicodedata
from datetime import date
from difflib import get_close_matches

from cylfile.text.source import Fault, Source, Span

# How a reader would name a terminal of words.lark, with an example.
DESCRIPTIONS = {
    "DAY": "a day such as 2026-03-14",
    "MONTH": "a month such as 2026-03",
    "TIME": "a time such as 09:42",
    "PRESSURE": "a pressure such as 4500 psi",
    "TEMPERATURE": "a temperature such as 88 F",
    "VOLUME": "a volume such as 6.8 L",
    "DURATION": "a duration such as 6 min",
    "SHARE": "a share such as 10 %",
    "PPM": "a concentration such as 12 ppm",
    "DENSITY": "a concentration such as 0.1 mg/m3",
    "RATE": "a rate such as 500 psi/min",
    "PERIOD": "a period such as 5 years",
    "DAYS": "days such as 90 days",
    "FRACTION": "a fraction such as 5/3",
    "DECIMAL": "a number such as 1.5",
    "DIGEST": "a digest of 64 hexadecimal digits",
    "COUNT": "a whole number",
    "NAME": "a name",
    "TEXT": 'a text such as "valve leaks"',
    "$END": "the end of the line",
}
_QUANTITIES = ("PRESSURE", "TEMPERATURE", "VOLUME", "DURATION", "SHARE", "PPM", "DENSITY")
_UNITS = ("psi", "bar", "MPa", "kPa", "F", "C", "L", "mL", "cc", "in3", "ft3", "m3", "s", "min", "h", "ppm", "mg/m3")
# Accepted wherever an expression of a rule pack may go on with a value.
_PARENTHESIS = "LPAR"
_SHOWN = 60


def clip(text: str) -> str:
    """A stretch of the user's text short enough for a message."""
    return text if len(text) <= _SHOWN else text[: _SHOWN - 3] + "..."


def explain(language, source: Source, words, index: int, accepted: set[str]) -> Fault:
    """The fault of a line whose word number `index` is none of the `accepted` terminals."""
    if index >= len(words):
        last = words[-1]
        cure = f"Write {_expected(language, accepted)} after `{clip(last.text)}`."
        return Fault(Span(source, last.start, last.end), "the line ends too early", cure)
    word = words[index]
    span, chunk = _chunk(source, word)
    for diagnose in (_unreadable, _foreign_form, _unit_in_capitals, _wrong_kind, _misspelt, _reserved):
        fault = diagnose(language, span, chunk, words, index, accepted)
        if fault:
            return fault
    expected = _expected(language, accepted)
    if accepted == {"$END"}:
        return Fault(
            span, f"`{clip(chunk)}` is more than this line can hold", "Remove it, or put it on a line of its own."
        )
    return Fault(Span(source, word.start, word.end), f"`{clip(word.text)}` cannot stand here", f"Expected {expected}.")


def _chunk(source: Source, word) -> tuple[Span, str]:
    """The whole run of characters round a word, since `4,500` falls apart into three."""
    if word.type in ("TEXT", "OPEN_TEXT") or any(blank in word.text for blank in " \t"):
        return Span(source, word.start, word.end), word.text
    start, end = word.start, word.end
    text = source.text
    while start and text[start - 1] not in ' \t\r\n"#':
        start -= 1
    while end < len(text) and text[end] not in ' \t\r\n"#':
        end += 1
    return Span(source, start, end), text[start:end]


def _unreadable(language, span, chunk, words, index, accepted):
    if words[index].type == "OPEN_TEXT":
        return Fault(
            span, "a text that is not closed", 'End it with " on the same line; inside it, write \\" and \\\\.'
        )
    for place, character in enumerate(chunk):
        if (
            words[index].type != "TEXT"
            and not character.isascii()
            and chunk[max(0, place - 1) : place + 2] not in ("°F", "°C")
        ):
            name = unicodedata.name(character, "unnamed")
            text = f"U+{ord(character):04X} {name} in a word"
            cure = (
                "Write a plain space."
                if character.isspace()
                else "Words are A to Z, 0 to 9 and . _ / - ; other letters go in a text."
            )
            return Fault(Span(span.source, span.start + place, span.start + place + 1), text, cure)
    return None


def _foreign_form(language, span, chunk, words, index, accepted):
    """Dates, times and numbers written in another form than ISO 8601 and plain digits."""
    if re.fullmatch("[0-9]{1,4}([/.-])[0-9]{1,2}\\1[0-9]{1,4}", chunk) and "DAY" in accepted:
        day = _day_meant(chunk)
        cure = f"Write {day}." if day else "Write year, month and day as 2026-03-14."
        return Fault(span, f"`{chunk}` is not a day as this language writes it", cure, day)
    if re.fullmatch("[0-9]{1,2}:[0-9]{1,2}(:[0-9]{1,2})?", chunk):
        time = ":".join(part.zfill(2) for part in chunk.split(":"))
        return Fault(span, f"`{chunk}` is not a time as this language writes it", f"Write {time}.", time)
    if re.fullmatch("-?[0-9]{1,3}(,[0-9]{3})+(\\.[0-9]+)?[A-Za-z%°]*", chunk):
        plain = chunk.replace(",", "")
        return Fault(span, f"`{chunk}`: numbers are written without commas", f"Write {plain}.", plain)
    if re.fullmatch("-?[0-9]+,[0-9]+[A-Za-z%°]*", chunk):
        return Fault(
            span,
            f"`{chunk}`: a comma cannot stand in a number",
            f"With a decimal point it would be {chunk.replace(',', '.')}.",
        )
    return None


def _day_meant(chunk: str) -> str | None:
    """The ISO form of a day in another form, or None where it could be two days, or none."""
    first, second, third = re.split("[/.-]", chunk)
    year = lambda digits: int(digits) + (2000 if len(digits) == 2 else 0)
    if len(first) == 4:
        readings = [(first, second, third)]
    else:
        readings = [(third, first, second), (third, second, first)]
    days = set()
    for a_year, month, day in readings:
        try:
            days.add(date(year(a_year), int(month), int(day)))
        except ValueError:
            pass
    return days.pop().isoformat() if len(days) == 1 else None


def _unit_in_capitals(language, span, chunk, words, index, accepted):
    """`4500 PSI`, `12 l`, and a number that lacks its unit."""
    word = words[index]
    glued = re.fullmatch("(-?[0-9]+(?:\\.[0-9]+)?)([A-Za-z/0-9]+)", chunk)
    kinds = [kind for kind in _QUANTITIES if kind in accepted]
    if word.type == "COUNT" and kinds:
        after = words[index + 1] if index + 1 < len(words) else None
        number, unit = word.text, after.text if after and after.type == "NAME" else ""
        span = Span(span.source, word.start, after.end if unit else word.end)
    elif glued and kinds:
        number, unit = glued.groups()
    else:
        return None
    right = {known.lower(): known for known in _UNITS}.get(unit.lower())
    if right and right != unit:
        return Fault(
            span, f"`{unit}` is not a unit; it is written `{right}`", f"Write {number} {right}.", f"{number} {right}"
        )
    if right and glued:
        return Fault(
            span,
            f"`{chunk}`: a unit of one letter needs a space before it",
            f"Write {number} {right}.",
            f"{number} {right}",
        )
    wanted = " or ".join(DESCRIPTIONS[kind] for kind in kinds)
    return Fault(span, f"`{clip(span.text)}` has no unit that is known here", f"Expected {wanted}.")


def _wrong_kind(language, span, chunk, words, index, accepted):
    word = words[index]
    kinds = [kind for kind in (*_QUANTITIES, "DAY", "MONTH", "TIME") if kind in accepted]
    if word.type not in DESCRIPTIONS or word.type in ("NAME", "TEXT", "COUNT") or not kinds:
        return None
    is_kind = DESCRIPTIONS[word.type].split(" such as")[0]
    wanted = " or ".join(DESCRIPTIONS[kind] for kind in kinds)
    return Fault(Span(span.source, word.start, word.end), f"`{word.text}` is {is_kind}", f"Expected {wanted}.")


def _misspelt(language, span, chunk, words, index, accepted):
    word = words[index]
    if word.type in DESCRIPTIONS and word.type != "NAME":
        return None
    known = [text for text, terminal in language.keywords.items() if terminal in accepted and text[0].isalpha()]
    by_lower = {text.lower(): text for text in known}
    close = get_close_matches(chunk.lower(), by_lower, n=2, cutoff=0.7)
    if not close or (word.type != "NAME" and word.type != "STRAY" and close[0] != chunk.lower()):
        return None
    meant = by_lower[close[0]]
    certain = close[0] == chunk.lower() or len(close) == 1
    return Fault(
        span,
        f"`{clip(chunk)}` is not a word that can stand here",
        f"Did you mean `{meant}`?",
        meant if certain else None,
    )


def _reserved(language, span, chunk, words, index, accepted):
    word = words[index]
    if "NAME" not in accepted or _PARENTHESIS in accepted:
        return None
    if word.text in language.keywords and word.text[0].isalnum():
        return Fault(span, f"`{word.text}` is a word of the language and cannot be a name", "Choose another name.")
    if word.type in ("DAY", "MONTH", "DIGEST") and len(accepted) == 1:
        return Fault(
            span,
            f"`{clip(word.text)}` cannot be a name, for it reads as {DESCRIPTIONS[word.type].split(' such')[0]}",
            "Choose another name.",
        )
    return None


def _expected(language, accepted: set[str]) -> str:
    """The accepted terminals in words: figures first, then keywords as the grammar lists them."""
    if _PARENTHESIS in accepted:
        return "a fact, a setting, a figure with its unit, `known` or `(`"
    described = [text for terminal, text in DESCRIPTIONS.items() if terminal in accepted and terminal != "COUNT"]
    if "COUNT" in accepted and "NAME" not in accepted:
        described.append(DESCRIPTIONS["COUNT"])
    keywords = [f"`{text}`" for text, terminal in sorted(language.keywords.items()) if terminal in accepted]
    every = [text for text in described if text != DESCRIPTIONS["$END"]] + keywords
    if "$END" in accepted:
        every.append(DESCRIPTIONS["$END"])
    if not every:
        return "nothing more"
    return every[0] if len(every) == 1 else ", ".join(every[:-1]) + " or " + every[-1]
