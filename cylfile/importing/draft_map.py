"""
A first map for an export, made of the headings of its columns and of what stands in them.

It is a proposal. What the export does not tell is left for somebody to fill in, so that a map
is never used by mistake that nobody has looked at.
"""

import re
from collections.abc import Iterator

from cylfile.importing.column_map import WAYS
from cylfile.importing.export_table import SEPARATORS, Table, cleaned
from cylfile.importing.fill_rows import marks_of
from cylfile.importing.written_forms import Form
from cylfile.record.record import Record

# What headings say, most telling first: part of the map -> words in the heading. A column is
# taken once, so that "Start Pressure" does not become the pressure after the fill.
_HEADINGS = (
    ("day", ("timestamp", "date", "day", "completed", "started")),
    ("time", ("time", "clock")),
    ("cylinder", ("rfid", "barcode", "tag", "serial", "cylinder", "bottle", "tank", "unit no", "asset", "scba")),
    ("from", ("start pres", "initial", "before", "from", "start psi", "start bar", "in psi")),
    ("to", ("end pres", "final", "after", "fill pres", "end psi", "end bar", "to psi", "reached", "pressure", "psi", "bar")),
    ("temperature", ("temp",)),
    ("over", ("duration", "minutes", "seconds", "elapsed")),
    ("person", ("operator", "user", "person", "filled by", "technician", "member", "name", "by")),
    ("source", ("compressor", "source", "bank", "cascade", "air")),
    ("site", ("site", "station", "location", "house")),
    ("remark", ("remark", "remark", "comment")),
)  # fmt: skip
_DAY_FORMS = (
    "year-month-day hour:minute:second", "year-month-dayThour:minute:second", "year-month-dayThour:minute:secondoffset",
    "year-month-day hour:minute", "year-month-day", "yearmonthday",
    "month/day/year hour:minute:second am", "month/day/year hour:minute am", "month/day/year hour:minute:second",
    "month/day/year hour:minute", "month/day/year", "day/month/year hour:minute:second", "day/month/year hour:minute",
    "day/month/year", "day.month.year hour:minute:second", "day.month.year hour:minute", "day.month.year",
    "month/day/short-year", "day.month.short-year", "day month-name year", "month-name day, year",
)  # fmt: skip
_TIME_FORMS = ("hour:minute:second", "hour:minute", "hour:minute:second am", "hour:minute am", "hour:minuteam")
_UNITS = {"psi": "psi", "bar": "bar", "mpa": "MPa", "kpa": "kPa"}
_TEMPERATURES = {"F": r"\bf\b|fahrenheit", "C": r"\bc\b|celsius"}
_LOOKED_AT = 500
_SHOWN = 40


def sketch_of(table: Table, file_name: str, record: Record | None = None) -> str:
    """The text of a map for a table, to be looked over. The record tells by what an export knows cylinders."""
    lines = [
        f"# Which column of {_shown(file_name)} holds what. Look over every line before it is used.",
        "",
        "[file]",
        f'encoding  = "{table.encoding}"',
        f'separator = "{SEPARATORS.get(table.separator, table.separator)}"',
        '# zone    = "UTC"        # the zone of the times, where it is not the department\'s',
        '# decimal = ","          # where it is not a point',
    ]
    taken: set[int] = set()
    for part, words in _HEADINGS:
        index = _column_for(table, words, taken)
        if index is not None:
            taken.add(index)
            lines += ["", *_section(table, part, index, record)]
        elif part in ("day", "cylinder", "to"):
            lines += ["", f"[{part}]", 'column = ""     # no heading tells which; write it here']
    left = [_shown(title) for index, title in enumerate(table.heading) if index not in taken and title]
    if left:
        lines += ["", f"# Not used: {', '.join(left)}"]
    return "\n".join((*lines, ""))


def _column_for(table: Table, words: tuple[str, ...], taken: set[int]) -> int | None:
    for word in words:
        for index, title in enumerate(table.heading):
            if index not in taken and re.search(rf"\b{re.escape(word)}", title.lower().replace("_", " ")):
                return index
    return None


def _section(table: Table, part: str, index: int, record: Record | None) -> Iterator[str]:
    title = table.heading[index]
    cells = [cleaned(row.cells[index]) for row in table.rows[:_LOOKED_AT] if index < len(row.cells)]
    cells = [cell for cell in cells if cell]
    shown = f"   # such as {', '.join(dict.fromkeys(map(_shown, cells[:3])))}" if cells else ""
    yield f"[{part}]"
    yield f"column = {_quoted(title)}{shown}"
    if part == "day":
        yield from _form(cells, _DAY_FORMS)
    elif part == "time":
        yield from _form(cells, _TIME_FORMS)
    elif part in ("from", "to"):
        units = [unit for word, unit in _UNITS.items() if re.search(rf"\b{word}", title.lower())]
        yield f'unit   = "{units[0]}"' if units else 'unit   = ""      # psi, bar, MPa or kPa'
    elif part == "temperature":
        units = [unit for unit, words in _TEMPERATURES.items() if re.search(words, title, re.IGNORECASE)]
        yield f'unit   = "{units[0]}"' if len(units) == 1 else 'unit   = ""      # F or C'
    elif part == "over":
        yield 'unit   = ""      # s, min or h'
    elif part == "cylinder":
        by = _way(title, cells, record)
        yield f'by     = "{by}"' if by else 'by     = ""      # name, tag or serial'
    elif part in ("person", "source", "site"):
        yield '# means = { "as in the export" = "name-in-the-record" }'


def _way(title: str, cells: list[str], record: Record | None) -> str:
    """By what the cells know cylinders: as which most of them stand in the record, else as the heading says."""
    if record is not None:
        found = {
            way: sum(cell in marks for cell in cells) for way, marks in ((way, marks_of(record, way)) for way in WAYS)
        }
        best = max(WAYS, key=lambda way: found[way])
        if found[best] * 2 > len(cells):
            return best
    lower = title.lower()
    if "serial" in lower:
        return "serial"
    return "tag" if any(word in lower for word in ("tag", "rfid", "barcode")) else ""


def _form(cells: list[str], forms: tuple[str, ...]) -> Iterator[str]:
    """The form that all cells have, or the ones that they could have, for somebody to choose from."""
    fits = [form for form in forms if cells and all(Form(form).read(cell) for cell in cells)]
    if len(fits) == 1:
        yield f'form   = "{fits[0]}"'
    elif fits:
        yield 'form   = ""      # the rows do not tell which of these it is:'
        yield from (f'# form = "{form}"' for form in fits)
    else:
        yield 'form   = ""      # in words, such as month/day/year hour:minute am'


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
