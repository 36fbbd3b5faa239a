"""
Lines of the ledger for tests, made from the grammar itself: sentences of every place, and what is nearly one.
"""

from hypothesis import strategies as st

from cylfile.text.ledger import LEDGER, LINES_OF, SHEETS, TOP

PLACES = (TOP, *dict.fromkeys(LINES_OF.values()))
# A header under which the lines of a place stand.
HEADERS = {
    "department_line": 'department "Pinder Creek"',
    "site_line": 'site ferry "Ferry Landing"',
    "person_line": 'person wren "Wren Castell"',
    "tester_line": 'tester Z901 "Saltmarsh Requalification"',
    "source_line": 'source comp "Compressor"',
    "cylinder_line": "cylinder V-07",
    "recall_line": 'recall 2025-09-12 "valve threads"',
    **{f"{sheet}_row": f"{sheet} sheet 2026-03-15" for sheet in SHEETS},
}
_DIGEST = "0123456789abcdef" * 4
# Words of every terminal that is not a keyword: the usual ones, and those that look like another.
WORDS = {
    "DAY": ["2026-03-14", "2024-02-29", "2026-02-30", "0001-01-01"],
    "MONTH": ["2026-03", "2019-13"],
    "TIME": ["09:42", "23:59:10", "00:00", "24:00"],
    "PRESSURE": ["4500 psi", "4500psi", "310 bar", "31.0MPa", "900 \t kPa", "0 psi"],
    "TEMPERATURE": ["88 F", "88°F", "-5 °C", "20\tC", "-12 C"],
    "VOLUME": ["6.8 L", "92.1cc", "550 in3", "67000ft3", "1.8 mL", "1 m3"],
    "DURATION": ["6 min", "6min", "90 s", "1 h"],
    "SHARE": ["10 %", "20.9%"],
    "PPM": ["12 ppm", "1.2ppm"],
    "DENSITY": ["0.1 mg/m3", "5mg/m3"],
    "DIGEST": [_DIGEST, "0" * 64],
    "COUNT": ["114", "12", "09", "0", "2026", "1" * 63, "1" * 65],
    "NAME": [
        "K-1042", "a", "C", "F", "L", "s", "h", "12C", "4500psig", "filledx", "Filled", "at-1", "by.", "to_",
        "pass/fail",
        "2026-03-14a", "2026-3-14", "1.5", "6.8.1", "cylinders", "CO3", "deadbeef", _DIGEST[:-1], _DIGEST + "a",
        "x" * 64,
    ],
    "TEXT": ['"valve leaks"', '""', '"a \\"b\\" \\\\"', '"# no comment"', '"\u00c4rger \u2028 3 %"', '"to 4500 psi"'],
}  # fmt: skip
# What stands in no sentence.
STRAYS = [
    ",", "4,500", ":", "-", "°", "\u00fc", "x\u00a0y", '"open', "'x'", "03/14/2026", "9:42", "<<<<<<<", "(",
    "\ufeff", "%",
]  # fmt: skip
_BLANKS = st.sampled_from([" ", " ", "  ", "\t", " \t "])
_ENDINGS = st.sampled_from(["", "", "", " ", "\t", " # a comment", "#close", '  # "text" 12 C'])


def _words_of(terminal: str) -> list[str]:
    keyword = LEDGER.keyword_terminals.get(terminal)
    return [keyword] if keyword else WORDS[terminal]


@st.composite
def sentences(draw, place: str) -> list[str]:
    """The words of a sentence of a place, found by asking the parser at each word what may follow."""
    from lark import Token

    parser = LEDGER._lark.parse_interactive(start=place)
    words: list[str] = []
    while True:
        accepted = sorted(parser.accepts())
        if "$END" in accepted and (len(accepted) == 1 or len(words) > 14 or draw(st.integers(0, 3)) == 0):
            return words
        # A name is as often wanted as each word of the language.
        terminal = draw(st.sampled_from([terminal for terminal in accepted if terminal != "$END"]))
        words.append(draw(st.sampled_from(_words_of(terminal))))
        parser.feed_token(Token(terminal, words[-1]))


@st.composite
def broken(draw, words: list[str]) -> list[str]:
    """The words of a sentence with one of them lost, said twice, in another place, or another word."""
    words = list(words)
    at = draw(st.integers(0, len(words) - 1))
    match draw(st.sampled_from(["lose", "twice", "move", "other", "stray"])):
        case "lose":
            del words[at]
        case "twice":
            words.insert(at, words[at])
        case "move":
            words.insert(draw(st.integers(0, len(words) - 1)), words.pop(at))
        case "other":
            words[at] = draw(st.sampled_from(_ANY_WORD))
        case "stray":
            words.insert(at, draw(st.sampled_from(STRAYS)))
    return words or ["x"]


_ANY_WORD = [*LEDGER.keywords, *(word for words in WORDS.values() for word in words), *STRAYS]


@st.composite
def lines(draw, place: str) -> str:
    """A line of a place, without its indent: mostly a sentence, now and then nearly one."""
    words = draw(sentences(place))
    if draw(st.integers(0, 2)) == 0:
        words = draw(broken(words))
    text = words[0]
    for word in words[1:]:
        # Quotation marks part words as well as blanks do.
        gap = "" if (text[-1] == '"' or word[0] == '"') and draw(st.booleans()) else draw(_BLANKS)
        text += gap + word
    return text + draw(_ENDINGS)


@st.composite
def ledgers(draw) -> str:
    """A few blocks with lines of their places, in one indent or in several, with either line end."""
    out: list[str] = []
    for _ in range(draw(st.integers(1, 3))):
        place = draw(st.sampled_from(PLACES))
        if place == TOP:
            out.append(draw(lines(TOP)))
            continue
        out.append(HEADERS[place])
        indent = draw(st.sampled_from(["  ", "\t", " ", "    "]))
        for _ in range(draw(st.integers(0, 4))):
            further = draw(st.sampled_from(["", "", "", "", "  ", "\t"]))
            out.append(indent + further + draw(lines(place)))
        out += draw(st.lists(st.sampled_from(["", "   ", "# in the margin", "    # further in"]), max_size=1))
    newline = draw(st.sampled_from(["\n", "\r\n"]))
    return newline.join(out) + draw(st.sampled_from(["", newline]))
