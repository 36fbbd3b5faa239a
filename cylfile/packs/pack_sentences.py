"""
The sentences of a pack: which ones there are, and from a line to its words, figures and texts.
"""

import re
from functools import cache

from cylfile.packs import pack_figures as figures
from cylfile.packs.expressions import Value
from cylfile.packs.pack import Formula, Named, Template
from cylfile.packs.pack_lines import Line
from cylfile.packs.texts import unescaped
from cylfile.text.language import Language, Token
from cylfile.text.source import Fault, Source, Span, clip
from cylfile.text.spelling import american

# First word of a line -> the sentence that the rest of it is.
HEADERS = {word: word for word in ("pack", "class", "setting", "rule", "level", "suspend")} | {"cite": "rule_source"}
_PACK_LINES = {
    "over": "over",
    "reference": "temperature",
    "hot": "temperature",
    "hot-factor": "factor",
    "gauge-allowance": "share",
    "to-the-day": "bare",
    "until-emptied": "flag",
}
_CLASS_LINES = {
    "marked": "text",
    "rated": "pressure",
    "test-every": "period",
    "first-test-every": "period",
    "count-from": "names",
    "to-the-day": "bare",
    "star-test-every": "period",
    "test-factor": "factor",
    "test-pressure": "pressure",
    "plus-fill": "share",
    "expansion-limit": "share",
    "life": "period",
    "visual-every": "period",
    "cycle-limit": "count",
    "methods": "names",
    "crack-examination": "flag",
    "life-extendable": "period",
    "life-step": "period",
    "aluminum": "flag",
    "ree-marked": "flag",
    "export-only": "flag",
    "reference": "temperature",
    "hot": "temperature",
    "hot-factor": "factor",
    "hot-at-test-pressure": "flag",
    "gauge-allowance": "share",
    "from-permit": "names",
    "cite": "rule_source",
}
# How a test may be made: the words of the ledger.
METHODS = ("expansion", "proof", "ultrasonic", "acoustic")
# Figures that a class may leave to the permit, and so to the card.
FROM_PERMIT = ("test-every", "test-pressure", "expansion-limit", "life")
# The names that a line of names may list.
NAMES = {"methods": METHODS, "from-permit": FROM_PERMIT, "count-from": ("entered-service",)}
_RULE_LINES = {
    "on": "places",
    "when": "formula",
    "once": "scope",
    "say": "text",
    "why": "text",
    "working": "text",
    "advice": "text",
    "cite": "text",
    "breaks": "example",
    "keeps": "example",
}
LINES = {"pack": _PACK_LINES, "class": _CLASS_LINES, "rule": _RULE_LINES}

_NAME = re.compile("[a-z][a-z0-9-]*")
_LONGEST_NAME = 64
# More words than a rule that anybody can check has; it bounds how deep an expression is nested.
LONGEST_FORMULA = 300
_LONGEST_TEXT = 2_000

_BRACE = re.compile("[{}]")
# What a line needs that says nothing.
HOW = {
    "on": "`on` and where the rule stands, such as `on  filled`",
    "when": "`when` and a condition, such as `when  day > test-due`",
    "say": '`say` and a text, such as `say  "filled past its test"`',
}


@cache
def pack_language() -> Language:
    """The language of grammar/pack.lark, made once."""
    sentences = {*HEADERS.values(), *(place for lines in LINES.values() for place in lines.values())}
    return Language("pack.lark", tuple(sorted(sentences)))


class SentenceReader:
    """Reads lines of one pack; what cannot be read is a fault, and None comes back in its place."""

    def __init__(self, source: Source):
        self.source = source
        self.faults: list[Fault] = []
        self.language = pack_language()

    def fault(self, start: int, end: int, text: str, cure: str = "", instead: str | None = None) -> None:
        self.faults.append(Fault(Span(self.source, start, end), text, cure, instead))

    def fault_word(self, word: Token | Line, text: str, cure: str = "", instead: str | None = None) -> None:
        self.fault(word.start, word.end, text, cure, instead)

    def fault_at(self, span: Span, text: str, cure: str = "") -> None:
        self.faults.append(Fault(span, text, cure))

    def sentence(self, line: Line, place: str):
        """The tree and the slots' words of the rest of a line, or None and a fault."""
        words = self.language.words(self.source.text, line.rest, line.end)
        if not words and place not in ("bare", "example"):
            self.fault(
                line.start,
                line.rest,
                f"`{line.word}` says nothing",
                f"Write {HOW.get(line.word, 'its value after it')}.",
            )
            return None
        return self._parsed(words, place)

    def _parsed(self, words: list[Token], place: str):
        if len(words) > LONGEST_FORMULA:
            self.fault(
                words[0].start,
                words[-1].end,
                f"a sentence of {len(words)} words; the longest that is read has {LONGEST_FORMULA}",
                "Split the rule in two.",
            )
            return None
        shape = self.language.shape(self.source, words, place)
        if isinstance(shape, Fault):
            self.faults.append(shape)
            return None
        return shape.tree, [word for word in words if word.type in self.language.terminals]

    def named(self, sentence) -> Named | None:
        """The name that a header gives, None where there is none or it is not well formed."""
        if sentence is None:
            return None
        word = sentence[1][0]
        if _NAME.fullmatch(word.text) and len(word.text) <= _LONGEST_NAME:
            return Named(american(word.text), Span(self.source, word.start, word.end))
        self.fault_word(
            word,
            f"`{clip(word.text)}` cannot be a name here",
            "Names are of small letters, digits and hyphens.",
        )
        return None

    def figure(self, word) -> Value | None:
        try:
            return figures.figure(word.type, word.text)
        except figures.Refused as refusal:
            self.fault_word(word, f"`{clip(word.text)}`: {refusal}", "Write the figure that was meant.")
            return None

    def text(self, word) -> str:
        text = unescaped(word.text[1:-1])
        if len(text) > _LONGEST_TEXT:
            self.fault_word(
                word,
                f"a text of {len(text):,} characters; the longest has {_LONGEST_TEXT:,}",
                "Say it in fewer words.",
            )
            return ""
        return text

    def formula(self, words: list[Token]) -> Formula | None:
        """The expression that some words are, None and a fault where they are none."""
        sentence = self._parsed(words, "formula")
        if sentence is None:
            return None
        tree, valued = sentence
        return Formula(Span(self.source, words[0].start, words[-1].end), tree.children[0], valued)

    def template(self, word) -> Template | None:
        """A text and the expressions in its braces, None where one of them cannot be read."""
        parts: list[str | Formula] = []
        at, end = word.start + 1, word.end - 1
        if not self.text(word):
            self.fault_word(word, "a text that says nothing", "Write what the reader should know.")
            return None
        text = self.source.text
        while at < end:
            brace = _BRACE.search(text, at, end)
            until = brace.start() if brace else end
            if until > at:
                parts.append(unescaped(text[at:until]))
            if not brace:
                break
            close = text.find("}", until, end)
            if brace.group() == "}" or close < 0:
                self.fault(
                    until,
                    until + 1,
                    f"a `{brace.group()}` without its partner",
                    "An expression in a text is between `{` and `}`.",
                )
                return None
            words = self.language.words(text, until + 1, close)
            if not words:
                self.fault(
                    until, close + 1, "braces with nothing in them", "Write the fact whose value should be here."
                )
                return None
            formula = self.formula(words)
            if formula is None:
                return None
            parts.append(formula)
            at = close + 1
        return tuple(parts)
