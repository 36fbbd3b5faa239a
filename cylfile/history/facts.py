"""
The fact table: what a rule may ask of a cylinder's history, and how each fact is had.

Python computes facts and rule packs judge them. The pack language checks its expressions
against this table, and `cylfile rules facts` prints it. A fact is None where it is not known.
Units are those of `cylfile.history.figures`.
"""

from bisect import bisect_left
from collections.abc import Callable
from datetime import date, timedelta
from datetime import time as clock
from functools import cache
from operator import attrgetter
from typing import Any, NamedTuple

from cylfile.history.figures import EXPANSION
from cylfile.history.hydro_test import method_of, permanent_share, pressure_left_open, pressure_short, worst_elastic
from cylfile.history.life import Life
from cylfile.history.pressures import is_likely, left_open, settled_pressure, within
from cylfile.history.recalls import recall_day, recall_titles, recalled
from cylfile.history.sources import air_facts
from cylfile.history.sources.source_life import SourceLife
from cylfile.record.dates import month_end
from cylfile.record.entries import Entry, Filled
from cylfile.record.vocabulary import CYLINDER_VERBS

# The dimensions of facts, settings and expressions, with the unit that stands for one.
DIMENSIONS = {
    "pressure": "psi gauge",
    "temperature": "kelvin",
    "volume": "mL",
    "duration": "timedelta",
    "period": "calendar months",
    "date": "date",
    "share": "fraction of 1",
    "count": "number",
    "rate": "psi a minute",
    "concentration": "ppm",
    "density": "mg/m3",
    "text": "text",
    "flag": "yes or no",
}

# Where a rule may stand: the verbs of a cylinder, of a source, and the as-of day.
STATUS = "status"
CYLINDER_PLACES = (*CYLINDER_VERBS, STATUS)
# Where a rule may stand on a source: its air samples, the fills of a storage, and what it holds on the as-of day.
AIR_SAMPLE = "air sample"
STORAGE_FILLED = "storage filled"
STORAGE_STATUS = "storage status"
PLACES = (*CYLINDER_PLACES, AIR_SAMPLE, STORAGE_FILLED, STORAGE_STATUS)
# Where a rule is asked of a fill, which has its air from a source.
FILLS = ("filled", STORAGE_FILLED)
# Where a rule is asked of no entry.
AS_OF_DAY = (STATUS, STORAGE_STATUS)

# Whose lines tell a fact: the cylinder's or source's own, those of who signs the entry, of the source of its air.
ITSELF, SIGNER, SOURCE = "itself", "signer", "source"

# What facts are asked of.
History = Life | SourceLife

_MINUTE = timedelta(minutes=1)
# What follows a path of attributes, made once of each path.
_path = cache(attrgetter)


class Fact(NamedTuple):
    """
    One word of the rule packs' vocabulary.

    `at` are the places where it may be asked, `meaning` its definition for readers,
    `derived_from` the facts without which it is not known (so that `cannot-judge` names what
    to write down), `write` what a record keeper writes so that it becomes known, `lines_of` whose lines
    tell it, where the entry itself does not. Its value is,
    of a fill, the attribute path `air` of what its source had to give, or what the method `given` of that tells of
    the fill; else the entry's own: the
    attribute path `entry`, not known where its first attribute is None, or `life` of the cylinder's
    history on the as-of day, when there is no entry; else the attribute `life` of the history; else
    that of the `first_known` of other facts; else `compute(history, entry)`, with None for the entry
    on the as-of day, which is not asked where the entry does not say what it `needs`. What a condition asks of `costly`
    ones it asks last.
    """

    name: str
    dimension: str
    at: tuple[str, ...]
    meaning: str
    life: str = ""
    entry: str = ""
    compute: Callable | None = None
    first_known: tuple[str, ...] = ()
    derived_from: tuple[str, ...] = ()
    write: str = ""
    always_known: bool = False
    air: str = ""
    given: str = ""
    needs: tuple[str, ...] = ()
    costly: bool = False
    lines_of: str = ""

    @property
    def is_of_air(self) -> bool:
        """Whether the source of a fill tells it."""
        return bool(self.air or self.given)

    def value(self, life: History, entry: Entry | None) -> Any:
        """What the fact is for an entry of a history, None where it is not known or is one of entries alone."""
        if entry is None and not any(place in self.at for place in AS_OF_DAY):
            return None
        if self.is_of_air and life.air is not None and entry is not None and entry.__class__ is Filled:
            found = _path(self.air or self.given)(life.air.at(entry))
            return found if self.air else found(entry)
        if self.entry and entry is not None:
            first, _, rest = self.entry.partition(".")
            holder = getattr(entry, first)
            return holder if holder is None or not rest else getattr(holder, rest)
        if self.first_known:
            values = (FACTS[name].value(life, entry) for name in self.first_known)
            return next((value for value in values if value is not None), None)
        if self.life or self.compute is None:
            return getattr(life, self.life)
        return self.compute(life, entry)


def _settled(life: Life, entry: Entry | None) -> float | None:
    """Of a fill or a gauge reading; on the as-of day, of the last one, while anything is left of it."""
    if entry is None:
        entry = life.last_gauged
    return None if entry is None else life.settled(entry)


def _settled_or_read(life: Life, entry: Entry | None) -> float | None:
    return FACTS["settled-or-read"].value(life, entry)


def _hot(life: Life, entry: Entry) -> float | None:
    return settled_pressure(entry, life.figures.hot)


def _over_limit(life: Life, entry: Entry | None) -> float | None:
    pressure, limit = _settled_or_read(life, entry), life.fill_limit
    if pressure is None or limit is None:
        return None
    return 0.0 if pressure <= limit else max(0.0, pressure - limit - (_rounding(life, entry) or 0.0))


def _over_hot_limit(life: Life, entry: Entry) -> float | None:
    settled, at_most = life.settled(entry), life.settled_at_hot_limit
    if settled is not None and at_most is not None and settled <= at_most:
        # Of the same contents what is less at one temperature is less at another.
        return 0.0
    hot, limit = _hot(life, entry), life.hot_limit
    if hot is None or limit is None:
        return None
    if hot <= limit:
        return 0.0
    figures = life.figures
    of_limit = (
        figures.proof_rounding
        if figures.hot_at_test_pressure
        else life.fill_limit_rounding * (figures.hot_factor or 0.0)
    )
    return max(0.0, hot - limit - within(left_open(entry, figures.hot) + of_limit, limit))


def _rounding(life: Life, entry: Entry | None) -> float | None:
    """Of a test, against the test pressure; else against the fill limit, on the as-of day of the last reading."""
    if entry is not None and entry.verb == "hydro":
        return pressure_left_open(life, entry)
    entry, limit = entry or life.last_gauged, life.fill_limit
    if entry is None or limit is None or entry.reading is None:
        return None
    return within(left_open(entry, life.figures.reference) + life.fill_limit_rounding, limit)


def _charge(life: Life, entry: Entry | None) -> float | None:
    """On the as-of day nothing is in it once it was emptied, and nobody knows what after a fill that nobody read."""
    pressure = life.last_pressure if entry is None else _settled_or_read(life, entry)
    return pressure / life.fill_limit if life.fill_limit and pressure is not None else None


def _charge_rounding(life: Life, entry: Entry | None) -> float | None:
    charge, entry, limit = _charge(life, entry), entry or life.last_gauged, life.fill_limit
    if charge is None or entry is None or limit is None:
        return charge and 0.0
    upward = left_open(entry, life.figures.reference, upward=True)
    return within(upward + charge * life.fill_limit_rounding, charge * limit) / limit


def _unlikely_temperature(life: Life, entry: Entry) -> float | None:
    at = entry.at_temperature
    return None if at is None or is_likely(at.value) else at.value


def _fill_rate(life: Life, entry: Entry) -> float | None:
    if entry.reading is None or entry.from_pressure is None or entry.over is None or not entry.over.value:
        return None
    return (entry.reading.value - entry.from_pressure.value) / (entry.over.value / _MINUTE)


def _since_last_fill(life: Life, entry: Entry) -> timedelta | None:
    last = life.last_fill
    if last is None or last.time is None or entry.time is None or last.day != entry.day:
        return None
    return _since_midnight(entry.time) - _since_midnight(last.time)


def _since_midnight(time: clock) -> timedelta:
    return timedelta(hours=time.hour, minutes=time.minute, seconds=time.second)


def _of_class(figure: str) -> Callable[[Life, Entry | None], bool | None]:
    """Whether the class of a cylinder has a figure; not known where its class is not."""
    return lambda life, entry: None if life.class_name is None else bool(getattr(life.figures, figure))


def _elastic_difference(life: Life, entry: Entry) -> float | None:
    if entry.elastic is None or entry.total is None or entry.permanent is None:
        return None
    return round(abs(entry.elastic.value - (entry.total.value - entry.permanent.value)), 6)


def _methods(life: Life, entry: Entry) -> str:
    return ", ".join(life.figures.allowed_methods)


def _method_allowed(life: Life, entry: Entry) -> bool | None:
    return None if life.class_name is None else method_of(entry) in life.figures.allowed_methods


def _missing_fields(life: Life, entry: Entry) -> str:
    """
    Fields of 49 CFR 180.215(b)(2) that the entry, the card and a visual inspection of that day lack together.

    Only a test by expansion has expansions to write down: letter Ref. 21-0100 of the agency.
    """
    card = life.cylinder
    fields = {
        "serial number": card.serial,
        "marking": card.marked or None,
        "year of manufacture": card.made,
        "test pressure": entry.at_pressure,
        "result of the visual inspection": entry.with_visual or _inspected_on(life, entry.day),
        "tester": entry.by,
    }
    if method_of(entry) == EXPANSION:
        fields |= {"total expansion": entry.total, "permanent expansion": entry.permanent}
        if life.figures.ree_marked and worst_elastic(entry) is None:
            fields["REE (on the card)"] = life.figures.ree
    if entry.result != "pass":
        fields["reason for rejection or condemnation (a remark)"] = entry.remark
    return ", ".join(name for name, value in fields.items() if value is None)


def _inspected_on(life: Life, day: date) -> Entry | None:
    """A visual inspection that stands on a day, before or after what is judged; None where none does."""
    first = bisect_left(life.entries, day, key=lambda entry: entry.day)
    for entry in life.entries[first:]:
        if entry.day != day:
            break
        if entry.verb == "visual":
            return entry
    return None


def _missed_months(life: Life, entry: Entry | None) -> str:
    return ", ".join(map(str, life.unchecked_months()))


def _may_be_used(life: Life, entry: Entry | None) -> str:
    """What may be done with a cylinder whose test is overdue. Source: 49 CFR 180.205(c)."""
    last = life.last_fill
    in_time = last is not None and life.test_due is not None and last.day < life.test_due
    if life.figures.until_emptied and in_time and not (life.life_end is not None and life.life_end < life.as_of):
        return "may be used until emptied, not filled or topped up"
    return "may not be filled or topped up"


def _outcome(life: Life, entry: Entry) -> str | None:
    return entry.result if entry.verb == "hydro" else entry.outcome


_ALL = CYLINDER_PLACES
_SAMPLE = (AIR_SAMPLE,)
_READ = ("filled", "gauged", STATUS)

# One fact a line or two, as a table.
# fmt: off
_FACTS = (
    # Any entry of a cylinder, and the as-of day.
    Fact("day", "date", PLACES, "day of the entry; on the as-of day, that day", entry="day", life="as_of", always_known=True),
    Fact("time", "text", (*CYLINDER_VERBS, AIR_SAMPLE), "time of the entry, local, as hours and minutes",
         compute=lambda life, entry: entry.time and f"{entry.time:%H:%M}", write="the time after the day"),
    Fact("by", "text", (*CYLINDER_VERBS, AIR_SAMPLE), "who signs the entry: a person, or the tester of a hydro", entry="by", write="`by` on the entry"),
    Fact("as-of", "date", PLACES, "the day the record is judged for", life="as_of", always_known=True),
    Fact("cylinder", "text", _ALL, "name of the cylinder", life="name", always_known=True),
    Fact("class", "text", _ALL, "class of the cylinder, from its card or its marking", life="class_name",
         write="`class` or `marked` on the card", lines_of=ITSELF),
    Fact("rated", "pressure", _ALL, "rated pressure: the card's, else the one in the marking", life="rated",
         write="`rated` or `marked` on the card", lines_of=ITSELF),
    Fact("fill-limit", "pressure", _ALL, "rated pressure, and the plus fill where the last test earned it and the class has it",
         life="fill_limit", derived_from=("rated",)),
    Fact("hot-limit", "pressure", _ALL, "greatest pressure allowed at the class's hot temperature", compute=lambda life, entry: life.hot_limit,
         derived_from=("fill-limit", "class")),
    Fact("made", "date", _ALL, "month of manufacture, which is the first test; its first day", life="made", write="`made` on the card", lines_of=ITSELF),
    Fact("entered-day", "date", _ALL, "day the cylinder entered service", life="entered_day", write="an `entered service` entry", lines_of=ITSELF),
    Fact("gauge-allowance", "pressure", _ALL, "what a gauge may be off: a share of rated; nothing for a fill that is only asked about",
         life="gauge_allowance", always_known=True),
    Fact("test-day", "date", _ALL, "day of the last hydro that counts, else the month of manufacture", life="test_day", derived_from=("made",)),
    Fact("test-every", "period", _ALL, "test period: the card's, else the class's; the ten-year one where the last test earned the star",
         life="test_every", derived_from=("class",), write="`test-every` on the card", lines_of=ITSELF),
    Fact("test-due", "date", _ALL, "last day on which the test is in date", life="test_due", derived_from=("test-day", "test-every")),
    Fact("due-month", "date", _ALL, "first day of the month in which the test falls due; counted to the day, that day", life="due_month",
         derived_from=("test-due",)),
    Fact("test-needed", "flag", _ALL, "it has to be tested at all: its test period is not `none`", life="test_needed",
         derived_from=("test-every",)),
    Fact("visual-day", "date", _ALL, "day of the last passed visual inspection, that of a hydro included", life="visual_day",
         write="a `visual pass` entry", lines_of=ITSELF),
    Fact("visual-every", "period", _ALL, "visual inspection period of the class", life="visual_every", derived_from=("class",),
         write="`visual-every` for the class in a house pack"),
    Fact("visual-due", "date", _ALL, "last day on which the visual inspection is in date", life="visual_due",
         derived_from=("visual-day", "visual-every")),
    Fact("life-end", "date", _ALL, "last day of the service life; never, where there is no limit", life="life_end",
         derived_from=("made", "class"), write="`life` on the card", lines_of=ITSELF),
    Fact("retired-day", "date", _ALL, "day the cylinder was retired", life="retired_day"),
    Fact("condemned-day", "date", _ALL, "day the cylinder was condemned", life="condemned_day"),
    Fact("out-of-service-day", "date", _ALL, "day it was taken out of service, while it is", life="out_of_service_day"),
    Fact("damaged-day", "date", _ALL, "day it was damaged, until a later hydro that counts", life="damaged_day"),
    Fact("failed-day", "date", _ALL, "day of a failed hydro or visual that nothing has cleared", life="failed_day"),
    Fact("blocked-by", "text", _ALL, "the worst of what bars it from being filled: condemned, failed, damaged, out of service", life="blocked_by"),
    Fact("uncleared", "text", _ALL, "the worst of failed tests and inspections and of damage that is not cleared", life="uncleared"),
    Fact("what-clears", "text", _ALL, "what clears the worst of what bars it", life="what_clears"),
    Fact("taken-out", "flag", _ALL, "a line says that it is out of service, condemned or retired", life="is_out", always_known=True),
    Fact("in-service", "flag", _ALL, "entered or used, and neither out of service, condemned nor retired", life="in_service", always_known=True),
    Fact("fill-count", "count", _ALL, "fills so far, the one being judged included",
         compute=lambda life, entry: life.fill_count + (entry is not None and entry.verb == "filled"), always_known=True),
    Fact("cycle-limit", "count", _ALL, "greatest number of fills of the class", life="cycle_limit"),
    Fact("last-fill-day", "date", _ALL, "day of the last fill", compute=lambda life, entry: life.last_fill and life.last_fill.day),
    Fact("last-fill-settled", "pressure", _ALL, "settled pressure of the last fill",
         compute=lambda life, entry: life.last_fill and _settled(life, life.last_fill)),
    Fact("site", "text", _ALL, "site where the cylinder is", life="site"),
    Fact("aluminum", "flag", _ALL, "aluminum, or with an aluminum liner", compute=lambda life, entry: life.figures.aluminum,
         derived_from=("class",), write="`liner` on the card", lines_of=ITSELF),
    Fact("export-only", "flag", _ALL, "it may be filled for export only", life="export_only", derived_from=("class",)),
    Fact("plus-allowed", "flag", _ALL, "the class may earn the plus fill", compute=_of_class("plus_fill"), derived_from=("class",)),
    Fact("star-allowed", "flag", _ALL, "it may earn the ten-year star: by its class, made 1946 or later, not known to hold more than 56.7 L",
         life="star_allowed", derived_from=("class", "made")),
    Fact("reference-temperature", "temperature", _ALL, "temperature at which the rated pressure is meant",
         compute=lambda life, entry: life.figures.reference, write="`reference` in a pack"),
    Fact("hot-temperature", "temperature", _ALL, "temperature at which the greatest pressure is allowed",
         compute=lambda life, entry: life.figures.hot, write="`hot` in a pack"),
    Fact("proof-pressure", "pressure", _ALL, "test pressure of the card, else the class's factor times rated",
         life="proof_pressure", derived_from=("rated", "class"), write="`test-pressure` on the card", lines_of=ITSELF),
    Fact("test-pressure-required", "pressure", _ALL, "the test pressure; of those of card and marking, where they disagree, the higher",
         life="test_pressure_required", derived_from=("rated", "class"), write="`test-pressure` on the card", lines_of=ITSELF),
    Fact("expansion-limit", "share", _ALL, "greatest permanent expansion as a share of total", compute=lambda life, entry: life.figures.expansion_limit,
         derived_from=("class",), write="`expansion-limit` on the card", lines_of=ITSELF),
    Fact("ree", "volume", _ALL, "rejection elastic expansion, as marked", compute=lambda life, entry: life.figures.ree, write="`ree` on the card", lines_of=ITSELF),
    # Recalls, on a fill and on the as-of day.
    Fact("recalled", "flag", ("filled", STATUS), "a recall means the cylinder: on a fill one of an earlier day, on the as-of day while in service "
         "one of that day or earlier", compute=recalled, write="what the recall asks for: `serial`, `maker`, `made` or `class` on the card", lines_of=ITSELF),
    Fact("recall-day", "date", ("filled", STATUS), "day of the first such recall", compute=recall_day, derived_from=("recalled",)),
    Fact("recall", "text", ("filled", STATUS), "what such recalls are called, with their days", compute=recall_titles,
         derived_from=("recalled",)),
    # A fill.
    Fact("to", "pressure", FILLS, "gauge reading after the fill", entry="reading.value", write="`to` with the pressure that was read"),
    Fact("from", "pressure", FILLS, "gauge reading before the fill", entry="from_pressure.value", write="`from` on the fill"),
    Fact("temperature", "temperature", (*FILLS, "gauged"), "temperature of the gas when the pressure was read",
         entry="at_temperature.value", write="`at` with the gas temperature"),
    Fact("settled", "pressure", (*_READ, STORAGE_FILLED), "pressure at the reference temperature of the contents, real gas; on the as-of day of the last reading",
         compute=_settled, derived_from=("temperature", "class"), needs=("temperature",)),
    Fact("unlikely-temperature", "temperature", ("filled", "gauged"), "that temperature, where it is below -40 F or above 150 F: then it counts as not written",
         compute=_unlikely_temperature, needs=("temperature",)),
    Fact("rounding", "pressure", (*_READ, "hydro"), "what the last places leave open of settled pressure and fill limit, of a test and the test pressure; "
         "at most 0.2 % of the limit", compute=_rounding, derived_from=("fill-limit",), costly=True),
    Fact("settled-or-read", "pressure", _READ, "settled pressure, or the reading as written where no temperature tells what it settles to",
         first_known=("settled", "reading"), write="`to` with the pressure that was read"),
    Fact("over-limit", "pressure", _READ, "how far the settled pressure, or the reading without a temperature, is over the fill limit by more than rounding",
         compute=_over_limit, derived_from=("fill-limit",), costly=True),
    Fact("over-hot-limit", "pressure", ("filled",), "how far `hot` is over the hot limit by more than rounding", compute=_over_hot_limit,
         derived_from=("hot", "hot-limit")),
    Fact("over-test-pressure", "pressure", ("filled", "gauged"), "how far the reading is over the test pressure by more than rounding",
         compute=lambda life, entry: life.over_test_pressure(entry), derived_from=("proof-pressure",)),
    Fact("hot", "pressure", ("filled",), "pressure of the contents at the class's hot temperature, real gas", compute=_hot,
         derived_from=("temperature", "class"), needs=("temperature",)),
    Fact("fill-rate", "rate", ("filled",), "pressure gained a minute", compute=_fill_rate, write="`from` and `over` on the fill"),
    Fact("filler-authorized", "flag", ("filled",), "the person who filled had the authority to fill on that day",
         compute=lambda life, entry: life.people.may_fill(entry.by, entry.day),
         write="`by`, and that `person`", lines_of=SIGNER),
    Fact("inspector-authorized", "flag", ("visual",), "the person who inspected had the authority to inspect on that day",
         compute=lambda life, entry: life.people.may_inspect(entry.by, entry.day), derived_from=("by",),
         write="a `person` block for who `by` names", lines_of=SIGNER),
    Fact("since-last-fill", "duration", ("filled",), "time since the last fill, where both have a time on one day", compute=_since_last_fill),
    # A hydrostatic test.
    Fact("outcome", "text", ("hydro", "visual", AIR_SAMPLE), "pass, fail or condemned", compute=_outcome, always_known=True),
    Fact("test-pressure", "pressure", ("hydro",), "pressure of the test", entry="at_pressure.value", write="`at` with the test pressure"),
    Fact("total", "volume", ("hydro",), "total expansion", entry="total.value", write="`total` on the hydro"),
    Fact("permanent", "volume", ("hydro",), "permanent expansion", entry="permanent.value", write="`permanent` on the hydro"),
    Fact("elastic", "volume", ("hydro",), "elastic expansion: of what is written and total less permanent the greater",
         compute=lambda life, entry: worst_elastic(entry), derived_from=("total", "permanent")),
    Fact("elastic-difference", "volume", ("hydro",), "how far the elastic expansion as written is from total less permanent",
         compute=_elastic_difference),
    Fact("permanent-share", "share", ("hydro",), "permanent expansion as a share of total", compute=lambda life, entry: permanent_share(entry),
         derived_from=("total", "permanent")),
    Fact("test-pressure-short", "pressure", ("hydro",), "how far the pressure of the test is below the test pressure by more than rounding",
         compute=pressure_short, derived_from=("test-pressure", "test-pressure-required")),
    Fact("method", "text", ("hydro",), "method of the test: expansion where nothing is said", compute=lambda life, entry: method_of(entry),
         always_known=True),
    Fact("method-allowed", "flag", ("hydro",), "the class has that method", compute=_method_allowed, derived_from=("class",)),
    Fact("methods", "text", ("hydro",), "the methods of the class", compute=_methods, always_known=True),
    Fact("visual-failed", "flag", ("hydro",), "the test says `visual fail`", compute=lambda life, entry: entry.with_visual == "fail", always_known=True),
    Fact("crack-failed", "flag", ("hydro",), "the test says `crack fail`", compute=lambda life, entry: entry.crack == "fail", always_known=True),
    Fact("crack-examined", "flag", ("hydro",), "the test says how its crack examination went", compute=lambda life, entry: entry.crack is not None,
         always_known=True),
    Fact("crack-examination", "flag", _ALL, "the class asks for a crack examination at each test", compute=_of_class("crack_examination"),
         derived_from=("class",)),
    Fact("ree-marked", "flag", _ALL, "the class is marked with its REE", compute=_of_class("ree_marked"), derived_from=("class",)),
    Fact("plus", "flag", ("hydro",), "the test earned the plus fill", compute=lambda life, entry: entry.plus is not None, always_known=True),
    Fact("star", "flag", ("hydro",), "the test earned the ten-year star", compute=lambda life, entry: entry.star is not None, always_known=True),
    Fact("tester-authorized", "flag", ("hydro",), "the tester is declared, its number well formed, and the day inside its dates",
         compute=lambda life, entry: life.people.may_test(entry.by, entry.day), write="`by` on the hydro", lines_of=SIGNER),
    Fact("missing-fields", "text", ("hydro",), "fields of 49 CFR 180.215(b)(2) that the entry, the card and a visual of that day lack", compute=_missing_fields, always_known=True),
    # An extension of the service life.
    Fact("until", "date", ("life extended",), "last day of the month to which the life is extended", compute=lambda life, entry: month_end(entry.until),
         always_known=True),
    Fact("life-extendable", "flag", _ALL, "the class says how far its life may be extended", compute=_of_class("life_extendable"),
         derived_from=("class",)),
    Fact("latest-extension", "date", ("life extended",), "last day to which this entry may extend it: by the class, in one step, before its life has ended",
         compute=lambda life, entry: life.latest_extension(entry.day), derived_from=("made", "life-end")),
    # Damage.
    Fact("heat", "flag", ("damaged",), "the damage was heat", compute=lambda life, entry: entry.heat is not None, always_known=True),
    # A gauge reading, and the as-of day.
    Fact("reading", "pressure", _READ, "gauge reading, after the fill for a fill; on the as-of day the last one",
         entry="reading.value", life="last_read", write="a `gauged` entry", lines_of=ITSELF),
    Fact("charge", "share", _READ, "settled pressure, or the reading where no temperature is written, over the fill limit", compute=_charge,
         derived_from=("fill-limit",), write="a `gauged` entry", costly=True, lines_of=ITSELF),
    Fact("charge-rounding", "share", _READ, "what the last places leave open of it; at most 0.2 % of it", compute=_charge_rounding, derived_from=("charge",), costly=True),
    # The source of a fill, and its air.
    Fact("source", "text", (*FILLS, *_SAMPLE, STORAGE_STATUS), "the source of air of a fill; the source that was sampled", air="then.name", life="name",
         write="`on`, and that `source`", lines_of=SOURCE),
    Fact("source-kind", "text", (*FILLS, *_SAMPLE), "compressor or storage", air="then.kind", life="kind", derived_from=("source",),
         write="`kind` on the source", lines_of=SOURCE),
    Fact("source-rated", "pressure", (*FILLS, *_SAMPLE), "rated pressure of the source", air="then.rated", life="rated", derived_from=("source",),
         write="`rated` on the source", lines_of=SOURCE),
    Fact("source-pressure", "pressure", FILLS, "last pressure written of a storage before the fill", air="then.pressure",
         derived_from=("source",), write="a `filled` entry of the storage", lines_of=SOURCE),
    Fact("source-delivers", "pressure", FILLS, "the most that the source can give: the lesser of those two that are known",
         air="then.delivers", derived_from=("source-rated",)),
    Fact("source-out-of-service-day", "date", FILLS, "day it was taken out of service, while it is", air="then.out_of_service_day"),
    Fact("gauge-check-day", "date", FILLS, "day on which the gauge of the source was checked last", air="then.gauge_check_day",
         derived_from=("source",), write="a `gauge checked` entry of the source", lines_of=SOURCE),
    Fact("sampled-source", "text", FILLS, "whose samples count: the source's, or its compressor's where a storage has none",
         air="sampled_source", derived_from=("source",)),
    Fact("sample-day", "date", FILLS, "day of the last good air sample of that source before the fill", air="sample_day",
         derived_from=("source",), write="an `air sample pass` entry of the source", lines_of=SOURCE),
    Fact("sample-failed-day", "date", FILLS, "day of the failed sample that no good one has followed, of the source or of what is in it",
         air="sample_failed_day"),
    Fact("sample-failed-source", "text", FILLS, "source of that sample", air="sample_failed_source"),
    Fact("cartridge-day", "date", FILLS, "day on which the cartridge of the source was changed last", air="then.cartridge_day",
         derived_from=("source",), write="a `cartridge changed` entry of the source", lines_of=SOURCE),
    Fact("cartridge-rated", "volume", FILLS, "free air that a cartridge is good for", air="then.cartridge_rated",
         derived_from=("source",), write="`cartridge` on the source", lines_of=SOURCE),
    Fact("cartridge-used", "volume", FILLS, "free air through the cartridge since it was changed, this fill and fills of storages included",
         given="cartridge_used", derived_from=("cartridge-day",), write="`holds` on every storage that it fills", lines_of=SOURCE),
    Fact("cartridge-assumed", "count", FILLS, "of how many of those fills something had to be assumed, where there are any",
         given="cartridge_assumed", derived_from=("cartridge-day",)),
    Fact("free-air", "volume", FILLS, "free air that the fill put in, real gas, at 1 atm and 70 F; what is not written is assumed",
         compute=lambda life, entry: life.air and life.air.free_air_of(entry), write="`from` and `at` on the fill, `holds` on the card", lines_of=ITSELF),
    Fact("storage-rated", "pressure", (STORAGE_FILLED, STORAGE_STATUS), "rated pressure of the storage that is filled", life="rated",
         write="`rated` on the storage", lines_of=SOURCE),
    Fact("over-rated", "pressure", (STORAGE_FILLED,), "how far a storage was filled over its rated pressure by more than rounding; settled where the "
         "gas temperature is written", compute=air_facts.over_rated, derived_from=("storage-rated", "to")),
    Fact("lost", "pressure", FILLS, "how far the fill ends below where it began by more than rounding", compute=air_facts.lost,
         derived_from=("from", "to")),
    Fact("storage-held", "volume", FILLS, "free air that the storage held when it was filled last", air="then.storage_held"),
    Fact("storage-given", "volume", FILLS, "free air taken from it since, this fill included, by fills of which nothing is assumed",
         given="storage_given"),
    Fact("storage-filled-day", "date", FILLS, "day on which the storage was filled last", air="then.storage_filled_day"),
    # A sample of a source.
    Fact("co", "concentration", _SAMPLE, "carbon monoxide", entry="co.value", write="`CO` on the sample"),
    Fact("co2", "concentration", _SAMPLE, "carbon dioxide", entry="co2.value", write="`CO2` on the sample"),
    Fact("o2", "share", _SAMPLE, "oxygen", entry="o2.value", write="`O2` on the sample"),
    Fact("n2", "share", _SAMPLE, "nitrogen", entry="n2.value", write="`N2` on the sample"),
    Fact("h2s", "concentration", _SAMPLE, "hydrogen sulfide", entry="h2s.value", write="`H2S` on the sample"),
    Fact("oil", "density", _SAMPLE, "oil mist and condensed hydrocarbons", entry="oil.value", write="`oil` on the sample"),
    Fact("water", "concentration", _SAMPLE, "water, where it is written in ppm", compute=air_facts.in_unit("water", "ppm"),
         write="`water` on the sample, in ppm"),
    Fact("water-density", "density", _SAMPLE, "water, where it is written in mg/m3", compute=air_facts.in_unit("water", "mg/m3"),
         write="`water` on the sample, in mg/m3"),
    Fact("dew-point", "temperature", _SAMPLE, "dew point at the pressure of the atmosphere", entry="dew_point.value", write="`dew point` on the sample"),
    Fact("organics", "concentration", _SAMPLE, "volatile organic compounds", entry="organics.value", write="`organics` on the sample"),
    Fact("particulate", "density", _SAMPLE, "particulate matter", entry="particulate.value", write="`particulate` on the sample"),
    Fact("odor", "text", _SAMPLE, "none, slight or strong", entry="odor", write="`odor` on the sample"),
    Fact("odor-strength", "count", _SAMPLE, "0 none, 1 slight, 2 strong", compute=air_facts.odor_strength, write="`odor` on the sample"),
    # Suspect air, on the as-of day.
    Fact("suspect-day", "date", AS_OF_DAY, "day of the failed sample that makes the air it holds suspect", compute=air_facts.suspect_day),
    Fact("suspect-source", "text", AS_OF_DAY, "source of that sample", compute=air_facts.suspect_source),
    Fact("suspect-way", "text", AS_OF_DAY, "how that air came there", compute=air_facts.suspect_way),
    # The as-of day.
    Fact("days-to-test", "duration", (STATUS,), "time until the test falls due", compute=lambda life, entry: _until(life, life.test_due),
         derived_from=("test-due",)),
    Fact("days-to-visual", "duration", (STATUS,), "time until the visual inspection falls due",
         compute=lambda life, entry: _until(life, life.visual_due), derived_from=("visual-due",)),
    Fact("days-to-life-end", "duration", (STATUS,), "time until the service life ends", compute=lambda life, entry: _until(life, life.life_end),
         derived_from=("life-end",)),
    Fact("unchecked-months", "count", (STATUS,), "full months in service of the last twelve without gauge reading, visual or hydro",
         compute=lambda life, entry: len(life.unchecked_months()), always_known=True),
    Fact("unchecked-month-names", "text", (STATUS,), "those months", compute=_missed_months, always_known=True),
    Fact("may-be-used", "text", (STATUS,), "what may be done with it where its test is overdue", compute=_may_be_used, always_known=True),
)
# fmt: on


def _until(life: Life, day: date | None) -> timedelta | None:
    return None if day is None else day - life.as_of


FACTS: dict[str, Fact] = {fact.name: fact for fact in _FACTS}
