"""
In what order the entries of one cylinder, or of one source, happened, and where nothing tells it.

What holds is grammar/FORMAT.md, "When, and in which order".
"""

from datetime import date, datetime, time, timedelta
from itertools import permutations, product
from types import SimpleNamespace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cylfile.history.order import _Blocks, in_order, told, told_pairs, weight
from cylfile.record.dates import Month, month_end
from cylfile.record.entries import plain_form
from cylfile.record.reader import read_record
from cylfile.text.source import Source

HEAD = 'site st1 "S"\nsource tank "T"\n  kind storage\n'
WORDS = {
    "filled": "to 1 psi", "gauged": "1 psi", "visual": "pass", "hydro": "pass", "moved": "to st1", "remarked": '"x"',
    "damaged": '"x"', "out of service": '"x"', "condemned": '"x"', "life extended": 'until 2030-01 "x"', "air sample": "pass",
}  # fmt: skip
DAY = "2026-05-01"


def entries_of(*texts: str, name: str = "K-1") -> list:
    """The entries of some files, in the order in which they stand."""
    record = read_record([Source(f"{number}.cyl", text) for number, text in enumerate([HEAD, *texts])])
    assert [fault.text for fault in record.faults if fault.rule != "unknown-name"] == []
    return sorted(record.entries[name], key=lambda entry: (entry.source.path, entry.start))


def card(*lines: str, name: str = "K-1") -> str:
    """A card with these lines; one that begins with no day is of DAY."""
    return f"cylinder {name}\n" + "".join(f"  {line if line[:4].isdigit() else f'{DAY} {line}'}\n" for line in lines)


def loose(verb: str, when: str = DAY, name: str = "K-1") -> str:
    return f"{when} {verb} {name} {WORDS.get(verb, '')}".rstrip() + "\n"


def entry_of(line: str) -> str:
    """A line of a card as a loose line in a file of its own."""
    (entry,) = entries_of(card(line))
    return plain_form(entry) + "\n"


def remarks(entries: list) -> list:
    return [entry.text for entry in entries]


class TestByTimesAndDays:
    def test_days_then_times(self):
        text = card('2026-05-02 remarked "c"', '2026-05-01 23:59 remarked "b"', '2026-05-01 remarked "x"', name="K-2")
        assert remarks(in_order(entries_of(text, name="K-2")).entries)[-1] == "c"
        other = [
            card('10:00 remarked "b"'),
            '2026-05-01 10:00:30 remarked K-1 "c"\n',
            '2026-04-30 remarked K-1 "a"\n# a file\n',
        ]
        order = in_order(entries_of(*other))
        assert remarks(order.entries) == ["a", "b", "c"] and order.untold == []

    def test_a_month_lies_before_and_after_other_months(self):
        order = in_order(
            entries_of(card(), loose("hydro", "2026-04"), loose("filled", "2026-05-01"), loose("gauged", "2026-03-31"))
        )
        assert [entry.verb for entry in order.entries] == ["gauged", "hydro", "filled"] and not order.untold

    def test_a_month_overlaps_its_days(self):
        order = in_order(
            entries_of(card(), loose("hydro", "2026-05"), loose("filled", "2026-05-01"), loose("gauged", "2026-05-31"))
        )
        ((untold),) = order.untold
        assert [entry.verb for entry in untold.bars_first] == ["filled", "gauged", "hydro"]
        assert [entry.verb for entry in untold.clears_first] == ["hydro", "filled", "gauged"]

    def test_the_same_time_tells_nothing(self):
        assert in_order(entries_of(card(), loose("filled", f"{DAY} 09:00"), loose("gauged", f"{DAY} 09:00"))).untold

    def test_nothing_tells_where_a_time_lies_in_a_day(self):
        assert in_order(entries_of(card(), loose("filled", f"{DAY} 09:00"), loose("gauged"))).untold


class TestByStanding:
    def test_on_a_card_and_on_loose_lines_without_a_gap(self):
        lines = ('remarked "b"', 'remarked "a"', 'remarked "c"')
        assert remarks(in_order(entries_of(card(*lines))).entries) == ["b", "a", "c"]
        text = "".join(f"{DAY} {line.replace('remarked', 'remarked K-1')}\n\n# and then\n" for line in lines)
        order = in_order(entries_of("cylinder K-1\n", text))
        assert remarks(order.entries) == ["b", "a", "c"] and not order.untold

    def test_of_one_time_they_happened_as_they_stand(self):
        lines = ('10:00 remarked "b"', '10:00 remarked "a"', '10:00 remarked "c"')
        order = in_order(entries_of(card(*lines)))
        assert remarks(order.entries) == ["b", "a", "c"] and not order.untold

    def test_on_one_sheet(self):
        order = in_order(entries_of("cylinder K-1\n", f"gauge sheet {DAY}\n  K-1 3 psi\n  K-1 2 psi\n"))
        assert [str(entry.reading) for entry in order.entries] == ["3 psi", "2 psi"] and not order.untold

    @pytest.mark.parametrize("between", ['site st9 "S"\n', "fill sheet 2026-05-01\n  K-2 to 1 psi\n"])
    def test_not_across_a_block(self, between):
        assert not in_order(entries_of("cylinder K-1\ncylinder K-2\n", loose("visual") + loose("filled"))).untold
        assert in_order(entries_of("cylinder K-1\ncylinder K-2\n", loose("visual") + between + loose("filled"))).untold

    def test_a_line_without_a_time_between_two_with_times(self):
        order = in_order(entries_of(card("09:00 filled to 1 psi", "emptied", "10:00 gauged 1 psi")))
        assert [entry.verb for entry in order.entries] == ["filled", "emptied", "gauged"] and not order.untold

    def test_what_is_told_of_two_pairs_is_told_of_the_third(self):
        order = in_order(entries_of(card("emptied", "10:00 visual pass"), loose("filled", f"{DAY} 11:00")))
        assert [entry.verb for entry in order.entries] == ["emptied", "visual", "filled"] and not order.untold

    def test_a_month_among_the_days_of_a_card(self):
        order = in_order(entries_of(card("2026-05-02 filled to 1 psi", "2026-05 hydro pass", "2026-05-09 emptied")))
        assert [entry.verb for entry in order.entries] == ["filled", "hydro", "emptied"] and not order.untold


class TestStandingThatContradicts:
    def test_times_outrank_it_and_it_tells_nothing_of_others(self):
        order = in_order(entries_of(card("10:00 filled to 1 psi", "09:00 gauged 1 psi", "emptied")))
        (untold,) = order.untold
        assert [entry.verb for entry in untold.bars_first] == ["gauged", "filled", "emptied"]
        assert [entry.verb for entry in untold.clears_first] == ["emptied", "gauged", "filled"]

    def test_only_what_contradicts_is_out_of_place(self):
        lines = ('10:00 remarked "b"', '09:00 remarked "a"', '11:00 remarked "c"', 'remarked "d"', '11:30 remarked "e"')
        order = in_order(entries_of(card(*lines)))
        # `d` stands below `c`, which stands where it belongs, and so after all of them.
        assert remarks(order.entries) == ["a", "b", "c", "d", "e"] and not order.untold

    def test_a_card_that_is_written_from_the_bottom_tells_nothing_of_a_day(self):
        lines = ("2026-05-03 emptied", "2026-05-02 visual pass", "2026-05-02 filled to 1 psi", "2026-05-01 emptied")
        assert len(in_order(entries_of(card(*lines))).untold) == 1

    def test_a_forgotten_line_at_the_end_leaves_other_days_alone(self):
        days = ("2026-05-02 visual pass", "2026-05-02 filled to 1 psi", "2026-05-03 emptied", "2026-04-01 emptied")
        assert not in_order(entries_of(card(*days))).untold
        # But whoever wrote `gauged` on that day may have meant it before what stands there already.
        assert in_order(entries_of(card(*days, "2026-05-02 gauged 1 psi"))).untold


def test_which_lines_of_a_block_are_out_of_place():
    """
    Those below a line of a later day, and those whose next line of another day is of an earlier one; a month is of
    another day than what does not lie in it. Every block of four lines, by a reading that looks at each pair.
    """
    days = [
        date(2026, 4, 30),
        Month(2026, 5, 1),
        date(2026, 5, 1),
        date(2026, 5, 31),
        date(2026, 6, 1),
        Month(2026, 6, 1),
    ]

    def last(day):
        return month_end(day) if isinstance(day, Month) else day

    for block in product(days, repeat=4):
        wrong = set()
        for number, day in enumerate(block):
            others = [other for other in block[number + 1 :] if last(other) < day or last(day) < other]
            is_below_later = any(last(day) < above for above in block[:number])
            if is_below_later or (others and last(others[0]) < day):
                wrong.add(number)
        entries = [SimpleNamespace(day=day, time=None) for day in block]
        found = set(_Blocks._out_of_place(entries))
        assert {number for number, entry in enumerate(entries) if id(entry) in found} == wrong, block


class TestEnteredService:
    def test_it_is_first_in_its_day(self):
        for lines in (("filled to 1 psi", "entered service"), ("00:00 filled to 1 psi", "entered service")):
            order = in_order(entries_of(card(*lines)))
            assert [entry.verb for entry in order.entries] == ["entered service", "filled"] and not order.untold
        order = in_order(entries_of(card("entered service"), loose("filled"), loose("visual", f"{DAY} 00:00")))
        assert order.entries[0].verb == "entered service"

    def test_it_is_first_in_its_month(self):
        order = in_order(entries_of(card("2026-05-01 filled to 1 psi"), loose("entered service", "2026-05")))
        assert [entry.verb for entry in order.entries] == ["entered service", "filled"] and not order.untold

    def test_it_is_not_first_in_the_month_of_another_line(self):
        assert in_order(entries_of(card("2026-05-09 entered service"), loose("hydro", "2026-05"))).untold
        order = in_order(entries_of(card("2026-05-01 entered service"), loose("hydro", "2026-05")))
        assert [entry.verb for entry in order.entries] == ["entered service", "hydro"] and not order.untold

    def test_it_is_after_all_of_the_day_before(self):
        others = [loose("hydro", "2026-05"), loose("filled", "2026-05-08"), loose("gauged", "2026-05-10")]
        ((untold),) = in_order(entries_of(card("2026-05-09 entered service"), *others)).untold
        for way in (untold.bars_first, untold.clears_first):
            assert [entry.verb for entry in way if entry.verb != "hydro"] == ["filled", "entered service", "gauged"]

    def test_unless_times_say_otherwise(self):
        order = in_order(entries_of(card("10:00 entered service", "09:00 filled to 1 psi")))
        assert [entry.verb for entry in order.entries] == ["filled", "entered service"] and not order.untold
        order = in_order(entries_of(card("10:00 entered service"), loose("filled"), loose("gauged", f"{DAY} 10:00")))
        assert order.entries[0].verb == "entered service"
        later = [loose("gauged", f"{DAY} {hour}:00") for hour in (11, 12)]
        order = in_order(entries_of(card("10:00 entered service"), loose("filled"), *later))
        assert order.entries[0].verb == "entered service", "of the times of its day its own is the first"


def test_lines_that_say_the_same_are_told_apart_by_what_stands_below_them():
    """So that the name of a file decides nothing."""
    same, *below = (loose(verb) for verb in ("remarked", "gauged", "moved"))
    one, other = (same + line for line in below)
    orders = [in_order(entries_of(card(), *files)).entries for files in ((one, other), (other, one))]
    assert list(map(plain_form, orders[0])) == list(map(plain_form, orders[1]))


@pytest.mark.parametrize(
    "line, what", [("damaged", -1), ("visual", 1), ("filled", 0), ("remarked", 0), ("out of service", -1), ("emptied", 1)]
)  # fmt: skip
def test_what_a_line_weighs_where_nothing_tells_the_order(line, what):
    (entry,) = entries_of(card(), loose(line))
    assert weight(entry) == what


def test_a_failed_inspection_bars_as_damage_does():
    assert [
        weight(entry) for entry in entries_of(card("visual fail", "hydro condemned", "hydro pass visual fail"))
    ] == [-1] * 3


class TestTwo:
    """`told` of a pair is what `in_order` has of the two alone."""

    LINES = (
        "entered service",
        "filled to 1 psi",
        "09:00 gauged 1 psi",
        "10:00 visual pass",
        "2026-05-02 emptied",
        "2026-05 hydro pass",
    )

    @pytest.mark.parametrize("apart", [False, True])
    def test_as_of_the_two(self, apart):
        for one, other in permutations(self.LINES, 2):
            entries = entries_of(card(one), entry_of(other)) if apart else entries_of(card(one, other))
            order = in_order(entries)
            which = told(*entries)
            if order.untold:
                assert which is None
            else:
                assert which == (-1 if order.entries[0] is entries[0] else 1), (one, other)
            assert told(*reversed(entries)) == (None if which is None else -which)

    def test_a_fill_and_the_entries_of_its_source(self):
        text = f"{DAY} air sample tank fail\n{DAY} filled K-1 to 1 psi on tank\n"
        (sample,), (fill,) = entries_of("cylinder K-1\n" + text, name="tank"), entries_of("cylinder K-1\n" + text)
        assert told(sample, fill) == -1
        (elsewhere,) = entries_of("cylinder K-1\n", "", loose("filled"))
        assert told(sample, elsewhere) is None


def test_pairs_that_only_standing_tells():
    entries = entries_of(card("09:00 filled to 1 psi", "emptied", "10:00 gauged 1 psi", "2026-05-02 visual pass"))
    found = [(one.verb, other.verb) for one, other in told_pairs(entries)]
    assert found == [("filled", "emptied"), ("emptied", "gauged")]
    assert told_pairs(entries_of(card("emptied"), loose("gauged"))) == []


def test_days_with_more_than_one_entry_are_given_besides():
    text = card("visual pass", "filled to 1 psi", "2026-05-02 filled to 1 psi", "2026-05-03 emptied")
    order = in_order(entries_of(text))
    assert [entry.day.day for entry in order.entries] == [1, 1, 2, 3]
    assert [[entry.verb for entry in day] for day in order.full_days] == [["visual", "filled"]]
    assert in_order([]).entries == []


def test_what_stands_alone_beside_a_month_is_no_full_day():
    lines = (
        "2026-03 hydro pass",
        "2026-05 hydro pass",
        "2026-05-09 emptied",
        "2026-06-30 emptied",
        "2026-07 hydro pass",
    )
    for block in (lines, lines[:3], lines[1:], lines[1:3]):
        full = in_order(entries_of(card(*block))).full_days
        assert [[entry.verb for entry in day] for day in full] == [["hydro", "emptied"]], block


# Generated days, against a second reading of the page that tries every order there is.

LINES = st.lists(
    st.tuples(
        st.sampled_from(("filled", "gauged", "visual", "damaged", "emptied", "hydro")),
        st.sampled_from(("", "", "08:00", "09:00", "10:00", "month")),
        st.integers(0, 2),
    ),
    min_size=2,
    max_size=6,
)


def dealt_out(lines: list, papers: list[int]) -> list[str]:
    """The lines dealt out to three blocks of loose lines, each in a file of its own; the files in an order of their names."""
    files = ["", "", ""]
    for number, (verb, when, block) in enumerate(lines):
        when = (
            "2026-05"
            if when == "month" and verb in ("visual", "hydro")
            else f"{DAY} {'' if when == 'month' else when}".strip()
        )
        files[papers[block]] += f'{loose(verb, when)[:-1]} remark "{number}"\n'
    return files


def span_of(entry) -> tuple[datetime, datetime]:
    if type(entry.day) is not date:
        return datetime(entry.day.year, entry.day.month, 1), datetime(
            entry.day.year, entry.day.month + 1, 1
        ) - timedelta(seconds=1)
    if entry.time is None:
        return datetime.combine(entry.day, time(0)), datetime.combine(entry.day, time(23, 59, 59))
    return (datetime.combine(entry.day, entry.time),) * 2


def all_orders(entries: list) -> list[tuple[str, ...]]:
    """Every order of the entries that keeps what is told of any two, by their remarks."""
    spans = {entry.remark: span_of(entry) for entry in entries}

    def by_time(one, other) -> bool:
        return spans[one.remark][1] < spans[other.remark][0]

    def one_block(one, other) -> bool:
        return one.source.path == other.source.path

    misplaced = {
        each.remark
        for above in entries
        for below in entries
        if one_block(above, below) and above.start < below.start and by_time(below, above)
        for each in (above, below)
    }

    def comes_first(one, other) -> bool:
        if by_time(one, other) or by_time(other, one):
            return by_time(one, other)
        return one_block(one, other) and one.start < other.start and not {one.remark, other.remark} & misplaced

    return [
        tuple(entry.remark for entry in order)
        for order in permutations(entries)
        if not any(comes_first(later, earlier) for at, later in enumerate(order) for earlier in order[:at])
    ]


@settings(deadline=None, max_examples=150)
@given(LINES, st.permutations([0, 1, 2]), st.randoms(use_true_random=False))
def test_a_day_as_a_whole(lines, papers, random):
    entries = entries_of("cylinder K-1\n", *dealt_out(lines, papers))
    order, possible = in_order(random.sample(entries, len(entries))), all_orders(entries)
    assert possible
    assert bool(order.untold) is (len(possible) > 1)
    if not order.untold:
        assert tuple(entry.remark for entry in order.entries) == possible[0]
        return
    for way, first in ((order.untold[-1].bars_first, -1), (order.untold[-1].clears_first, 1)):
        numbers = [entry.remark for entry in order.entries[: order.untold[-1].first]] + [entry.remark for entry in way]
        assert tuple(numbers) in possible
        pressing = [entry for entry in entries if weight(entry) == first]
        if len(pressing) == 1:
            # The one that presses forward is before all else that it may be before.
            (one,) = pressing
            for other in entries:
                if weight(other) == 0 and any(each.index(one.remark) < each.index(other.remark) for each in possible):
                    assert numbers.index(one.remark) < numbers.index(other.remark)


@settings(deadline=None, max_examples=100)
@given(LINES, st.permutations([0, 1, 2]))
def test_no_file_name_decides(lines, papers):
    def ways(names: list[int]) -> list:
        order = in_order(entries_of("cylinder K-1\n", *dealt_out(lines, names)))
        both = [
            (list(map(plain_form, each.bars_first)), list(map(plain_form, each.clears_first))) for each in order.untold
        ]
        return [both, None if order.untold else list(map(plain_form, order.entries))]

    assert ways([0, 1, 2]) == ways(papers)


@pytest.mark.parametrize("papers", [1, 2, 700])
def test_many_entries_of_one_day_are_no_burden(papers):
    verbs = ("filled", "visual", "damaged", "gauged", "emptied", "hydro")
    texts = ["" for _ in range(papers)]
    for number in range(4_200):
        when = f"{DAY} {number % 24:02}:{number // 24 % 60:02}" if number % 2 else DAY
        texts[number % papers] += loose(verbs[number % 6], when)
    order = in_order(entries_of("cylinder K-1\n", *texts))
    timed = [entry.time for entry in order.entries if entry.time is not None]
    assert len(order.entries) == 4_200 and timed == sorted(timed) and order.untold
