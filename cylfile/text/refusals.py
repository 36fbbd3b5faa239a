"""
What to say of a line that the grammar refuses: the fault, its place and its cure.

The parser gives the first word that does not fit and the words that would have. The rest is
knowing what people write by mistake: dates and numbers in their own country's form, a unit in
capitals, a misspelled verb. A replacement text is offered only where there is no doubt.
"""

import re
import unicodedata
from collections.abc import Sequence
from datetime import date
from functools import cached_property, lru_cache
from typing import Any

from cylfile.text.phrases import either
from cylfile.text.source import SHOWN, Fault, Source, Span, clip
from cylfile.text.trade_words import trade_form
from cylfile.text.units import UNITS

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
# Unit -> the terminal of its quantities.
_UNITS = {
    **{unit: terminal for terminal, units in UNITS.items() for unit in units},
    **dict.fromkeys(("°F", "°C"), "TEMPERATURE"),
}
_QUANTITIES = tuple(UNITS)
# What else people call a unit, in lower case.
_OTHER_UNITS = {
    **{unit.lower(): unit for unit in _UNITS},
    "psig": "psi", "barg": "bar", "bars": "bar",
    "litre": "L", "litres": "L", "liter": "L", "liters": "L", "cf": "ft3", "cuft": "ft3",
    "sec": "s", "second": "s", "seconds": "s", "mins": "min", "minute": "min", "minutes": "min",
    "hr": "h", "hrs": "h", "hour": "h", "hours": "h",
}  # fmt: skip
# Nobody measures a thousandth of these, so a comma in their numbers parts the thousands.
_FINE_UNITS = ("psi", "kPa")
_NUMBER = "-?[0-9]+(?:\\.[0-9]+)?"
# Signs that an editor or a keyboard puts for those of the language: dashes and a minus, a ring and an ordinal.
_PLAIN_SIGNS = {**dict.fromkeys("\u2010\u2011\u2012\u2013\u2212", "-"), **dict.fromkeys("\u02da\u00ba", "°")}
_QUOTATION_MARKS = "\u201c\u201d\u201e\u00ab\u00bb"
# Accepted wherever an expression of a rule pack may go on with a value.
_PARENTHESIS = "LPAR"
# More words than this before which another one is missing are no help.
_FEW = 4


class _Trouble:
    """
    A word that does not fit: the words of its line, its index, and the terminals that would have fitted.

    `phrases` are the keywords among these with those that must follow them.
    """

    def __init__(
        self, language: Any, source: Source, words: Sequence, index: int, accepted: set[str], phrases: list[str]
    ):
        self.language = language
        self.source = source
        self.words = words
        self.index = index
        self.accepted = accepted
        self.phrases = phrases

    @cached_property
    def word(self):
        return self.words[self.index]

    @property
    def span(self) -> Span:
        return Span(self.source, self.word.start, self.word.end)

    @cached_property
    def chunk(self) -> Span:
        """The whole run of characters round the word, since `4,500` falls apart into three."""
        word = self.word
        if word.type in ("TEXT", "OPEN_TEXT") or any(blank in word.text for blank in " \t"):
            return self.span
        start, end, text = word.start, word.end, self.source.text
        while start and text[start - 1] not in ' \t\r\n"#':
            start -= 1
        while end < len(text) and text[end] not in ' \t\r\n"#':
            end += 1
        return Span(self.source, start, end)

    @cached_property
    def after(self) -> Span:
        """The word after the chunk, an empty span at the end of the line."""
        end = self.chunk.end
        word = next((word for word in self.words[self.index :] if word.start >= end), None)
        return Span(self.source, word.start, word.end) if word else Span(self.source, end, end)


def explain(
    language, source: Source, words, index: int, accepted: set[str], leading: Sequence[str], phrases: list[str]
) -> Fault:
    """
    The fault of a line whose word number `index` is none of the `accepted` terminals.

    `leading` are the keywords that may be there and be followed by this very word, `phrases` all that
    may be there, with the keywords that must follow them.
    """
    if index >= len(words):
        last = words[-1]
        # Who writes `cylinder #4` means no comment.
        comment = "; a `#` begins a comment" if re.compile(r"[ \t]*#[^\s#]").match(source.text, last.end) else ""
        cure = f"Write {_expected(accepted, phrases)} after `{clip(last.text)}`{comment}."
        return Fault(Span(source, last.start, last.end), "the line ends too early", cure)
    trouble = _Trouble(language, source, words, index, accepted, phrases)
    for diagnose in (
        _text_left_open,
        _foreign_letter,
        _day,
        _month,
        _time,
        _commas,
        _unit,
        _trade_word,
        _misspelled,
        _no_quotation_marks,
        _no_name,
        _kind,
    ):
        fault = diagnose(trouble)
        if fault:
            return fault
    chunk = clip(trouble.chunk.text)
    if accepted <= {"$END", "STRUCK"}:
        return Fault(trouble.chunk, f"`{chunk}` does not belong on this line", "Remove it, or give it its own line.")
    cure = f"Expected {_expected(accepted, phrases)}."
    word = trouble.word
    if 0 < len(leading) <= _FEW and word.type in DESCRIPTIONS and word.type != "COUNT":
        before = f"{_what(word.type).capitalize()} is written after {either([f'`{keyword}`' for keyword in leading])}."
        cure = f"{cure} {before}" if word.type == "NAME" else before
    return Fault(trouble.span, f"`{clip(word.text)}` is not allowed here", cure)


def _text_left_open(trouble: _Trouble) -> Fault | None:
    if trouble.word.type != "OPEN_TEXT":
        return None
    text = trouble.word.text
    bad = re.match(r'"(?:[^"\\]|\\["\\])*+(\\.)', text)
    if bad:
        start = trouble.word.start + bad.start(1)
        span = Span(trouble.source, start, trouble.word.start + bad.end(1))
        cure = 'In a text, write \\\\ for \\ and \\" for ".'
        return Fault(span, f"`{span.text}` in a text", cure, "\\" + span.text)
    return Fault(
        trouble.span, "a text that is not closed", 'End it with " on the same line; inside it, write \\" and \\\\.'
    )


def _foreign_letter(trouble: _Trouble) -> Fault | None:
    """A letter or space that no word has: an accent, a no-break space, a curly quotation mark."""
    if trouble.word.type == "TEXT":
        return None
    chunk, letters = trouble.chunk, trouble.chunk.text
    if letters.isascii():
        return None
    for place, character in enumerate(letters):
        if character.isascii() or letters[place : place + 2] in ("°F", "°C"):
            continue
        text = f"U+{ord(character):04X} {unicodedata.name(character, 'unnamed')} in a word"
        span = Span(trouble.source, chunk.start + place, chunk.start + place + 1)
        if character.isspace():
            return Fault(span, text, "Write a plain space.", " ")
        if character in _QUOTATION_MARKS:
            return _curly(span, text)
        if plain := _PLAIN_SIGNS.get(character):
            return Fault(span, text, f"Write a plain {plain}.", plain)
        return Fault(span, text, "Words are A to Z, 0 to 9 and . _ / - ; other letters go in a text.")
    return None


def _curly(mark: Span, text: str) -> Fault:
    """Quotation marks that an editor has curled; with the other one of the pair, where that is on the line."""
    source = mark.source
    line = source.text[mark.start : source.line_end(mark.start)]
    pair = re.match(f'[{_QUOTATION_MARKS}]([^"\\\\{_QUOTATION_MARKS}]*)[{_QUOTATION_MARKS}]', line)
    if pair:
        span, plain = Span(source, mark.start, mark.start + pair.end()), f'"{pair[1]}"'
        return Fault(span, text, f"Write {clip(plain)} with plain quotation marks.", plain)
    return Fault(mark, text, 'Write a plain ".', '"')


# Dates, times and numbers written in another form than ISO 8601 and plain digits.


def _day(trouble: _Trouble) -> Fault | None:
    chunk = trouble.chunk
    if "DAY" not in trouble.accepted or not re.fullmatch("[0-9]{1,4}([/.-])[0-9]{1,2}\\1[0-9]{1,4}", chunk.text):
        return None
    day = _day_meant(chunk.text)
    cure = f"Write {day}." if day else "Write year, month and day as 2026-03-14."
    return Fault(chunk, f"`{chunk.text}` is not a day as this language writes it", cure, day)


def _day_meant(chunk: str) -> str | None:
    """The ISO form of a day in another form, or None where it could be two days, or none."""
    first, second, third = re.split("[/.-]", chunk)
    if len(first) == 4:
        readings = [(first, second, third)]
    else:
        readings = [(third, first, second), (third, second, first)]
        if "-" in chunk and len(third) < 4:
            readings.append((first, second, third))
    days = set()
    for year, month, day in readings:
        try:
            days.add(date(int(year) + (2000 if len(year) == 2 else 0), int(month), int(day)))
        except ValueError:
            pass
    return days.pop().isoformat() if len(days) == 1 else None


def _month(trouble: _Trouble) -> Fault | None:
    if "MONTH" not in trouble.accepted:
        return None
    chunk = trouble.chunk
    month_last = re.fullmatch("([0-9]{4})[/.-]([0-9]{1,2})", chunk.text)
    month_first = re.fullmatch("([0-9]{1,2})[/.-]([0-9]{4})", chunk.text)
    stamped = re.fullmatch("([0-9]{1,2})[/.-]([0-9]{2})", chunk.text)
    found = month_last or month_first or stamped
    if not found:
        return None
    year, month = found.groups() if found is month_last else reversed(found.groups())
    meant = f"{year}-{month.zfill(2)}" if 1 <= int(month) <= 12 else None
    cure = f"Write {meant}." if meant else "Write year and month as 2026-03."
    if stamped and (meant is None or "DAY" in trouble.accepted and not trouble.index):
        meant, cure = None, "Write the day as 2026-03-14, or the month as 2026-03 where no more is known."
    elif stamped:
        # The century is nowhere on the stamp, so that it is not put in place unseen.
        meant, cure = None, f"Write the year with four digits: 20{meant}, or 19{meant}."
    return Fault(chunk, f"`{chunk.text}` is not a month as this language writes it", cure, meant)


def _time(trouble: _Trouble) -> Fault | None:
    chunk, after = trouble.chunk, trouble.after
    found = re.fullmatch("([0-9]{1,2})([:.h]?)([0-9]{2})(:[0-9]{2})?([ap]m)?", chunk.text, re.IGNORECASE)
    if not found:
        return None
    hours, mark, minutes, seconds, glued_half = found.groups()
    # Where a name is allowed, the 9 of `9:42` is one, and only what follows it is not.
    is_time = mark == ":" and chunk.start < trouble.word.start
    if not (is_time or "TIME" in trouble.accepted) or not mark and len(hours) < 2:
        return None
    half = (glued_half or "").lower()
    if not half and after.text.lower() in ("am", "pm"):
        half = after.text.lower()
        chunk = Span(trouble.source, chunk.start, after.end)
    hour = int(hours)
    if half:
        hour = hour % 12 + (12 if half == "pm" else 0) if 1 <= hour <= 12 else 24
    meant = f"{hour:02}:{minutes}{seconds or ''}" if hour < 24 and int(minutes) < 60 else None
    cure = f"Write {meant}." if meant else "Write hours and minutes as 09:42, from 00:00 to 23:59."
    return Fault(chunk, f"`{chunk.text}` is not a time as this language writes it", cure, meant)


def _commas(trouble: _Trouble) -> Fault | None:
    chunk = trouble.chunk
    found = re.fullmatch("(-?[0-9]+(?:,[0-9]+)+)((?:\\.[0-9]+)?)([A-Za-z%°/0-9]*)", chunk.text)
    if not found:
        return None
    number, decimals, unit = found.groups()
    text = f"`{chunk.text}`: numbers are written without commas"
    thousands = number.replace(",", "") + decimals + unit
    decimal = number.replace(",", ".") + unit
    if not re.fullmatch("-?[1-9][0-9]{0,2}(,[0-9]{3})+", number):
        if decimals or number.count(",") > 1:
            return Fault(chunk, text, "Write the number without commas.")
        return Fault(chunk, text, f"With a decimal point it would be {decimal}.")
    if decimals or number.count(",") > 1 or (unit or trouble.after.text) in _FINE_UNITS:
        return Fault(chunk, text, f"Write {thousands}.", thousands)
    return Fault(chunk, text, f"Write {thousands}, or {decimal} if the comma is a decimal point.")


def _unit(trouble: _Trouble) -> Fault | None:
    """`4500 PSI`, `12l`, `at 80 f`, and a number that lacks its unit."""
    word, chunk, after = trouble.word, trouble.chunk, trouble.after
    kinds = [kind for kind in _QUANTITIES if kind in trouble.accepted]
    previous = trouble.words[trouble.index - 1] if trouble.index else None
    if previous and previous.type == "COUNT" and word.type == "NAME" and word.text.lower() in _OTHER_UNITS:
        # A number may be a name, so it is only the unit after it that cannot stand.
        unit = _OTHER_UNITS[word.text.lower()]
        return Fault(trouble.span, f"`{word.text}` is not a unit; it is written `{unit}`", f"Write {unit}.", unit)
    if not kinds:
        return None
    glued = re.fullmatch(f"({_NUMBER})([A-Za-z/]+[0-9]?)", chunk.text)
    if re.fullmatch(_NUMBER, chunk.text):
        number, unit = chunk.text, after.text if re.fullmatch("[A-Za-z/%]+[0-9]?", after.text) else ""
        span = Span(trouble.source, chunk.start, after.end) if unit else chunk
    elif glued:
        number, unit = glued.groups()
        span = chunk
    else:
        return None
    right = _OTHER_UNITS.get(unit.lower())
    if right is None or _UNITS[right] not in kinds:
        wanted = either([DESCRIPTIONS[kind] for kind in kinds])
        return Fault(span, f"`{clip(span.text)}` has no unit that is known here", f"Expected {wanted}.")
    meant = f"{number} {right}"
    if right != unit:
        return Fault(span, f"`{unit}` is not a unit; it is written `{right}`", f"Write {meant}.", meant)
    if glued:
        return Fault(span, f"`{span.text}`: a unit of one letter needs a space before it", f"Write {meant}.", meant)
    return None


def _trade_word(trouble: _Trouble) -> Fault | None:
    """A word that the trade has for a verb, where a verb is missing."""
    word, accepted = trouble.word, trouble.accepted
    if not accepted & {trouble.language.keywords.get(verb) for verb in ("remarked", "emptied")}:
        return None
    found = trade_form(trouble.source.text, word.start)
    if found is None:
        return None
    end, form = found
    span = Span(trouble.source, word.start, end)
    rest = trouble.source.text[end : trouble.source.line_end(end)].partition("#")[0]
    if '"..."' in form and rest.strip() and '"' not in rest:
        form += ", the words in quotation marks"
    return Fault(span, f"`{span.text}` is not a word of this language", f"{form[0].upper()}{form[1:]}.")


def _no_quotation_marks(trouble: _Trouble) -> Fault | None:
    """Words where a text is missing: they may be that text."""
    words, accepted = trouble.words[trouble.index :], trouble.accepted
    if "TEXT" not in accepted or accepted & {"NAME", _PARENTHESIS} or words[0].type not in ("NAME", "COUNT", "STRAY"):
        return None
    more = (number for number, word in enumerate(words) if word.type in accepted or word.type in ("TEXT", "OPEN_TEXT"))
    end = next(more, len(words))
    if end < len(words) and words[end].type in ("TEXT", "OPEN_TEXT"):
        # The text is there, and the words before it are something else.
        return None
    span = Span(trouble.source, words[0].start, words[end - 1].end)
    text = clip(span.text).strip("'")
    return Fault(span, f"`{clip(span.text)}` is not in quotation marks", f'Write a text as "{text}".')


def _misspelled(trouble: _Trouble) -> Fault | None:
    word, chunk = trouble.word, trouble.chunk
    if word.type in DESCRIPTIONS and word.type != "NAME":
        return None
    written = chunk.text
    close = _close_keywords(trouble.language, written, frozenset(trouble.accepted)) if len(written) <= SHOWN else []
    if not close:
        return None
    is_one = close[0].lower() == written.lower()
    if word.type not in ("NAME", "STRAY") and not is_one:
        return None
    certain = is_one or len(close) == 1
    text = f"`{written}` is not allowed here"
    return Fault(chunk, text, f"Did you mean `{close[0]}`?", close[0] if certain else None)


@lru_cache(1_000)
def _close_keywords(language: Any, written: str, accepted: frozenset[str]) -> list[str]:
    """The one or two keywords among accepted terminals that are most like what is written, for slips come often."""
    from difflib import get_close_matches

    known = [text for text, terminal in language.keywords.items() if terminal in accepted and text[0].isalpha()]
    by_lower = {text.lower(): text for text in known}
    return [by_lower[each] for each in get_close_matches(written.lower(), by_lower, n=2, cutoff=0.7)]


def _no_name(trouble: _Trouble) -> Fault | None:
    """A word that is no name where a name should stand, and what may be done about it."""
    word, accepted = trouble.word, trouble.accepted
    if "NAME" not in accepted or _PARENTHESIS in accepted:
        return None
    if word.type == "TEXT" and accepted <= {"NAME", "COUNT"}:
        bare = word.text[1:-1]
        is_name = [found.type for found in trouble.language.words(bare)] in (["NAME"], ["COUNT"])
        cure = f"Write {bare}." if is_name else "Choose a name of A to Z, 0 to 9 and . _ / - ."
        return Fault(trouble.span, "a name is written without quotation marks", cure, bare if is_name else None)
    quoted = f'Write it in quotation marks: "{clip(word.text)}".'
    if word.text in trouble.language.keywords and word.text[0].isalnum():
        text = f"a name is missing here; `{word.text}` is a word of the language"
        cure = quoted if "TEXT" in accepted else "Write the name before it; if it is the name, choose another one."
        return Fault(trouble.span, text, cure)
    if word.type in DESCRIPTIONS and word.type != "TEXT" and accepted <= {"NAME", "COUNT", "TEXT"}:
        text = f"`{clip(word.text)}` cannot be a name, because it reads as {_what(word.type)}"
        return Fault(trouble.span, text, quoted if "TEXT" in accepted else "Write a name.")
    return None


def _kind(trouble: _Trouble) -> Fault | None:
    """A figure of one kind where one of another kind should stand."""
    word = trouble.word
    kinds = [kind for kind in (*_QUANTITIES, "DAY", "MONTH", "TIME") if kind in trouble.accepted]
    if word.type not in DESCRIPTIONS or word.type in ("NAME", "TEXT", "COUNT") or not kinds:
        return None
    wanted = either([DESCRIPTIONS[kind] for kind in kinds])
    return Fault(trouble.span, f"`{clip(word.text)}` is {_what(word.type)}", f"Expected {wanted}.")


def _what(terminal: str) -> str:
    """What a word of a terminal is, without an example."""
    return DESCRIPTIONS.get(terminal, "a word").split(" such as")[0]


def _expected(accepted: set[str], phrases: list[str]) -> str:
    """The accepted terminals in words: figures first, then keywords with those that must follow them."""
    if _PARENTHESIS in accepted:
        return "a fact, a setting, a figure with its unit, `known` or `(`"
    described = [text for terminal, text in DESCRIPTIONS.items() if terminal in accepted and terminal != "COUNT"]
    if "COUNT" in accepted and "NAME" not in accepted:
        described.append(DESCRIPTIONS["COUNT"])
    every = [text for text in described if text != DESCRIPTIONS["$END"]] + [f"`{phrase}`" for phrase in phrases]
    if "$END" in accepted:
        every.append(DESCRIPTIONS["$END"])
    return either(every) if every else "nothing more"
