"""
`cylfile may-fill`: the question at the fill station, answered for one cylinder.
"""

import gc
import os
import re

from cylfile.cannot import CannotDo
from cylfile.command_line.options import Options, add_form_options, show
from cylfile.command_line.reading import add_reading_options, the_one_holding, the_one_meant, with_origin
from cylfile.files.neighbors import Neighbors, county_of
from cylfile.files.records import records_on_disk
from cylfile.files.rules_and_day import case_of
from cylfile.judging.fill_answer import answer
from cylfile.judging.heads import head_of
from cylfile.record.called import marks_in_texts
from cylfile.record.plans import MEANINGS, Refusal
from cylfile.record.quantities import Quantity
from cylfile.record.relevant import card_names, cylinders_of, read_about
from cylfile.show.pages.may_fill_page import Asked
from cylfile.show.terminal.progress import told
from cylfile.text.units import UNITS

_PURPOSE = "May this cylinder be filled now, and to what pressure? Ask by its name, tag or serial number."
_MORE = """\
examples:
  cylfile may-fill T-114
  cylfile may-fill E20034AF --to 4500psi
  cylfile may-fill T-114 --at "50 F"
  cylfile may-fill T-114 records/

The answer is no as well where something that has to be known is not known.
Exit status: 0 it may be filled, 1 it must not be, 2 the question could not be asked.
"""
_NUMBER = r"[0-9]+(?:\.[0-9]+)?"
_PRESSURE = re.compile(rf"({_NUMBER})[ \t]*({'|'.join(UNITS['PRESSURE'])})")
_TEMPERATURE = re.compile(rf"(-?{_NUMBER})[ \t]*({'|'.join(UNITS['TEMPERATURE'])})")


def run(arguments: list[str]) -> int:
    options = make_options().read(arguments)
    if not options.cylinder.strip():
        raise CannotDo("no cylinder is named; give its name or a tag on it, as in cylfile may-fill T-114")
    to = _pressure(options)
    # See `reading.read`.
    gc.disable()
    found_in = []
    folders = records_on_disk(options.paths)
    for folder in folders:
        sources, faults = folder.texts()
        marks = marks_in_texts(sources)
        word = the_one_meant(options.cylinder, marks)
        with told(sources, f"looking for {word} in {len(sources)} files"):
            case = with_origin(case_of(folder, read_about(sources, word, faults, marks), options), folder, options)
        found_in.append(((case, sources, word, folder), folder.shown, cylinders_of(case.record, word)))
    one = found_in[0][0] if len(found_in) == 1 else the_one_holding(options.cylinder, found_in)
    case, sources, word, folder = one
    record, rules = case.record, case.rules
    at = _temperature(options.at) if options.at else None
    cards = cylinders_of(record, word)
    names = [] if cards else card_names(sources)
    county = county_of(folders) if any(card.serial for card in cards) else []
    neighbors = Neighbors(county, folder, cards, case.as_of, options.rules)
    elsewhere = [reason for card in cards for reason in neighbors.reasons(record, card)]
    found = answer(record, rules, case.as_of, word, to, case.faults, names, at, elsewhere)
    head = head_of(record, rules, found.life, []) if found.life is not None else None
    show(Asked(found, head, rules, record), options)
    return int(not found.may)


def make_options() -> Options:
    options = Options("may-fill", _PURPOSE, _MORE)
    options.add_argument("cylinder", metavar="NAME", help="the cylinder, by its name, tag or serial number")
    add_reading_options(options)
    options.add_argument("--to", metavar="P", help="the pressure to fill to, with its unit; its limit by default")
    meaning = "the temperature of the gas, with its unit; the gauge has to stop lower where it is cold"
    options.add_argument("--at", metavar="T", help=meaning)
    add_form_options(options)
    return options


def _temperature(said: str) -> Quantity:
    found = _TEMPERATURE.fullmatch(said)
    if not found:
        raise CannotDo(f'`{said}` is not a temperature; write it with its unit, such as --at "50 F" or --at 10C')
    return _quantity("--at", "TEMPERATURE", found)


def _pressure(options) -> Quantity | None:
    """The pressure that is asked for. `--to 4500 psi` is as good as `--to 4500psi`."""
    said = options.to
    if said is None:
        return None
    if (
        re.fullmatch(_NUMBER, said)
        and options.paths
        and options.paths[0] in UNITS["PRESSURE"]
        and not os.path.exists(options.paths[0])
    ):
        said += options.paths.pop(0)
    found = _PRESSURE.fullmatch(said)
    if not found:
        raise CannotDo(f"`{said}` is not a pressure; write it with its unit, such as --to 4500psi or --to 310bar")
    return _quantity("--to", "PRESSURE", found)


def _quantity(option: str, kind: str, found: re.Match) -> Quantity:
    try:
        return MEANINGS[kind][f"{found[1]} {found[2]}"]
    except Refusal as refusal:
        raise CannotDo(f"{option}: {refusal}. {refusal.cure}") from None
