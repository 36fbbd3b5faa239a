"""
The plain form of what blocks declare: each property as one line that stands for itself.

As with the plain form of an entry, it is what is said and nothing of where it stood: two
blocks say the same exactly when their plain properties are equal. A property line begins with
the header of its block: `cylinder K-1 made 2019-06`, `person senn fills 2021-05-03`.
"""

from collections.abc import Callable, Iterator

from cylfile.record.blocks import (
    AirSource,
    Cylinder,
    Declared,
    Department,
    Person,
    Recall,
    Seal,
    Site,
    Spans,
    StruckProperty,
    Tag,
    Tester,
    Waiver,
)
from cylfile.record.entries import plain_form, write_text, write_value
from cylfile.record.record import Record
from cylfile.record.vocabulary import STRUCK
from cylfile.text.ledger import LEDGER
from cylfile.text.phrases import counted
from cylfile.text.source import Fault

# What the text in the header of a block is called among its properties.
TITLE = "title"


def _spans(spans: Spans) -> list[str]:
    """Spans of authority, (first day, last day or month), either of them None where it is open."""
    ends = ((str(first) if first else "", f"until {last}" if last else "") for first, last in spans)
    return sorted(" ".join(filter(None, pair)) for pair in ends)


def name_or_text(value: str) -> str:
    """As a name where it has the form of one, so that quotation marks make no difference."""
    words = [(word.type, word.text) for word in LEDGER.words(value)]
    return value if words in ([("NAME", value)], [("COUNT", value)]) else write_text(value)


def _years(months: int) -> str:
    return counted(months // 12, "year")


def _one(field: str, write: Callable = str) -> Callable:
    def values(thing: Declared) -> list[str]:
        value = getattr(thing, field)
        return [] if value is None or value == "" else [write(value)]

    return values


def _life(card: Cylinder) -> list[str]:
    if card.life is not None:
        return [_years(card.life)]
    return [] if card.life_until is None else [f"until {card.life_until}"]


def _tag(tag: Tag) -> str:
    since = f" since {tag.since}" if tag.since else ""
    return tag.name + since + (f" until {tag.until}" if tag.until else "")


def _serials(recall: Recall) -> list[str]:
    ends = ([serial] if isinstance(serial, str) else serial for serial in recall.serials)
    return sorted(" to ".join(map(write_text, each)) for each in ends)


def _rules(department: Department) -> list[str]:
    """In their own order, since packs are laid over each other in it."""
    return [write_text(name) if in_quotes else name for name, in_quotes in department.rules]


_TITLED = {TITLE: _one("title", write_text)}

# Of each kind of block, the word of each property and how its values are had, as the language
# writes them. A property that is not there has no values.
_PROPERTIES: dict[type, dict[str, Callable]] = {
    Department: {**_TITLED, "zone": _one("zone"), "rules": _rules, "usual-source": _one("usual_source")},
    Site: {**_TITLED, "contact": _one("contact", write_text)},
    Person: {
        **_TITLED,
        "fills": lambda person: _spans(person.fills),
        "inspects": lambda person: _spans(person.inspects),
    },
    Tester: {**_TITLED, "authorized": lambda tester: _spans(tester.authorized)},
    AirSource: {
        **_TITLED,
        "kind": _one("kind"),
        "rated": _one("rated"),
        "holds": _one("holds"),
        "cartridge": _one("cartridge"),
        "at": _one("site"),
    },
    Cylinder: {
        "serial": _one("serial", name_or_text),
        "maker": _one("maker", name_or_text),
        "owner": _one("owner", name_or_text),
        "marked": lambda card: sorted(map(write_text, card.marked)),
        "class": _one("class_name"),
        "rated": _one("rated"),
        "made": _one("made"),
        "holds": _one("holds"),
        "liner": _one("liner"),
        "tag": lambda card: sorted(map(_tag, card.tags)),
        "life": _life,
        "test-every": _one("test_every", _years),
        "test-pressure": _one("test_pressure"),
        "expansion-limit": _one("expansion_limit"),
        "ree": _one("ree"),
    },
    Recall: {
        "class": _one("class_name"),
        "maker": _one("maker", name_or_text),
        "serial": _serials,
        "made": _one("made", lambda ends: f"{ends[0]} to {ends[1]}"),
    },
}


def properties(thing: Declared) -> dict[str, list[str]]:
    """The word of each property that a block has, and its values as the language writes them."""
    found = ((word, values(thing)) for word, values in _PROPERTIES[type(thing)].items())
    return {word: values for word, values in found if values}


def header(thing: Declared) -> str:
    """The words that head a block, without its title: `cylinder K-1`; the department has no name."""
    return thing.word if isinstance(thing, Department) else f"{thing.word} {thing.name}"


def property_lines(thing: Declared) -> Iterator[str]:
    """Every property of a block as a line that stands for itself, and the block itself as one."""
    yield header(thing)
    yield from (f"{header(thing)} {said}" for said in said_lines(thing))


def said_lines(thing: Declared) -> list[str]:
    """The properties of a block, and the struck ones with their strikes, each as it stands under the header."""
    lines = [f"{word} {value}" for word, values in properties(thing).items() for value in values]
    return lines + sorted(line for struck in thing.struck_properties for line in struck_lines(struck))


def struck_lines(struck: StruckProperty) -> list[str]:
    """A struck line of a block, as the line of an entry is: what it said, and the strike."""
    return [
        f"{line} {STRUCK.form.format(write_value(STRUCK.field, struck.struck))}" for line in said_lines(struck.thing)
    ]


def plain_recall(recall: Recall) -> str:
    """A recall and all that it asks for, in one line."""
    return " ".join([f"recall {recall.day} {write_text(recall.title)}", *said_lines(recall)])


def plain_waiver(waiver: Waiver) -> str:
    """A waiver as the language writes it."""
    since = f" from {waiver.since}" if waiver.since else ""
    until = f"until {waiver.until} by {waiver.by} {write_text(waiver.text)}"
    return f"waived {waiver.rule} for {waiver.name}{since} {until}"


def plain_seal(seal: Seal) -> str:
    """A seal as the language writes it."""
    return f"sealed {seal.day} by {seal.by} {seal.entries} entries {seal.digest}"


def plain_file(record: Record) -> Iterator[str]:
    """
    All that one file says, whatever its layout, in lines: block by block, then what it says of others by their names.

    The lines of an entry are in the order of the days, indented under the header of its block;
    entries of a cylinder whose card stands elsewhere are under `entries of` its name. So what
    heads each entry begins in column 1 with a letter, and nothing else does.
    """
    told: set[str] = set()
    for thing in filter(None, (record.department, *record.declared.values(), *record.shadowed)):
        yield header(thing)
        yield from (f"  {line}" for line in said_lines(thing))
        if not isinstance(thing, Department) and thing.name not in told:
            told.add(thing.name)
            yield from _entry_lines(record, thing.name)
    for name in sorted(record.entries.keys() - told):
        yield f"entries of {name}"
        yield from _entry_lines(record, name)
    yield from sorted(map(plain_recall, record.recalls))
    yield from sorted(map(plain_waiver, record.waivers))
    yield from sorted(map(plain_seal, record.seals))
    unreadable = [_words_of(fault) for fault in record.faults if fault.rule in ("unreadable-line", "name-taken")]
    if unreadable:
        yield "lines that cannot be read"
        yield from (f"  {words}" for words in unreadable)


def _entry_lines(record: Record, name: str) -> Iterator[str]:
    return (f"  {line}" for line in sorted(map(plain_form, record.entries.get(name, ()))))


def _words_of(fault: Fault) -> str:
    """The line of a fault, blanks made one; what is wrong, where it is a fault of the whole file."""
    source = fault.span.source
    start = source.line_starts[fault.span.line - 1]
    return " ".join(source.text[start : source.line_end(fault.span.start)].split()) or fault.text
