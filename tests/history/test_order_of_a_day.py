"""In what order the entries of one cylinder, or of one source, happened."""

from itertools import permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cylfile.history.order import in_order
from cylfile.record.entries import ENTRY_KINDS
from cylfile.record.reader import read_record
from cylfile.record.vocabulary import CYLINDER_VERBS, SOURCE_VERBS
from cylfile.text.source import Source

# As FORMAT.md has it: what is taken to come first where a time is not written.
ORDER = (
    "entered service", "returned to service", "visual", "hydro", "serviced", "life extended", "cartridge changed", "gauge checked",
    "air sample", "filled", "gauged", "remarked", "moved", "emptied", "damaged", "out of service", "condemned", "retired",
)  # fmt: skip
_REST = {
    "filled": "to 1 psi", "gauged": "1 psi", "visual": "pass", "hydro": "pass", "moved": "to st1",
    "air sample": "pass", "remarked": '"x"', "serviced": '"x"',
    "damaged": '"x"', "out of service": '"x"', "condemned": '"x"', "life extended": 'until 2030-01 "x"',
}  # fmt: skip
_HEAD = 'site st1 "S"\ncylinder K-1\nsource tank "T"\n  kind storage\n'


def line(verb: str, time: str = "", day: str = "2026-05-01", name: str = "K-1") -> str:
    return " ".join(filter(None, [day, time, verb, name, _REST.get(verb, "")])) + "\n"


def ordered(*texts: str, name: str = "K-1") -> list:
    """The entries of lines, each text a file of its own, in their order."""
    record = read_record([Source(f"{number}.cyl", text) for number, text in enumerate([_HEAD, *texts])])
    assert record.faults == []
    return in_order(record.entries[name])[0]


def verbs(*texts: str, name: str = "K-1") -> list[str]:
    return [entry.verb for entry in ordered(*texts, name=name)]


def test_every_verb_has_its_place():
    assert sorted(ORDER) == sorted(kind.verb for kind in ENTRY_KINDS.values())


@pytest.mark.parametrize("name, known", [("K-1", CYLINDER_VERBS), ("tank", SOURCE_VERBS["storage"])])
def test_of_any_two_without_a_time_the_kind_decides_wherever_they_stand(name, known):
    for one, other in permutations([verb for verb in ORDER if verb in known], 2):
        wanted = sorted([one, other], key=ORDER.index)
        assert verbs(line(one, name=name) + line(other, name=name), name=name) == wanted
        assert verbs(line(one, name=name), line(other, name=name), name=name) == wanted


@pytest.mark.parametrize("timed", [verb for verb in ORDER if verb in CYLINDER_VERBS])
def test_of_one_with_a_time_and_one_without_the_kind_decides(timed):
    for untimed in CYLINDER_VERBS:
        if untimed != timed:
            wanted = sorted([timed, untimed], key=ORDER.index)
            for time in ("00:00", "23:59:59"):
                assert verbs(line(timed, time) + line(untimed)) == wanted
                assert verbs(line(untimed) + line(timed, time)) == wanted


def test_of_two_with_a_time_the_time_decides():
    for one, other in permutations(CYLINDER_VERBS, 2):
        assert verbs(line(one, "09:00:01") + line(other, "09:00")) == [other, one]
        assert verbs(line(one, "09:00"), line(other, "09:01")) == [one, other]


def test_of_two_at_one_time_the_kind_decides():
    for one, other in permutations(CYLINDER_VERBS, 2):
        assert verbs(line(one, "09:00") + line(other, "09:00")) == sorted([one, other], key=ORDER.index)


@pytest.mark.parametrize("verb", ORDER)
@pytest.mark.parametrize("time", ["", "09:00"])
def test_of_one_kind_the_place_in_the_files_decides(verb, time):
    name = "K-1" if verb in CYLINDER_VERBS else "tank"
    one, other = line(verb, time, name=name), line(verb, time, name=name).replace("\n", ' remark "second"\n')
    assert [entry.remark for entry in ordered(one + other, name=name)] == [None, "second"]
    assert [entry.remark for entry in ordered(other + one, name=name)] == ["second", None]
    assert [entry.remark for entry in ordered(other, one, name=name)] == ["second", None]


def test_of_one_kind_the_place_decides_though_the_lines_have_other_clauses():
    """Lines of one shape are made into entries together; it shows in no order."""
    text = "cylinder K-2\n" + "".join(
        f"  2026-05-01 visual {outcome}\n"
        for outcome in ("pass", 'fail remark "a"', "pass", 'fail remark "b"', "fail", "pass")
    )
    entries = ordered(text, name="K-2")
    assert [entry.start for entry in entries] == sorted(entry.start for entry in entries)
    assert [entry.outcome for entry in entries] == ["pass", "fail", "pass", "fail", "fail", "pass"]


def test_days_come_before_all_else():
    text = (
        line("retired", day="2026-05-01")
        + line("entered service", "00:00", day="2026-04-30")
        + line("visual", day="2026-05-02")
    )
    assert verbs(text) == ["entered service", "retired", "visual"]


def test_days_with_more_than_one_entry_are_given_besides():
    text = line("remarked", day="2026-05-03") + line("remarked") + line("visual") + line("filled", day="2026-05-02")
    record = read_record([Source("a", _HEAD + text)])
    entries, full_days = in_order(record.entries["K-1"])
    assert [entry.day.day for entry in entries] == [1, 1, 2, 3]
    assert [[entry.verb for entry in day] for day in full_days] == [["visual", "remarked"]]
    assert in_order([]) == ([], [])


DAYS = st.lists(
    st.tuples(st.sampled_from(CYLINDER_VERBS), st.sampled_from(["", "", "08:00", "09:00", "09:00:30", "17:30"])),
    max_size=9,
)


@settings(deadline=None)
@given(DAYS, st.randoms(use_true_random=False))
def test_a_day_as_a_whole(day, random):
    """
    Times are in order, kinds without a time are in order, and each without one stands as early
    among those with one as its kind allows. The order in which the entries come in is no matter.
    """
    entries = ordered("".join(line(verb, time) for verb, time in day))
    shuffled = random.sample(entries, len(entries))
    assert [entry.start for entry in in_order(shuffled)[0]] == [entry.start for entry in entries]
    rank = {id(entry): (ORDER.index(entry.verb), entry.start) for entry in entries}
    timed = [entry for entry in entries if entry.time is not None]
    untimed = [entry for entry in entries if entry.time is None]
    assert [(entry.time, rank[id(entry)]) for entry in timed] == sorted(
        (entry.time, rank[id(entry)]) for entry in timed
    )
    assert [rank[id(entry)] for entry in untimed] == sorted(rank[id(entry)] for entry in untimed)
    for entry in untimed:
        before = [other for other in timed if entries.index(other) < entries.index(entry)]
        assert all(rank[id(other)] < rank[id(entry)] for other in before)
        rest = timed[len(before) :]
        assert not rest or rank[id(rest[0])] > rank[id(entry)]


def test_many_entries_of_one_day_are_no_burden():
    text = "".join(
        line(verb, f"{n % 24:02}:{n // 24 % 60:02}" if n % 2 else "") for n, verb in enumerate(CYLINDER_VERBS * 500)
    )
    entries = ordered(text)
    assert len(entries) == 500 * len(CYLINDER_VERBS) and [e for e in entries if e.time] == sorted(
        (e for e in entries if e.time), key=lambda e: e.time
    )


def test_what_is_struck_has_its_place_like_all_else():
    person = 'person p "P"\n'
    text = person + line("retired").replace("\n", ' struck 2026-05-02 by p "x"\n') + line("visual")
    assert verbs(text) == ["visual", "retired"]
