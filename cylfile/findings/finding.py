"""
The finding: one thing that is wrong in a record, with its place, its working and its source.
"""

import hashlib
from collections.abc import Iterator, Sequence
from datetime import date

from cylfile.record.entries import Entry, plain_form
from cylfile.text.source import Fault, Span

# The signal words of ANSI Z535 in their sense, worst first.
LEVELS = ("danger", "warning", "caution", "notice")


class Finding:
    """
    What is wrong, where, and why.

    `subject` is the cylinder, source or person that it is about, empty where it is about none.
    `about` is what the fingerprint is made of besides rule and subject: the plain form of the
    entry, or the words of the line; nothing for a state of the as-of day. `waived` is the
    waiver's reason where one covers it, `answered` what was written on the line about what was done.
    `related` are other places, each with a remark. Of what is said once for several entries
    `last_day` is that of the last, and `times` their number. `hands` are whose doing it is: a person's, a source's.
    `unjudged` are the rules that lacked the fact that is not known. `in_lines_of` are the names whose
    lines would tell what it says is lacking. Where it `names_related`, its text has the places that are related.
    """

    __slots__ = (
        "rule", "level", "subject", "span", "text", "working", "advice", "cite", "day", "about", "instead",
        "related", "waived", "unjudged", "answered", "last_day", "times", "hands", "in_lines_of", "names_related",
    )  # fmt: skip

    def __init__(
        self, rule: str, level: str, subject: str, span: Span, text: str, working: list[str] | None = None, advice: str = "",
        cite: list[str] | None = None, day: date | None = None, about: str = "", instead: str | None = None,
    ):  # fmt: skip
        self.rule = rule
        self.level = level
        self.subject = subject
        self.span = span
        self.text = text
        self.working = working or []
        self.advice = advice
        self.cite = cite or []
        self.day = day
        self.about = about
        self.instead = instead
        self.related: list[tuple[Span, str]] = []
        self.waived: str | None = None
        self.unjudged: tuple[str, ...] = ()
        self.answered: str | None = None
        self.last_day: date | None = None
        self.times = 1
        self.hands: tuple[str, ...] = ()
        self.in_lines_of: tuple[str, ...] = ()
        self.names_related = False

    def said_at(self, span: Span) -> "Finding":
        """What a rule has found, said again of the same entry where it stands now."""
        finding = Finding(
            self.rule,
            self.level,
            self.subject,
            span,
            self.text,
            self.working,
            self.advice,
            self.cite,
            self.day,
            self.about,
        )
        finding.hands = self.hands
        return finding

    @property
    def stands(self) -> bool:
        """Whether nobody has answered for it."""
        return self.waived is None and self.answered is None

    @property
    def sentence(self) -> str:
        """Its text, for where nothing else says what it is about: with the subject, unless that is in it."""
        is_in_it = not self.subject or self.text.startswith(f"{self.subject} ") or f"`{self.subject}`" in self.text
        return self.text if is_in_it else f"{self.subject}: {self.text}"

    @property
    def excuse(self) -> str:
        """Who has answered for it, when and why, after the word for that; empty where it stands."""
        if self.answered is not None:
            return f"answered {self.answered}"
        return f"waived {self.waived}" if self.waived is not None else ""

    @property
    def fingerprint(self) -> str:
        """The same for the same thing wrong, wherever its line has moved to."""
        return hashlib.sha256("\0".join((self.rule, self.subject, self.about)).encode()).hexdigest()[:32]


def known_by(entry: Entry) -> str:
    """What a finding of an entry is known by: what it says, without what was answered on its line."""
    return plain_form(entry._replace(answers=None) if entry.answers else entry)


def severity(level: str) -> int:
    """0 for the worst level."""
    return LEVELS.index(level)


def reading_order(finding: Finding) -> tuple:
    """Sort key: by file and place, the worse first at one place."""
    span = finding.span
    return span.source.path, span.start, severity(finding.level), finding.rule, finding.text


def of_fault(fault: Fault, level: str, followers: Sequence[Fault] = ()) -> Finding:
    """
    The finding of something that could not be read, or of a name that is wrong.

    What cannot be read is known again by its words; what is wrong with a name, by the name,
    since that is the same wherever it is written. `followers` are the faults that there are because of it.
    """
    about = ""
    if fault.rule == "unreadable-line":
        # By its offset: of an excerpt, lines are counted as in the whole file.
        source, at = fault.span.source, fault.span.start
        about = " ".join(source.text[source.text.rfind("\n", 0, at) + 1 : source.line_end(at)].split())
    subject = fault.subject or ""
    text = "; ".join([fault.text, *_what_follows(fault, followers)]) if followers else fault.text
    return Finding(fault.rule, level, subject, fault.span, text, advice=fault.cure, about=about, instead=fault.instead)


def _what_follows(fault: Fault, followers: Sequence[Fault]) -> Iterator[str]:
    """What else is wrong because of a fault, in words: how many lines below it, and which names."""
    lines = [each for each in followers if each.rule == fault.rule]
    names = sorted({each.subject for each in followers if each.rule != fault.rule and each.subject})
    if lines:
        count = "the line" if len(lines) == 1 else f"the {len(lines)} lines"
        source = fault.span.source
        # A header stands in column 1, a line that lacks one does not.
        if source.text[source.line_starts[fault.span.line - 1]] in " \t":
            yield f"the same is true of {count} below"
        else:
            yield f"{count} below cannot be read because of it"
    if names:
        yield f"no other block declares {', '.join(names)}"
