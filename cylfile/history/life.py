"""
The life of one cylinder: what is known of it after each of its entries.

A life is folded forward, one entry after the other. Before an entry is taken in, the rules
judge it by what was known until then. The attributes are facts; see `facts.FACTS`.
"""

from datetime import date
from typing import TYPE_CHECKING

from cylfile.history.barring import CLEARED_BY_HYDRO, FINAL, Bar, worst_first
from cylfile.history.figures import NO_LIMIT, Figures
from cylfile.history.hydro_test import condemning_figures, why_not_counted
from cylfile.history.pressures import settled_pressure, settled_to, within
from cylfile.record.blocks import Cylinder, People
from cylfile.record.dates import NEVER, Month, month_end, months_after
from cylfile.record.entries import Entry, Filled
from cylfile.record.quantities import half_place

if TYPE_CHECKING:
    from cylfile.history.recalls import Recalls
    from cylfile.history.sources.air_log import AirLog
    from cylfile.history.sources.air_path import Holding

# A hydrostatic test is made with water, unless its method says otherwise: nothing is left in the cylinder.
_WITHOUT_WATER = ("ultrasonic", "acoustic")
# The star is for cylinders made after 1945-12-31 that hold at most 125 lb of water, of which 56.7 L weigh so much.
# Source: 49 CFR 180.209(b)(1).
_STAR_FROM = date(1946, 1, 1)
_STAR_HOLDS_ML = 56_700.0
# What shows that somebody uses a cylinder: more in it than a tenth of its rated pressure.
_IN_USE = 0.1


class Life:
    """
    What is known of a cylinder after the entries taken in so far.

    Units are those of `figures`. A fact that is not known, or does not hold, is None. `air` is the
    `AirLog` of the record, which is asked where its sources come in.

    `bars` are what keeps it from being filled, the worst first, and `blocked_by` says the worst in
    words. `used_though_out` is the last entry that shows it in use after it was taken out of
    service, condemned or retired, until it is emptied or returned. `last_reading` is the last entry
    that tells what is in it, `is_unread` that it was filled since and nobody read the gauge.
    `gauge_allowance` is what a gauge may be off, psi. `settled_at_hot_limit` is what a fill settles to that is
    at the hot limit when it is hot.
    """

    __slots__ = (
        "cylinder", "figures", "people", "as_of", "air", "recalls", "entries", "name", "pressure_unit", "rated",
        "class_name", "made", "cycle_limit", "export_only", "proof_pressure", "test_pressure_required",
        "gauge_allowance", "fill_limit", "fill_limit_rounding", "hot_limit", "settled_at_hot_limit", "test_day",
        "test_every", "test_due", "due_month", "test_needed", "visual_day", "visual_every", "visual_due", "life_end",
        "entered_day", "in_service", "in_service_since", "site", "bars", "blocked_by", "used_though_out", "fill_count",
        "last_fill", "last_reading", "is_unread", "last_test", "_settled_entry", "_settled", "_checked",
    )  # fmt: skip

    def __init__(self, card: Cylinder, figures: Figures, people: People, as_of: date, air: "AirLog | None" = None):
        self.cylinder = card
        self.figures = figures
        self.people = people
        self.as_of = as_of
        self.air = air
        self.recalls: Recalls | None = None
        # All entries that count on the as-of day, in their order, for what asks after others of a day.
        self.entries: list[Entry] = []
        self.entered_day: date | None = None
        self.in_service = False
        self.in_service_since: date | None = None
        self.site: str | None = None
        self.bars: list[Bar] = []
        self.blocked_by: str | None = None
        self.used_though_out: Entry | None = None
        self.fill_count = 0
        self.last_fill: Entry | None = None
        self.last_reading: Entry | None = None
        self.is_unread = False
        self.last_test: Entry | None = None
        self.visual_day: date | None = None
        self.visual_due: date | None = None
        # What the last pressure that was asked for settles to.
        self._settled_entry: Entry | None = None
        self._settled: float | None = None
        self._checked: set[tuple[int, int]] = set()

        self.name = card.name
        unit = card.rated.unit if card.rated else "psi"
        self.pressure_unit = "psi" if unit == "psi" else "bar"
        self.rated = figures.rated
        self.class_name = figures.class_name
        self.made = card.made
        self.cycle_limit = figures.cycle_limit
        self.export_only = None if figures.class_name is None else bool(figures.export_only)
        self.proof_pressure = figures.proof_pressure
        self.test_pressure_required = figures.test_pressure_required
        self.gauge_allowance = (figures.gauge_allowance or 0.0) * (figures.rated or 0.0)
        self.test_every = figures.test_every
        self.test_needed = None if figures.test_every is None else figures.test_every != NO_LIMIT
        self.visual_every = figures.visual_every
        self._limit_fills(plus=0.0)
        if figures.first_test_every is not None:
            self.test_every = figures.first_test_every
        # The manufacture month is the first test, where it is not counted from the day it entered service.
        self._tested(None if figures.count_from else self.made)
        self.life_end = self._first_life_end()

    def copy(self) -> "Life":
        """The same life, which goes on by itself."""
        other: Life = object.__new__(Life)
        for name in Life.__slots__:
            setattr(other, name, getattr(self, name))
        return other

    # Taking entries in.

    def take_in(self, entry: Entry) -> None:
        """Let an entry have its effect. Struck entries have none and must not come here."""
        if entry.__class__ is Filled:
            self.fill_count += 1
            self.last_fill = entry
            reading = entry.reading
            self.is_unread = reading is None
            if reading is not None:
                self.last_reading = entry
                proof = self.proof_pressure
                if proof is not None and reading.value > proof and self._is_over_test_pressure(entry):
                    self._over_pressurized(entry)
            if not self.in_service:
                self._use(entry)
            return
        effect = _EFFECTS.get(entry.verb)
        if effect is not None:
            effect(self, entry)

    def _read(self, entry: Entry) -> None:
        """An entry that tells what is in it."""
        self.last_reading = entry
        self.is_unread = False

    def _use(self, entry: Entry) -> None:
        """An entry that shows use puts into service a cylinder that nobody has entered or taken out."""
        if self.is_out:
            self.used_though_out = entry
        elif self.entered_day is None:
            self._serve(entry.day)

    def _serve(self, day: date) -> None:
        if not self.in_service and not self.is_out:
            self.in_service = True
            self.in_service_since = day

    def _entered(self, entry: Entry) -> None:
        if self.entered_day is None:
            self.entered_day = entry.day
            if self.figures.count_from and self.last_test is None:
                self._tested(entry.day)
        self._serve(entry.day)
        self.site = entry.at_site or self.site

    def _gauged(self, entry: Entry) -> None:
        self._read(entry)
        self._check(entry.day)
        if not self.is_out or entry.reading.value > _IN_USE * (self.rated or 0.0):
            self._use(entry)
        if self._is_over_test_pressure(entry):
            self._over_pressurized(entry)

    def _is_over_test_pressure(self, entry: Entry) -> bool:
        proof = self.proof_pressure
        if proof is None or entry.reading.value <= proof:
            return False
        over = self.over_test_pressure(entry)
        return over is not None and over > self.gauge_allowance

    def _over_pressurized(self, entry: Entry) -> None:
        self._bar("overpressure", entry, f"{entry.reading}, over its test pressure")

    def _visual(self, entry: Entry) -> None:
        self._check(entry.day)
        if entry.outcome == "pass":
            self._inspected(entry.day)
            self._clear("visual")
        else:
            self._bar("visual", entry)

    def _hydro(self, entry: Entry) -> None:
        self._check(entry.day)
        if entry.method not in _WITHOUT_WATER:
            self._read(entry)
            self.used_though_out = None
        if entry.with_visual == "pass":
            self._inspected(entry.day)
        counts = entry.result == "pass" and why_not_counted(self, entry) is None
        if counts:
            self._passed_hydro(entry)
        elif entry.result == "fail":
            self._bar("hydro", entry)
        elif entry.result == "condemned":
            self._bar("condemned", entry, "by its hydrostatic test")
        if entry.with_visual == "fail":
            self._bar("visual", entry)
        if entry.crack == "fail":
            self._bar("crack", entry)
        if (condemning := condemning_figures(self.figures, entry)) is not None:
            self._bar("expansion", entry, condemning)

    def _passed_hydro(self, entry: Entry) -> None:
        self.test_every = self.figures.star_test_every if self._has_star(entry) else self.figures.test_every
        self._tested(entry.day)
        self.last_test = entry
        self._limit_fills(self.figures.plus_fill or 0.0 if entry.plus is not None else 0.0)
        self._clear(*CLEARED_BY_HYDRO)
        if entry.with_visual == "pass":
            self._clear("visual")

    def _has_star(self, entry: Entry) -> bool:
        return entry.star is not None and self.star_allowed is True

    @property
    def star_allowed(self) -> bool | None:
        """Whether it may earn the ten-year star (49 CFR 180.209(b)(1)); not known without class, or date of manufacture."""
        if self.class_name is None:
            return None
        holds = self.cylinder.holds
        if self.figures.star_test_every is None or (holds is not None and holds.value > _STAR_HOLDS_ML):
            return False
        return None if self.made is None else self.made >= _STAR_FROM

    def over_test_pressure(self, entry: Entry) -> float | None:
        """How far a reading is over the test pressure, by more than rounding, psi; 0 where it is not."""
        proof = self.proof_pressure
        if proof is None or entry.reading is None or self.test_needed is False:
            return None
        over = entry.reading.value - proof
        if over <= 0.0:
            return 0.0
        return max(0.0, over - within(half_place(entry.reading) + self.figures.proof_rounding, proof))

    def _moved(self, entry: Entry) -> None:
        self.site = entry.to_site
        if not self.is_out:
            self._use(entry)

    def _emptied(self, entry: Entry) -> None:
        self._read(entry)
        if not self.is_out:
            self._use(entry)
        self.used_though_out = None

    def _damaged(self, entry: Entry) -> None:
        if entry.overpressure:
            self._bar("overpressure", entry, entry.text)
        if entry.heat and self.figures.aluminum is not False:
            self._bar("heat", entry, entry.text, is_final=self.figures.aluminum is True)
        elif not entry.overpressure:
            self._bar("damage", entry, entry.text)

    def _out_of_service(self, entry: Entry) -> None:
        self._bar("out-of-service", entry, entry.text)

    def _returned(self, entry: Entry) -> None:
        self._clear("out-of-service")
        self.used_though_out = entry if self.is_out else None
        self._serve(entry.day)
        self.site = entry.at_site or self.site

    def _life_extended(self, entry: Entry) -> None:
        latest = self.latest_extension(entry.day)
        if latest is not None and month_end(entry.until) <= latest:
            self.life_end = month_end(entry.until)

    def latest_extension(self, day: date) -> date | None:
        """
        The last day to which an extension written on a day may move the end of its life.

        That end itself where it is past already; not known where the class may not be extended at
        all, or where it is not known when the cylinder was made.
        """
        figures = self.figures
        if figures.life_extendable is None or self.life_end is None or self.made is None:
            return None
        if day > self.life_end:
            return self.life_end
        ends = [self.due(self.made, figures.life_extendable)]
        if figures.life_step is not None:
            ends.append(self.due(self.life_end, figures.life_step))
        return min((end for end in ends if end is not None), default=None)

    def _condemned(self, entry: Entry) -> None:
        self._bar("condemned", entry, entry.text)

    def _retired(self, entry: Entry) -> None:
        self._bar("retired", entry, entry.text or "")

    # What bars it.

    def _bar(self, kind: str, entry: Entry, because: str = "", is_final: bool | None = None) -> None:
        """Bar it from an entry on; the first of a kind stands until that kind is cleared."""
        if self.bar_of(kind) is None:
            final = kind in FINAL if is_final is None else is_final
            self.set_bars([*self.bars, Bar(kind, entry.day, because, entry, final)])

    def _clear(self, *kinds: str) -> None:
        if self.bars:
            self.set_bars([bar for bar in self.bars if bar.is_final or bar.kind not in kinds])

    def set_bars(self, bars: list[Bar]) -> None:
        """Let these be what bars it."""
        self.bars = worst_first(bars)
        self.blocked_by = self.bars[0].text if self.bars else None
        if self.is_out:
            self.in_service = False

    def bar_of(self, *kinds: str) -> Bar | None:
        """The first bar of some kinds."""
        return min((bar for bar in self.bars if bar.kind in kinds), key=lambda bar: bar.day, default=None)

    def _day_of(self, *kinds: str) -> date | None:
        bar = self.bar_of(*kinds)
        return bar and bar.day

    @property
    def is_out(self) -> bool:
        """Whether it was taken out of service, condemned or retired."""
        return any(bar.kind in ("condemned", "retired", "out-of-service") for bar in self.bars)

    @property
    def condemned_day(self) -> date | None:
        return self._day_of("condemned")

    @property
    def retired_day(self) -> date | None:
        return self._day_of("retired")

    @property
    def out_of_service_day(self) -> date | None:
        return self._day_of("out-of-service")

    @property
    def damaged_day(self) -> date | None:
        return self._day_of("damage", "heat")

    @property
    def failed_day(self) -> date | None:
        return self._day_of("hydro", "visual", "expansion", "crack")

    @property
    def over_pressurized_day(self) -> date | None:
        return self._day_of("overpressure")

    @property
    def uncleared(self) -> str | None:
        """The worst of failed tests and inspections and of damage that is not cleared, in words."""
        return next((bar.text for bar in self.bars if bar.kind not in ("out-of-service", "condemned", "retired")), None)

    @property
    def rated_as_written(self) -> str:
        """The rated pressure as its card has it; empty where it is not the card's that counts."""
        written = self.cylinder.rated
        return str(written) if written is not None and written.value == self.rated else ""

    @property
    def what_clears(self) -> str | None:
        """What clears the worst bar, as a sentence."""
        return self.bars[0].what_clears if self.bars else None

    # Dates and limits that follow from others.

    def _limit_fills(self, plus: float) -> None:
        # Rounded, so that the tenth of a pressure is not a hair more than it should be.
        self.fill_limit = None if self.rated is None else round(self.rated * (1 + plus), 6)
        self.fill_limit_rounding = self.figures.rated_rounding * (1 + plus)
        factor = self.figures.hot_factor
        if self.figures.hot_at_test_pressure:
            self.hot_limit = self.proof_pressure
        else:
            self.hot_limit = None if self.fill_limit is None or factor is None else self.fill_limit * factor
        hot, reference = self.figures.hot, self.figures.reference
        self.settled_at_hot_limit = None
        if self.hot_limit is not None and hot is not None and reference is not None:
            self.settled_at_hot_limit = settled_to(self.hot_limit, hot, reference)

    def _tested(self, day: date | None) -> None:
        self.test_day = day
        self.test_due = due = self.due(day, self.test_every)
        self.due_month = due if due is None or self.figures.to_the_day else due.replace(day=1)

    def _inspected(self, day: date) -> None:
        self.visual_day = day
        self.visual_due = self.due(day, self.visual_every)

    def due(self, anchor: date | None, months: int | None) -> date | None:
        """
        The last day on which something of `anchor` that holds for so many months is in date.

        The granularity of a US test date is the month, so that is the last day of the month
        (49 CFR 180.205(c)), unless the pack counts to the day.
        """
        if months == NO_LIMIT:
            return NEVER
        if anchor is None or months is None:
            return None
        last = months_after(anchor, months)
        if last == NEVER or (self.figures.to_the_day and not isinstance(anchor, Month)):
            return last
        return month_end(last)

    def _first_life_end(self) -> date | None:
        if self.figures.life_until is not None:
            return month_end(self.figures.life_until)
        return self.due(self.made, self.figures.life)

    def settled(self, entry: Entry) -> float | None:
        """What a fill or a gauge reading settles to at the reference temperature, psi; see `settled_pressure`."""
        if entry is not self._settled_entry:
            self._settled_entry = entry
            self._settled = settled_pressure(entry, self.figures.reference)
        return self._settled

    # What only the as-of day asks.

    @property
    def last_pressure(self) -> float | None:
        """The last pressure known, psi: settled where its temperature was written, 0 once emptied or tested with water."""
        return None if self.last_reading is None or self.is_unread else self.read_pressure

    @property
    def read_pressure(self) -> float:
        """What was in it when that was told last, psi, whatever was filled since; 0 where it never was."""
        last = self.last_gauged
        if last is None:
            return 0.0
        settled = self.settled(last)
        return last.reading.value if settled is None else settled

    @property
    def last_gauged(self) -> Entry | None:
        """The fill or the gauge reading that tells what is in it; None where there is none, or nothing is left of it."""
        last = self.last_reading
        return None if last is None or last.verb in ("emptied", "hydro") else last

    @property
    def last_read(self) -> float | None:
        """The pressure of `last_gauged` as it was read, psi."""
        last = self.last_gauged
        return None if last is None else last.reading.value

    @property
    def suspicion(self) -> "Holding | None":
        """The suspect air that the cylinder holds on the as-of day; see `SuspectAir.of_cylinder`."""
        return self.air.suspicion(self.name) if self.air is not None else None

    def _check(self, day: date) -> None:
        self._checked.add((day.year, day.month))

    def unchecked_months(self) -> list[Month]:
        """The full calendar months in service, of the twelve before the as-of day's, without a check."""
        if not self.in_service or self.in_service_since is None:
            return []
        months = []
        this_month = self.as_of.year * 12 + self.as_of.month - 1
        for number in range(this_month - 12, this_month):
            month = Month(number // 12, number % 12 + 1, 1)
            if month >= self.in_service_since and (month.year, month.month) not in self._checked:
                months.append(month)
        return months


_EFFECTS = {
    "entered service": Life._entered,
    "gauged": Life._gauged,
    "visual": Life._visual,
    "hydro": Life._hydro,
    "moved": Life._moved,
    "emptied": Life._emptied,
    "damaged": Life._damaged,
    "out of service": Life._out_of_service,
    "returned to service": Life._returned,
    "life extended": Life._life_extended,
    "condemned": Life._condemned,
    "retired": Life._retired,
}
