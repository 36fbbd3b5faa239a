"""
The properties of blocks: what each line of a head puts into the block.

A function takes the block, the meanings of the line's words and the line's tree, and gives
what is wrong with the line in this block, or None.
"""

from cylfile.record.dates import Month


def _one(field: str):
    def put(thing, words, tree):
        setattr(thing, field, words[0])

    return put


def _many(field: str):
    def put(thing, words, tree):
        getattr(thing, field).append(words[0])

    return put


def _span_of(field: str):
    def put(thing, words, tree):
        first, last = (*words, None)[:2]
        if last is not None and last < first:
            return f"the last day, {last}, is before the first, {first}"
        getattr(thing, field).append((first, last))

    return put


def _authorised(thing, words, tree):
    parts = {child.data: words[child.children[0].index] for child in tree.children}
    thing.authorised.append((parts.get("since"), parts.get("last_day")))


def _rules(thing, words, tree):
    in_quotes = not hasattr(tree.children[0], "data")
    # A pack whose name is a keyword is known by its rule.
    thing.rules.append((words[0] if words else tree.children[0].data, in_quotes))


def _kind(thing, words, tree):
    thing.kind = tree.children[0].data


def _life(thing, words, tree):
    if isinstance(words[0], Month):
        thing.life_until = words[0]
    else:
        thing.life = 12 * int(words[0])


def _test_every(thing, words, tree):
    thing.test_every = 12 * int(words[0])


def _serial(thing, words, tree):
    if thing.word == "recall":
        thing.serials.append(words[0])
    else:
        thing.serial = words[0]


def _made_between(thing, words, tree):
    if words[1] < words[0]:
        return f"the last month, {words[1]}, is before the first, {words[0]}"
    thing.made = (words[0], words[1])


# Rule of the property in grammar/ledger.lark -> what it does.
PROPERTIES = {
    "zone": _one("zone"),
    "rules": _rules,
    "fills": _span_of("fills"),
    "inspects": _span_of("inspects"),
    "authorised": _authorised,
    "kind": _kind,
    "rated": _one("rated"),
    "holds": _one("holds"),
    "cartridge": _one("cartridge"),
    "at_site": _one("site"),
    "serial": _serial,
    "maker": _one("maker"),
    "owner": _one("owner"),
    "marked": _one("marked"),
    "class_name": _one("class_name"),
    "made": _one("made"),
    "made_between": _made_between,
    "tag": _many("tags"),
    "life": _life,
    "test_every": _test_every,
    "test_pressure": _one("test_pressure"),
    "expansion_limit": _one("expansion_limit"),
    "ree": _one("ree"),
}
REPEATABLE = {"rules", "fills", "inspects", "authorised", "tag"}
