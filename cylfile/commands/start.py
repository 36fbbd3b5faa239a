"""
`cylfile start`: a new record with an example of everything, which has nothing wrong with it from the first day.
"""

import os
from datetime import date, datetime
from zoneinfo import ZoneInfo, available_timezones

from cylfile.cannot import CannotDo
from cylfile.command_line.options import Options
from cylfile.command_line.reading import day
from cylfile.files.new_record import first_files
from cylfile.files.writing import write_folder
from cylfile.packs.suggest import did_you_mean
from cylfile.record.reader import read_record
from cylfile.show.told import tell
from cylfile.text.source import Source

_PURPOSE = (
    "Begin a record: a file for the department, a card, a fill sheet, a pack for your own rules, what git and editors "
    "should know, and a note on how to go on. Nothing that is there is written over."
)
_MORE = """\
examples:
  cylfile start air-record
  cylfile start air-record --name "Vallow Fire District" --zone America/Denver

Exit status: 0 begun, 2 it could not be done.
"""
_NAME = "Our fire department"
_ZONE = "UTC"
# Where systems keep which zone they are in: a link into a folder of this name.
_LOCAL_ZONE, _ZONES = "/etc/localtime", "zoneinfo/"


def run(arguments: list[str]) -> int:
    options = make_options().read(arguments)
    zone = _zone(options.zone) if options.zone else _own_zone()
    today: date = options.as_of or datetime.now(_zone_info(zone)).date()
    folder = options.folder
    texts = first_files(options.name, zone, today, options.hooks)
    _prove(texts)
    write_folder(folder, {path: text.encode("utf-8") for path, text in texts.items()})
    for path in texts:
        tell(f"{folder}/{path}" if folder != "." else path)
    tell(f"Begun on {today}, in the zone {zone}. The file README.md says how to go on.")
    return 0


def make_options() -> Options:
    options = Options("start", _PURPOSE, _MORE)
    options.add_argument("folder", metavar="FOLDER", help="the folder of the record, which must be new or empty")
    options.add_argument("--name", metavar="TEXT", default=_NAME, help="the name of the department")
    options.add_argument(
        "--zone", metavar="ZONE", help="its time zone, such as America/Denver; that of this machine by default"
    )
    options.add_argument("--hooks", action="store_true", help="also what the program pre-commit asks before a commit")
    options.add_argument("--as-of", metavar="DAY", type=day, help="the day it begins; today by default")
    return options


def _zone(name: str) -> str:
    """A zone by its name. Raises CannotDo where there is none such."""
    known = available_timezones()
    if known and name not in known:
        cure = did_you_mean(name, known, "Write its name in the IANA database, such as America/Denver.")
        raise CannotDo(f"there is no time zone `{name}`. {cure}")
    return name


def _own_zone() -> str:
    """The zone of this machine, where it can be told."""
    linked = os.path.realpath(_LOCAL_ZONE).replace(os.sep, "/")
    candidates = (os.environ.get("TZ", "").lstrip(":"), linked.rpartition(_ZONES)[2] if _ZONES in linked else "")
    known = available_timezones()
    return next((name for name in candidates if name in known), _ZONE)


def _zone_info(name: str) -> ZoneInfo | None:
    """None, for the machine's own clock, where this machine knows no zones."""
    return ZoneInfo(name) if name in available_timezones() else None


def _prove(texts: dict[str, str]) -> None:
    """Raise CannotDo where the name of the department is not allowed in a ledger."""
    record = read_record([Source(path, text) for path, text in texts.items() if path.endswith(".cyl")])
    if record.faults:
        raise CannotDo(f"--name: {record.faults[0].text}. {record.faults[0].cure}")
