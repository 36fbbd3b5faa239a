"""
`cylfile rules`: what is judged, by which text, in which words, and whether a pack does what its examples say.
"""

from collections.abc import Callable, Iterable
from datetime import date

from cylfile.cannot import CannotDo
from cylfile.command_line.options import Options, add_form_options, show
from cylfile.files.pack_files import path_of_pack, rules_named
from cylfile.files.records import the_record
from cylfile.findings.core_rules import CORE_RULES
from cylfile.findings.finding import Finding, of_fault
from cylfile.judging.judge import judge
from cylfile.packs.proving import prove
from cylfile.packs.ruleset import Ruleset
from cylfile.packs.shipped import shipped_names
from cylfile.packs.suggest import did_you_mean
from cylfile.record.reader import read_record
from cylfile.show.machine.finding_lines import finding_line
from cylfile.show.pages.rules_page import Listing, classes_page, core_rule_page, proof_page, rule_page, words_page
from cylfile.show.terminal.layout import Layout
from cylfile.show.told import tell_beside
from cylfile.text.source import Fault, Source
from cylfile.text.spelling import american

_PURPOSE = "What is judged, by which text, and in which words."
_MORE = (
    "list [PATH...]: the rules that ship, or those of the record there. facts: what a rule may ask. "
    "classes [PATH...]: the kinds of cylinders, with their figures, their sources and their markings. "
    "show RULE [PATH...]: the text of a rule with its examples. prove PACK: judge a pack's own examples; "
    "exit status 1 where one fails."
)


def run(arguments: list[str]) -> int:
    values = make_options().read(arguments)
    put, status = _DO[values.action](values)
    show(put, values)
    return status


def make_options() -> Options:
    options = Options("rules", _PURPOSE, _MORE)
    options.add_argument(
        "action", metavar="ACTION", nargs="?", choices=list(_DO), default="list", help="list by default"
    )
    options.add_argument("what", nargs="*", metavar="WHAT", help="a rule, a pack or a path of the record; see below")
    options.add_argument(
        "--rules",
        metavar="PACK",
        action="append",
        default=[],
        help="these packs, laid over each other; for list, classes and show",
    )
    add_form_options(options)
    return options


# What an action has to show, and the exit status.
_Outcome = tuple[Callable[[Layout], None], int]


def _list(values) -> _Outcome:
    rules, faults = _rules_meant(values.rules, values.what)
    if rules is not None:
        return lambda layout: Listing(layout).ruleset(rules), _faults(faults, rules)
    return _list_shipped, 0


def _list_shipped(layout: Layout) -> None:
    listing = Listing(layout)
    listing.core()
    for name in shipped_names():
        rules, _ = rules_named([name])
        listing.pack(name, [rule for rule in rules.rules.values() if rule.pack == name], rules)


def _facts(values) -> _Outcome:
    if values.what:
        raise CannotDo("`cylfile rules facts` takes nothing more; leave out what stands after it")
    return words_page, 0


def _classes(values) -> _Outcome:
    rules, faults = _rules_meant(values.rules, values.what)
    if rules is None:
        return _shipped_classes, 0
    return lambda layout: classes_page(rules, layout), _faults(faults, rules)


def _shipped_classes(layout: Layout) -> None:
    # Each pack alone: what one says of every cylinder is not so in the country of another.
    for name in shipped_names():
        classes_page(rules_named([name])[0], layout, name)


def _show(values) -> _Outcome:
    if not values.what:
        raise CannotDo("`cylfile rules show` needs the name of a rule; `cylfile rules list` names them")
    name, *paths = values.what
    name = american(name)
    rules, faults = _rules_meant(values.rules, paths)
    if rules is None:
        rules, faults = rules_named(list(shipped_names()))
    if name not in CORE_RULES and name not in rules.rules:
        meant = did_you_mean(name, (*CORE_RULES, *rules.rules), "`cylfile rules list` names them.")
        raise CannotDo(f"there is no rule `{name}`. {meant}")
    status = _faults(faults, rules)
    if name in CORE_RULES:
        return lambda layout: core_rule_page(name, rules.level_of(name), layout), status
    return lambda layout: rule_page(rules.rules[name], rules, layout), status


def _prove(values) -> _Outcome:
    if len(values.what) != 1:
        raise CannotDo(
            "`cylfile rules prove` needs one pack, by its name or its file, such as us-dot or ./house.cylpack"
        )
    (pack,) = values.what
    rules, faults = rules_named([pack])
    path = path_of_pack(pack)
    own = [rule for rule in rules.rules.values() if rule.span.source.path == path]
    unproved = [failure for failure in prove(rules, _judge) if failure.example.span.source.path == path]
    examples = sum(len(rule.breaks) + len(rule.keeps) for rule in own)
    status = 1 if _faults(faults, rules) or unproved else 0
    return lambda layout: proof_page(pack, unproved, len(own), examples, layout), status


_DO = {"list": _list, "facts": _facts, "classes": _classes, "show": _show, "prove": _prove}


def _rules_meant(packs: list[str], paths: list[str]) -> tuple[Ruleset | None, list[Fault]]:
    """The rules of the packs, else of the record at the paths; None where neither is given."""
    if packs:
        return rules_named(packs)
    if not paths:
        return None, []
    folder = the_record(paths)
    return folder.rules(read_record(*folder.texts()))


def _judge(text: str, rules: Ruleset, as_of: date) -> Iterable[Finding]:
    """The findings of an example record."""
    return judge(read_record([Source("an example", text)]), rules, as_of).findings


def _faults(faults: list[Fault], rules: Ruleset) -> int:
    """Say on standard error what is wrong with the packs; the exit status that this makes."""
    for fault in faults:
        tell_beside(finding_line(of_fault(fault, rules.level_of(fault.rule))).removesuffix("\n"))
    return int(bool(faults))
