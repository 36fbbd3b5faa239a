"""Which lines belong to which block, which go on with the line above, and what no line may hold."""

import pytest

from cylfile.record.entries import plain_form
from cylfile.record.reader import read_record
from cylfile.text.language import LONGEST_LINE
from cylfile.text.source import Source
from support.marked_ledgers import as_marks

FORBIDDEN = [
    *map(chr, range(0x00, 0x09)), "\x0b", "\x0c", *map(chr, range(0x0E, 0x20)), *map(chr, range(0x7F, 0xA0)),
    "\u061c", "\u200e", "\u200f", *map(chr, range(0x202A, 0x202F)), *map(chr, range(0x2066, 0x206A)), "\r",
]  # fmt: skip
# Letters, blanks and what looks like a line end but is none; all may stand in a text.
ALLOWED = [
    "\t",
    "\u00a0",
    "\u00ad",
    "\u200b",
    "\u2028",
    "\u2029",
    "\u3000",
    "\ufeff",
    "\u0130",
    "\U0001f692",
    "e\u0301",
]


def read(text: str):
    return read_record([Source("a.cyl", text)])


def plain(text: str) -> list[str]:
    """The plain forms of all entries of a ledger that has no fault."""
    record = read(text)
    assert [fault.text for fault in record.faults] == []
    return [plain_form(entry) for entries in record.entries.values() for entry in entries]


@pytest.mark.parametrize("character", FORBIDDEN, ids=lambda character: f"{ord(character):04X}")
@pytest.mark.parametrize("place", ["in a text", "in a comment", "in a lone comment", "between words", "in a header"])
def test_what_hides_what_a_line_says_is_a_fault_at_its_place(character, place):
    lines = [
        "cylinder K-1",
        '  2026-01-01 remarked "before"',
        '  2026-01-02 remarked "x" # c',
        "# c",
        '  2026-01-03 remarked "after"',
    ]
    number, column = {
        "in a text": (3, 22), "in a comment": (3, 26), "in a lone comment": (4, 3), "between words": (3, 14),
        "in a header": (1, 10),
    }[place]  # fmt: skip
    line = lines[number - 1]
    lines[number - 1] = line[: column - 1] + character + line[column - 1 :]
    record = read("\n".join(lines))
    fault = next(fault for fault in record.faults if fault.span.line == number)
    kind = "a control character" if ord(character) < 0xA0 else "a character that reorders text"
    assert fault.text == f"U+{ord(character):04X}, {kind}, which can hide what the line says"
    assert fault.cure == "Remove it; it shows in no editor."
    assert (fault.span.column, fault.span.end_column) == (column, column + 1)
    if place == "in a header":
        assert record.entry_count == 0
    else:
        said = [plain_form(entry) for entry in record.entries["K-1"]]
        kept = ["x"] if place == "in a lone comment" else []
        assert said == [
            f'2026-01-0{n} remarked K-1 "{text}"' for n, text in ((1, "before"), *((2, x) for x in kept), (3, "after"))
        ]


@pytest.mark.parametrize("character", ALLOWED, ids=lambda character: ascii(character))
def test_any_other_character_may_stand_in_a_text_and_a_comment_and_ends_no_line(character):
    text = (
        f'cylinder K-1\n  2026-01-01 remarked "a{character}b" # {character}\n# {character}\n  2026-01-02 remarked "c"\n'
    )
    assert plain(text) == [f'2026-01-01 remarked K-1 "a{character}b"', '2026-01-02 remarked K-1 "c"']


@pytest.mark.parametrize("ends", ["\n", "\r\n"])
def test_a_line_feed_ends_a_line_with_or_without_a_carriage_return(ends):
    text = ends.join(["cylinder K-1", "  2026-01-01 filled", "      to 4500 psi", "", "  2026-01-02 emptied"])
    assert plain(text) == ["2026-01-01 filled K-1 to 4500 psi", "2026-01-02 emptied K-1"]
    broken = read(text + ends + "  2026-01-03 fild" + ends)
    assert as_marks(broken.faults)[0][:3] == (6, 14, 18)


@pytest.mark.parametrize("text", ["a\rb", "\r", "# a\r", "cylinder K-1\r", "cylinder K-1\r\r\n", "a\r\n\rb"])
def test_a_carriage_return_by_itself_is_a_control_character(text):
    assert "U+000D, a control character, which can hide what the line says" in [
        fault.text for fault in read(text).faults
    ]


class TestLongLines:
    def test_a_line_of_ten_megabytes_is_one_fault_and_hides_no_other(self):
        record = read(
            'cylinder K-1\n  2026-01-01 remarked "a"\n  2026-01-02 remarked "'
            + "x " * 5_000_000
            + '"\n  2026-01-03 emptied'
        )
        (fault,) = record.faults
        assert fault.text == "a line of 10,000,024 characters; the longest that is read has 20,000"
        assert (fault.span.line, fault.span.column, fault.cure) == (3, 1, "Was the file damaged?")
        assert record.damaged["K-1"] == [fault]
        assert [entry.day.day for entry in record.entries["K-1"]] == [1, 3]

    @pytest.mark.parametrize("filling", ["x", " ", "#", '"', "\t", "\x00", "\u202e", "K-1 ", "2026-01-01 "])
    def test_whatever_it_is_full_of(self, filling):
        record = read(f"cylinder K-1\n  2026-01-01 remarked {filling * 10_000_000}")
        assert len(record.faults) == 1 and record.entry_count == 0

    def test_the_longest_line_is_read_and_one_character_more_is_not(self):
        line = '  2026-01-02 remarked "a" #'
        text = f"cylinder K-1\n{line}{'c' * (LONGEST_LINE - len(line))}"
        assert len(plain(text)) == 1
        assert [fault.text for fault in read(text + "c").faults] == [
            "a line of 20,001 characters; the longest that is read has 20,000"
        ]

    def test_lines_that_go_on_count_as_one(self):
        text = 'cylinder K-1\n  2026-01-02 remarked "a"\n' + f"      # {'c' * 900}\n" * 30 + "      by K-1\n"
        assert "a line of 27," in read(text).faults[0].text
        assert len(plain(text.replace("      by K-1\n", ""))) == 1

    def test_many_lines_that_go_on_cost_no_more_than_one(self):
        record = read('cylinder K-1\n  2026-01-02 remarked "a"\n' + '      remark "b"\n' * 100_000)
        assert len(record.faults) == 1


class TestWhatGoesOn:
    CARD = "cylinder K-1\n  made 2020-01\n  2026-01-01 filled to 4500 psi\n"

    @pytest.mark.parametrize("indent", ["   ", "    ", "          ", "  \t"])
    def test_a_clause_further_in(self, indent):
        assert plain(f'{self.CARD}{indent}remark "x"\n') == ['2026-01-01 filled K-1 to 4500 psi remark "x"']

    @pytest.mark.parametrize("between", ["\n", "\n\n  \n", "# c\n", "      # c\n", "\r\n"])
    def test_after_blank_lines_and_comments(self, between):
        assert plain(f'{self.CARD}{between}      remark "x"\n') == ['2026-01-01 filled K-1 to 4500 psi remark "x"']

    @pytest.mark.parametrize("line", ["2026-01-02 emptied", "serial 4", 'marked "x"', "tag E1", "life 1 year", "at-1"])
    def test_not_what_begins_a_line_of_its_own(self, line):
        """However far in it stands: an entry that slipped to the right is not swallowed by the one above."""
        record = read(f"{self.CARD}        {line}\n")
        assert plain_form(record.entries["K-1"][0]) == "2026-01-01 filled K-1 to 4500 psi"
        assert len(record.faults) == (line == "at-1")

    @pytest.mark.parametrize("indent", ["  ", " "])
    def test_not_a_clause_no_further_in(self, indent):
        record = read(f'{self.CARD}{indent}remark "x"\n')
        assert [plain_form(entry) for entry in record.entries["K-1"]] == ["2026-01-01 filled K-1 to 4500 psi"]
        (fault,) = record.faults
        assert (fault.span.line, fault.span.text) == (4, "remark")

    def test_the_first_line_of_the_block_sets_how_far_in_further_is(self):
        text = 'cylinder K-1\n    made 2020-01\n  2026-01-01 filled to 4500 psi\n    remark "x"\n'
        assert len(read(text).faults) == 1
        assert plain(text.replace("    remark", "      remark")) == ['2026-01-01 filled K-1 to 4500 psi remark "x"']

    def test_a_broken_line_that_goes_on_takes_its_entry_with_it_and_no_other(self):
        record = read(f"{self.CARD}      by\n  2026-01-02 emptied\n")
        assert [plain_form(entry) for entry in record.entries["K-1"]] == ["2026-01-02 emptied K-1"]
        (fault,) = record.faults
        assert (fault.span.line, fault.text, fault.subject) == (4, "the line ends too early", "K-1")

    def test_a_line_that_cannot_go_on_with_a_sheets_header_is_a_row(self):
        record = read('cylinder K-1\nfill sheet 2026-01-01\n  "K-1" to 4500 psi\n  K-1 to 4400 psi\n')
        assert [plain_form(entry) for entry in record.entries["K-1"]] == ["2026-01-01 filled K-1 to 4400 psi"]
        assert len(record.faults) == 1

    def test_a_clause_under_a_card_that_has_none_harms_no_line_of_the_card(self):
        record = read("cylinder K-1\n  to 4500 psi\n  made 2020-01\n  2026-01-01 emptied\n")
        assert len(record.faults) == 1 and record.cylinders["K-1"].made and record.entry_count == 1

    def test_at_is_a_property_of_a_source_until_an_entry_stands_above_it(self):
        text = (
            'site st1 "S"\nsource bank "B"\n  kind storage\n'
            "      at st1\n  2026-01-01 filled to 5000 psi\n      at st1\n"
        )
        record = read(text)
        assert record.faults == [] and record.air_sources["bank"].site == "st1"
        assert plain_form(record.entries["bank"][0]) == "2026-01-01 filled bank to 5000 psi at st1"

    @pytest.mark.parametrize(
        "text",
        [
            "  2026-01-01 emptied\n      by x\n      by y\n",
            'site st1 "S"\n  2026-01-01 emptied\n      by x\n',
            "cylinder K 1\n  2026-01-01 gauged\n      4200 psi\n",
            "2026-01-01 emptied K-1\n  2026-01-02 emptied\n      by x\n",
        ],
    )
    def test_under_no_block_it_goes_on_with_a_line_that_is_refused(self, text):
        faults = [fault for fault in read(text).faults if fault.rule == "unreadable-line"]
        assert len([fault for fault in faults if fault.span.text.startswith("2026")]) == 1


class TestMergeConflicts:
    BOTH = """\
cylinder K-1
  2026-01-01 remarked "before"
<<<<<<< HEAD
  2026-01-02 remarked "ours"
||||||| 5f1d7a8
  2026-01-02 remarked "base"
=======
  2026-01-02 remarked "theirs"
>>>>>>> theirs
  2026-01-03 remarked "after"
"""

    def test_one_fault_and_every_side_read(self):
        record = read(self.BOTH)
        assert [(fault.span.line, fault.span.text) for fault in record.faults] == [(3, "<<<<<<< HEAD")]
        assert [entry.text for entry in record.entries["K-1"]] == ["before", "ours", "base", "theirs", "after"]

    @pytest.mark.parametrize(
        "marker", ["<<<<<<< HEAD", "||||||| 5f1d7a8", "=======", ">>>>>>> theirs", "<<<<<<<", ">>>>>>>"]
    )
    def test_any_marker_left_over_is_told_of(self, marker):
        record = read(f'cylinder K-1\n  2026-01-01 remarked "a"\n{marker}\n  2026-01-02 remarked "b"\n')
        (fault,) = record.faults
        assert (
            fault.span.text == marker
            and "conflict" in fault.text
            and fault.cure.startswith("Keep the true lines of both")
        )
        assert len(record.entries["K-1"]) == 2

    def test_with_windows_line_ends(self):
        assert as_marks(read(self.BOTH.replace("\n", "\r\n")).faults) == as_marks(read(self.BOTH).faults)

    def test_two_conflicts_are_two_faults(self):
        assert [fault.span.line for fault in read(self.BOTH + self.BOTH.replace("K-1", "K-2")).faults] == [3, 13]

    @pytest.mark.parametrize("line", ["<<<<<<", "<<<<<<<<", "========", "=======x", "  ======="])
    def test_what_is_no_marker_is_a_line_like_any_other(self, line):
        assert all("conflict" not in fault.text for fault in read(f"cylinder K-1\n{line}\n").faults)

    def test_headers_on_both_sides(self):
        record = read("<<<<<<< a\ncylinder K-1\n=======\ncylinder K-2\n>>>>>>> b\n  2026-01-01 emptied\n")
        assert list(record.cylinders) == ["K-1", "K-2"] and list(record.entries) == ["K-2"]
