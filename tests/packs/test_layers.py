"""Packs over packs: what a later one may change, and what it may not."""

from datetime import date

import pytest

from cylfile.packs.layering import load_rules
from cylfile.text.source import Source
from support.house_pack import RULE, faults_of, fill, judged, life, load

BASE = """pack base "A base"
  reference  70 F
  hot-factor 5/4

class tube "A tube"
  marked      "TUBE{psi}"
  test-every  5 years     cite "page 1"
  life        none

setting most  4500 psi

rule too-much  danger
  on    filled
  when  to > most
  say   "filled to {to}, over {most}"

rule too-late  warning
  on    filled
  when  day > test-due
  say   "too late"
"""


def over(text: str):
    return load('pack house "A house"\n  over "base.cylpack"\n' + text, base=BASE)


def messages(text: str) -> list[str]:
    return faults_of('pack house "A house"\n  over "base.cylpack"\n' + text, base=BASE)


def test_a_class_is_laid_over_line_by_line():
    ruleset, faults = over('class tube\n  test-every  10 years  cite "page 2"\n  marked "TB-{psi}"\n')
    assert not faults
    tube = ruleset.classes["tube"]
    assert (tube.title, tube.figures.test_every, tube.figures.life, tube.figures.hot_factor) == ("A tube", 120, 0, 1.25)
    assert [each.written for each in tube.patterns] == ["TUBE{psi}", "TB-{psi}"]
    assert tube.cites == {"test-every": "page 2"}


def test_a_setting_takes_another_figure_of_its_kind():
    ruleset, faults = over("setting most  4000 psi\n")
    assert not faults
    assert judged(ruleset, life(test_due=date.max), fill(4200)) == [("too-much", ())]
    assert ruleset.rules["too-much"].say(life(), fill(4200)) == "filled to 4200 psi, over 4000 psi"


def test_a_setting_of_another_kind_is_refused_and_the_old_one_holds():
    assert messages("setting most  10 %\n") == [
        "3:9-13 setting `most` is a pressure, and this is a share | Give a figure of the same kind."
    ]
    ruleset, _ = over("setting most  10 %\n")
    assert judged(ruleset, life(test_due=date.max), fill(4501)) == [("too-much", ())]


def test_british_spellings_are_read():
    ruleset, faults = load(
        'pack house "x"\n  over us-dot\n  over practice\nclass un-aluminium\n  aluminium no\n'
        "level filler-not-authorised notice\n"
        'suspend heat-and-aluminium "x"\n'
        'rule r notice\n  on filled\n  when filler-authorised and aluminium\n  say "{aluminium}"\n'
    )
    assert not faults
    assert ruleset.classes["un-aluminum"].figures.aluminum is False
    assert ruleset.level_of("filler-not-authorized") == "notice"
    assert list(ruleset.suspended) == ["heat-and-aluminum"]


def test_a_setting_is_said_once_in_a_pack():
    text = 'pack house "x"\nsetting a 1 psi\nsetting a 2 psi\n' + RULE.format(on="filled", when="to > a", say='"x"')
    ruleset, faults = load(text)
    assert [fault.text for fault in faults] == ["setting `a` is in this pack already"]
    assert ruleset.settings["a"].value == 1


def test_how_often_a_rule_held_is_said_in_say_alone():
    """`times` is not known before all entries are judged, so no condition may ask for it."""
    for lines in (
        '  when times > 2\n  say "x"\n',
        '  when yes\n  say "x"\n  working "{times}"\n',
        '  when yes\n  say "x"\n  advice "{times}"\n',
    ):
        _, faults = load(f'pack house "x"\nrule a-rule danger\n  on filled\n  once cylinder\n{lines}')
        assert [fault.text for fault in faults] == ["there is no fact and no setting `times`"]
    _, faults = load('pack house "x"\nrule a-rule danger\n  on filled\n  when yes\n  say "{times}"\n')
    assert [fault.text for fault in faults] == ["there is no fact and no setting `times`"]


def test_a_level_is_changed_and_a_rule_suspended():
    ruleset, faults = over('level too-much notice\nsuspend too-late "we know"\n')
    assert not faults
    assert ruleset.level_of("too-much") == "notice"
    assert ruleset.suspended == {"too-late": "we know"}
    assert "too-late" in ruleset.rules
    assert judged(ruleset, life(test_due=date(2000, 1, 1)), fill(5000)) == [("too-much", ())]


def test_a_core_rule_takes_a_level_and_no_suspension():
    ruleset, faults = over("level cannot-judge notice\n")
    assert not faults
    assert (ruleset.level_of("cannot-judge"), ruleset.level_of("no-class")) == ("notice", "warning")
    assert messages('suspend cannot-judge "no"\n') == [
        "3:9-21 `cannot-judge` is a rule of the reader itself and cannot be suspended"
        " | Change its level: `level  cannot-judge  notice`."
    ]


def test_a_core_rule_cannot_be_said_anew():
    (message,) = messages(RULE.format(on="filled", when="yes", say='"x"').replace("a-rule", "cannot-judge"))
    assert message == "3:6-18 `cannot-judge` is a rule of the reader itself | Choose another name."


def test_a_rule_cannot_be_said_anew_and_the_old_one_holds():
    text = RULE.format(on="filled", when="yes", say='"x"').replace("a-rule", "too-late")
    (message,) = messages(text)
    assert message.startswith("3:6-14 there is a rule `too-late` in pack base already")
    assert "`level`" in message and "`setting`" in message and "`suspend`" in message
    ruleset, _ = over(text)
    assert ruleset.rules["too-late"].pack == "base"


@pytest.mark.parametrize(
    "line, message",
    [
        ("level too-mch notice", "3:7-14 there is no rule `too-mch` | Did you mean `too-much`?"),
        ('suspend nothing "why"', "3:9-16 there is no rule `nothing` | Is its pack named by `over`?"),
        ("setting mst  4 psi", "3:9-12 no rule asks for setting `mst` | Did you mean `most`?"),
        ("class tubb\n  life none", "3:7-11 no class `tubb` to lay this over | Did you mean `tube`?"),
    ],
)
def test_a_name_that_is_not_there_gets_a_suggestion(line, message):
    assert messages(line + "\n") == [message]


def test_the_header_of_the_last_pack_prevails():
    ruleset, _ = load('pack house "A house"\n  over "base.cylpack"\n  reference  15 C\n  to-the-day\n', base=BASE)
    assert ruleset.figures("tube").reference == 288.15
    assert ruleset.figures("tube").to_the_day is True
    assert ruleset.figures(None).reference == 288.15


def test_packs_are_laid_once_each_after_those_it_extends():
    first = 'pack first "x"\n  over "base.cylpack"\nsetting most 1000 psi\n'
    second = 'pack second "x"\n  over "base.cylpack"\n'
    ruleset, faults = load(first, second, base=BASE)
    assert not faults
    assert ruleset.names == ("base.cylpack", "house0.cylpack", "house1.cylpack")
    # The second pack does not lay the base over the first again.
    assert ruleset.settings["most"].value == 1000


def test_a_ring_of_packs_is_refused_once():
    a, b = 'pack a "x"\n  over "b.cylpack"\n', 'pack b "x"\n  over "a.cylpack"\n'
    assert faults_of('pack house "x"\n  over "a.cylpack"\n', a=a, b=b) == [
        "2:8-19 packs cannot lie over each other in a circle: a.cylpack over b.cylpack over a.cylpack"
        " | Take one of the `over` lines out."
    ]
    own = 'pack house "x"\n  over "house0.cylpack"\n'
    assert faults_of(own)[0].startswith("2:8-24 packs cannot lie over each other in a circle")


def test_a_pack_that_is_not_there_is_reported_where_it_is_named():
    assert faults_of('pack house "x"\n  over us-dott\n') == [
        "2:8-15 there is no rule pack `us-dott` | Did you mean `us-dot`?"
    ]


def test_the_fault_of_a_pack_that_nobody_says_where_it_is_named_stands_in_an_empty_source_of_its_name():
    ((fault,),) = [load_rules(["none.cylpack"], lambda name: None)[1]]
    assert (fault.span.source.path, fault.span.source.text, fault.span.start, fault.span.end) == (
        "none.cylpack",
        "",
        0,
        0,
    )


@pytest.mark.parametrize("count, faults", [(50, []), (51, ["more than 50 packs"])])
def test_so_many_packs_are_laid_and_no_more(count, faults):
    names = [f"p{number}.cylpack" for number in range(count)]
    _, found = load_rules(names, lambda name: Source(name, f'pack {name.split(".")[0]} "P"\n'))
    assert [fault.text for fault in found] == faults


def test_a_house_rule_may_ask_for_the_settings_below_it():
    ruleset, faults = over(RULE.format(on="filled", when="to > most + 100 psi", say='"x"'))
    assert not faults
    assert judged(ruleset, life(test_due=date.max), fill(4601)) == [("too-much", ()), ("a-rule", ())]


def test_a_broken_rule_takes_no_other_with_it():
    broken = RULE.format(on="filled", when="to > banana", say='"x"')
    ruleset, faults = over(broken + "level a-rule notice\n")
    assert [fault.text for fault in faults] == ["there is no fact and no setting `banana`"]
    assert list(ruleset.rules) == ["too-much", "too-late"]


def test_without_packs_only_core_levels_stand():
    ruleset, faults = load()
    assert not faults
    assert (ruleset.names, ruleset.rules, ruleset.judge_of("filled")) == ((), {}, None)
    assert ruleset.level_of("unreadable-line") == "danger"
    with pytest.raises(KeyError):
        ruleset.level_of("filled-past-test")
