"""
Lexers for Pygments: colors for records and rule packs wherever Pygments is at work.

Pygments comes with rich. It finds these by the entry points `pygments.lexers` of pyproject.toml. They
color line by line what a reader sees; what a line means is the business of cylfile.text alone.
"""

from pygments.lexer import RegexLexer, bygroups, include, this, using
from pygments.token import Comment, Error, Generic, Keyword, Literal, Name, Number, Operator, String, Whitespace

# The words of the languages; python editors/generate.py writes them.
# fmt: off
# words: header
HEADER = (
    "visual sheet",
    "gauge sheet",
    "hydro sheet",
    "department",
    "fill sheet",
    "cylinder",
    "person",
    "recall",
    "sealed",
    "source",
    "tester",
    "waived",
    "site",
)
# end of words
# words: property
PROPERTY = (
    "expansion-limit",
    "test-pressure",
    "usual-source",
    "authorised",
    "authorized",
    "test-every",
    "cartridge",
    "inspects",
    "contact",
    "marked",
    "serial",
    "class",
    "fills",
    "holds",
    "liner",
    "maker",
    "owner",
    "rated",
    "rules",
    "kind",
    "life",
    "made",
    "zone",
    "ree",
    "tag",
)
# end of words
# words: verb
VERB = (
    "returned to service",
    "cartridge changed",
    "entered service",
    "out of service",
    "gauge checked",
    "life extended",
    "air sample",
    "condemned",
    "remarked",
    "serviced",
    "damaged",
    "emptied",
    "retired",
    "filled",
    "gauged",
    "visual",
    "hydro",
    "moved",
)
# end of words
# words: value
VALUE = (
    "overpressure",
    "compressor",
    "ultrasonic",
    "aluminium",
    "expansion",
    "to unread",
    "acoustic",
    "aluminum",
    "plastic",
    "storage",
    "slight",
    "strong",
    "proof",
    "steel",
    "fail",
    "heat",
    "none",
    "pass",
    "plus",
    "star",
    "air",
)
# end of words
# words: clause
CLAUSE = (
    "particulate",
    "dew point",
    "permanent",
    "answered",
    "organics",
    "elastic",
    "method",
    "remark",
    "struck",
    "crack",
    "odour",
    "since",
    "total",
    "until",
    "water",
    "from",
    "late",
    "odor",
    "over",
    "CO2",
    "H2S",
    "for",
    "oil",
    "CO",
    "N2",
    "O2",
    "at",
    "by",
    "on",
    "to",
)
# end of words
# words: pack_header
PACK_HEADER = (
    "setting",
    "suspend",
    "class",
    "level",
    "cite",
    "pack",
    "rule",
)
# end of words
# words: pack_property
PACK_PROPERTY = (
    "hot-at-test-pressure",
    "crack-examination",
    "first-test-every",
    "expansion-limit",
    "gauge-allowance",
    "life-extendable",
    "star-test-every",
    "test-pressure",
    "until-emptied",
    "visual-every",
    "cycle-limit",
    "export-only",
    "from-permit",
    "test-factor",
    "count-from",
    "hot-factor",
    "ree-marked",
    "test-every",
    "to-the-day",
    "life-step",
    "plus-fill",
    "reference",
    "aluminum",
    "methods",
    "working",
    "advice",
    "breaks",
    "marked",
    "keeps",
    "rated",
    "cite",
    "life",
    "once",
    "over",
    "when",
    "hot",
    "say",
    "why",
    "on",
)
# end of words
# words: place
PLACE = (
    "returned to service",
    "entered service",
    "out of service",
    "storage filled",
    "storage status",
    "life extended",
    "air sample",
    "condemned",
    "remarked",
    "serviced",
    "damaged",
    "emptied",
    "retired",
    "filled",
    "gauged",
    "status",
    "visual",
    "hydro",
    "moved",
)
# end of words
# words: pack_level
PACK_LEVEL = (
    "caution",
    "warning",
    "danger",
    "notice",
)
# end of words
# words: pack_operator
PACK_OPERATOR = (
    "known",
    "and",
    "not",
    "or",
)
# end of words
# words: pack_clause
PACK_CLAUSE = (
    "cite",
    "none",
)
# end of words
# fmt: on

# Where a word ends, since a name may hold . _ / and -.
_END = r"(?![A-Za-z0-9._/-])"
_BLANK = r"[ \t]+"
_DAY = r"[0-9]{4}-[0-9]{2}-[0-9]{2}"
_NAME = r"[A-Za-z0-9][A-Za-z0-9._/-]*"
_NUMBER = r"[0-9]+(?:\.[0-9]+)?"
_TEXT = r'"(?:[^"\\\n]|\\["\\])*"'


def _any_of(listed: tuple[str, ...]) -> str:
    """One expression for any of some words and phrases, whatever blanks stand in them."""
    return "(?:" + "|".join(word.replace(" ", _BLANK) for word in listed) + ")" + _END


class LedgerLexer(RegexLexer):
    """Records of breathing-air cylinders."""

    name = "Cylinder record"
    aliases = ["cyl"]
    filenames = ["*.cyl"]
    mimetypes = ["text/x-cyl"]

    tokens = {
        "root": [
            (r"^(?:<{7}|={7}|>{7}|\|{7})(?: .*)?$", Error),
            include("struck"),
            ("^" + _any_of(HEADER), Keyword.Declaration),
            include("property"),
            include("sentence"),
        ],
        # All of a line up to its `struck` clause, as one line through it would go.
        "struck": [
            (
                rf'^([ \t]*)([^"#\s](?:[^"#\n]|{_TEXT})*?)(?={_BLANK}struck{_BLANK}{_DAY}{_END})',
                bygroups(Whitespace, Generic.Deleted),
            ),
        ],
        "property": [(rf"^({_BLANK})({_any_of(PROPERTY)})", bygroups(Whitespace, Name.Attribute))],
        "sentence": [
            include("figures"),
            (
                rf"(?:[0-9]{{1,2}}[/.][0-9]{{1,2}}[/.][0-9]{{4}}|[0-9]{{4}}[/.][0-9]{{1,2}}[/.][0-9]{{1,2}}"
                rf"|[0-9]{{4}}-(?:[0-9]-[0-9]{{1,2}}|[0-9]{{2}}-[0-9])){_END}",
                Error,
            ),
            (rf"[0-9]{{1,2}}:[0-9]{{1,2}}(?::[0-9]{{1,2}})?{_END}", Error),
            (r"-?[0-9]{1,3}(?:,[0-9]{3})+(?:\.[0-9]+)?[A-Za-z%°]*", Error),
            (_any_of(VERB), Name.Function),
            (_any_of(VALUE), Keyword.Constant),
            (_any_of(CLAUSE), Keyword),
            (_NAME, Name),
            (_TEXT, String.Double),
            include("unreadable"),
        ],
        "figures": [
            (r"#.*", Comment.Single),
            (r"\n|[^\S\n]+", Whitespace),
            (rf"[0-9]{{4}}-[0-9]{{2}}(?:-[0-9]{{2}})?{_END}", Literal.Date),
            (r"[0-9]{2}:[0-9]{2}(?::[0-9]{2})?(?![A-Za-z0-9._/:-])", Literal.Date),
            (rf"{_NUMBER}[ \t]*(?:psi|bar|MPa|kPa|mL|cc|in3|ft3|m3|min|ppm|mg/m3){_END}", Number),
            (rf"(?:{_NUMBER}{_BLANK}[FCLsh]|-{_NUMBER}{_BLANK}[FC]|-?{_NUMBER}[ \t]*°[FC]){_END}", Number),
            (rf"{_NUMBER}[ \t]*%(?![A-Za-z0-9._/%-])", Number),
            (rf"[0-9]+{_BLANK}(?:years?|entries){_END}", Number),
        ],
        "unreadable": [(r'".*', Error), (r'[^\s"#]+', Error)],
        # A record that stands under `breaks` or `keeps` of a rule, further in.
        "example": [
            include("struck"),
            (rf"^({_BLANK})({_any_of(HEADER)})", bygroups(Whitespace, Keyword.Declaration)),
            include("property"),
            include("sentence"),
        ],
    }


class PackLexer(RegexLexer):
    """Rule packs for records of breathing-air cylinders."""

    name = "Cylinder rule pack"
    aliases = ["cylpack"]
    filenames = ["*.cylpack"]
    # Another language of Pygments lays claim to the ending too; who installed cylfile means ours.
    priority = 0.5

    tokens = {
        "root": [
            ("^" + _any_of(PACK_HEADER), Keyword.Declaration),
            (
                rf"^([ \t]+)((?:breaks|keeps){_END})(.*\n?)((?:\1[ \t]+\S.*\n?|[ \t]*(?:#.*)?\n)*)",
                bygroups(Whitespace, Name.Attribute, using(LedgerLexer), using(LedgerLexer, state="example")),
            ),
            (
                rf"^([ \t]+)({_any_of(PACK_PROPERTY)})((?:.*\n?)(?:\1[ \t]+\S.*\n?)*)",
                bygroups(Whitespace, Name.Attribute, using(this, state="sentence")),
            ),
            include("sentence"),
        ],
        "sentence": [
            *LedgerLexer.tokens["figures"],
            (rf"{_NUMBER}[ \t]*(?:psi|bar)/min{_END}", Number),
            (rf"[0-9]+{_BLANK}(?:months?|days?){_END}", Number),
            (rf"[0-9]+(?:/[1-9][0-9]*|\.[0-9]+)?{_END}", Number),
            (_any_of(PLACE), Name.Function),
            (_any_of(PACK_LEVEL), Keyword.Constant),
            (_any_of(PACK_OPERATOR), Operator.Word),
            (_any_of(PACK_CLAUSE), Keyword),
            (_NAME, Name),
            (r"<=|>=|!=|[<>=+*/(),-]", Operator),
            (rf"(?={_TEXT})\"", String.Double, "text"),
            *LedgerLexer.tokens["unreadable"],
        ],
        "text": [
            (r'"', String.Double, "#pop"),
            (r'\{[^{}"\n]*\}', String.Interpol),
            (r'(?:[^"\\{\n]|\\["\\])+|\{', String.Double),
        ],
    }
