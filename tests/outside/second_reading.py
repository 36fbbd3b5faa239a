"""
A second reading of the rules: the history of one cylinder judged day by day, from the text of the regulation and not
from the program, with which it shares no code. It is plain and slow on purpose: days are integers, rules are
if-statements, and real-gas air is CoolProp's (Lemmon et al., J. Phys. Chem. Ref. Data 29 (2000) 331).

The texts it goes by: 49 CFR 180.205 (when a test is due, what rejects and what condemns), 180.209 Table 1 (periods and
test pressures), 173.301(a) and 173.301a (test and life before a fill, pressures at 70 F and 131 F), 173.302a(b) (the
plus), 173.302b(b) (UN receptacles), 171.8; permits of composites as the trade knows them.

A cylinder is a dict as `generated_records` makes it. Days are proleptic Gregorian day numbers (`date.toordinal`), months
are `12 * year + month - 1`, a figure is the pair (number as written, unit).
"""

import re
from datetime import date
from functools import cache

from CoolProp.CoolProp import PropsSI

PSI = 6894.757293168  # Pa
ATMOSPHERE = 101325.0  # Pa
PRESSURES = {"psi": 1.0, "bar": 1e5 / PSI, "MPa": 1e6 / PSI, "kPa": 1e3 / PSI}
VOLUMES = {"cc": 1.0, "mL": 1.0, "L": 1000.0, "in3": 16.387064}

# Years, factor, % of total expansion, years: 49 CFR 180.209(a) Table 1, 180.205(j) condemnation, 173.302b(b); 15 years
# of composites: Notice 93-22, 58 FR 60899. None is "not known, the card has to say it", NEVER is "has no end".
NEVER = 10**6
CLASSES = {
    "dot-3a": dict(every=5, factor=5 / 3, expansion=10, life=NEVER, plus=True, star=True, aluminum=False),
    "dot-3aa": dict(every=5, factor=5 / 3, expansion=10, life=NEVER, plus=True, star=True, aluminum=False),
    "dot-3t": dict(every=5, factor=5 / 3, expansion=10, life=NEVER, plus=True, aluminum=False, methods={"ultrasonic"}),
    "dot-3al": dict(every=5, factor=5 / 3, expansion=10, life=NEVER, aluminum=True),
    "dot-3al-6351": dict(every=5, factor=5 / 3, expansion=10, life=NEVER, aluminum=True, crack=True),
    "dot-3ht": dict(every=3, factor=5 / 3, expansion=10, life=24, aluminum=False, ree=True),
    "dot-3b": dict(every=5, factor=2, expansion=10, life=NEVER, aluminum=False),
    "dot-4e": dict(every=5, factor=2, expansion=12, life=NEVER, aluminum=True),
    "carbon-wrapped": dict(every=5, factor=5 / 3, expansion=5, life=15, aluminum=True, permit=True),
    "glass-wrapped": dict(every=3, factor=5 / 3, expansion=5, life=15, aluminum=True, permit=True),
    "hoop-wrapped": dict(every=3, factor=5 / 3, expansion=5, life=15, aluminum=True, permit=True),
    "un-steel": dict(every=10, factor=3 / 2, expansion=None, life=NEVER, aluminum=False, un=True, methods={"proof"}),
    "un-aluminum": dict(every=10, factor=3 / 2, expansion=None, life=NEVER, aluminum=True, un=True, methods={"proof"}),
    "un-composite": dict(
        every=5, factor=3 / 2, expansion=None, life=None, aluminum=None, un=True, methods={"proof"}
    ),
    "special-permit": dict(
        every=None, factor=None, expansion=None, life=None, aluminum=None, permit=True,
        methods={"proof", "ultrasonic", "acoustic"},
    ),
    "foreign": dict(every=5, factor=5 / 3, expansion=None, life=None, aluminum=None, export=True),
}  # fmt: skip

RULES_OF_ENTRIES = {
    "filled-past-test", "filled-in-due-month", "filled-past-life", "filled-over-limit", "filled-over-test-pressure",
    "filled-hot-over", "filled-out-of-service", "filled-for-export-only", "heat-and-aluminum", "unlikely-temperature",
    "used-while-barred", "passed-with-failed-visual", "method-not-allowed", "crack-examination-missing",
    "life-extension-unproven", "test-pressure-low", "expansion-over-limit", "plus-not-allowed",
    "expansion-adds-up-wrong", "future-entry", "signature-out-of-time",
    "tester-not-authorized", "tested-before-return", "out-of-order-life", "filled-before-service",
}  # fmt: skip
RULES_OF_CYLINDERS = {
    "filled-at-limit", "barred-not-taken-out", "used-past-life", "test-overdue", "never-entered-service", "bar-struck",
    "test-due-soon", "life-ends-soon", "laxer-than-class", "marking-disagrees",
}  # fmt: skip
RULES_OF_BOTH = {"read-over-limit", "holds-over-limit"}
RULES = RULES_OF_ENTRIES | RULES_OF_CYLINDERS | RULES_OF_BOTH
TODAY = "today"  # the place of what is true on the as-of day, or once a cylinder


def month_of(day):
    there = date.fromordinal(day)
    return 12 * there.year + there.month - 1


def first_day(month):
    return date(month // 12, month % 12 + 1, 1).toordinal()


def last_day(month):
    return first_day(month + 1) - 1


def half_unit(figure):
    """Half a unit of the last place that is written, in the unit written."""
    return 0.5 * 10.0 ** -(len(figure[0].split(".")[1]) if "." in figure[0] else 0)


def psi(figure):
    return float(figure[0]) * PRESSURES[figure[1]]


def half_psi(figure):
    return half_unit(figure) * PRESSURES[figure[1]]


def cc(figure):
    return float(figure[0]) * VOLUMES[figure[1]]


def kelvin(figure):
    return float(figure[0]) + 273.15 if figure[1] == "C" else (float(figure[0]) + 459.67) / 1.8


def fahrenheit(figure):
    return kelvin(figure) * 1.8 - 459.67


F70, F131, C15, C65 = (70 + 459.67) / 1.8, (131 + 459.67) / 1.8, 288.15, 338.15


@cache
def brought_to(gauge, here, there):
    """What `gauge` psi with the gas at `here` K shows when the same gas is at `there` K."""
    density = PropsSI("Dmolar", "P", gauge * PSI + ATMOSPHERE, "T", here, "Air")
    return (PropsSI("P", "Dmolar", density, "T", there, "Air") - ATMOSPHERE) / PSI


class Reading:
    """All that can be said of one cylinder on the day `today`: `say` fills `found` (firm) and `open` (too close)."""

    def __init__(self, cylinder, testers, today):
        self.cylinder, self.testers, self.today = cylinder, testers, today
        self.klass = CLASSES[cylinder["class"]]
        self.found, self.open = set(), set()
        self.entries = [
            (place, entry)
            for place, entry in enumerate(cylinder["entries"])
            if entry["first"] <= today and not self.is_struck(entry)
        ]
        self.ratings = [figure for figure in (cylinder.get("rated"), cylinder.get("stamped")) if figure]
        self.rated = min(self.ratings, key=psi) if self.ratings else None
        self.entered = next((place for place, entry in self.entries if entry["verb"] == "entered service"), None)
        for at in range(len(self.entries)):
            self.judge_entry(at)
        self.judge_today()
        self.judge_card()
        self.judge_signatures()

    def say(self, rule, place, holds=True):
        if holds is None:
            self.open.add((rule, place))
        elif holds:
            self.found.add((rule, place))

    def is_struck(self, entry):
        strike = entry.get("struck")
        return strike is not None and entry["first"] <= strike["day"] <= self.today

    # What the card and the class fix together (49 CFR 180.209(a) Table 1; the stricter, or the permit's own).

    def figure(self, of_class, of_card, stricter):
        if of_card is None:
            return of_class
        if of_class is None:
            return of_card
        return stricter(of_class, of_card)

    def from_permit(self, of_class, of_card, stricter):
        if self.klass.get("permit") and of_card is not None:
            return of_card
        return self.figure(of_class, of_card, stricter)

    def test_every(self, starred):
        of_card = self.cylinder.get("test_every")
        if starred and of_card is None and self.star_counts():
            return 10
        return self.from_permit(self.klass["every"], of_card, min)

    def star_counts(self):
        """49 CFR 180.209(b): 3A and 3AA, 125 lb of water at most, made after 1945."""
        made, holds = self.cylinder.get("made"), self.cylinder.get("holds")
        if not self.klass.get("star"):
            return False
        if holds is not None and cc(holds) > 56700:
            return False
        return made is not None and made["first"] >= date(1946, 1, 1).toordinal()

    def test_pressure(self, of=max):
        """
        psi and its uncertainty, or None. A test is held against that of the higher of two ratings, a reading against
        that of the lower: each time the stricter.
        """
        of_class = of_card = None
        if self.klass["factor"] and self.ratings:
            rated = of(self.ratings, key=psi)
            of_class = (self.klass["factor"] * psi(rated), self.klass["factor"] * half_psi(rated))
        if self.cylinder.get("test_pressure"):
            of_card = (psi(self.cylinder["test_pressure"]), half_psi(self.cylinder["test_pressure"]))
        return self.from_permit(of_class, of_card, max)

    def expansion_limit(self):
        of_card = self.cylinder.get("expansion_limit")
        return self.from_permit(self.klass["expansion"], None if of_card is None else float(of_card), min)

    def life_end(self):
        """The last day of its life; None where it is not known."""
        made = self.cylinder.get("made")
        ends = []
        if self.cylinder.get("life_until") is not None:
            ends.append(last_day(self.cylinder["life_until"]))
        for years in (self.klass["life"], self.cylinder.get("life")):
            if years == NEVER:
                ends.append(NEVER)
            elif years is not None and made is not None:
                ends.append(last_day(month_of(made["first"]) + 12 * years))
            elif years is not None and self.cylinder.get("life") is not None:
                return None  # a life that the card tells, and nothing tells since when
        return min(ends) if ends else None

    # Tests.

    def permanent_over(self, entry):
        """180.205(j)(1)(iv): permanent expansion *exceeds* the share; None where the limit is not known."""
        if not (entry.get("total") and entry.get("permanent")):
            return False
        if self.expansion_limit() is None:
            return None
        return cc(entry["permanent"]) * 100 > self.expansion_limit() * cc(entry["total"]) * (1 + 1e-12)

    def elastic_over(self, entry):
        """180.205(j)(1)(v): elastic expansion exceeds the marked REE, as written or as total less permanent."""
        if not self.cylinder.get("ree"):
            known = entry.get("elastic") or (entry.get("total") and entry.get("permanent"))
            return None if self.klass.get("ree") and known else False
        ree = cc(self.cylinder["ree"]) * (1 + 1e-12)
        if entry.get("elastic") and cc(entry["elastic"]) > ree:
            return True
        if entry.get("total") and entry.get("permanent"):
            return cc(entry["total"]) - cc(entry["permanent"]) > ree * (1 + 1e-9)
        return False

    def figures_condemn(self, entry):
        if self.permanent_over(entry) or self.elastic_over(entry):
            return True
        if self.permanent_over(entry) is None or self.elastic_over(entry) is None:
            return None
        return False

    def method_allowed(self, entry):
        method = entry.get("method", "expansion")
        return method == "expansion" or method in self.klass.get("methods", ())

    def tester_out_of_dates(self, entry):
        span = self.testers.get(entry.get("by"))
        if span is None:
            return False
        after = span["first"] is not None and entry["last"] < span["first"]
        return after or (span["last"] is not None and entry["first"] > span["last"])

    def too_low(self, entry):
        """True, False, or None where it is too close to tell."""
        needed = self.test_pressure()
        if entry.get("at_pressure") is None or needed is None:
            return False
        got, limit = psi(entry["at_pressure"]), needed[0]
        short = limit - got
        most = min(0.002 * limit, half_psi(entry["at_pressure"]) + needed[1])
        least = min(0.002 * limit, half_psi(entry["at_pressure"]) + min(needed[1], 0.5 * PRESSURES["psi"]))
        return True if short > most + 1e-6 else False if short <= least + 1e-6 else None

    def counts(self, entry):
        if entry["outcome"] != "pass" or self.tester_out_of_dates(entry) or entry.get("visual") == "fail":
            return False
        if entry.get("crack") == "fail":
            return False  # cracking condemns (180.205(j)(1)(iii)): no pass of that day is one
        if self.too_low(entry) or self.figures_condemn(entry) or not self.method_allowed(entry):
            return False
        return not (self.klass.get("crack") and entry.get("crack") != "pass")

    # What was so before the entry that stands at `at` (all of them: at the end of the last day).

    def last_test(self, at):
        return next(
            (entry for _, entry in reversed(self.entries[:at]) if entry["verb"] == "hydro" and self.counts(entry)), None
        )

    def test_due(self, at):
        test = self.last_test(at)
        every = self.test_every(test is not None and bool(test.get("star")))
        began = test or self.cylinder.get("made")
        if every is None or began is None:
            return None
        return last_day(month_of(began["first"]) + 12 * every)

    def fill_limit(self, at):
        """psi and its uncertainty."""
        test = self.last_test(at)
        raised = 1.1 if test is not None and test.get("plus") and self.klass.get("plus") else 1.0
        return psi(self.rated) * raised, half_psi(self.rated) * raised

    def aluminum(self):
        if self.klass["aluminum"] is not None:
            return self.klass["aluminum"]
        liner = self.cylinder.get("liner")
        return None if liner is None else liner == "aluminum"

    def over_test_pressure(self, figure):
        limit = self.test_pressure(min)
        if limit is None or figure is None or self.rated is None:
            return False
        over = psi(figure) - limit[0] - 0.01 * psi(self.rated)
        most = min(0.002 * limit[0], half_psi(figure) + limit[1])
        least = min(0.002 * limit[0], half_psi(figure) + half_psi(self.rated))
        return True if over > most + 1e-6 else False if over <= least + 1e-6 else None

    def bars(self, at):
        """What bars it: word to the number of the line that bars."""
        bars = {}
        for number, (_, entry) in enumerate(self.entries[:at]):
            verb = entry["verb"]
            if verb == "hydro":
                if self.counts(entry):
                    bars.pop("damage", None)
                    bars.pop("test", None)
                    if entry.get("visual") == "pass":
                        bars.pop("visual", None)
                if entry["outcome"] == "fail":
                    bars["test"] = number
                if entry["outcome"] == "condemned":
                    bars["condemned"] = number
                if self.figures_condemn(entry):
                    bars["figures"] = number
                if self.figures_condemn(entry) is None:
                    bars.setdefault("figures not known", number)
                if entry.get("crack") == "fail":
                    bars["crack"] = number
                if entry.get("visual") == "fail":
                    bars["visual"] = number
            elif verb == "visual":
                if entry["outcome"] == "fail":
                    bars["visual"] = number
                else:
                    bars.pop("visual", None)
            elif verb == "damaged":
                bars["damage"] = number
                if entry.get("overpressure"):
                    bars["overpressure"] = number
                if entry.get("heat") and self.aluminum():
                    bars["heat"] = number
                if entry.get("heat") and self.aluminum() is None:
                    bars["heat, liner not known"] = number
            elif verb == "out of service":
                bars["out"] = number
            elif verb == "returned to service":
                bars.pop("out", None)
            elif verb == "condemned":
                bars["condemned"] = number
            elif verb in ("filled", "gauged"):
                over = self.over_test_pressure(entry.get("to"))
                if over:
                    bars["overpressure"] = number
                if over is None:
                    bars.setdefault("too close to overpressure", number)
        return bars

    def judge_card(self):
        """Figures of the card that are laxer than the specification's, and ratings that contradict each other."""
        card, klass, made = self.cylinder, self.klass, self.cylinder.get("made")
        if len({psi(figure) for figure in self.ratings}) > 1:
            self.say("marking-disagrees", TODAY)
        lax = False
        if klass["life"] is not None and klass["life"] != NEVER:
            lax = (card.get("life") or 0) > klass["life"]
            if card.get("life_until") is not None and made is not None:
                lax = lax or card["life_until"] > month_of(made["first"]) + 12 * klass["life"]
        if not klass.get("permit"):
            lax = lax or (klass["every"] is not None and (card.get("test_every") or 0) > klass["every"])
            if klass["expansion"] is not None and card.get("expansion_limit"):
                lax = lax or float(card["expansion_limit"]) > klass["expansion"]
            if card.get("test_pressure") and klass["factor"] and self.ratings:
                least = klass["factor"] * max(psi(figure) for figure in self.ratings)
                short = least - psi(card["test_pressure"])
                if short > half_psi(card["test_pressure"]) + 2 * half_psi(self.rated):
                    lax = True
                elif short > 0 and not lax:
                    lax = None
        self.say("laxer-than-class", TODAY, lax)

    def judge_signatures(self):
        for place, entry in enumerate(self.cylinder["entries"]):
            days = [entry[word]["day"] for word in ("struck", "late") if entry.get(word)]
            if entry["first"] > self.today:
                self.say("future-entry", TODAY)  # once for all lines of days to come
            elif any(day > self.today for day in days):
                self.say("future-entry", place, None if self.is_struck(entry) else True)
            if any(day < entry["first"] for day in days):
                to_come = entry["first"] > self.today
                self.say("signature-out-of-time", TODAY if to_come else place, None if self.is_struck(entry) else True)
            elif any(day < entry["last"] for day in days):
                self.say("signature-out-of-time", place, None)

    def said(self, at, verb):
        return any(entry["verb"] == verb for _, entry in self.entries[:at])

    def in_service(self, at):
        begins = ("entered service", "returned to service", "filled", "gauged", "moved", "emptied")
        used = any(entry["verb"] in begins for _, entry in self.entries[:at])
        bars = self.bars(at)
        return used and "out" not in bars and "condemned" not in bars and not self.said(at, "retired")

    # Pressures.

    def temperature(self, entry):
        """The gas temperature as written, if it can be believed (-40 to 150 F)."""
        figure = entry.get("at")
        if figure is None or not -40.01 < fahrenheit(figure) < 150.01:
            return None
        return figure

    def over(self, entry, limit, uncertain, there=None):
        """
        How its reading stands to a limit in psi: "over" beyond all allowance, "within" the allowance of the gauge, ""
        where it is not over it, and None where it is too close to tell. `there` is the temperature it is brought to.
        """
        figure, temperature = entry["to"], self.temperature(entry)
        if temperature is None or there is None:
            value, rounding, near = psi(figure), half_psi(figure), 1e-6
        else:
            here = kelvin(temperature)
            step = half_unit(temperature) / (1 if temperature[1] == "C" else 1.8)
            value = brought_to(psi(figure), here, there)
            rounding = brought_to(psi(figure) + half_psi(figure), here, there) - value
            rounding += brought_to(psi(figure), here - step, there) - value
            near = 0.3
            if value * PSI > 100e6:
                return None  # where the equation ends, nobody can say how far over it is
        excess, gauge = value - limit, 0.01 * psi(self.rated)
        most = min(0.002 * limit, rounding + uncertain)
        least = min(0.002 * limit, rounding + min(uncertain, half_psi(self.rated)))
        if excess > most + gauge + near:
            return "over"
        if excess > least + gauge - near:
            return None
        if excess > most + near:
            return "within"
        return None if excess > least - near else ""

    def reference(self):
        return C15 if self.klass.get("un") else F70

    def held(self, at):
        """The last reading or fill, False where it was emptied since, None where nobody read it."""
        for _, entry in reversed(self.entries[:at]):
            if entry["verb"] in ("filled", "gauged"):
                return entry if entry["to"] is not None else None
            if entry["verb"] == "emptied":
                return False
            if entry["verb"] == "hydro" and entry.get("method", "expansion") in ("expansion", "proof"):
                return False
        return False

    # The rules.

    def judge_entry(self, at):
        place, entry = self.entries[at]
        verb = entry["verb"]
        bars, say = self.bars(at), self.say
        made = self.cylinder.get("made")
        condemned, retired = "condemned" in bars, self.said(at, "retired")

        if made is not None and entry["last"] < made["first"]:
            say("out-of-order-life", place)
        if retired and verb != "remarked":
            say("out-of-order-life", place)
        elif condemned and verb not in ("emptied", "remarked", "retired"):
            say("out-of-order-life", place)

        if verb in ("filled", "gauged", "moved") and self.entered is not None and place < self.entered:
            say("filled-before-service", place)
        if verb in ("filled", "gauged") and entry.get("at") is not None and self.temperature(entry) is None:
            say("unlikely-temperature", place)

        if verb == "filled":
            due, end = self.test_due(at), self.life_end()
            if due is not None and entry["first"] > due:
                say("filled-past-test", place)
            if due is not None and month_of(due) == month_of(entry["first"]):
                say("filled-in-due-month", place)
            if end is not None and entry["first"] > end:
                say("filled-past-life", place)
            if set(bars) - {"figures not known", "heat, liner not known", "too close to overpressure"}:
                say("filled-out-of-service", place)
            elif bars or retired:
                say("filled-out-of-service", place, None)
            if self.klass.get("export"):
                say("filled-for-export-only", place)

        if verb in ("filled", "gauged") and entry["to"] is not None and self.rated is not None:
            say("filled-over-test-pressure", place, self.over_test_pressure(entry["to"]))
            limit, uncertain = self.fill_limit(at)
            known = self.temperature(entry) is not None
            over = self.over(entry, limit, uncertain, self.reference())
            if known:
                say("filled-over-limit" if verb == "filled" else "holds-over-limit", place, self.is_over(over))
            else:
                say("read-over-limit", place, self.is_over(over))
            if verb == "filled":
                say("filled-at-limit", TODAY, None if over is None else over == "within")
                if known and self.klass.get("un"):
                    hot = self.test_pressure()
                    say("filled-hot-over", place, self.is_over(self.over(entry, *hot, C65)))
                elif known:
                    hot = self.over(entry, 1.25 * limit, 1.25 * uncertain, F131)
                    say("filled-hot-over", place, self.is_over(hot))

        if verb == "gauged" and entry["to"] is not None and self.rated is not None:
            barred = {word: number for word, number in bars.items() if "not known" not in word and "close" not in word}
            tenth = psi(entry["to"]) - psi(self.rated) / 10
            if barred and self.in_service(at + 1) and tenth > 0:
                emptied = self.held(at) is False and at > min(barred.values()) and self.emptied_since(barred, at)
                close = tenth <= half_psi(entry["to"]) + half_psi(self.rated)
                say("used-while-barred", place, None if emptied or close else True)

        if verb == "damaged" and entry.get("heat") and self.aluminum():
            say("heat-and-aluminum", place)
        if verb == "life extended":
            say("life-extension-unproven", place)
        if verb == "returned to service" and set(bars) & {"test", "visual", "damage", "heat", "figures", "crack"}:
            say("tested-before-return", place)
        elif verb == "returned to service" and set(bars) - {"out"}:
            say("tested-before-return", place, None)

        if verb == "hydro":
            passed = entry["outcome"] == "pass"
            if passed and "fail" in (entry.get("visual"), entry.get("crack")):
                say("passed-with-failed-visual", place)
            if passed and not self.method_allowed(entry):
                say("method-not-allowed", place)
            if self.klass.get("crack") and entry.get("crack") is None:
                say("crack-examination-missing", place, True if passed else None)
            if passed:
                say("test-pressure-low", place, self.too_low(entry))
                say("expansion-over-limit", place, True if self.figures_condemn(entry) else False)
            if entry.get("total") and entry.get("permanent") and entry.get("elastic"):
                apart = cc(entry["total"]) - cc(entry["permanent"]) - cc(entry["elastic"])
                # Three figures, each rounded to its last place, may be half of it apart each.
                rounded = sum(half_unit(entry[word]) for word in ("total", "permanent", "elastic"))
                say(
                    "expansion-adds-up-wrong", place, None if 1e-6 < abs(apart) <= rounded + 1e-6 else abs(apart) > 1e-6
                )
            if entry.get("plus") and not self.klass.get("plus"):
                say("plus-not-allowed", place)
            elif entry.get("star") and not self.klass.get("star"):
                say("plus-not-allowed", place)
            elif entry.get("star") and not (self.star_counts() and self.cylinder.get("test_every") is None):
                say("plus-not-allowed", place, None)
            if entry.get("by") is not None:
                well_formed = re.fullmatch("[A-Z][0-9]{3}", entry["by"])
                if entry["by"] not in self.testers or not well_formed or self.tester_out_of_dates(entry):
                    say("tester-not-authorized", place)

    @staticmethod
    def is_over(over):
        return None if over is None else over == "over"

    def emptied_since(self, bars, at):
        return any(
            entry["verb"] == "emptied" or entry["verb"] == "hydro"
            for _, entry in self.entries[min(bars.values()) + 1 : at]
        )

    def struck_bars(self):
        """Struck lines that barred it and that nobody else has answered for."""
        for entry in self.cylinder["entries"]:
            if entry["first"] > self.today or not self.is_struck(entry):
                continue
            barred = entry["verb"] in ("condemned", "damaged")
            barred = barred or entry["verb"] in ("visual", "hydro") and entry["outcome"] in ("fail", "condemned")
            barred = barred or entry["verb"] == "hydro" and "fail" in (entry.get("visual"), entry.get("crack"))
            if barred and not any(
                answer["rule"] == "bar-struck"
                and answer["by"] not in (entry["struck"]["by"], entry.get("by"))
                and entry["struck"]["day"] <= answer["day"] <= self.today
                for answer in entry.get("answers", ())
            ):
                yield entry

    def judge_today(self):
        at, say = len(self.entries), self.say
        bars, due, end = self.bars(at), self.test_due(at), self.life_end()
        in_service, held = self.in_service(at), self.held(at)
        used = [entry["verb"] for _, entry in self.entries if entry["verb"] in ("filled", "gauged", "moved")]
        if self.entered is None and self.entries:
            others = any(entry["verb"] not in ("remarked", "retired") for _, entry in self.entries)
            say("never-entered-service", TODAY, True if used else None if others else False)
        if in_service:
            past_life = end is not None and self.today > end
            say("used-past-life", TODAY, past_life)
            say("test-overdue", TODAY, not past_life and due is not None and self.today > due)
            due_soon = due is not None and 0 <= due - self.today <= 90
            say("test-due-soon", TODAY, None if past_life else due_soon)
            say("life-ends-soon", TODAY, end is not None and 0 <= end - self.today <= 90)
            if set(bars) - {"figures not known", "heat, liner not known", "too close to overpressure"}:
                say("barred-not-taken-out", TODAY)
            elif bars:
                say("barred-not-taken-out", TODAY, None)
        over = ""
        if held and self.rated is not None:
            over = self.over(held, *self.fill_limit(at), self.reference())
            rule = "read-over-limit" if self.temperature(held) is None else "holds-over-limit"
            say(rule, TODAY, not self.said(at, "retired") and self.is_over(over))
        elif held is None:
            for rule in ("read-over-limit", "holds-over-limit"):
                say(rule, TODAY, None)
        struck = list(self.struck_bars())
        say("bar-struck", TODAY, bool(struck))

        close = {"too close to overpressure"}
        if set(bars) - close or struck or self.said(at, "retired") or self.klass.get("export"):
            self.may = False
        # What bars when known bars when not known: that of a test pressure is to have been over it.
        elif None in (due, end, self.rated, self.test_pressure()) or self.today > min(due, end):
            self.may = False
        elif self.is_over(over):
            self.may = False
        elif bars or over is None or held is None or not used and self.entered is None:
            self.may = None
        elif any(rule == "plus-not-allowed" for rule, _ in self.found | self.open):
            self.may = None  # it may refuse more than the rules ask: a mark that is not earned puts all marks in doubt
        else:
            self.may = True

    def stop(self, temperature):
        """The reading in psi at which the gauge has to stop while the gas is at this temperature."""
        limit, _ = self.fill_limit(len(self.entries))
        reference, here = self.reference(), kelvin(temperature)
        return min(limit, brought_to(limit, reference, here))

    def may_fill_to(self, to, temperature):
        """
        Whether it may be filled to this reading with the gas at this temperature; None where it is over the stop by no
        more than the last places written can tell.
        """
        if psi(to) <= self.stop(temperature) - 0.01:
            return True
        limit, uncertain = self.fill_limit(len(self.entries))
        settled = self.over({"to": to, "at": temperature}, limit, uncertain, self.reference())
        as_read = self.over({"to": to}, limit, uncertain)
        return False if settled not in ("", None) or as_read not in ("", None) else None
