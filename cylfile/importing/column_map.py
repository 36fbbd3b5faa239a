"""
The map of an export: which column holds what, and in which form and unit.

A map is a TOML file that the user writes once for each fill station; `--draft-map` proposes one.
"""

from typing import Any, NamedTuple

from cylfile.importing.export_table import SEPARATORS, Row, cleaned
from cylfile.importing.written_forms import Form, FormRefused
from cylfile.packs.suggest import did_you_mean
from cylfile.text.units import UNITS as UNITS_OF


class MapKind(NamedTuple):
    """
    What a map is of: in words, and its tables, each with the keys that it may have besides `column` and `always`.

    `needed` are the tables that it cannot lack, and of `never_always` each row has a cell of its own. Where
    `month_will_do`, a form may say a month and no day.
    """

    what: str
    keys: dict[str, tuple[str, ...]]
    needed: tuple[str, ...]
    never_always: tuple[str, ...]
    month_will_do: bool = False


# The order is that of the words of an entry, or of the lines of a card.
FILLS = MapKind(
    "a fill",
    {
        "day": ("form",),
        "time": ("form",),
        "cylinder": ("by",),
        "from": ("unit",),
        "to": ("unit",),
        "temperature": ("unit",),
        "over": ("unit",),
        "person": ("means",),
        "source": ("means",),
        "site": ("means",),
        "remark": (),
    },
    ("day", "cylinder", "to"),
    ("cylinder", "to", "from"),
)
CARDS = MapKind(
    "a card",
    {
        "cylinder": (),
        "serial": (),
        "maker": ("means",),
        "owner": ("means",),
        "marked": (),
        "class": ("means",),
        "rated": ("unit",),
        "made": ("form",),
        "holds": ("unit",),
        "tag": (),
        "life": (),
        "entered": ("form",),
        "site": ("means",),
        "test": ("form",),
        "tester": ("means",),
        "visual": ("form",),
        "inspector": ("means",),
    },
    ("cylinder",),
    ("cylinder", "serial", "tag"),
    month_will_do=True,
)
# Part of the map -> terminal of the grammar that its figures are.
TERMINALS = {
    "from": "PRESSURE", "to": "PRESSURE", "temperature": "TEMPERATURE", "over": "DURATION",
    "rated": "PRESSURE", "holds": "VOLUME",
}  # fmt: skip
UNITS = {part: UNITS_OF[terminal] for part, terminal in TERMINALS.items()}
WAYS = ("name", "tag", "serial")
_FILE_KEYS = ("encoding", "separator", "heading", "decimal", "thousands", "zone")
_ROWS = "rows"


class Column(NamedTuple):
    """
    Where a part of an entry comes from: the cell of the column at `position`, or `always` the same text.

    `name` is how to speak of it. `unit` is None where the cells hold one. `means` maps what
    stands in a cell to a name of the record. `only` are the values of rows that count.
    """

    position: int | None
    name: str
    always: str | None = None
    unit: str | None = None
    form: Form | None = None
    by: str = "name"
    means: dict[str, str] = {}
    only: tuple[str, ...] = ()

    def of(self, cells: list[str]) -> str:
        """The cell in a row, empty where the row is too short."""
        if self.position is None:
            return self.always or ""
        return cells[self.position] if self.position < len(cells) else ""


class FileForm(NamedTuple):
    """How the export is written; None is found out, and for `zone` it is the department's."""

    encoding: str | None = None
    separator: str | None = None
    heading: int = 1
    decimal: str | None = None
    thousands: str | None = None
    zone: str | None = None


class ColumnMap(NamedTuple):
    """The columns by what they are, as the tables of the map are called; `rows` tells which rows count."""

    columns: dict[str, Column]
    rows: Column | None

    def counts(self, row: Row) -> bool:
        """Whether a row counts, or is left out."""
        return self.rows is None or cleaned(self.rows.of(row.cells)) in self.rows.only


class MapRefused(ValueError):
    """Bytes that are no map at all, and what to do."""


def map_of(data: bytes) -> dict:
    """What the bytes of a map say, as TOML has it. Raises MapRefused."""
    import tomllib

    try:
        return tomllib.loads(data.decode("utf-8"))
    except RecursionError:
        raise MapRefused("nested too deeply to be one; `--draft-map` proposes one") from None
    except ValueError as trouble:
        raise MapRefused(f"not TOML: {trouble}") from None


def file_form(said: dict) -> tuple[FileForm, list[str]]:
    """What the `[file]` table of a map says, and what is wrong with it."""
    table = said.get("file", {})
    if not isinstance(table, dict):
        return FileForm(), ["`file` is no table; write [file] on a line of its own"]
    faults = _strange(table, _FILE_KEYS, "file")
    values = {key: value for key, value in table.items() if key in _FILE_KEYS}
    for key, value in list(values.items()):
        is_number = isinstance(value, int) and not isinstance(value, bool) and value >= 0
        if not (is_number if key == "heading" else isinstance(value, str)):
            wanted = "a row number" if key == "heading" else "a text in quotation marks"
            faults.append(f"[file] {key} must be {wanted}")
            del values[key]
    names = {name: sign for sign, name in SEPARATORS.items()}
    if "separator" in values:
        values["separator"] = names.get(values["separator"], values["separator"])
        if values["separator"] not in SEPARATORS:
            faults.append(f"[file] separator is one of {', '.join(names)}")
            del values["separator"]
    for key in ("decimal", "thousands"):
        if key in values and values[key] not in (".", ",", " ", "'"):
            faults.append(f'[file] {key} is one sign: "." or ","')
            del values[key]
    form = FileForm(**values)
    if (form.decimal or ".") == form.thousands:
        faults.append("[file] decimal and thousands are the same sign; state both as the export writes them")
    return form, faults


def column_map(said: dict, heading: list[str], kind: MapKind = FILLS) -> tuple[ColumnMap | None, list[str]]:
    """
    The columns that a map names, looked up in the heading of the export, and what is wrong with it.

    The map is None where anything is wrong.
    """
    strange = [name for name in said if name not in (*kind.keys, _ROWS, "file")]
    if strange and kind is FILLS and all(name in CARDS.keys for name in strange):
        return None, [f"[{strange[0]}] is no part of a fill; the map of an inventory is for --cards"]
    if strange and kind is CARDS and all(name in FILLS.keys for name in strange):
        return None, [f"[{strange[0]}] is no part of a card; the map of fills is used without --cards"]
    faults = [
        f"[{name}] is no part of {kind.what}; {did_you_mean(name, (*kind.keys, _ROWS), 'see `cylfile import --help`')}"
        for name in strange
    ]
    faults += [f"the map says nothing of the {name}; write [{name}]" for name in kind.needed if name not in said]
    columns = {}
    for name in (*kind.keys, _ROWS):
        if name in said:
            column, wrong = _column(name, said[name], kind, heading)
            faults += wrong
            columns[name] = column
    if not faults and kind is FILLS:
        faults += _disagreements(columns)
    return (None if faults else ColumnMap(columns, columns.pop(_ROWS, None))), faults


def _column(name: str, table, kind: MapKind, heading: list[str]) -> tuple[Column, list[str]]:
    nothing = Column(None, name, "")
    keys = kind.keys.get(name, ("only",))
    if not isinstance(table, dict):
        return nothing, [f"`{name}` is no table; write [{name}] on a line of its own"]
    faults = _strange(table, ("column", "always", *keys), name)
    if ("column" in table) == ("always" in table):
        either = "both `column` and `always`; keep one" if "column" in table else "no column"
        return nothing, [*faults, f"[{name}] says {either}"]
    index, always, spoken = None, None, name
    if "always" in table:
        always = table["always"]
        if name in kind.never_always or name == _ROWS or not isinstance(always, str):
            return nothing, [
                *faults,
                f"[{name}] always: it takes a column"
                if name in kind.never_always
                else f"[{name}] always must be a text",
            ]
    else:
        spoken = str(table["column"])
        index, fault = _index(name, table["column"], heading)
        if fault:
            return nothing, [*faults, fault]
    values, wrong = _details(name, table, keys, kind.month_will_do)
    return Column(index, spoken, always, **values), [*faults, *wrong]


def _index(name: str, column, heading: list[str]) -> tuple[int | None, str | None]:
    """The index of a column by its heading or its number from 1, or what is wrong."""
    if isinstance(column, int) and not isinstance(column, bool):
        if column < 1 or (heading and column > len(heading)):
            return None, f"[{name}] column {column}: the export has columns 1 to {len(heading)}"
        return column - 1, None
    if not isinstance(column, str):
        return None, f"[{name}] column must be its heading in quotation marks, or its number"
    found = [index for index, title in enumerate(heading) if title == column.strip()]
    found = found or [index for index, title in enumerate(heading) if title.lower() == column.strip().lower()]
    if len(found) == 1:
        return found[0], None
    if found:
        return None, f"[{name}] two columns are headed `{column}`; name the one that is meant by its number"
    columns = ", ".join(f"`{title}`" for title in heading if title) or "none; name them by number"
    return None, f"[{name}] no column is headed `{column}`; the export has {columns}"


def _details(name: str, table: dict, keys: tuple[str, ...], month_will_do: bool) -> tuple[dict, list[str]]:
    values: dict[str, Any] = {}
    faults = []
    if "form" in keys:
        try:
            values["form"] = Form(str(table.get("form", "")), month_will_do)
        except FormRefused as refusal:
            wanted = "year-month-day" if name != "time" else "hour:minute"
            faults.append(
                f"[{name}] {refusal}" if table.get("form") else f'[{name}] needs its form, such as form = "{wanted}"'
            )
    elif name in UNITS and "unit" in table:
        values["unit"] = table["unit"]
        if table["unit"] not in UNITS[name]:
            faults.append(f"[{name}] unit is one of {', '.join(UNITS[name])}")
    elif "by" in keys:
        values["by"] = table.get("by")
        if table.get("by") not in WAYS:
            faults.append(f"[cylinder] by: say what stands in the column, one of {', '.join(WAYS)}")
    elif "means" in table:
        values["means"] = table["means"]
        if not isinstance(table["means"], dict) or not all(isinstance(word, str) for word in table["means"].values()):
            faults.append(f'[{name}] means is a table of texts, such as means = {{ "R. Ash" = "ash" }}')
    elif name == _ROWS:
        only = table.get("only")
        values["only"] = tuple(only) if isinstance(only, list) else ()
        if not values["only"] or not all(isinstance(word, str) for word in values["only"]):
            faults.append('[rows] only: list what stands in the column of rows that count, such as only = ["OK"]')
    return values, faults


def _disagreements(columns: dict[str, Column]) -> list[str]:
    """What is wrong between the parts of a map that are right one by one."""
    day, time = columns["day"].form, columns["time"].form if "time" in columns else None
    assert day is not None
    if not day.says_day:
        return [f"[day] the form `{day.words}` says no day"]
    if time is not None and (not time.says_time or time.says_day):
        return [f"[time] the form `{time.words}` should say a time and no day"]
    if time is not None and day.says_time:
        return ["[day] says the time too, so [time] is one too many; take it out"]
    return []


def _strange(table: dict, known: tuple[str, ...], name: str) -> list[str]:
    return [
        f"[{name}] does not know `{key}`; {did_you_mean(key, known, 'it knows ' + ', '.join(known))}"
        for key in table
        if key not in known
    ]
