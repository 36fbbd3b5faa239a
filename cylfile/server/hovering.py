"""
What is known of the word under the pointer, in Markdown.

Everything that comes from a ledger is escaped: a text in a record is no markup.
"""

import re

from cylfile.findings.core_rules import CORE_RULES
from cylfile.history.facts import FACTS
from cylfile.judging.heads import head_of
from cylfile.packs.wording import in_words
from cylfile.record.dates import NEVER
from cylfile.record.entries import plain_form
from cylfile.record.plain_form import properties
from cylfile.server.cursor import entry_at, line_at, name_at, word_at
from cylfile.server.edited_record import EditedRecord
from cylfile.show.visible import visible
from cylfile.text.language import Token
from cylfile.text.phrases import counted
from cylfile.text.source import Source

# What is markup wherever it stands, and what is so at the start of a line.
_MARKUP = re.compile(r"[\\`*\[\]<>|~&]|(?<![A-Za-z0-9])_|_(?![A-Za-z0-9])|^[#+-]|(?<=^[0-9])[.)]")


def escaped(text: str) -> str:
    """A text as Markdown that shows it as it is."""
    return _MARKUP.sub(r"\\\g<0>", visible(text))


def hover(edited: EditedRecord, source: Source, offset: int) -> tuple[Token, str] | None:
    """The word at an offset and what is known of it; None where there is nothing to say."""
    word = word_at(source, offset)
    if word is None:
        return None
    said = _settled(edited, source, word)
    if not said and word.type in ("NAME", "COUNT"):
        line = line_at(source, word.start)
        if line.words and line.words[-1].text in ("waived", "answered"):
            said = rule_in_words(edited, word.text)
        elif name_at(source, offset) is not None:
            said = _declared(edited, word.text)
    return (word, said) if said else None


def rule_in_words(edited: EditedRecord, name: str) -> str:
    """What a rule is for, and its source."""
    if name in CORE_RULES:
        core = CORE_RULES[name]
        return f"**{escaped(name)}** ({core.level})\n\n{escaped(core.meaning)}"
    rule = edited.rules().ruleset.rules.get(name)
    if rule is None:
        return ""
    lines = [f"**{escaped(name)}** ({rule.level}), pack {escaped(rule.pack)}"]
    lines += [escaped(rule.why)] if rule.why else []
    lines += [f"*{escaped(cite)}*" for cite in rule.cite]
    return "\n\n".join(lines)


def _declared(edited: EditedRecord, name: str) -> str:
    record = edited.record
    if name in record.cylinders:
        return _cylinder(edited, name)
    thing = record.declared.get(name)
    if thing is None:
        return ""
    lines = [f"**{escaped(name)}**, {thing.word}" + (f": {escaped(thing.title)}" if thing.title else "")]
    for word, values in properties(thing).items():
        if word != "title":
            lines += [f"- {word} {escaped(value)}" for value in values]
    return "\n".join([lines[0], "", *lines[1:]])


def _cylinder(edited: EditedRecord, name: str) -> str:
    judged = edited.follow()
    life = judged.life(name)
    if life is None:
        return f"**{escaped(name)}**, cylinder"
    head = head_of(edited.record, judged.rules, life, judged.own(name))
    lines = [f"**{escaped(name)}**: {escaped(head.words)}", ""]
    if head.gone:
        lines.append(f"- {escaped(head.gone)}")
    elif head.reasons:
        lines.append("- **must not be filled**")
        lines += [f"  - {escaped(reason.text)}" for reason in head.reasons]
    else:
        lines.append("- nothing in the record stands against filling it")
    if life.cylinder.serial and not head.gone and edited.may_have_neighbors:
        lines.append(f"- other records of the county are not asked here; `cylfile may-fill {name}` asks them")
    if life.test_due == NEVER:
        lines.append("- needs no test")
    elif life.test_due is not None and life.test_every is not None:
        due = f"next test due by {life.test_due}: last test {life.test_day} + {_months(life.test_every)}"
        lines.append(f"- {escaped(due)}")
    if life.last_fill is not None:
        lines.append(f"- last fill: {escaped(plain_form(life.last_fill))}" + _came_to(life, life.last_fill))
    return "\n".join(lines)


def _months(months: int) -> str:
    return counted(months, "month") if months % 12 else counted(months // 12, "year")


def _settled(edited: EditedRecord, source: Source, word: Token) -> str:
    """Of a pressure or the verb of a fill or a gauging: what it comes to at the reference temperature."""
    if word.type not in ("PRESSURE", "FILLED", "GAUGED"):
        return ""
    entry = entry_at(edited.record, source, word.start)
    life = edited.follow().life(entry.subject) if entry is not None else None
    if life is None or entry.verb not in ("filled", "gauged"):
        return ""
    return _came_to(life, entry).strip(", ")


def _came_to(life, entry) -> str:
    value = FACTS["settled"].value(life, entry)
    if value is None:
        return ""
    reference = in_words(life.figures.reference, "temperature", life.pressure_unit)
    settled = in_words(value, "pressure", life.pressure_unit)
    return f", settles at {escaped(settled)} at {escaped(reference)}"
