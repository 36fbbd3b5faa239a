"""
A first map for an export, made of the headings of its columns and of what stands in them.

It is a proposal. What the export does not tell is left for somebody to fill in, so that a map
is never used by mistake that nobody has looked at.
"""

import re
from collections.abc import Iterator

from cylfile.importing.cells import cylinders_by
from cylfile.importing.column_map import CARDS, FILLS, UNITS, WAYS, MapKind
from cylfile.importing.export_table import SEPARATORS, WORKBOOK, Row, Table, cleaned
from cylfile.importing.written_forms import Form
from cylfile.record.record import Record
from cylfile.text.phrases import either

_UNITS = {unit.lower(): unit for unit in UNITS["to"]}
_OF_ANY_PRESSURE = ("pressure", *_UNITS)
_TEMPERATURES = {"F": r"\bf\b|fahrenheit", "C": r"\bc\b|celsius"}
_DURATIONS = {"s": r"\bs\b|\bsec", "min": r"\bmin", "h": r"\bh\b|\bhour"}
# Part of the map -> its units, and the words in a heading that state each.
_PRESSURES = {unit: rf"\b{word}" for word, unit in _UNITS.items()}
# What headings say, most telling first: part of the map -> words in the heading. A column is
# taken once, so that "Start Pressure" does not become the pressure after the fill.
_HEADINGS = (
    ("day", ("timestamp", "date", "day", "when", "completed", "started")),
    ("time", ("time", "clock")),
    ("cylinder", ("rfid", "barcode", "tag", "serial", "cylinder", "bottle", "tank", "unit no", "asset", "scba")),
    ("from", ("start pres", "initial", "before", "from", *(f"{word} {unit}" for word in ("start", "in") for unit in _UNITS))),
    ("to", (
        "end pres", "final", "after", "fill pres", *(f"{word} {unit}" for word in ("end", "to") for unit in _UNITS),
        "reached", *_OF_ANY_PRESSURE,
    )),
    ("temperature", ("temp",)),
    ("over", ("duration", "minutes", "seconds", "elapsed")),
    ("person", ("operator", "user", "person", "filled by", "technician", "member", "name", "by", "who")),
    ("source", ("compressor", "source", "bank", "cascade", "air")),
    ("site", ("site", "station", "location", "house")),
    ("remark", ("remark", "note", "comment")),
)  # fmt: skip
_CARD_HEADINGS = (
    ("serial", ("serial", "sn", "s n", "vessel no")),
    ("tag", ("rfid", "barcode", "tag", "asset")),
    ("test", ("last hydro", "hydro date", "last test", "test date", "hydro", "requalif", "retest")),
    ("visual", ("last visual", "visual", "last inspection", "inspection", "vip")),
    ("made", ("made", "manufactured", "manufacture date", "mfg date", "mfr date", "date of manufacture", "original test", "born", "dom", "built")),
    ("entered", ("in service", "service date", "svc date", "entered", "acquired", "purchase", "received", "since")),
    ("maker", ("maker", "manufacturer", "mfr", "mfg", "make", "brand")),
    ("owner", ("owner",)),
    ("marked", ("mark", "specification", "spec", "permit", "dot", "stamp", "label")),
    ("class", ("class", "type", "kind", "material")),
    ("rated", ("rated", "rating", "working pressure", "service pressure", *_OF_ANY_PRESSURE)),
    ("holds", ("water vol", "water cap", "vol", "holds", "capacity", "liter", "litre", "size")),
    ("life", ("service life", "life")),
    ("tester", ("tester", "rin", "requalifier")),
    ("inspector", ("inspector", "inspected by")),
    ("site", ("site", "station", "location", "house")),
    ("cylinder", ("cylinder", "bottle", "tank", "unit", "number", "name", "id")),
)  # fmt: skip
_VOLUMES = {
    "L": r"\bl\b|lit(?:er|re)",
    "in3": r"in3|cubic inch|cu in",
    "ft3": r"ft3|cubic f|cu ft",
    "cc": r"\bcc\b|cm3",
}
_UNIT_WORDS = {
    "from": _PRESSURES, "to": _PRESSURES, "rated": _PRESSURES, "temperature": _TEMPERATURES, "over": _DURATIONS,
    "holds": _VOLUMES,
}  # fmt: skip
_DAY_FORMS = (
    "year-month-day hour:minute:second", "year-month-dayThour:minute:second", "year-month-dayThour:minute:secondoffset",
    "year-month-day hour:minute", "year-month-day", "yearmonthday",
    "month/day/year hour:minute:second am", "month/day/year hour:minute am", "month/day/year hour:minute:second",
    "month/day/year hour:minute", "month/day/year", "day/month/year hour:minute:second", "day/month/year hour:minute",
    "day/month/year", "day.month.year hour:minute:second", "day.month.year hour:minute", "day.month.year",
    "month/day/short-year", "day.month.short-year", "day month-name year", "month-name day, year",
)  # fmt: skip
_MONTH_FORMS = (
    "year-month",
    "month/year",
    "month/short-year",
    "month-name year",
    "month-name-short-year",
    "month.year",
)
_TIME_FORMS = ("hour:minute:second", "hour:minute", "hour:minute:second am", "hour:minute am", "hour:minuteam")
# A figure with a comma that stands for a point, and one with points between its thousands.
_DECIMAL_COMMA = re.compile(r"[0-9]+,(?:[0-9]{1,2}|[0-9]{4,})(?![0-9])|[0-9.]+\.[0-9]{3},[0-9]+")
_THOUSANDS = {",": re.compile(r"[0-9]{1,3}\.[0-9]{3},[0-9]"), ".": re.compile(r"[0-9]{1,3},[0-9]{3}\.[0-9]")}
_LOOKED_AT = 500
# How many rows a title and notes may take above the row with the names of the columns.
_MOST_ABOVE = 20
_SHOWN = 40


def heading_of(rows: list[Row], kind: MapKind = FILLS) -> int:
    """The number of the row that names the columns: of the first rows the one whose cells say most of what is wanted."""

    def said(row: Row) -> int:
        table, taken = Table([cleaned(cell) for cell in row.cells], [], "", "", []), set[int]()
        for _, words in _headings(kind):
            index = _column_for(table, words, taken)
            if index is not None:
                taken.add(index)
        return len(taken)

    best = max(rows[:_MOST_ABOVE], key=said)
    return best.number if said(best) > 1 else 1


def draft_of(
    table: Table, file_name: str, record: Record | None = None, heading: int = 1, kind: MapKind = FILLS
) -> str:
    """
    The text of a map for a table, to be looked over. The record tells by what an export knows cylinders.

    `heading` is the number of the row that names the columns.
    """
    lines = [
        f"# Which column of {_shown(file_name)} holds what. Look over every line before it is used.",
        "",
        "[file]",
    ]
    if table.encoding != WORKBOOK:
        lines.append(f'encoding  = "{table.encoding}"')
        lines.append(f"separator = {_quoted(SEPARATORS.get(table.separator, table.separator))}")
    if heading != 1:
        lines.append(f"heading   = {heading}            # the row with the names of the columns")
    if kind is FILLS:
        lines.append('# zone    = "UTC"        # the zone of the times, where it is not the department\'s')
    lines += _signs(table)
    taken: set[int] = set()
    sections: dict[str, list[str]] = {}
    for part, words in _headings(kind):
        index = _column_for(table, words, taken)
        if index is not None:
            taken.add(index)
            sections[part] = ["", *_section(table, part, index, record, kind)]
        elif part in kind.needed:
            sections[part] = ["", f"[{part}]", 'column = ""     # no heading tells which; write it here']
    lines += [line for part in kind.keys for line in sections.get(part, ())]
    left = [_shown(title) for index, title in enumerate(table.heading) if index not in taken and title]
    if left:
        lines += ["", f"# Not used: {', '.join(left)}"]
    return "\n".join((*lines, ""))


def _headings(kind: MapKind) -> tuple[tuple[str, tuple[str, ...]], ...]:
    return _CARD_HEADINGS if kind is CARDS else _HEADINGS


def _column_for(table: Table, words: tuple[str, ...], taken: set[int]) -> int | None:
    for word in words:
        found = [
            index
            for index, title in enumerate(table.heading)
            if index not in taken and re.search(rf"\b{re.escape(word)}", _words_of(title))
        ]
        # Of several pressures somebody has to say which is meant.
        if found and (len(found) == 1 or word not in _OF_ANY_PRESSURE):
            return found[0]
    return None


def _section(table: Table, part: str, index: int, record: Record | None, kind: MapKind) -> Iterator[str]:
    title = table.heading[index]
    keys = kind.keys[part]
    cells = [cleaned(row.cells[index]) for row in table.rows[:_LOOKED_AT] if index < len(row.cells)]
    cells = [cell for cell in cells if cell]
    shown = f"   # such as {', '.join(dict.fromkeys(map(_shown, cells[:3])))}" if cells else ""
    yield f"[{part}]"
    yield f"column = {_quoted(title)}{shown}"
    if "form" in keys:
        months = _MONTH_FORMS if kind.month_will_do else ()
        yield from _form(cells, _TIME_FORMS if part == "time" else (*_DAY_FORMS, *months), kind.month_will_do)
    elif "unit" in keys:
        units = [unit for unit, words in _UNIT_WORDS[part].items() if re.search(words, _words_of(title))]
        states = units if part in ("from", "to", "rated") else units[: len(units) == 1]
        yield f'unit   = "{states[0]}"' if states else f'unit   = ""      # {either(UNITS[part])}'
    elif "by" in keys:
        by = _way(title, cells, record)
        yield f'by     = "{by}"' if by else 'by     = ""      # name, tag or serial'
    elif "means" in keys:
        yield '# means = { "as in the export" = "name-in-the-record" }'


def _words_of(title: str) -> str:
    """A heading as words: `end_psi` and `End (psi)` say the same."""
    return re.sub(r"[\W_]+", " ", title).lower().strip()


def _signs(table: Table) -> Iterator[str]:
    """What stands for the decimal point and between thousands, where some cell tells."""
    cells = [cleaned(cell) for row in table.rows[:_LOOKED_AT] for cell in row.cells]
    has_comma = any(map(_DECIMAL_COMMA.fullmatch, cells))
    yield 'decimal   = ","' if has_comma else '# decimal = ","          # where it is not a point'
    decimal = "," if has_comma else "."
    if any(map(_THOUSANDS[decimal].match, cells)):
        yield f'thousands = "{"." if has_comma else ","}"'


def _way(title: str, cells: list[str], record: Record | None) -> str:
    """By what the cells know cylinders: as which most of them stand in the record, else as the heading says."""
    if record is not None:
        found = {
            way: sum(cell in marks for cell in cells)
            for way, marks in ((way, cylinders_by(record, way)) for way in WAYS)
        }
        best = max(WAYS, key=lambda way: found[way])
        if found[best] * 2 > len(cells):
            return best
    lower = title.lower()
    if "serial" in lower:
        return "serial"
    return "tag" if any(word in lower for word in ("tag", "rfid", "barcode")) else ""


def _form(cells: list[str], forms: tuple[str, ...], month_will_do: bool) -> Iterator[str]:
    """The form that all cells have, or the ones that they could have, for somebody to choose from."""
    fits = [form for form in forms if cells and all(Form(form, month_will_do).read(cell) for cell in cells)]
    if len(fits) == 1:
        yield f'form   = "{fits[0]}"'
    elif fits:
        yield 'form   = ""      # the rows do not tell which of these it is:'
        yield from (f'# form = "{form}"' for form in fits)
    else:
        such = "month/day/year, or month/year" if month_will_do else "month/day/year hour:minute am"
        yield f'form   = ""      # in words, such as {such}'


def _shown(text: str) -> str:
    """A text of the export as a comment can hold it: on one line, and not for long."""
    line = "".join(sign if sign.isprintable() else " " for sign in text)
    return line if len(line) <= _SHOWN else f"{line[:_SHOWN]}..."


def _quoted(text: str) -> str:
    """A text as TOML writes it."""
    signs = {"\\": "\\\\", '"': '\\"'}
    return (
        '"' + "".join(signs.get(sign) or (sign if sign.isprintable() else f"\\U{ord(sign):08x}") for sign in text) + '"'
    )
