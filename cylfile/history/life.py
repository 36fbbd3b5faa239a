"""
The life of one cylinder: what is known of it after each of its entries.

A life is folded forward, one entry after the other. Before an entry is taken in, the rules
judge it by what was known until then. The attributes are facts; see `facts.FACTS`.
"""

from datetime import date

from cylfile.air import settled
from cylfile.history.figures import NO_LIMIT, Figures
from cylfile.record.blocks import Cylinder, People
from cylfile.record.dates import NEVER, Month, month_end, months_after
from cylfile.record.entries import Filled

# A reading so many psi over the test pressure is still a reading of the test pressure.
GAUGE_ALLOWANCE = 1.0


class Life:
    """
    What is known of a cylinder after the entries taken in so far.

    Units are those of `figures`. A fact that is not known, or does not hold, is None. `air` is the
    `AirLog` of the record, which is asked where its sources come in.
    """

    __slots__ = (
        "cylinder", "name", "figures", "people", "as_of", "pressure_unit",
        "rated", "fill_limit", "proof_pressure", "test_pressure_required", "class_name", "made", "entered_day",
        "test_day", "test_every", "test_needed", "test_due", "due_month",
        "visual_day", "visual_every", "visual_due", "life_end", "retired_day", "condemned_day", "out_of_service_day",
        "damaged_day", "failed_hydro_day", "failed_visual_day", "failed_day", "blocked_by", "in_service", "in_service_since",
        "over_pressure", "over_pressurized_day", "fill_count", "last_fill", "last_reading", "site", "last_test",
        "air", "recalls", "_checked", "_reasons",
    )  # fmt: skip

    def __init__(self, cylinder: Cylinder, figures: Figures, people: People, as_of: date, air=None):
        for attribute in self.__slots__:
            setattr(self, attribute, None)
        self.cylinder = cylinder
        self.name = cylinder.name
        self.figures = figures
        self.people = people
        self.as_of = as_of
        self.air = air
        unit = cylinder.rated.unit if cylinder.rated else "psi"
        self.pressure_unit = "psi" if unit == "psi" else "bar"
        self.rated = self.fill_limit = figures.rated
        self.class_name = figures.class_name
        self.made = cylinder.made
        self.test_every = figures.test_every
        self.test_needed = None if figures.test_every is None else figures.test_every != NO_LIMIT
        self.visual_every = figures.visual_every
        self.proof_pressure = figures.proof_pressure
        self.test_pressure_required = figures.test_pressure_required
        if figures.proof_pressure is not None and self.test_needed:
            self.over_pressure = figures.proof_pressure + GAUGE_ALLOWANCE
        self.fill_count = 0
        self.in_service = False
        self._checked: set[tuple[int, int]] = set()
        self._reasons: dict[str, str] = {}
        # The manufacture month is the first test.
        self._tested(self.made)
        self.life_end = self._first_life_end()

    # Taking entries in.

    def take_in(self, entry) -> None:
        """Let an entry have its effect. Struck entries have none and must not come here."""
        if entry.__class__ is Filled:
            self.fill_count += 1
            self.last_fill = self.last_reading = entry
            if not self.in_service:
                self._use(entry)
            if self.over_pressure is not None and not entry.unread and entry.reading.value > self.over_pressure:
                self._over_pressurized(entry)
                self._settle_state(entry)
            return
        effect = _EFFECTS.get(entry.verb)
        if effect is not None:
            effect(self, entry)
            self._settle_state(entry)

    def _use(self, entry) -> None:
        """An entry that shows use puts into service a cylinder that nobody has entered."""
        ended = self.condemned_day or self.retired_day or self.out_of_service_day
        if self.entered_day is None and not ended:
            self._serve(entry.day)

    def _serve(self, day: date) -> None:
        if not self.in_service:
            self.in_service = True
            self.in_service_since = day

    def _entered(self, entry) -> None:
        if self.entered_day is None:
            self.entered_day = entry.day
        self._serve(entry.day)
        self.site = entry.at_site or self.site

    def _gauged(self, entry) -> None:
        self.last_reading = entry
        self._check(entry.day)
        self._use(entry)
        if self.over_pressure is not None and entry.reading.value > self.over_pressure:
            self._over_pressurized(entry)

    def _over_pressurized(self, entry) -> None:
        """Read over its test pressure: to be condemned (49 CFR 180.205), and no test clears that."""
        if self.over_pressurized_day is None:
            self.over_pressurized_day = entry.day
            self._reasons["over-pressurized"] = f"{entry.reading} is over its test pressure"

    def _visual(self, entry) -> None:
        self._check(entry.day)
        if entry.outcome == "pass":
            self._inspected(entry.day)
        else:
            self.failed_visual_day = entry.day

    def _hydro(self, entry) -> None:
        self._check(entry.day)
        if entry.result == "pass":
            self._passed_hydro(entry)
        elif entry.result == "fail":
            self.failed_hydro_day = entry.day
        else:
            self._condemn(entry.day, "by its hydrostatic test")
        # A passed test includes a visual inspection, unless the entry says how that went.
        if entry.with_visual == "fail":
            self.failed_visual_day = entry.day
        elif entry.with_visual == "pass" or entry.result == "pass":
            self._inspected(entry.day)

    def _passed_hydro(self, entry) -> None:
        figures = self.figures
        starred = entry.star is not None and figures.star_test_every is not None
        self.test_every = figures.star_test_every if starred else figures.test_every
        self._tested(entry.day)
        self.last_test = entry
        plus = figures.plus_fill if entry.plus is not None and figures.plus_fill else 0
        # Rounded, so that the tenth of a pressure is not a hair more than it should be.
        self.fill_limit = None if self.rated is None else round(self.rated * (1 + plus), 6)
        self.failed_hydro_day = self.damaged_day = None

    def _moved(self, entry) -> None:
        self.site = entry.to_site
        self._use(entry)

    def _emptied(self, entry) -> None:
        self.last_reading = entry
        self._use(entry)

    def _damaged(self, entry) -> None:
        if self.damaged_day is None:
            self.damaged_day = entry.day
            self._reasons["damaged"] = entry.text

    def _out_of_service(self, entry) -> None:
        if self.out_of_service_day is None:
            self.out_of_service_day = entry.day
            self._reasons["out"] = entry.text

    def _returned(self, entry) -> None:
        self.out_of_service_day = None
        self._serve(entry.day)
        self.site = entry.at_site or self.site

    def _life_extended(self, entry) -> None:
        self.life_end = month_end(entry.until)

    def _condemned(self, entry) -> None:
        self._condemn(entry.day, entry.text)

    def _condemn(self, day: date, reason: str) -> None:
        if self.condemned_day is None:
            self.condemned_day = day
            self._reasons["condemned"] = reason

    def _retired(self, entry) -> None:
        self.retired_day = self.retired_day or entry.day

    def _settle_state(self, entry) -> None:
        """Work out what follows from the days that the entry may have changed."""
        failed = [day for day in (self.failed_hydro_day, self.failed_visual_day) if day is not None]
        self.failed_day = min(failed, default=None)
        self.blocked_by = self._why_blocked()
        if self.condemned_day or self.retired_day or self.out_of_service_day:
            self.in_service = False

    def _why_blocked(self) -> str | None:
        for day, what, reason in (
            (self.condemned_day, "condemned on", "condemned"),
            (self.retired_day, "retired on", ""),
            (self.over_pressurized_day, "over-pressurized on", "over-pressurized"),
            (self.failed_hydro_day, "failed its hydrostatic test on", ""),
            (self.damaged_day, "damaged on", "damaged"),
            (self.failed_visual_day, "failed its visual inspection on", ""),
            (self.out_of_service_day, "out of service since", "out"),
        ):
            if day is not None:
                because = f": {self._reasons[reason]}" if reason in self._reasons else ""
                return f"{what} {day}{because}"
        return None

    # Dates that follow from others.

    def _tested(self, day: date | None) -> None:
        self.test_day = day
        self.test_due = due = self.due(day, self.test_every)
        self.due_month = due if due is None or self.figures.to_the_day else due.replace(day=1)

    def _inspected(self, day: date) -> None:
        self.visual_day = day
        self.visual_due = self.due(day, self.visual_every)
        self.failed_visual_day = None

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

    # What only the as-of day asks.

    @property
    def last_pressure(self) -> float | None:
        """
        The last pressure known, psi: settled where its temperature was written, 0 once emptied.
        """
        last = self.last_reading
        if last is None or (last.__class__ is Filled and last.unread):
            return None
        if last.verb == "emptied":
            return 0.0
        if last.at_temperature is None or self.figures.reference is None:
            return last.reading.value
        try:
            return settled(last.reading.value, last.at_temperature.value, self.figures.reference)
        except ValueError:
            return last.reading.value

    @property
    def suspicion(self):
        """The suspect air that the cylinder holds on the as-of day; see `SuspectAir.of_cylinder`."""
        return self.air.suspicion(self.name)

    def _check(self, day: date) -> None:
        self._checked.add((day.year, day.month))

    def unchecked_months(self) -> list[Month]:
        """The full calendar months in service, of the twelve before the as-of day's, without a check."""
        if not self.in_service:
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
