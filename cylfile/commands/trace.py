"""
`cylfile trace`: which cylinders took air from a source within some days, and which hold it still.
"""

from cylfile.cannot import CannotDo
from cylfile.command_line.options import Options, add_form_options, show
from cylfile.command_line.reading import day, read_each, the_one_holding
from cylfile.history.sources.air_trace import trace_air
from cylfile.packs.suggest import did_you_mean
from cylfile.record.called import as_on_record
from cylfile.record.record import Record
from cylfile.show.pages.trace_page import Traced

_PURPOSE = "Say which cylinders took air from a source within some days, through storages too, and where it is now."
_MORE = (
    "Air counts as held until the cylinder is emptied, tested with water, or filled from 0 psi. What happened on one "
    "day without times is taken in the order that leaves more in doubt. Exit status: 0 no cylinder in service holds "
    "that air, 1 one does or not all of the record can be read, 2 the job could not be done."
)


def run(arguments: list[str]) -> int:
    options = make_options().read(arguments)
    each = [
        (case, case.folder, as_on_record(options.source, case.record.air_sources) in case.record.air_sources)
        for case in read_each(options)
    ]
    case = each[0][0] if len(each) == 1 else the_one_holding(options.source, each, "name it as in its block")
    record, as_of = case.record, case.as_of
    options.source = as_on_record(options.source, record.air_sources)
    _look_up(options.source, record)
    last = options.last or as_of
    if last < options.first:
        raise CannotDo(f"the last day, {last}, is before the first, {options.first}; give --first and --last in order")
    trace = trace_air(record, options.source, options.first, last, as_of)
    show(Traced(trace, record, case.rules, options.each), options)
    return int(bool(trace.still_in_service or trace.unread))


def make_options() -> Options:
    options = Options("trace", _PURPOSE, _MORE)
    options.add_argument("source", metavar="SOURCE", help="the compressor or storage, by its name")
    options.add_argument("paths", nargs="*", metavar="PATH", help="files or folders of the record; - is standard input")
    options.add_argument(
        "--first", dest="first", metavar="DAY", type=day, required=True, help="the first day of the air"
    )
    options.add_argument("--last", dest="last", metavar="DAY", type=day, help="the last one; the as-of day by default")
    options.add_argument("--as-of", metavar="DAY", type=day, help="say how things stand on this day; today by default")
    options.add_argument("--each", action="store_true", help="on the page, list every fill with that air")
    options.set_defaults(rules=[])
    add_form_options(options)
    return options


def _look_up(name: str, record: Record) -> None:
    if name not in record.air_sources:
        sources = list(record.air_sources)
        otherwise = f"The sources are {', '.join(sources)}." if sources else "The record declares no source."
        raise CannotDo(f"no block declares a source `{name}`. {did_you_mean(name, sources, otherwise)}")
