"""What stamps, cards and crossed-out lines say: months, tags that move, struck lines of a card, answers, readings nobody took."""

from datetime import date

import pytest

from cylfile.history.seals import spell_out
from cylfile.record.dates import Month
from cylfile.record.entries import Answer, plain_form
from cylfile.record.plain_form import plain_file, property_lines
from cylfile.record.reader import read_record
from cylfile.record.relevant import read_part
from cylfile.record.vocabulary import VERBS
from cylfile.rewriting.neatening import neaten
from cylfile.text.source import Source

_HEAD = 'site st1 "Quay"\nperson wren "Wren"\nperson odell "Odell"\ntester A123 "Ketterby"\n'


def read(text: str, head: str = _HEAD):
    return read_record([Source("a.cyl", head + text)])


def entries(text: str, name: str = "K-1") -> list:
    record = read(text)
    assert record.faults == []
    return record.entries[name]


def neat(text: str) -> str:
    source = Source("a.cyl", text)
    done = neaten(source, read_record([source]))
    assert done.refusal == ""
    return done.text


class TestMonths:
    @pytest.mark.parametrize("verb", [verb for verb, row in VERBS.items() if row.may_be_month])
    def test_a_stamp_gives_the_month_and_no_more(self, verb):
        rest = {"hydro": "pass", "visual": "pass", "serviced": '"valve"', "condemned": '"cut"'}.get(verb, "")
        (entry,) = entries(f"cylinder K-1\n  2019-06  {verb} {rest}\n")
        assert entry.day == Month(2019, 6, 1) and plain_form(entry).startswith(f"2019-06 {verb} K-1")
        (loose,) = entries(f"cylinder K-1\n2019-06 {verb} K-1 {rest}\n")
        assert loose.facts == entry.facts

    def test_a_month_is_no_day_but_has_its_place_among_them(self):
        assert Month(2019, 6, 1) != date(2019, 6, 1) and date(2019, 6, 1) != Month(2019, 6, 1)
        assert date(2019, 5, 31) < Month(2019, 6, 1) < date(2019, 6, 2) and Month(2019, 6, 1) == Month(2019, 6, 1)

    def test_a_month_has_no_time(self):
        record = read("cylinder K-1\n  2019-06 09:42 hydro pass\n")
        assert record.entry_count == 0 and len(record.faults) == 1

    def test_it_is_set_in_line_with_the_days(self):
        assert neat("cylinder K-1\n  2019-06 hydro pass\n  2020-01-02 09:42 emptied\n") == (
            "cylinder K-1\n  2019-06           hydro pass\n  2020-01-02 09:42  emptied\n"
        )


class TestReadingsNobodyTook:
    def test_the_reading_is_not_known(self):
        (entry,) = entries("cylinder K-1\n  2020-01-02  filled  from 900 psi  to unread\n")
        assert (entry.reading, entry.unread) == (None, True)
        assert plain_form(entry) == "2020-01-02 filled K-1 from 900 psi to unread"

    @pytest.mark.parametrize("clauses", [["to unread", "to 4500 psi"], ["to 4500 psi", "to unread"]])
    def test_it_is_one_or_the_other(self, clauses):
        (fault,) = read(f"cylinder K-1\n  2020-01-02  filled  {'  '.join(clauses)}\n").faults
        assert fault.text == "`to` is written twice on this line"

    def test_a_row_says_it_in_place_of_what_its_sheet_says(self):
        sheet = "cylinder K-1\nfill sheet 2020-01-02  to {}\n  K-1  {}\n  K-1\n"
        assert [entry.reading for entry in entries(sheet.format("unread", "to 10 bar"))] != [None, None]
        assert {(str(e.reading), e.unread) for e in entries(sheet.format("unread", "to 10 bar"))} == {
            ("10 bar", None),
            ("None", True),
        }
        assert {(str(e.reading), e.unread) for e in entries(sheet.format("10 bar", "to unread"))} == {
            ("10 bar", None),
            ("None", True),
        }


class TestAnswers:
    LINE = (
        'cylinder K-1\n  2020-01-02  filled  to 10 bar  answered past-test 2020-02-01 by wren "stamp was misread"'
        '  answered heat-and-aluminium 2020-02-02 by odell "looked at"\n'
    )

    def test_one_for_each_rule(self):
        (entry,) = entries(self.LINE)
        assert entry.answers == (
            Answer("past-test", date(2020, 2, 1), "wren", "stamp was misread"),
            Answer("heat-and-aluminum", date(2020, 2, 2), "odell", "looked at"),
        )

    def test_not_two_to_one_rule(self):
        record = read(self.LINE.replace("heat-and-aluminium", "past-test"))
        (fault,) = record.faults
        assert fault.text == "`answered past-test` is written twice on this line" and record.entry_count == 0
        assert (fault.span.text, fault.span.column) == ("past-test", 102)

    def test_who_answers_is_somebody(self):
        (fault,) = read(self.LINE.replace("by odell", "by nobody")).faults
        assert (fault.text, fault.span.text) == ("no block declares the person `nobody`", "nobody")

    def test_each_stands_apart(self):
        assert neat(_HEAD + self.LINE).endswith(
            "  2020-01-02        filled  to 10 bar\n"
            '      answered past-test 2020-02-01 by wren "stamp was misread"\n'
            '      answered heat-and-aluminium 2020-02-02 by odell "looked at"\n'
        )

    def test_a_later_one_breaks_no_seal_and_an_earlier_one_is_part_of_it(self):
        plain, answered = read(self.LINE.split("  answered")[0] + "\n"), read(self.LINE)
        assert spell_out(plain, date(2020, 1, 31), "wren") == spell_out(answered, date(2020, 1, 31), "wren")
        assert spell_out(plain, date(2020, 2, 1), "wren") != spell_out(answered, date(2020, 2, 1), "wren")


class TestStruckLinesOfABlock:
    CARD = 'cylinder K-1\n  serial  A-7  struck 2020-02-01 by wren "a 1"\n  serial  A-1\n  made  2019-01\n'

    def test_it_stays_and_has_no_effect(self):
        record = read(self.CARD)
        card = record.cylinders["K-1"]
        assert record.faults == [] and card.serial == "A-1"
        assert 'cylinder K-1 serial A-7 struck 2020-02-01 by wren "a 1"' in property_lines(card)

    def test_it_may_come_after_the_right_one(self):
        lines = self.CARD.splitlines(keepends=True)
        record = read("".join([lines[0], lines[2], lines[1], lines[3]]))
        assert record.faults == [] and record.cylinders["K-1"].serial == "A-1"

    @pytest.mark.parametrize(
        "block",
        [
            'person p "P"\n  fills 2020-01-01', 'tester B123 "B"\n  authorized until 2020-01', 'site s "S"\n  contact "Ann"',
            'source c "C"\n  rated 5000 psi', 'department "D"\n  rules us-dot', 'department "D"\n  rules air',
            "cylinder K-2\n  class steel", "cylinder K-2\n  tag E1 since 2020-01-01", "cylinder K-2\n  life until 2030-01",
            'recall 2020-01-01 "R"\n  made 2019-01 to 2019-02', 'recall 2020-01-01 "R"\n  serial A-01 to A-09',
        ],
    )  # fmt: skip
    def test_any_line_may_be_struck(self, block):
        strike = '    struck 2020-02-01 by wren "no"'
        record = read(f"{block}{strike}\n")
        assert record.faults == []
        (thing,) = [
            t for t in (*record.declared.values(), *record.recalls, record.department) if t and t.struck_properties
        ]
        line = block.split("\n  ")[1]
        assert any(
            said.endswith(f"{line}{strike.replace('    ', ' ')}") for said in property_lines(thing)
        ) or line.startswith("serial")
        assert read(block + "\n").faults == [] and neat(f"{_HEAD}{block}{strike}\n").endswith(f"{strike}\n")

    def test_who_strikes_it_is_somebody(self):
        (fault,) = read(self.CARD.replace("by wren", "by nobody")).faults
        assert fault.text == "no block declares the person `nobody`"

    def test_struck_later_it_breaks_no_seal(self):
        entry = "  2020-01-02  emptied\n"
        before = read(f"cylinder K-1\n  serial  A-7\n  made  2019-01\n{entry}")
        after = read('cylinder K-1\n  serial  A-7  struck 2020-02-01 by wren "a 1"\n  made  2019-01\n' + entry)
        assert spell_out(before, date(2020, 1, 31), "wren").digest == spell_out(after, date(2020, 1, 31), "wren").digest
        assert spell_out(before, date(2020, 2, 1), "wren").digest != spell_out(after, date(2020, 2, 1), "wren").digest


class TestTags:
    @pytest.mark.parametrize(
        "one, other, is_taken",
        [
            ("", "", True),
            ("until 2020-05-01", "since 2020-05-02", False),
            ("until 2020-05-01", "since 2020-05-01", False),
            ("until 2020-05-02", "since 2020-05-01", True),
            ("since 2020-05-01", "since 2021-01-01", True),
            ("since 2020-01-01", "since 2020-05-01 until 2020-05-01", True),
            ("since 2020-05-01 until 2020-05-01", "since 2020-05-01 until 2020-05-01", True),
            ("since 2020-01-01 until 2020-05-01", "since 2020-05-01 until 2020-06-01", False),
        ],
    )
    def test_no_two_have_one_tag_on_one_day(self, one, other, is_taken):
        for first, second in ((one, other), (other, one)):
            record = read(f"cylinder K-1\n  tag E1 {first}\ncylinder K-2\n  tag E1 {second}\n")
            taken = [("K-1", "name-taken"), ("K-2", "name-taken")] if is_taken else []
            assert [(fault.subject, fault.rule) for fault in record.faults] == taken

    def test_whose_it_is_depends_on_the_day(self):
        record = read(
            "cylinder K-1\n  tag E1 until 2020-05-01\ncylinder K-2\n  tag E1 since 2020-05-01 until 2020-07-01\n"
        )
        days = [date(2020, 4, 30), date(2020, 5, 1), date(2020, 7, 1), date(2020, 7, 2)]
        found = [record.find_cylinder("E1", day) for day in days]
        assert [card and card.name for card in found] == ["K-1", "K-2", "K-2", None]
        assert record.find_cylinder("E1").name == "K-2" and record.cylinders["K-1"].tags_on(date(2020, 5, 2)) == []

    def test_the_last_day_is_not_before_the_first(self):
        (fault,) = read("cylinder K-1\n  tag E1 since 2020-05-02 until 2020-05-01\n").faults
        assert fault.text == "the last day, 2020-05-01, is before the first, 2020-05-02"


def test_a_cylinder_is_sent_to_a_tester_and_comes_back():
    there, back = entries(
        "cylinder K-1\n2020-01-02 moved K-1 to A123 from st1\n2020-01-09 moved K-1 from A123 to st1\n"
    )
    assert (there.to_site, back.from_site) == ("A123", "A123")
    assert plain_form(there) == "2020-01-02 moved K-1 from st1 to A123"
    (fault,) = read("cylinder K-1\n2020-01-02 moved K-1 to wren\n").faults
    assert fault.text == "`wren` is a person, not a site or tester"


def test_british_words_are_read_and_american_ones_written():
    text = 'tester B123 "B"\n  authorised\ncylinder K-1\n  liner aluminium\nsource c "C"\n  2020-01-02 air sample pass odour none\n'
    record = read(text)
    assert record.faults == [] and record.cylinders["K-1"].liner == "aluminum"
    assert neat(text) == (
        'tester B123 "B"\n  authorized\ncylinder K-1\n  liner      aluminum\n'
        'source c "C"\n  2020-01-02        air sample pass  odor none\n'
    )


class TestBlocksOfEntries:
    """Entries of one block stand in the order in which they are written."""

    TEXT = (
        "cylinder K-1\n  2020-01-02 emptied\n  2020-01-02 gauged 1 psi\n"
        '2020-01-03 remarked K-1 "a"\n# comment\n\n2020-01-03 remarked K-2 "b"\n2020-01-03 rmrkd K-2\n2020-01-03 remarked K-1 "c"\n'
        'cylinder K-2\n2020-01-03 remarked K-1 "d"\nfill sheet 2020-01-04\n  K-1 to 1 bar\n  K-2 to 1 bar\n'
    )

    @staticmethod
    def together(record) -> list[set[str]]:
        blocks: dict[int, set[str]] = {}
        for entry in record.entries["K-1"]:
            blocks.setdefault(entry.block, set()).add(entry.text if entry.verb == "remarked" else entry.verb)
        return sorted(blocks.values(), key=sorted)

    def test_a_card_a_sheet_and_loose_lines_with_nothing_between_them(self):
        assert self.together(read(self.TEXT, "")) == [{"a", "c"}, {"d"}, {"emptied", "gauged"}, {"filled"}]

    def test_an_excerpt_says_the_same(self):
        assert self.together(read_part([Source("a.cyl", self.TEXT)], "K-1")) == self.together(read(self.TEXT, ""))


class TestNamesThatAreTaken:
    TWICE = "cylinder K-1\n  made  2019-01\n  2020-01-02  emptied\ncylinder K-1\n  serial  A-1\n  holds  6.8 L\n"

    def test_the_plain_form_of_a_file_holds_the_lines_of_both_blocks(self):
        lines = list(plain_file(read(self.TWICE, "")))
        for line in ("  made 2019-01", "  serial A-1", "  holds 6.8 L", "  2020-01-02 emptied K-1"):
            assert lines.count(line) == 1, line

    @pytest.mark.parametrize("other", ['site K-1 "S"', 'tester K-1 "T"', 'person K-1 "P"', 'source K-1 "C"'])
    def test_a_card_keeps_its_entries_whoever_else_has_its_name(self, other):
        card = "cylinder K-1\n  2020-01-02  emptied\n"
        for text in (f"{other}\n{card}", f"{card}{other}\n"):
            record = read(text, "")
            assert [fault.rule for fault in record.faults] == ["name-taken"] and record.entry_count == 1
            assert neat(text)
