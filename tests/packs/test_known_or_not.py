"""
Compiled conditions against a slow evaluator of Kleene's logic that does what the words say.

Conditions are generated, written as text, read, checked and compiled as any pack's are.
"""

from datetime import date, timedelta
from types import SimpleNamespace

from hypothesis import given, settings
from hypothesis import strategies as st

from cylfile.history.facts import FACTS
from cylfile.history.figures import NO_LIMIT
from cylfile.packs.expressions import And, Arithmetic, Asked, Comparison, Known, Not, Or, Value
from support.house_pack import fill, findings, judged, life, load_rule

DAYS = [date(2020, 1, 1), date(2024, 2, 29), date.max]
# Facts of a fill, some with an attribute of the life and some of the entry, by dimension.
FACTS_OF = {
    "date": ["test-due", "test-day", "life-end", "day"],
    # `hot-limit` is computed, and only when it is asked for.
    "pressure": ["rated", "fill-limit", "to", "from", "hot-limit"],
    "period": ["test-every", "visual-every"],
    "text": ["class", "site"],
    "flag": ["in-service", "test-needed"],
}
FIGURES_OF = {
    "date": ["2020-01-01", "2024-02-29"],
    "pressure": ["0 psi", "2000 psi", "4500 psi"],
    "period": ["5 years", "18 months"],
    "text": ['"dot-3aa"', '""'],
    "share": ["0 %", "10 %", "100 %"],
    "duration": ["0 days", "40 days"],
}
VALUES_OF = {
    "date": DAYS,
    "pressure": [0.0, 2000.0, 4500.0],
    "period": [NO_LIMIT, 18, 60],
    "text": ["dot-3aa", ""],
    "flag": [True, False],
}


def leaves(dimension: str):
    words = [Asked(FACTS[name]) for name in FACTS_OF.get(dimension, ())]
    written = [(word.fact.name, word) for word in words]
    return st.sampled_from(written + [(text, _value(text, dimension)) for text in FIGURES_OF.get(dimension, ())])


def _value(text: str, dimension: str) -> Value:
    number, _, unit = text.partition(" ")
    match dimension:
        case "date":
            return Value(date.fromisoformat(text), dimension)
        case "text":
            return Value(text[1:-1], dimension)
        case "period":
            return Value(int(number) * (12 if unit == "years" else 1), dimension)
        case "share":
            return Value(int(number) / 100, dimension)
        case "duration":
            return Value(timedelta(days=int(number)), dimension)
    return Value(float(number), dimension)


def reckoned(dimension: str):
    """A leaf, or one step of arithmetic that gives the dimension."""
    steps = {
        "pressure": [("+", "pressure", "pressure"), ("-", "pressure", "pressure"), ("*", "share", "pressure")],
        "share": [("/", "pressure", "pressure")],
        "duration": [("-", "date", "date"), ("+", "duration", "duration")],
        "date": [
            ("+", "date", "duration"),
            ("-", "date", "duration"),
            ("+", "date", "period"),
            ("-", "date", "period"),
        ],
    }.get(dimension, [])

    @st.composite
    def step(draw):
        sign, left, right = draw(st.sampled_from(steps))
        (left_text, left_node), (right_text, right_node) = draw(leaves(left)), draw(leaves(right))
        if sign == "/" and right_node == Value(0.0, "pressure"):
            right_text, right_node = "2000 psi", Value(2000.0, "pressure")
        return f"({left_text} {sign} {right_text})", Arithmetic(sign, left_node, right_node, dimension)

    return st.one_of(leaves(dimension), step()) if steps else leaves(dimension)


@st.composite
def comparisons(draw):
    dimension = draw(st.sampled_from(["date", "pressure", "period", "text", "share", "duration"]))
    (left_text, left), (right_text, right) = draw(reckoned(dimension)), draw(reckoned(dimension))
    signs = ["=", "!="] if dimension == "text" else ["<", "<=", "=", "!=", ">=", ">"]
    sign = draw(st.sampled_from(signs))
    return f"{left_text} {sign} {right_text}", Comparison(sign, left, right)


@st.composite
def flags(draw):
    name = draw(st.sampled_from(FACTS_OF["flag"]))
    if draw(st.booleans()):
        wanted = draw(st.booleans())
        return f"{name} = {'yes' if wanted else 'no'}", Comparison("=", Asked(FACTS[name]), Value(wanted, "flag"))
    return name, Asked(FACTS[name])


@st.composite
def known(draw):
    name = draw(st.sampled_from([name for names in FACTS_OF.values() for name in names]))
    return f"known {name}", Known(FACTS[name])


def joined(parts):
    pairs = st.tuples(parts, parts)
    return st.one_of(
        parts.map(lambda part: (f"not ({part[0]})", Not(part[1]))),
        pairs.map(lambda pair: (f"({pair[0][0]}) and ({pair[1][0]})", And(pair[0][1], pair[1][1]))),
        pairs.map(lambda pair: (f"({pair[0][0]}) or ({pair[1][0]})", Or(pair[0][1], pair[1][1]))),
    )


pieces = st.one_of(comparisons(), flags(), known())
conditions = st.one_of(pieces, joined(pieces), joined(joined(pieces)), st.recursive(pieces, joined, max_leaves=12))


@st.composite
def moments(draw):
    """A life and a fill with every fact known or not as it comes."""
    values = {}
    for dimension, names in FACTS_OF.items():
        for name in names:
            fact = FACTS[name]
            choices = st.sampled_from(VALUES_OF[dimension])
            values[name] = draw(choices if fact.always_known else st.one_of(st.none(), choices))
    of_life = {FACTS[name].life: value for name, value in values.items() if FACTS[name].life and name != "day"}
    a_life = life(hot_limit=values["hot-limit"], **of_life)
    quantity = None if values["from"] is None else SimpleNamespace(value=values["from"])
    entry = SimpleNamespace(day=values["day"], reading=SimpleNamespace(value=values["to"]), from_pressure=quantity)
    return values, a_life, entry


# The slow evaluator: True, False, or None for not known.


def slow(node, values):
    match node:
        case Value():
            return node.value
        case Asked():
            return values[node.fact.name]
        case Known():
            return values[node.fact.name] is not None
        case Not():
            inner = slow(node.inner, values)
            return None if inner is None else not inner
        case And():
            both = {slow(node.left, values), slow(node.right, values)}
            return False if False in both else None if None in both else True
        case Or():
            both = {slow(node.left, values), slow(node.right, values)}
            return True if True in both else None if None in both else False
    left, right = slow(node.left, values), slow(node.right, values)
    if left is None or right is None:
        return None
    return slow_comparison(node, left, right) if isinstance(node, Comparison) else slow_arithmetic(node, left, right)


def slow_comparison(node, left, right):
    if node.left.dimension == "period":
        left, right = (10**6 if side == NO_LIMIT else side for side in (left, right))
    order = {"<": left < right, "=": left == right, ">": left > right}
    return {**order, "<=": order["<"] or order["="], ">=": order[">"] or order["="], "!=": not order["="]}[node.sign]


def slow_arithmetic(node, left, right):
    match node.sign, node.right.dimension:
        case "+", "period":
            return date.max if NO_LIMIT == right or left == date.max else months_on(left, right)
        case "-", "period":
            return None if right == NO_LIMIT else date.max if left == date.max else months_on(left, -right)
        case (("+" | "-"), "duration") if node.left.dimension == "date":
            return date.max if left == date.max else left + right if node.sign == "+" else left - right
        case "/", _:
            return None if not right else left / right
        case "*", _:
            return left * right
        case "+", _:
            return left + right
    return left - right


def months_on(day: date, months: int) -> date:
    """By hand: the same day of the month, or the last one there is."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    for number in range(day.day, 0, -1):
        try:
            return date(year, month + 1, number)
        except ValueError:
            continue
    raise AssertionError("every month has a first day")


def wanting(node, values) -> set[str]:
    """The facts for want of which a condition is not known, from the parts that are not known."""
    match node:
        case Not():
            return wanting(node.inner, values)
        case And() | Or():
            parts = [node.left, node.right]
            return set().union(*(wanting(part, values) for part in parts if slow(part, values) is None))
        case Asked():
            return {node.fact.name} if values[node.fact.name] is None else set()
        case Comparison() | Arithmetic():
            return wanting(node.left, values) | wanting(node.right, values)
    return set()


@settings(deadline=None, max_examples=500)
@given(conditions, moments())
def test_a_compiled_condition_is_what_its_words_say(condition, moment):
    text, node = condition
    values, a_life, entry = moment
    ruleset, faults = load_rule(text)
    if faults:
        # The only condition that is generated and means nothing to a reader.
        assert [fault.text for fault in faults] == ["the condition asks for no fact"]
        return
    found = judged(ruleset, a_life, entry)
    outcome = slow(node, values)
    if outcome is None:
        ((_, unknown),) = found
        assert unknown
        assert set(unknown) == wanting(node, values) or not wanting(node, values)
    else:
        assert found == ([("a-rule", ())] if outcome else [])


@settings(deadline=None, max_examples=100)
@given(conditions, moments())
def test_a_condition_in_braces_reads_yes_no_or_not_known(condition, moment):
    text, node = condition
    values, a_life, entry = moment
    ruleset, faults = load_rule("in-service", say='"{' + text.replace('"', '\\"') + '}"')
    if '"' in text:
        # A text inside a text has no place in the language, and is refused.
        assert faults
        return
    assert not faults
    words = {True: "yes", False: "no", None: "not known"}[slow(node, values)]
    assert ruleset.rules["a-rule"].say(a_life, entry) == words


def test_a_period_without_limit_is_longer_than_any_other():
    ruleset, _ = load_rule("test-every > 200 years")
    assert judged(ruleset, life(test_every=NO_LIMIT), None) == [("a-rule", ())]
    assert judged(ruleset, life(test_every=120), None) == []


def test_rules_of_one_place_are_judged_in_order_by_one_function():
    from support.house_pack import RULE, load

    text = 'pack house "A house"\n'
    for number, when in enumerate(("day > test-due", "to > rated", "known site")):
        text += RULE.format(on="filled", when=when, say='"said"').replace("a-rule", f"rule-{number}")
    ruleset, _ = load(text)
    a_life = life(test_due=date(2023, 1, 1), site="st1")
    entry = SimpleNamespace(day=date(2024, 1, 1), reading=SimpleNamespace(value=1.0))
    assert judged(ruleset, a_life, entry) == [("rule-0", ()), ("rule-1", ("rated",)), ("rule-2", ())]


def test_a_fact_that_is_not_needed_is_not_computed():
    """`settled` is worked out only where a temperature is known."""
    ruleset, faults = load_rule("known temperature and settled > 4000 psi")
    assert not faults
    entry = SimpleNamespace(at_temperature=None)
    # A life without figures: asking for `settled` would fail.
    assert judged(ruleset, life(), entry) == []
    # The same holds of a rule that no active rule asks for.
    assert "settled" not in ruleset.judge_of("filled").__code__.co_names


def test_only_the_parts_that_are_not_known_are_named():
    ruleset, _ = load_rule("day > test-due or known rated and to > rated")
    entry = SimpleNamespace(day=date(2024, 1, 1), reading=SimpleNamespace(value=1.0))
    assert judged(ruleset, life(), entry) == [("a-rule", ("test-due",))]


def test_a_division_by_nothing_is_not_known():
    ruleset, _ = load_rule("to / rated > 90 %")
    entry = SimpleNamespace(reading=SimpleNamespace(value=4500.0))
    assert judged(ruleset, life(rated=0.0), entry) == [("a-rule", ("to", "rated"))]
    assert judged(ruleset, life(rated=4500.0), entry) == [("a-rule", ())]


def test_what_only_an_entry_tells_is_asked_for_on_the_as_of_day_too():
    """`settled` goes back to the temperature of the gas, which is a word of entries: that is what to write down."""
    ruleset, faults = load_rule("settled > 10 psi", on="status")
    assert not faults
    text = "cylinder T-1\n  class tube\n  rated 3000 psi\n  2024-01-01 gauged 2000 psi\n"
    found = findings(text, ruleset, date(2024, 1, 2))
    lacking = [finding.about for finding in found if finding.rule == "cannot-judge"]
    assert "temperature" in lacking


def test_what_cannot_be_lacking_is_known():
    for when, holds in (
        ("known day and to > 1 psi", True),
        ("not known day or to > 1 psi", True),
        ("not known day", False),
        ("not no and to > 1 psi", True),
        ("not yes or to > 9999 psi", False),
    ):
        ruleset, faults = load_rule(when)
        assert faults == [] and bool(judged(ruleset, life(), fill(4500.0))) is holds, when
