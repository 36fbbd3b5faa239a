"""The line structure of packs: blocks, lines that go on, records and where all of it stands."""

from datetime import date

import pytest

from cylfile.packs.pack_figures import Refused, figure
from cylfile.packs.pack_reader import read_pack
from cylfile.text.source import Source
from support.house_pack import faults_of, in_short, load

PACK = """pack house "A house"

rule a-rule  danger   # a remark
  on    filled
  # a remark on a line of its own
  when  day > test-due
        and to > 4 psi

  say   "said"
  breaks  "titled"  as-of 2024-05-01
    class tube "A tube"
      cycle-limit 2

    cylinder T-1
      class  tube
      2024-01-05  filled  to 4500 psi  # here
      2024-01-06  filled
          to 4500 psi                  # here
  keeps
    fill sheet 2024-02-01
      T-1  to 4500 psi
      # a remark in the record
"""


def read(text: str):
    return read_pack(Source("house.cylpack", text))


def example(text: str = PACK):
    pack, faults = read(text)
    assert not faults
    return pack.rules["a-rule"].breaks[0]


def test_a_record_is_dedented_and_knows_its_place():
    record = example()
    lines = record.text.split("\n")
    assert lines[3:5] == ["cylinder T-1", "  class  tube"]
    assert (record.span.line, record.indent) == (11, 4)
    # Line n of the record is line n - 1 further down in the pack, as much further in.
    there = record.span.source.text.split("\n")
    for number, line in enumerate(lines[:-1], 1):
        if line:
            assert there[record.span.line + number - 2] == " " * record.indent + line


def test_classes_of_a_record_are_taken_out_of_it():
    record = example()
    assert [(sheet.name, sheet.title, sheet.figures) for sheet in record.classes] == [
        ("tube", "A tube", {"cycle_limit": 2})
    ]
    assert record.text.split("\n")[:3] == ["", "", ""]


def test_marked_lines_and_the_day_of_an_example():
    record = example()
    assert (record.here, record.title, record.as_of) == ((6, 8), "titled", date(2024, 5, 1))
    assert read(PACK)[0].rules["a-rule"].keeps[0].as_of == date(2024, 2, 1)


@pytest.mark.parametrize(
    "change", [("\n", "\r\n"), ("  ", " "), ("  ", "\t"), ("\n", "\n\n"), ("      ", "          ")]
)
def test_layout_does_not_change_what_is_read(change):
    pack, faults = read(PACK.replace(*change))
    assert not faults
    rule = pack.rules["a-rule"]
    assert (rule.on, len(rule.breaks), len(rule.keeps), len(rule.breaks[0].here)) == (("filled",), 1, 1, 2)
    assert rule.when.tree.data == "and"


def test_a_line_that_cannot_be_read_changes_no_other():
    """A line made unreadable gives one fault, at its place, and the rule is known to be lost."""
    lines = PACK.split("\n")
    for number in (4, 9):
        broken = [*lines]
        broken[number - 1] = f"  {lines[number - 1].split()[0]} ((("
        pack, faults = read("\n".join(broken))
        assert [fault.span.line for fault in faults] == [number]
        assert "a-rule" in pack.unreadable_rules


@pytest.mark.parametrize(
    "text, fault",
    [
        ("  on filled\n", "1:3-12 an indented line without a header above it | Start the line above it in column 1."),
        ("pack a \"x\"\npack b \"x\"\n", "2:1-11 a second `pack` line | One file is one pack; write another file."),
        ("level too-much\n", "1:7-15 the line ends too early | Write `caution`, `danger`, `notice` or `warning` after `too-much`."),
        ("rule a danger\n", "1:6-7 rule `a` has no `on` line | Write it under the rule: `on` and where the rule stands, such as `on  filled`."),
        ("setting a 5 days\n  on filled\n", "2:3-12 nothing is allowed under a `setting` line | Start the line in column 1."),
        ("setting a\n", "1:9-10 the line ends too early"),
        ("suspend\n", "1:1-8 `suspend` says nothing | Write its value after it."),
        ("suspend a why\n", "1:11-14 `why` is not in quotation marks | Write a text as \"why\"."),
        ("<<<<<<< HEAD\n", "1:1-8 `<<<<<<<` begins no line in column 1"),
        ("\u00a0rule a danger\n", "1:1-6 `\u00a0rule` begins no line in column 1"),
        ("pack a \"x\u202ey\"\n", "1:10-11 U+202E, a character that can hide what a line says"),
        ("pack a \"x\n", "1:8-10 a text that is not closed"),
        ("", "1:1-1 no line says which pack this is | Begin with `pack NAME \"what it is for\"`."),
    ],
)  # fmt: skip
def test_what_is_wrong_with_lines(text, fault):
    _, faults = read(text)
    assert any(in_short(found).startswith(fault) for found in faults), [in_short(found) for found in faults]


@pytest.mark.parametrize(
    "condition, fault",
    [
        ("day > test-due + rated", "5:14-30 `test-due` is a date and `rated` is a pressure; there is no `+` between them | "),
        ("test-due + 5 > day", "5:8-20 `test-due` is a date and `5` is a number; there is no `+` between them | "),
        ("to > 4500", "5:8-17 `to` is a pressure and `4500` is a number; only like can be compared with like | "),
        ("day > 4 or settled", "5:8-15 `day` is a date and `4` is a number; only like can be compared with like | "),
        ("day > test-due or to", "5:26-28 `to` is a pressure, not a yes or no | Compare it with something, or ask whether it is `known`."),
        ("temperature + temperature > 5 psi", "5:8-33 `temperature` is a temperature and `temperature` is a temperature; there is no `+` between them | "),
        ("in-service > heat", "5:21-25 `heat` does not exist on filled | It can be asked on damaged."),
        ("in-service < test-needed", "5:8-32 `in-service` is a yes or no and `test-needed` is a yes or no, which have no order | Compare them with `=` or `!=`."),
        ("(day > test-due) = in-service", "5:9-37 conditions cannot be compared with each other | Use `and`, `or` and `not`."),
        ("known tests", "5:14-19 there is no fact and no setting `tests` | `cylfile rules facts` lists the facts."),
        ("day > 2024-13", "5:14-21 `2024-13`: the calendar has no 2024-13 | Write the figure that was meant."),
        ("to > = rated", "5:13-14 `=` is not allowed here | Expected a fact, a setting, a figure with its unit, `known` or `(`."),
        ("day > test-due and", "5:23-26 the line ends too early | Write a fact, a setting, a figure with its unit, `known` or `(` after `and`."),
        ("to/rated > 90 %", "5:8-16 there is no fact and no setting `to/rated` | Write spaces round the sign: `to / rated`."),
        ("to > 4,500 psi", "5:13-18 `4,500`: numbers are written without commas | Write 4500, or 4.500 if the comma is a decimal point."),
    ],
)  # fmt: skip
def test_a_condition_that_means_nothing_is_refused_in_its_place(condition, fault):
    text = f'pack house "A house"\n\nrule a-rule  danger\n  on  filled\n  when {condition}\n  say "x"\n'
    assert faults_of(text) == [fault]


@pytest.mark.parametrize(
    "terminal, word, value",
    [
        ("PERIOD", "200 years", 2400), ("PERIOD", "201 years", None), ("PERIOD", "2400 months", 2400), ("PERIOD", "2401 months", None),
        ("COUNT", "123456789", 123456789), ("COUNT", "1234567890", None), ("DAY", "2026-02-30", None), ("MONTH", "2026-13", None),
    ],
)  # fmt: skip
def test_a_figure_beyond_all_use_is_refused(terminal, word, value):
    if value is None:
        with pytest.raises(Refused):
            figure(terminal, word)
    else:
        assert figure(terminal, word).value == value


def test_a_certain_cure_is_offered_as_a_text_to_put_in_place():
    _, faults = load('pack house "x"\nrule a danger\n  on filled\n  when day-test-due > 5 days\n  sya "x"\n')
    assert {(fault.span.text, fault.instead) for fault in faults if fault.instead} == {("sya", "say")}
    _, faults = load('pack house "x"\nrule a danger\n  on filled\n  when day-test-due > 5 days\n  say "x"\n')
    assert [(fault.span.text, fault.instead) for fault in faults] == [("day-test-due", "day - test-due")]


def test_an_indented_line_at_the_top_takes_nothing_below_it_with_it():
    pack, faults = read("  on filled\n" + PACK)
    assert [fault.text for fault in faults] == ["an indented line without a header above it"]
    assert pack.rules["a-rule"].on == ("filled",)


def test_an_example_without_an_entry_has_to_say_its_day():
    text = PACK[: PACK.index("  breaks")] + "  keeps\n    cylinder T-1\n      class  tube\n"
    _, faults = read(text)
    said = "\n".join(fault.text for fault in faults)
    assert "no day to judge this record for: it has no entry and the `keeps` line no `as-of`" in said
