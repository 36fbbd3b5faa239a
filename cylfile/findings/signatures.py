"""
What people signed on the lines of others: strikes, late clauses and answers, and what is wrong with them.
"""

from collections.abc import Callable, Iterable, Iterator
from datetime import date

from cylfile.findings.finding import Finding, known_by
from cylfile.history.standing import (
    BAR_STRUCK,
    answers_on,
    answers_strike,
    barred_before_its_strike,
    late_on,
    struck_on,
)
from cylfile.record.entries import Answer, Entry, write_text

# What is true of today is put right, not answered.
_OF_TODAY = ("future-entry",)


def signature_findings(signed: Iterable[Entry], as_of: date, level_of: Callable[[str], str]) -> Iterator[Finding]:
    """
    A finding for each late line, each strike and `late` without effect, and each strike of what barred.

    `signed` are the `signed_entries` of a record.
    """
    for entry in signed:
        for word, each in (("struck", entry.struck), ("late", entry.late)):
            if each is None:
                continue
            if each.day < entry.day:
                text = f"{word} on {each.day}, before the {entry.verb} ({entry.day}): no effect"
                yield _finding("signature-out-of-time", entry, text, level_of, "Correct the day of the signature.")
            elif each.day > as_of:
                text = f"{word} on {each.day}, after the day judged for ({as_of}): no effect yet"
                yield _finding("future-entry", entry, text, level_of, "Correct the day of the signature.")
        late, struck = entry.late, entry.struck
        if late is not None and late_on(entry, as_of) and not struck_on(entry, as_of) and entry.day <= as_of:
            text = f"{entry.verb} of {entry.day}, written late on {late.day} by {late.by}: {write_text(late.text)}"
            yield _finding("late-entry", entry, text, level_of)
        if struck is not None and barred_before_its_strike(entry, as_of):
            text = f"what barred it was struck on {struck.day} by {struck.by}: {write_text(struck.text)}"
            advice = f"Another than {struck.by} looks at the cylinder and writes on the line: answered bar-struck."
            yield _finding(BAR_STRUCK, entry, text, level_of, advice)


def signed_entries(entries: Iterable[Iterable[Entry]]) -> list[Entry]:
    """Those of the entries of several names on whose lines somebody signed afterwards."""
    return [
        entry
        for of_name in entries
        for entry in of_name
        if entry.struck is not None or entry.late is not None or entry.answers is not None
    ]


def answer_findings(
    signed: Iterable[Entry], findings: Iterable[Finding], as_of: date, level_of: Callable[[str], str]
) -> list[Finding]:
    """
    Mark the findings that are answered on their lines; the findings of the answers that have no effect.

    `signed` are the `signed_entries` of a record. Only what is found of an entry itself can be answered;
    what is true of today cannot.
    """
    answered = [entry for entry in signed if entry.answers]
    if not answered:
        return []
    places = {entry.span: entry for entry in answered}
    at: dict[tuple, list[Finding]] = {}
    for finding in findings:
        entry = places.get(finding.span)
        if entry is not None and may_be_answered(finding):
            at.setdefault((finding.rule, finding.span), []).append(finding)
    unused = []
    for entry in answered:
        effective = answers_on(entry, as_of)
        for answer in entry.answers or ():
            found = at.get((answer.rule, entry.span), ())
            why = _why_unused(answer, entry, found, answer in effective, as_of)
            if why:
                advice = (
                    "Remove it, or have somebody else sign it."
                    if answer.by == entry.by
                    else "Remove it, or correct it."
                )
                text = f"the answer to {answer.rule} of {answer.day} by {answer.by} has no effect: {why}"
                unused.append(_finding("answer-unused", entry, text, level_of, advice, f"{answer.rule} {answer.day}"))
                continue
            for finding in found:
                finding.answered = f"{answer.day} by {answer.by}: {answer.text}"
    return unused


def may_be_answered(finding: Finding) -> bool:
    """Whether what was done about a finding can be written on its line: it is of an entry, and not of today."""
    return finding.day is not None and bool(finding.about) and finding.rule not in _OF_TODAY


def _why_unused(answer: Answer, entry: Entry, found: Iterable[Finding], is_effective: bool, as_of: date) -> str:
    if answer.day > as_of:
        return "it is of a day to come"
    if answer.day < entry.day:
        return "it is of a day before the entry"
    if not is_effective:
        return f"{answer.by} signed the entry"
    if not found:
        return "there is no such finding of this line that can be answered"
    struck = entry.struck
    if answer.rule == BAR_STRUCK and struck is not None and not answers_strike(answer, entry):
        return f"{answer.by} struck the line" if answer.by == struck.by else "it is of a day before the strike"
    return ""


def _finding(
    rule: str, entry: Entry, text: str, level_of: Callable[[str], str], advice: str = "", about: str = ""
) -> Finding:
    about = f"{known_by(entry)} {about}" if about else known_by(entry)
    return Finding(rule, level_of(rule), entry.subject, entry.span, text, advice=advice, day=entry.day, about=about)
