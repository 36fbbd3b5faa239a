"""
The verbs and the clauses of the ledger language: one row each, for all that is true of them.

The grammar says which clauses a verb takes and how their words follow each other; a row says what
the rest of the program has to know. Rows and grammar are held together by a test, which names
what is missing in either.
"""

from typing import NamedTuple

# What a clause holds.
FIGURE, MONTH, TEXT, WORD, FLAG, NAME, SIGNED, ANSWERED = (
    "figure", "month", "text", "word", "flag", "name", "signed", "answered",
)  # fmt: skip

# What a name names, in the words of a message.
PERSON, TESTER, SITE, SOURCE = "person", "tester", "site", "source"
SIGNER = "person or tester"
PLACE = "site or tester"
# Each of them -> the kinds of block that may declare it. Whoever signs what a tester should is no
# unknown name: the rules judge who it is.
MAY_BE = {
    PERSON: (PERSON,),
    TESTER: (TESTER, PERSON),
    SIGNER: (PERSON, TESTER),
    SITE: (SITE,),
    PLACE: (SITE, TESTER),
    SOURCE: (SOURCE,),
}

# What an entry may be about.
CYLINDER, COMPRESSOR, STORAGE = "cylinder", "compressor", "storage"


class Clause(NamedTuple):
    """
    One clause: the `field` of an entry that it fills, which is its rule in the grammar, and its `form`,
    with `{}` for the value.

    `question` is how `enter` asks for it, with `example` where that helps. `words` are the words that it
    may have for a value, `bad` those of them that tell of something bad. `names` is what its name names;
    that of `by` depends on the verb. `what` is said where a verb needs it and it is missing. On cards
    and sheets a `padded` clause is as wide as its example at least. The header of a sheet may be `lent`
    to a new row; what `tells` sheets apart is said alike by both. It may stand `instead_of` another field, and is then asked for with it.
    """

    field: str
    form: str
    value: str
    question: str
    example: str = ""
    words: tuple[str, ...] = ()
    bad: tuple[str, ...] = ()
    names: str = ""
    what: str = ""
    padded: bool = False
    lent: bool = False
    tells: bool = False
    instead_of: str = ""

    @property
    def word(self) -> str:
        """The words it begins with; empty where it is its value and no more."""
        return self.form.replace("{}", "").strip()

    @property
    def width(self) -> int:
        """What it is padded to on cards and sheets where another clause follows."""
        return len(self.form.format(self.example)) if self.padded else 0


# fmt: off
FROM = Clause("from_pressure", "from {}", FIGURE, "Pressure before", "1150 psi", padded=True)
UNREAD = Clause("unread", "to unread", FLAG, "", instead_of="reading")
TO = Clause("reading", "to {}", FIGURE, "Pressure reached, or unread", "4500 psi", padded=True, what="`to` with the pressure reached")
GAUGE = Clause("reading", "{}", FIGURE, "Pressure read", "4200 psi", padded=True, what="the pressure that was read")
TEMPERATURE = Clause("at_temperature", "at {}", FIGURE, "Temperature of the gas or the cylinder", "88 F", padded=True, lent=True)
OVER = Clause("over", "over {}", FIGURE, "How long it took", "12 min", padded=True, lent=True)
BY = Clause("by", "by {}", NAME, "By whom", lent=True)
ON = Clause("on", "on {}", NAME, "On which source of air", names=SOURCE, lent=True, tells=True)
AT_SITE = Clause("at_site", "at {}", NAME, "At which site", names=SITE, lent=True, tells=True)
OUTCOME = Clause("outcome", "{}", WORD, "Outcome", words=("pass", "fail"), bad=("fail",), what="`pass` or `fail`")
RESULT = Clause("result", "{}", WORD, "Outcome", words=("pass", "fail", "condemned"), bad=("fail", "condemned"),
                what="`pass`, `fail` or `condemned`")
TEST_PRESSURE = Clause("at_pressure", "at {}", FIGURE, "Test pressure", "7500 psi", padded=True)
TOTAL = Clause("total", "total {}", FIGURE, "Total expansion", "192.1 cc", padded=True)
PERMANENT = Clause("permanent", "permanent {}", FIGURE, "Permanent expansion", "1.8 cc", padded=True)
ELASTIC = Clause("elastic", "elastic {}", FIGURE, "Elastic expansion", "190.3 cc", padded=True)
PLUS = Clause("plus", "plus", FLAG, "Earned the + mark")
STAR = Clause("star", "star", FLAG, "Earned the star mark")
WITH_VISUAL = Clause("with_visual", "visual {}", WORD, "Outcome of the visual inspection", words=("pass", "fail"), bad=("fail",))
METHOD = Clause("method", "method {}", WORD, "Method of the test, where it is not by expansion",
                words=("expansion", "proof", "ultrasonic", "acoustic"))
CRACK = Clause("crack", "crack {}", WORD, "Outcome of the crack examination", words=("pass", "fail"), bad=("fail",))
FROM_SITE = Clause("from_site", "from {}", NAME, "From which site or tester", names=PLACE)
TO_SITE = Clause("to_site", "to {}", NAME, "To which site or tester", names=PLACE, what="`to` with the site or the tester")
HEAT = Clause("heat", "heat", FLAG, "By heat")
OVERPRESSURE = Clause("overpressure", "overpressure", FLAG, "By overpressure")
UNTIL = Clause("until", "until {}", MONTH, "Until which month", "2031-05", what="`until` with the new month")
WORDS = Clause("text", "{}", TEXT, "In words", what='a text such as "valve leaks"')
CO = Clause("co", "CO {}", FIGURE, "CO", "1.2 ppm", padded=True)
CO2 = Clause("co2", "CO2 {}", FIGURE, "CO2", "410 ppm", padded=True)
O2 = Clause("o2", "O2 {}", FIGURE, "O2", "20.9 %", padded=True)
N2 = Clause("n2", "N2 {}", FIGURE, "N2", "78 %")
H2S = Clause("h2s", "H2S {}", FIGURE, "H2S", "0 ppm")
OIL = Clause("oil", "oil {}", FIGURE, "Oil", "0.1 mg/m3", padded=True)
WATER = Clause("water", "water {}", FIGURE, "Water", "12 ppm")
DEW_POINT = Clause("dew_point", "dew point {}", FIGURE, "Dew point", "-54 F")
ORGANICS = Clause("organics", "organics {}", FIGURE, "Organics", "2 ppm")
PARTICULATE = Clause("particulate", "particulate {}", FIGURE, "Particulate", "0.1 mg/m3")
ODOR = Clause("odor", "odor {}", WORD, "Odor", words=("none", "slight", "strong"))
REMARK = Clause("remark", "remark {}", TEXT, "A remark")
STRUCK = Clause("struck", "struck {}", SIGNED, "Struck on which day, by whom and why", names=PERSON)
LATE = Clause("late", "late {}", SIGNED, "Written late on which day, by whom and why", names=PERSON)
ANSWERS = Clause("answers", "answered {}", ANSWERED, "Answered which rule, on which day, by whom and how", names=PERSON)
# fmt: on

# What every entry may have.
TAIL = (REMARK, STRUCK, LATE, ANSWERS)
# The clauses of the tail that are made to lines which are there already: they stand apart, and nobody is asked for them.
CORRECTIONS = tuple(clause.field for clause in TAIL if clause.value in (SIGNED, ANSWERED))


class Verb(NamedTuple):
    """
    One kind of entry: its `rule` in the grammar, and its `own` clauses in canonical order, before those of every entry.

    It is not complete without those it `needs`. `about` is what it may be about, `signer` whom its `by`
    names. It may be use of a cylinder (`is_use`). What is `news` was found and not done: it is true however
    bad it is, and is always written. `may_be_month` where a stamp that gives the month is all there is.
    `sheet` is the word of its sheet, where it has one.
    """

    rule: str
    own: tuple[Clause, ...]
    needs: tuple[Clause, ...] = ()
    about: tuple[str, ...] = (CYLINDER,)
    signer: str = SIGNER
    is_use: bool = False
    is_news: bool = False
    may_be_month: bool = False
    sheet: str = ""

    @property
    def verb(self) -> str:
        """Its words."""
        return self.rule.replace("_", " ")

    @property
    def clauses(self) -> tuple[Clause, ...]:
        """All its clauses in canonical order."""
        return (*self.own, *TAIL)

    def fields_for(self, clause: Clause) -> tuple[str, ...]:
        """The fields by which a clause is had: its own, and of the clauses that may stand instead of it."""
        return (clause.field, *(other.field for other in self.own if other.instead_of == clause.field))

    @property
    def sheet_rule(self) -> str:
        """The rule of the header of its sheet."""
        return f"{self.sheet}_sheet"

    @property
    def row_rule(self) -> str:
        """The rule of a row of its sheet."""
        return f"{self.sheet}_row"


_ANY = (CYLINDER, COMPRESSOR, STORAGE)
_HOLDS_AIR = (CYLINDER, STORAGE)
SOURCES = (COMPRESSOR, STORAGE)

# fmt: off
_ROWS = (
    Verb("entered_service", (AT_SITE, BY), may_be_month=True),
    Verb("filled", (FROM, TO, UNREAD, TEMPERATURE, OVER, BY, ON, AT_SITE), (TO,), _HOLDS_AIR, PERSON, is_use=True, sheet="fill"),
    Verb("gauged", (GAUGE, TEMPERATURE, BY, AT_SITE), (GAUGE,), is_use=True, is_news=True, sheet="gauge"),
    Verb("visual", (OUTCOME, BY, AT_SITE), (OUTCOME,), may_be_month=True, sheet="visual"),
    Verb("hydro", (RESULT, BY, TEST_PRESSURE, TOTAL, PERMANENT, ELASTIC, METHOD, CRACK, PLUS, STAR, WITH_VISUAL, AT_SITE), (RESULT,),
         signer=TESTER, may_be_month=True, sheet="hydro"),
    Verb("moved", (FROM_SITE, TO_SITE, BY), (TO_SITE,), is_use=True),
    Verb("emptied", (BY, AT_SITE), about=_HOLDS_AIR, is_use=True, is_news=True),
    Verb("damaged", (WORDS, HEAT, OVERPRESSURE, BY, AT_SITE), (WORDS,), is_news=True),
    Verb("serviced", (WORDS, BY, AT_SITE), (WORDS,), may_be_month=True),
    Verb("out_of_service", (WORDS, BY, AT_SITE), (WORDS,), _ANY, is_news=True),
    Verb("returned_to_service", (BY, AT_SITE), about=_ANY),
    Verb("life_extended", (UNTIL, WORDS, BY), (UNTIL, WORDS), signer=TESTER),
    Verb("condemned", (WORDS, BY), (WORDS,), is_news=True, may_be_month=True),
    Verb("retired", (WORDS, BY), is_news=True, may_be_month=True),
    Verb("remarked", (WORDS, BY), (WORDS,), _ANY, is_news=True),
    Verb("air_sample", (OUTCOME, CO, CO2, O2, N2, H2S, OIL, WATER, DEW_POINT, ORGANICS, PARTICULATE, ODOR, WORDS, BY), (OUTCOME,),
         SOURCES),
    Verb("cartridge_changed", (WORDS, BY), about=SOURCES),
    Verb("gauge_checked", (WORDS, BY), about=SOURCES),
)
# fmt: on

# By their words, and by their rules of the grammar.
VERBS = {row.verb: row for row in _ROWS}
ENTRY_RULES = {row.rule: row for row in _ROWS}
CYLINDER_VERBS = tuple(verb for verb, row in VERBS.items() if CYLINDER in row.about)
# Kind of source -> the verbs of its entries. A compressor makes air and holds none; of a source of no
# known kind nobody can say that it does not.
SOURCE_VERBS: dict[str | None, tuple[str, ...]] = {
    kind: tuple(verb for verb, row in VERBS.items() if (kind or STORAGE) in row.about)
    for kind in (COMPRESSOR, STORAGE, None)
}
# Rule of the header of a sheet -> the verb of its rows.
SHEETS = {row.sheet_rule: row for row in _ROWS if row.sheet}
# Every clause, each once.
CLAUSES = tuple(dict.fromkeys(clause for row in _ROWS for clause in row.clauses))
# The fields that tell which sheet is which, and all those that the header of a sheet may lend to a row.
TELLS = tuple(clause.field for clause in CLAUSES if clause.tells)
LENT = (*TELLS, *(clause.field for clause in CLAUSES if clause.lent and not clause.tells))
