"""
The properties of blocks: what each line of a head puts into the block.

A function takes the block, the meanings of the line's words and the line's tree. It raises
Refusal, and puts nothing in, where the words together mean nothing.
"""

from collections.abc import Callable
from datetime import date
from typing import Any

from cylfile.record.blocks import Cylinder, Declared, Department, Recall, Tag, Tester, last_day
from cylfile.record.dates import Month
from cylfile.record.entries import write_text
from cylfile.record.plans import Refusal
from cylfile.record.serials import is_range
from cylfile.text.parse_table import Tree

# Of which block it is the grammar tells.
Put = Callable[[Any, tuple, Tree], None]


def _one(field: str) -> Put:
    def put(thing: Declared, words: tuple, tree: Tree) -> None:
        setattr(thing, field, words[0])

    return put


def _many(field: str) -> Put:
    def put(thing: Declared, words: tuple, tree: Tree) -> None:
        getattr(thing, field).append(words[0])

    return put


def _span_of(field: str) -> Put:
    def put(thing: Declared, words: tuple, tree: Tree) -> None:
        first, last = (*words, None)[:2]
        _refuse_backward(first, last)
        getattr(thing, field).append((first, last))

    return put


def _refuse_backward(first: date | None, last: date | None) -> None:
    """Raise Refusal where a span ends before it begins."""
    if first is not None and last is not None and last_day(last) < first:
        raise Refusal(f"the last day, {last}, is before the first, {first}", "Write the days that were meant.")


def _authorized(thing: Tester, words: tuple, tree: Tree) -> None:
    parts = {child.data: words[child.children[0].index] for child in tree.children}
    first, last = parts.get("since"), parts.get("last_day")
    _refuse_backward(first, last)
    thing.authorized.append((first, last))


def _rules(thing: Department, words: tuple, tree: Tree) -> None:
    in_quotes = not hasattr(tree.children[0], "data")
    # A pack whose name is a keyword is known by its rule.
    thing.rules.append((words[0] if words else tree.children[0].data, in_quotes))


def _word(field: str) -> Put:
    """A word of the language that stands for itself."""

    def put(thing: Declared, words: tuple, tree: Tree) -> None:
        setattr(thing, field, tree.children[0].data)

    return put


def _class(thing: Cylinder | Recall, words: tuple, tree: Tree) -> None:
    child = tree.children[0]
    thing.class_name = words[0] if child.data == "name" else child.data


def _tag(thing: Cylinder, words: tuple, tree: Tree) -> None:
    name, since, until = words[0], None, None
    for part in tree.children[1:]:
        day = words[part.children[0].index]
        since, until = (day, until) if part.data == "tag_since" else (since, day)
    _refuse_backward(since, until)
    thing.tags.append(Tag(name, since, until))


def _life(thing: Cylinder, words: tuple, tree: Tree) -> None:
    if isinstance(words[0], Month):
        thing.life_until = words[0]
    else:
        thing.life = _months(words[0])


def _test_every(thing: Cylinder, words: tuple, tree: Tree) -> None:
    thing.test_every = _months(words[0])


def _months(years: str) -> int:
    # Neither nothing, which would mean no limit, nor more than a calendar holds.
    if not 1 <= int(years) <= 200:
        raise Refusal(
            f"a period of {years} years; it has to be of 1 to 200",
            "Write the years that the marking or the permit says.",
        )
    return 12 * int(years)


def _serial(thing: Cylinder | Recall, words: tuple, tree: Tree) -> None:
    if isinstance(thing, Recall):
        thing.serials.append(words[0])
    else:
        thing.serial = words[0]


def _serial_range(thing: Recall, words: tuple, tree: Tree) -> None:
    if not is_range(*words):
        text = f"no range of serial numbers: {write_text(words[0])} to {write_text(words[1])}"
        raise Refusal(text, "Both ends are alike but for their last figures, such as `serial EW-0100 to EW-0199`.")
    thing.serials.append((words[0], words[1]))


def _made_between(thing: Recall, words: tuple, tree: Tree) -> None:
    if words[1] < words[0]:
        text = f"the last month, {words[1]}, is before the first, {words[0]}"
        raise Refusal(text, "Write the months that were meant.")
    thing.made = (words[0], words[1])


# Rule of the property in grammar/ledger.lark -> what it does.
PROPERTIES: dict[str, Put] = {
    "zone": _one("zone"),
    "rules": _rules,
    "usual_source": _one("usual_source"),
    "contact": _one("contact"),
    "fills": _span_of("fills"),
    "inspects": _span_of("inspects"),
    "authorized": _authorized,
    "kind": _word("kind"),
    "rated": _one("rated"),
    "holds": _one("holds"),
    "cartridge": _one("cartridge"),
    "at_site": _one("site"),
    "serial": _serial,
    "serial_range": _serial_range,
    "maker": _one("maker"),
    "owner": _one("owner"),
    "marked": _many("marked"),
    "class_name": _class,
    "made": _one("made"),
    "made_between": _made_between,
    "tag": _tag,
    "liner": _word("liner"),
    "life": _life,
    "test_every": _test_every,
    "test_pressure": _one("test_pressure"),
    "expansion_limit": _one("expansion_limit"),
    "ree": _one("ree"),
}
REPEATABLE = {"rules", "fills", "inspects", "authorized", "marked", "tag"}
# Of a recall, which may name several patterns; a cylinder has one serial number.
REPEATABLE_ON_RECALLS = {"serial", "serial_range"}
# The properties whose every line has to be found again -> the name that the last of them gave.
LAST_NAME: dict[str, Callable[[Any], str]] = {
    "rules": lambda thing: thing.rules[-1][0],
    "tag": lambda thing: thing.tags[-1].name,
}
