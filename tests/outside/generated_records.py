"""
Cylinders with invented histories, the same for the same seed: every verb and clause of a cylinder, figures at, just
below and just above their limits, days at the ends of months and of periods. Harder than paper.

`make_cylinder` gives a dict of plain facts (days as numbers, figures as written), `ledger_of` writes such cylinders as a
record and says on which line which fact stands.
"""

from datetime import date, timedelta
from random import Random

from outside.second_reading import CLASSES, F70, PRESSURES, brought_to, first_day, last_day, month_of

TESTERS = {
    "A123": {"first": None, "last": None},
    "B456": {"first": date(2012, 3, 15).toordinal(), "last": date(2021, 6, 30).toordinal()},
    "C789": {"first": None, "last": date(2018, 2, 28).toordinal()},
    "D012": {"first": date(2016, 5, 1).toordinal(), "last": None},
    "NORTH": {"first": None, "last": None},
}
PEOPLE = ("mora", "okafor", "bell")
TESTS_BY = ["A123"] * 8 + ["B456", "C789", "D012", "NORTH", None]
ALL_CLASSES = ["dot-3aa"] * 6 + ["carbon-wrapped"] * 4 + ["dot-3al", "dot-3ht"] * 3 + sorted(CLASSES)
RATINGS = {
    "dot-3a": (1800, 2015), "dot-3aa": (2015, 2265, 2400, 3500), "dot-3al": (2216, 3000), "dot-3al-6351": (3000,),
    "dot-3ht": (1850,), "dot-3b": (400,), "dot-4e": (240,), "dot-3t": (2400,),
}  # fmt: skip
STAMPS = {"dot-3a": "DOT-3A", "dot-3aa": "DOT-3AA", "dot-3al": "DOT-3AL", "dot-3ht": "DOT-3HT", "dot-3t": "DOT-3T"}
PERMITS = {"carbon-wrapped", "glass-wrapped", "hoop-wrapped", "special-permit"}


def day_number(text):
    return date.fromisoformat(text).toordinal()


def written(value, step, unit):
    """A figure at `value` written to steps of `step`: (text, unit)."""
    places = len(str(step).split(".")[1]) if "." in str(step) else 0
    return f"{round(value / step) * step:.{places}f}", unit


def made_at(rng, day):
    """A `made` of a day, or of the month round it."""
    if rng.random() < 0.3:
        return {"first": day, "month": False}
    return {"first": first_day(month_of(day)), "month": True}


class History:
    """The life of one cylinder up to `today`, line by line."""

    def __init__(self, rng: Random, name: str, today: int):
        self.rng, self.today = rng, today
        self.card = {"name": name, "class": rng.choice(ALL_CLASSES), "entries": []}
        self.figures = CLASSES[self.card["class"]]
        self.write_card()
        self.now = self.made + rng.randrange(0, 300)
        self.write_entries()
        self.order_lines()
        self.correct_lines()

    def chance(self, share):
        return self.rng.random() < share

    # The card.

    def write_card(self):
        rng, card, klass = self.rng, self.card, self.card["class"]
        years = rng.choice([1, 3, 5, 6, 9, 10, 11, 14, 15, 16, 24, 25])
        self.made = rng.choice([
            self.today - rng.randrange(200, 6000),
            first_day(month_of(self.today) - 12 * years) + rng.randrange(0, 28),
            first_day(month_of(self.today) - 12 * years - 1) + rng.randrange(0, 28),
        ])  # fmt: skip
        if klass in ("dot-3a", "dot-3aa") and self.chance(0.08):
            self.made = rng.choice([day_number("1945-12-10"), day_number("1946-01-03"), day_number("1944-05-02")])
        card["made"] = made_at(rng, self.made)
        if self.chance(0.02):
            del card["made"]
        if self.figures.get("un"):
            self.unit, rated = "bar", rng.choice([200, 232, 300])
        else:
            self.unit, rated = "psi", rng.choice(RATINGS.get(klass, (2216, 3000, 4500, 5500)))
        rating = (str(rated), self.unit)
        if klass in STAMPS and self.chance(0.4):
            card["marked"], card["stamped"] = f"{STAMPS[klass]}{rated}", rating
            if self.chance(0.1):
                card["rated"] = (str(rated + rng.choice([-100, 50, 201])), "psi")
        elif klass in PERMITS and self.chance(0.4):
            card["marked"], card["stamped"] = f"DOT-SP 99123-{rated}", rating
        else:
            card["rated"] = rating
        self.rated = min(float(card[key][0]) for key in ("rated", "stamped") if key in card)
        if self.chance(0.3) or klass == "special-permit" and self.chance(0.9):
            card["liner"] = rng.choice(["aluminum", "steel", "plastic"])
            if self.figures["aluminum"] is not None:
                card["liner"] = "aluminum" if self.figures["aluminum"] else "steel"
        lacks = self.figures["life"] is None
        if self.chance(0.9 if lacks else 0.12):
            if self.chance(0.5):
                card["life"] = rng.choice([10, 15, 20, 30])
            else:
                card["life_until"] = month_of(self.today) + rng.choice([-60, -1, 0, 1, 120])
        if self.chance(0.9 if self.figures["every"] is None else 0.12):
            card["test_every"] = rng.choice([2, 3, 5, 10])
        factor = self.figures["factor"] or 5 / 3
        self.needed = max(float(card[key][0]) for key in ("rated", "stamped") if key in card) * factor
        if self.chance(0.9 if self.figures["factor"] is None else 0.12):
            card["test_pressure"] = written(self.needed * rng.choice([0.9, 1, 1.05, 1.2]), 1, self.unit)
            if not (self.figures["factor"] and not self.figures.get("permit")):
                self.needed = float(card["test_pressure"][0])
        if self.chance(0.9 if self.figures["expansion"] is None else 0.12):
            card["expansion_limit"] = rng.choice(["3", "5", "7.5", "10", "12"])
        self.total = rng.choice([90.0, 100.0, 121.0, 60.0])
        self.ree = None
        if self.chance(0.95 if self.figures.get("ree") else 0.15):
            self.ree = round(self.total * rng.choice([0.9, 0.96, 1.02]), 1)
            card["ree"] = (f"{self.ree:.1f}", "cc")
        if self.chance(0.3):
            card["holds"] = rng.choice([("6.8", "L"), ("56.7", "L"), ("56.8", "L"), ("200", "L"), ("550", "in3")])

        if self.chance(0.1):
            card["struck_lines"] = rng.sample(["liner aluminum", "test-every 1 year", "life 1 year", "ree 1 cc"], 2)
            card["struck_since"] = min(self.today, self.made + rng.randrange(900))

    # The lines.

    def add(self, verb, day=None, month=False, **clauses):
        self.card["entries"].append({"verb": verb, "first": self.now if day is None else day, "month": month} | clauses)

    def by(self, share=0.4):
        return {"by": self.rng.choice(PEOPLE)} if self.chance(share) else {}

    def due_days(self):
        """Days on which something that hangs on whole years may end."""
        starts = [self.made] + [entry["first"] for entry in self.card["entries"] if entry["verb"] == "hydro"]
        years = self.rng.choice([2, 3, 5, 10, 15, 24])
        month = month_of(self.rng.choice(starts)) + 12 * years
        return [last_day(month), last_day(month) + 1, first_day(month), last_day(month) - 3, first_day(month) - 1]

    def later(self):
        """Goes on to a later day, often the same one, now and then one that matters."""
        rng = self.rng
        step = rng.choice([0, 0, 0, 1, 1, 2, 9, 30, 100, 400])
        month = month_of(self.today) - 12 * rng.choice([1, 2, 3, 5, 10])
        days = [first_day(month) + 5, first_day(month - 1) + 20, *self.due_days()]
        days = [day for day in days if self.now < day <= self.today]
        self.now = rng.choice(days) if days and self.chance(0.25) else self.now + step

    def write_entries(self):
        rng = self.rng
        entered = rng.choice(["first"] * 10 + ["later", "never"])
        if self.chance(0.04):
            self.add(rng.choice(["remarked", "gauged", "visual"]), self.made - 40, text="before", outcome="pass",
                     to=written(300, 10, self.unit))  # fmt: skip
        if entered == "first":
            self.add("entered service", month=self.chance(0.1), **self.by(0.2))
        kinds = [self.fill] * 9 + [self.gauge] * 4 + [self.test] * 5 + [self.look] * 2 + [self.trouble] * 4
        kinds += [self.cure] * 4 + [self.small] * 3 + [self.end]
        if self.chance(0.35):  # a quiet life, that may well be filled today
            kinds = [self.fill] * 3 + [self.gauge] * 2 + [self.cure] * 5 + [self.small] * 2
        for number in range(rng.randrange(2, 13)):
            if number == 2 and entered == "later":
                self.add("entered service", self.now + 1)
                self.now += 2
            self.later()
            rng.choice(kinds)()
        if self.chance(0.5):
            self.now = max(self.now, self.today - rng.randrange(0, 200))
            rng.choice([self.fill, self.fill, self.test, self.gauge, self.trouble])()

    def temperature(self):
        rng = self.rng
        if self.chance(0.25):
            return None
        if self.chance(0.06):
            return rng.choice([("151.9", "F"), ("190", "F"), ("-45", "F"), ("-41", "C"), ("70", "C"), ("150", "F")])
        if self.chance(0.6):
            return str(rng.choice([70, 70, 60, 50, 32, 10, -10, 75, 85, 100, 120, 131])), "F"
        return str(rng.choice([21, 15, 20, 10, 0, -20, 35, 50, 55])), "C"

    def reading(self, temperature):
        """A reading at, below or above what it may be, once settled."""
        rng = self.rng
        plus = self.figures.get("plus") and self.chance(0.4)
        limit = self.rated * PRESSURES[self.unit] * (1.1 if plus else 1)
        share = rng.choice([0.05, 0.1, 0.101, 0.7, 0.95, 0.98, 0.999, 1, 1, 1.001, 1.003, 1.008, 1.011, 1.014, 1.03])
        if self.chance(0.06):
            share = rng.choice([1.2, 1.25, 1.28, 1.5, 1.68, 1.7])
        value = limit * share
        if temperature is not None and share < 1.3 and self.chance(0.7):
            degrees = float(temperature[0])
            here = degrees + 273.15 if temperature[1] == "C" else (degrees + 459.67) / 1.8
            if 230 < here < 340:
                value = brought_to(value, 288.15 if self.figures.get("un") else F70, here)
        unit = self.unit if self.chance(0.85) else rng.choice(["psi", "bar", "MPa", "kPa"])
        step = {"psi": rng.choice([1, 5, 10]), "bar": rng.choice([0.1, 1]), "MPa": rng.choice([0.1, 0.01]), "kPa": 1}
        return written(value / PRESSURES[unit], step[unit], unit)

    def fill(self):
        at = self.temperature()
        more = {"at": at} if at else {}
        to = None if self.chance(0.04) else self.reading(at)
        if self.chance(0.4):
            more["from"] = written(self.rated * self.rng.choice([0, 0.1, 0.3]), 1, self.unit)
        if self.chance(0.1):
            more["over"] = ("6", "min")
        if self.chance(0.2):
            more["on"] = "comp"
        self.add("filled", to=to, **more, **self.by())

    def gauge(self):
        at = self.temperature()
        self.add("gauged", to=self.reading(at), **({"at": at} if at else {}), **self.by())

    def test(self):
        rng = self.rng
        entry = {"outcome": rng.choice(["pass"] * 8 + ["fail", "fail", "condemned"])}
        tester = rng.choice(TESTS_BY)
        if tester:
            entry["by"] = tester
        if self.chance(0.7):
            value = self.needed * rng.choice([1, 1, 1, 1.01, 0.999, 0.9975, 0.99, 0.9])
            if self.chance(0.2):
                other = "bar" if self.unit == "psi" else "psi"
                value *= PRESSURES[self.unit] / PRESSURES[other]
                entry["at_pressure"] = written(value, 1, other)
            else:
                entry["at_pressure"] = written(value, rng.choice([1, 5, 10]), self.unit)
        if self.chance(0.7):
            limit = float(self.card.get("expansion_limit") or self.figures["expansion"] or 5)
            share = rng.choice([0.3, 0.5, 0.5, 0.9, 1, 1, 1.01, 1.2]) * limit / 100
            entry["total"] = (f"{self.total:.1f}", "cc")
            entry["permanent"] = (f"{self.total * share:.1f}", "cc")
            if self.chance(0.4):
                elastic = self.total - float(entry["permanent"][0])
                if self.ree and self.chance(0.5):
                    elastic = self.ree + rng.choice([-0.1, 0, 0.1])
                entry["elastic"] = (f"{elastic:.1f}", "cc")
            if self.ree and self.chance(0.7):
                total = self.ree + float(entry["permanent"][0]) + rng.choice([-5, -0.1, 0, 0.1])
                entry["total"] = (f"{total:.1f}", "cc")
        if self.chance(0.15):
            entry["method"] = rng.choice(["expansion", "proof", "ultrasonic", "acoustic"])
        if self.figures.get("crack") and self.chance(0.8) or self.chance(0.05):
            entry["crack"] = rng.choice(["pass", "pass", "pass", "fail"])
        if self.chance(0.35 if self.figures.get("plus") else 0.04):
            entry["plus"] = True
        if self.chance(0.35 if self.figures.get("star") else 0.04):
            entry["star"] = True
        if self.chance(0.4):
            entry["visual"] = rng.choice(["pass", "pass", "pass", "fail"])
        self.add("hydro", month=self.chance(0.12), **entry)

    def look(self):
        self.add("visual", outcome=self.rng.choice(["pass", "pass", "fail"]), month=self.chance(0.08), **self.by())

    def trouble(self):
        rng = self.rng
        kind = rng.choice(["damaged", "damaged", "out", "visual", "hydro", "heat", "overpressure"])
        if kind == "out":
            self.add("out of service", text="valve", **self.by())
        elif kind == "visual":
            self.add("visual", outcome="fail", **self.by())
        elif kind == "hydro":
            self.add("hydro", outcome="fail", by="A123")
        else:
            self.add("damaged", text="cut", **self.by(), **({} if kind == "damaged" else {kind: True}))
        if self.chance(0.3):
            self.add("out of service", text="waits")

    def cure(self):
        for _ in range(self.rng.randrange(1, 4)):
            self.rng.choice([
                lambda: self.add("visual", outcome="pass", **self.by()),
                lambda: self.add("hydro", outcome="pass", by="A123", visual="pass"),
                lambda: self.add("hydro", outcome="pass", by="A123", plus=bool(self.figures.get("plus"))),
                lambda: self.add("returned to service", **self.by()),
                lambda: self.add("emptied", **self.by()),
            ])()  # fmt: skip
            if self.chance(0.4):
                self.later()

    def small(self):
        self.rng.choice([
            lambda: self.add("moved", to_site="st1", **self.by()),
            lambda: self.add("moved", to_site="A123", from_site="st1"),
            lambda: self.add("emptied", **self.by()),
            lambda: self.add("serviced", text="valve", month=self.chance(0.2), **self.by()),
            lambda: self.add("remarked", text="seen", **self.by()),
            lambda: self.add("life extended", until=month_of(self.now) + 60, text="a letter"),
        ])()  # fmt: skip

    def end(self):
        self.rng.choice([
            lambda: self.add("condemned", text="thread worn", month=self.chance(0.1), **self.by()),
            lambda: self.add("retired", **self.by()),
        ])()  # fmt: skip

    # Order, times and corrections.

    def order_lines(self):
        """Into the order of paper: by day, `entered service` first in its day or month, and times that agree."""
        entries = self.card["entries"]
        for entry in entries:
            if entry["month"] and last_day(month_of(entry["first"])) >= self.today:
                entry["month"] = False
            entry["key"] = entry["first"]
            if entry["verb"] == "entered service" and entry["month"]:
                entry["key"] = first_day(month_of(entry["first"]))
        entered = [entry for entry in entries if entry["verb"] == "entered service"]
        for entry in entries:
            if entry["month"] and entry not in entered:
                if any(month_of(entry["first"]) == month_of(other["first"]) for other in entered):
                    entry["month"] = False
        entries.sort(key=lambda entry: (entry["key"], entry["verb"] != "entered service"))
        by_day = {}
        for entry in entries:
            del entry["key"]
            entry["last"] = entry["first"]
            if entry["month"]:
                entry["first"], entry["last"] = first_day(month_of(entry["first"])), last_day(month_of(entry["first"]))
            else:
                by_day.setdefault(entry["first"], []).append(entry)
        months = {month_of(entry["first"]) for entry in entries if entry["month"]}
        for day, lines in by_day.items():
            if len(lines) == 1 and month_of(day) not in months:
                lines[0]["stands"] = self.rng.choice(["card"] * 6 + ["loose", "sheet"])
        for lines in by_day.values():
            share = self.rng.choice([0, 0.5, 1, 1])
            minute = 400
            for entry in lines:
                minute += self.rng.randrange(1, 30)
                if self.chance(share) and entry["verb"] != "entered service":
                    entry["time"] = f"{minute // 60:02}:{minute % 60:02}"

        if not months and self.chance(0.1):
            self.shuffle_lines(by_day)

    def shuffle_lines(self, by_day):
        """Times on every line, and then the lines of the card in no order at all: times and days outrank standing."""
        for lines in by_day.values():
            for number, entry in enumerate(lines):
                entry["time"] = f"{8 + number // 4:02}:{10 * (number % 4 + 1)}"
        for entry in self.card["entries"]:
            entry["standing"] = self.rng.random()

    def correct_lines(self):
        rng = self.rng
        for entry in self.card["entries"]:
            if self.chance(0.05):
                day = entry["last"] + rng.choice([0, 1, 30, 30, 4000, -2])
                entry["struck"] = {"day": day, "by": rng.choice(PEOPLE)}
                if self.chance(0.4):
                    answered = {"rule": "bar-struck", "day": entry["last"] + rng.choice([1, 31, 40, 4000])}
                    entry["answers"] = [answered | {"by": rng.choice(PEOPLE)}]
            elif self.chance(0.03):
                answered = {"rule": "filled-past-test", "day": entry["last"] + 3, "by": rng.choice(PEOPLE)}
                entry["answers"] = [answered]
            if self.chance(0.04):
                entry["late"] = {"day": entry["last"] + rng.choice([3, 3, 4000]), "by": rng.choice(PEOPLE)}
            if self.chance(0.04):
                entry["remark"] = "read twice"


def make_cylinders(seed, count, today):
    return [History(Random(f"{seed}/{number}"), f"G-{number + 1}", today).card for number in range(count)]


def some_day(seed):
    """The day on which the record of this seed is judged: often the end of a month, or the day after."""
    rng = Random(f"today {seed}")
    start = (date(2016, 1, 1) + timedelta(days=rng.randrange(3700))).toordinal()
    return rng.choice([start, last_day(month_of(start)), first_day(month_of(start))])


# As text.


def iso(day):
    return date.fromordinal(day).isoformat()


def month_text(month):
    return f"{month // 12:04}-{month % 12 + 1:02}"


def said(figure):
    return " ".join(figure)


SHEETS = {"filled": "fill sheet", "gauged": "gauge sheet", "hydro": "hydro sheet", "visual": "visual sheet"}


def line_of(entry, name=None):
    """The entry as a line of its card or, with the name of the cylinder, as a loose line or as a sheet of one row."""
    verb = entry["verb"]
    words = [iso(entry["first"])[:7] if entry["month"] else iso(entry["first"])]
    words += [entry["time"]] if entry.get("time") else []
    words += [verb] + ([name] if name else [])
    if name and entry["stands"] == "sheet":
        words = [f"{SHEETS[verb]} {iso(entry['first'])}\n  {entry.get('time', '')} {name}"]
    words += [entry["outcome"]] if verb in ("hydro", "visual") else []
    words += [said(entry["to"])] if verb == "gauged" else []
    words += [f"until {month_text(entry['until'])}"] if "until" in entry else []
    if "text" in entry and verb in (
        "damaged", "serviced", "out of service", "life extended", "condemned", "retired", "remarked",
    ):  # fmt: skip
        words += [f'"{entry["text"]}"']
    words += [word for word in ("heat", "overpressure") if entry.get(word)]
    words += [f"from {said(entry['from'])}"] if entry.get("from") else []
    words += [f"from {entry['from_site']}"] if entry.get("from_site") else []
    words += [f"to {entry['to_site']}"] if entry.get("to_site") else []
    if verb == "filled":
        words += ["to unread" if entry["to"] is None else f"to {said(entry['to'])}"]
    for word, key in (("at", "at"), ("over", "over"), ("at", "at_pressure"), ("total", "total"),
                      ("permanent", "permanent"), ("elastic", "elastic")):  # fmt: skip
        words += [f"{word} {said(entry[key])}"] if entry.get(key) else []
    words += [f"{word} {entry[word]}" for word in ("method", "crack") if entry.get(word)]
    words += [word for word in ("plus", "star") if entry.get(word)]
    words += [f"visual {entry['visual']}"] if entry.get("visual") else []
    words += [f"{word} {entry[word]}" for word in ("by", "on") if entry.get(word)]
    words += [f'remark "{entry["remark"]}"'] if entry.get("remark") else []
    for word in ("struck", "late"):
        if entry.get(word):
            words += [f'{word} {iso(entry[word]["day"])} by {entry[word]["by"]} "so it was"']
    for answer in entry.get("answers", ()):
        words += [f'answered {answer["rule"]} {iso(answer["day"])} by {answer["by"]} "looked at"']
    return "  ".join(words)


def card_lines(cylinder):
    """The lines of its card, without those of its entries."""
    yield f"cylinder {cylinder['name']}"
    yield f"  class {cylinder['class']}"
    yield f"  serial S-{cylinder['name']}"
    if cylinder.get("marked"):
        yield f'  marked "{cylinder["marked"]}"'
    if cylinder.get("made"):
        yield f"  made {iso(cylinder['made']['first'])[: 7 if cylinder['made']['month'] else 10]}"
    for word in ("rated", "holds", "test_pressure", "ree"):
        if cylinder.get(word):
            yield f"  {word.replace('_', '-')} {said(cylinder[word])}"
    if cylinder.get("liner"):
        yield f"  liner {cylinder['liner']}"
    if cylinder.get("life"):
        yield f"  life {cylinder['life']} years"
    if cylinder.get("life_until") is not None:
        yield f"  life until {month_text(cylinder['life_until'])}"
    if cylinder.get("test_every"):
        yield f"  test-every {cylinder['test_every']} years"
    for line in cylinder.get("struck_lines", ()):
        yield f'  {line}  struck {iso(cylinder["struck_since"])} by mora "of another cylinder"'
    if cylinder.get("expansion_limit"):
        yield f"  expansion-limit {cylinder['expansion_limit']} %"


def ledger_of(cylinders):
    """The text of their record, and of each line with an entry the (cylinder, number of the entry)."""
    lines = ['department "Generated"', "  rules us-dot", 'site st1 "Station 1"']
    lines += [f'person {name} "{name}"' for name in PEOPLE]
    for name, span in TESTERS.items():
        since = f" {iso(span['first'])}" if span["first"] else ""
        until = f" until {iso(span['last'])}" if span["last"] else ""
        lines += [f'tester {name} "{name}"', f"  authorized{since}{until}"]
    lines += ['source comp "Compressor"', "  kind compressor"]
    places, elsewhere = {}, []
    for cylinder in cylinders:
        lines += card_lines(cylinder)
        standing = enumerate(cylinder["entries"])
        for number, entry in sorted(standing, key=lambda line: line[1].get("standing", line[0])):
            if entry.get("stands", "card") == "card":
                lines.append("  " + line_of(entry))
                places[len(lines)] = (cylinder["name"], number)
            else:
                if entry["verb"] not in SHEETS:
                    entry["stands"] = "loose"
                elsewhere.append((entry["stands"], entry["first"], cylinder["name"], number, entry))
    for _, _, name, number, entry in sorted(elsewhere, key=lambda line: line[:4]):
        lines += line_of(entry, name).split("\n")
        places[len(lines)] = (name, number)
    return "\n".join(lines) + "\n", places
