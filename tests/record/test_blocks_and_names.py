"""What blocks declare, who may do what, and names: declared, unknown, taken, of another kind."""

import random
from datetime import date, timedelta
from itertools import permutations

import pytest

from cylfile.history.order import in_order
from cylfile.record.blocks import Tag
from cylfile.record.dates import Month
from cylfile.record.entries import plain_form
from cylfile.record.reader import read_record
from cylfile.rewriting.same_facts import difference
from cylfile.text.source import Source
from support.ledger_entries import HEAD

DIGEST = "0123456789abcdef" * 4


def read(*texts: str):
    return read_record([Source(f"{number}.cyl", text) for number, text in enumerate(texts)])


def faults_of(*texts: str) -> list[tuple[str, str]]:
    return [(fault.rule, fault.text) for fault in read(*texts).faults]


class TestProperties:
    PROPERTIES = [
        ("cylinder", "serial NC-8", "serial", "NC-8"), ("cylinder", 'serial "N 8"', "serial", "N 8"),
        ("cylinder", "serial 007", "serial", "007"),
        ("cylinder", "maker Norrkeld", "maker", "Norrkeld"),
        ("cylinder", 'owner "Creek School"', "owner", "Creek School"),
        ("cylinder", 'marked "DOT-3AA2265"', "marked", "['DOT-3AA2265']"),
        ("cylinder", "class dot-3aa", "class_name", "dot-3aa"),
        ("cylinder", "rated 4500 psi", "rated", "4500 psi"), ("cylinder", "made 2019-06", "made", "2019-06"),
        ("cylinder", "made 2019-06-14", "made", "2019-06-14"), ("cylinder", "holds 6.8 L", "holds", "6.8 L"),
        ("cylinder", "tag E2", "tags", "[Tag(name='E2', since=None, until=None)]"),
        ("cylinder", "liner steel", "liner", "steel"), ("cylinder", "liner aluminium", "liner", "aluminum"),
        ("cylinder", "class aluminum", "class_name", "aluminum"),
        ("cylinder", "life 15 years", "life", "180"), ("cylinder", "life 1 year", "life", "12"),
        ("cylinder", "life until 2034-06", "life_until", "2034-06"),
        ("cylinder", "test-every 5 years", "test_every", "60"),
        ("cylinder", "test-pressure 7500 psi", "test_pressure", "7500 psi"),
        ("cylinder", "expansion-limit 5 %", "expansion_limit", "5 %"), ("cylinder", "ree 31.5 cc", "ree", "31.5 cc"),
        ("source", "kind storage", "kind", "storage"), ("source", "kind compressor", "kind", "compressor"),
        ("source", "rated 6000 psi", "rated", "6000 psi"),
        ("source", "holds 150 L", "holds", "150 L"), ("source", "cartridge 67000 ft3", "cartridge", "67000 ft3"),
        ("source", "at st1", "site", "st1"),
        ("department", "zone Asia/Tokyo", "zone", "Asia/Tokyo"),
        ("department", "rules us-dot", "rules", "[('us-dot', False)]"),
        ("department", 'rules "a/b.cylpack"', "rules", "[('a/b.cylpack', True)]"),
        ("department", "rules air", "rules", "[('air', False)]"),
        ("department", "usual-source comp", "usual_source", "comp"), ("site", 'contact "Ann"', "contact", "Ann"),
    ]  # fmt: skip

    @pytest.mark.parametrize("block, line, field, value", PROPERTIES, ids=[row[1] for row in PROPERTIES])
    def test_each_fills_its_own_field(self, block, line, field, value):
        header = {
            "cylinder": "cylinder K-1",
            "source": 'source C9 "C"',
            "department": 'department "D"',
            "site": 'site S9 "S"',
        }[block]
        record, empty = read(f"{HEAD}{header}\n  {line}\n"), read(f"{HEAD}{header}\n")
        assert record.faults == []
        things = [r.department if block == "department" else r.declared[header.split()[1]] for r in (record, empty)]
        changed = {f for f in dir(things[0]) if not f.startswith("_") and f not in ("where", "span", "tags_on")}
        changed = {f for f in changed if getattr(things[0], f) != getattr(things[1], f)}
        assert changed == {field} and str(getattr(things[0], field)) == value
        span = things[0].where[line.split()[0]]
        assert (span.line, span.text) == (HEAD.count("\n") + 2, line)

    def test_the_first_of_two_is_kept_and_the_second_refused(self):
        record = read("cylinder K-1\n  made 2019-06\n  made 2020-01\n  life 15 years\n  life until 2040-01\n")
        card = record.cylinders["K-1"]
        assert (str(card.made), card.life, card.life_until) == ("2019-06", 180, None)
        assert [fault.span.line for fault in record.faults] == [3, 5] and record.damaged["K-1"] == record.faults

    def test_a_refused_one_does_not_count_as_the_first(self):
        record = read("cylinder K-1\n  life 0 years\n  life 15 years\n  made 2019-13\n  made 2019-06\n")
        assert record.cylinders["K-1"].life == 180 and str(record.cylinders["K-1"].made) == "2019-06"
        assert [fault.text.split(";")[0] for fault in record.faults] == [
            "a period of 0 years",
            "there is no month 2019-13",
        ]

    def test_spans_and_packs_and_tags_may_be_repeated(self):
        record = read(
            'department "D"\n  rules a\n  rules b\nperson p "P"\n'
            "  fills 2020-01-01 until 2020-12-31\n  fills 2022-01-01\n"
            '  inspects 2020-01-01\ntester T "T"\n  authorized\n'
            "  authorized until 2028-03\ncylinder K\n  tag b\n  tag a\n"
        )
        assert record.faults == []
        assert record.department.rules == [("a", False), ("b", False)]
        assert record.people["p"].fills == [(date(2020, 1, 1), date(2020, 12, 31)), (date(2022, 1, 1), None)]
        assert record.testers["T"].authorized == [(None, None), (None, Month(2028, 3, 1))]
        assert record.cylinders["K"].tags == [Tag("b"), Tag("a")]

    def test_waivers_and_seals(self):
        record = read(
            f'{HEAD}waived a-rule for comp until 2026-12-31 by 7 "w\\"y"\n'
            f"sealed 2026-03-31 by wren 007 entries {DIGEST}\n"
        )
        (waiver,), (seal,) = record.waivers, record.seals
        assert waiver[1:] == ("a-rule", "comp", None, date(2026, 12, 31), "7", 'w"y')
        assert seal[1:] == (date(2026, 3, 31), "wren", 7, DIGEST)
        assert waiver.span.text.startswith("waived a-rule") and seal.span.text.endswith(DIGEST)


class TestAuthority:
    RECORD = read(
        'person p "P"\n  fills 2020-02-01 until 2020-12-31\n  fills 2022-01-01\nperson q "Q"\n'
        'tester A123 "A"\ntester B123 "B"\n  authorized 2020-02-10 until 2021-02\n'
        'tester C1 "C"\ntester d123 "D"\n  authorized\n'
    ).authority

    @pytest.mark.parametrize(
        "name, day, may",
        [
            ("p", date(2020, 1, 31), False), ("p", date(2020, 2, 1), True), ("p", date(2020, 12, 31), True),
            ("p", date(2021, 1, 1), False),
            ("p", date(2021, 12, 31), False), ("p", date(2022, 1, 1), True), ("p", date(9999, 12, 31), True),
            ("q", date(2022, 1, 1), False),
            ("nobody", date(2022, 1, 1), None), (None, date(2022, 1, 1), None),
        ],
    )  # fmt: skip
    def test_who_may_fill(self, name, day, may):
        assert self.RECORD.may_fill(name, day) is may

    @pytest.mark.parametrize(
        "name, day, may",
        [
            ("A123", date(1990, 1, 1), True), ("B123", date(2020, 2, 9), False), ("B123", date(2020, 2, 10), True),
            ("B123", date(2021, 2, 28), True), ("B123", date(2021, 3, 1), False), ("C1", date(2020, 2, 10), False),
            ("d123", date(2020, 2, 10), False), ("Z999", date(2020, 2, 10), False), ("p", date(2020, 2, 10), False),
            (None, date(2020, 2, 10), None),
            # Of a month, whether any day of it is within them.
            ("B123", Month(2020, 1, 1), False), ("B123", Month(2020, 2, 1), True), ("B123", Month(2021, 2, 1), True),
            ("B123", Month(2021, 3, 1), False),
        ],
    )  # fmt: skip
    def test_who_may_test(self, name, day, may):
        assert self.RECORD.may_test(name, day) is may

    @pytest.mark.parametrize("seed", range(20))
    def test_a_day_is_found_among_many_spans(self, seed):
        chance = random.Random(seed)
        days = [date(2026, 1, 28) + timedelta(days=number) for number in range(40)]
        spans = [sorted(chance.choices(days, k=2)) for _ in range(chance.randrange(6))]
        people = read('person p "P"\n' + "".join(f"  fills {first} until {last}\n" for first, last in spans)).authority
        for day in days:
            assert people.may_fill("p", day) is any(first <= day <= last for first, last in spans), day


class TestNames:
    KINDS = {
        "cylinder": "cylinder {}", "source": 'source {} "x"', "tester": 'tester {} "x"', "person": 'person {} "x"',
        "site": 'site {} "x"',
    }  # fmt: skip

    @pytest.mark.parametrize("one", KINDS)
    @pytest.mark.parametrize("other", KINDS)
    def test_no_two_of_anything_have_one_name(self, one, other):
        text = self.KINDS[one].format("X") + "\n" + self.KINDS[other].format("X") + "\n"
        assert faults_of(text) == [("name-taken", f"`X` is taken: 0.cyl:1 declares a {one} of that name")]

    def test_names_differ_by_case(self):
        assert faults_of("cylinder k-1\ncylinder K-1\n") == []

    def test_both_cards_of_one_name_are_read(self):
        record = read(
            'cylinder K-1\n  made 2019-06\n  2026-01-01 remarked "a"\n',
            'cylinder K-1\n  serial 4\n  2026-01-02 remarked "b"\n',
        )
        assert [entry.text for entry in record.entries["K-1"]] == ["a", "b"]
        assert record.cylinders["K-1"].serial is None and [fault.rule for fault in record.faults] == ["name-taken"]

    def test_serials_and_tags_are_taken_too(self):
        text = (
            "cylinder K-1\n  serial A\n  tag t\ncylinder K-2\n  serial A\n  tag u\n  tag t\ncylinder K-3\n  serial t\n"
        )
        assert [(fault.subject, fault.text, fault.span.line) for fault in read(text).faults] == [
            ("K-1", "serial `A` is also the serial of `K-2`", 2),
            ("K-1", "tag `t` is also the tag of `K-2`", 3),
            ("K-2", "serial `A` is also the serial of `K-1`", 5),
            ("K-2", "tag `t` is also the tag of `K-1`", 7),
        ]

    def test_a_serial_number_is_the_same_in_another_case(self):
        text = "cylinder K-1\n  serial TV-1a\ncylinder K-2\n  serial tv-1A\n"
        assert [fault.text for fault in read(text).faults] == [
            "serial `TV-1a` is also the serial of `K-2`", "serial `tv-1A` is also the serial of `K-1`",
        ]  # fmt: skip

    def test_each_of_many_cards_with_one_serial_is_told_once(self):
        text = "".join(f'cylinder K-{number}\n  serial "N/A"\n' for number in range(1, 5))
        assert [(fault.subject, fault.text[-4:-1]) for fault in read(text).faults] == [
            ("K-1", "K-2"), ("K-2", "K-1"), ("K-3", "K-1"), ("K-4", "K-1"),
        ]  # fmt: skip

    def test_each_card_is_told_once_of_a_tag_however_many_others_have_it(self):
        text = "cylinder K-1\n  tag t\n"
        for day in range(2, 5):
            text += f"cylinder K-{day}\n  tag t since 2026-01-0{day} until 2026-01-0{day}\n"
        assert [(fault.subject, fault.text[-4:-1]) for fault in read(text).faults] == [
            ("K-1", "K-2"), ("K-2", "K-1"), ("K-3", "K-1"), ("K-4", "K-1"),
        ]  # fmt: skip

    def test_one_tag_twice_on_one_card_is_no_matter(self):
        assert faults_of("cylinder K-1\n  tag t\n  tag t\n") == []

    def test_one_department_a_record(self):
        assert faults_of('department "A"\n', 'department "B"\n') == [
            ("name-taken", "a second department; a record has one")
        ]

    def test_an_unknown_name_is_told_once_at_its_first_place_with_how_many(self):
        record = read("fill sheet 2026-01-01\n  K-1  to 1 psi\n  K-1  to 2 psi\n", "2026-01-01 filled K-1 to 3 psi\n")
        ((fault),) = record.faults
        assert (fault.rule, fault.text) == ("unknown-name", "no card declares `K-1` (3 entries name it)")
        assert (fault.span.source.path, fault.span.line, fault.span.text) == ("0.cyl", 2, "K-1")
        assert fault.cure == "Correct the name, or open a card: cylinder K-1" and fault.subject == "K-1"

    @pytest.mark.parametrize(
        "clause", ["by x", "on x", "at x", 'struck 2026-01-02 by x "why"', 'late 2026-01-02 by x "why"']
    )
    def test_an_unknown_name_is_told_at_the_very_word(self, clause):
        text = f"cylinder K-1\n  2026-01-01 filled to 1 psi {clause}\n"
        (fault,) = read(text).faults
        assert (fault.rule, fault.span.start) == ("unknown-name", text.index(" x") + 1) and fault.span.text == "x"

    @pytest.mark.parametrize("words, name", [("at 85", "85 F or 85 C"), ("at 12C", "12 C"), ("at 12F", "12 F")])
    def test_a_number_after_at_may_have_been_a_temperature(self, words, name):
        (fault,) = read(f"cylinder K-1\n  2026-01-01 filled to 1 psi {words}\n").faults
        assert fault.cure.endswith(f"If it is a temperature, write {name}.")

    def test_declared_sites_of_digits_are_sites(self):
        assert (
            faults_of(
                'site 12C "x"\nsite 85 "x"\ncylinder K-1\n'
                "  2026-01-01 filled to 1 psi at 12C\n  2026-01-02 filled to 1 psi at 85\n"
            )
            == []
        )

    def test_a_card_may_be_found_by_tag(self):
        record = read("cylinder K-1\n  tag E2\ncylinder E3\n  tag K-1x\n")
        assert record.find_cylinder("E2").name == "K-1" and record.find_cylinder("E3").name == "E3"
        assert record.find_cylinder("e2") is None

    @pytest.mark.parametrize(
        "line, text",
        [
            ("moved comp to st1", "`moved` is an entry of a cylinder, and comp is a source"),
            ("gauged tank 1 psi", "`gauged` is an entry of a cylinder, and tank is a source"),
            ("air sample K-1 pass", "`air sample` is an entry of a source, and K-1 is a cylinder"),
            ("cartridge changed K-1", "`cartridge changed` is an entry of a source, and K-1 is a cylinder"),
            ("filled comp to 1 psi", "`filled` is an entry of a storage, and comp is a compressor, which holds no air"),
            ("emptied comp", "`emptied` is an entry of a storage, and comp is a compressor, which holds no air"),
        ],
    )
    def test_a_verb_of_something_else_is_refused_and_kept_as_damage(self, line, text):
        record = read(f"{HEAD}cylinder K-1\n2026-01-01 {line}\n")
        (fault,) = record.faults
        assert (fault.rule, fault.text, fault.span.text) == ("unreadable-line", text, f"2026-01-01 {line}")
        assert record.damaged[fault.subject] == [fault] and record.entry_count == 0

    @pytest.mark.parametrize("name", ["wren", "st1", "Z901"])
    def test_only_cylinders_and_sources_have_entries(self, name):
        (fault,) = read(f'{HEAD}2026-01-01 remarked {name} "x"\n').faults
        assert fault.rule == "unknown-name" and fault.text.endswith("not a cylinder or a source")


class TestDamage:
    """A line that cannot be read puts in doubt what it may be about, and only that."""

    def damaged(self, text: str) -> dict[str, list[int]]:
        record = read(f"{HEAD}cylinder K-1\ncylinder K-2\n{text}")
        assert all(fault in record.faults for faults in record.damaged.values() for fault in faults)
        first = HEAD.count("\n") + 2
        return {
            name: [fault.span.line - first for fault in faults] for name, faults in record.damaged.items() if faults
        }

    def test_on_a_card_its_cylinder(self):
        assert self.damaged("cylinder K-3\n  2026-01-01 filled K-1 by comp\n") == {"K-3": [2]}

    def test_on_a_sheet_or_loose_each_cylinder_and_source_it_names(self):
        assert self.damaged("fill sheet 2026-01-01\n  K-1 to 4500 on comp by wren\n") == {"K-1": [2], "comp": [2]}
        assert self.damaged("2026-01-01 filld K-2 to 4500 psi\n") == {"K-2": [1]}

    def test_under_a_broken_header_each_line_what_it_names(self):
        assert self.damaged("fill sheet 2026-02-30\n  K-1 to 1 psi\n  K-2 to 1 psi\n") == {"K-1": [2], "K-2": [3]}
        assert self.damaged("fill sheet 3/14/2026\n  K-1 to 1 psi\n  K-2 to 1 psi\n") == {"K-1": [2], "K-2": [3]}

    def test_what_names_nothing_that_has_entries_puts_none_in_doubt(self):
        assert self.damaged("2026-01-01 filld K-9 at st1 by wren\n") == {}


def test_the_order_of_files_makes_no_difference():
    texts = {
        "a.cyl": f'{HEAD}cylinder K-1\n  2026-01-01 remarked "a"\n  2026-01-01 remarked "b"\n',
        "b.cyl": "fill sheet 2026-01-01 at st1\n  K-1 to 1 psi\n  K-2 to 2 psi\n  K-9 to 3 psi\n",
        "c.cyl": '2026-01-01 remarked K-1 "c"\ncylinder K-2\n  serial 4\n  2026-01-01 emptid\n',
        "d.cyl": "cylinder K-2\n  serial 5\n",
    }
    records = [read_record([Source(path, texts[path]) for path in order]) for order in permutations(texts)]
    first = records[0]
    place = lambda fault: (fault.span.source.path, fault.span.start, fault.text)
    for record in records[1:]:
        assert difference(first, record) == ""
        assert sorted(map(place, record.faults)) == sorted(map(place, first.faults))
        for name in ("K-1", "K-2"):
            assert [plain_form(e) for e in in_order(record.entries[name]).entries] == [
                plain_form(e) for e in in_order(first.entries[name]).entries
            ]
    assert [plain_form(e)[11:] for e in in_order(first.entries["K-1"]).entries] == [
        "filled K-1 to 1 psi at st1", 'remarked K-1 "a"', 'remarked K-1 "b"', 'remarked K-1 "c"',
    ]  # fmt: skip


def test_reading_a_source_again_from_what_was_kept_gives_the_same_record():
    kept: dict = {}
    sources = [
        Source("a.cyl", f"{HEAD}cylinder K-1\n"),
        Source("b.cyl", "2026-01-01 filled K-1 to 1 psi by nils\n2026-01-01 filed K-1\n"),
    ]
    once = read_record(sources, read_before=kept)
    again = read_record(sources, read_before=kept)
    assert difference(once, again) == "" and once.faults == again.faults and once.entry_count == again.entry_count == 1
