"""What cannot stand where it does in a cylinder's life, whatever the rules of the day."""

from datetime import date
from itertools import product

import pytest

from cylfile.judging.judge import judge
from cylfile.packs.layering import load_rules
from cylfile.record.reader import read_record
from cylfile.text.source import Source

# No packs: what is found comes from the core alone.
NO_PACKS, _ = load_rules([], lambda name: None)
AS_OF = date(2026, 12, 31)
HEAD = 'department "D"\nsite st1 "S"\nperson p "P"\n'
CORE = ("out-of-order-life", "filled-before-service", "never-entered-service", "same-entry-twice", "future-entry")
WORDS = {
    "entered": "entered service", "filled": "filled to 1 psi", "gauged": "gauged 1 psi", "moved": "moved to st1",
    "emptied": "emptied",
    "visual": "visual pass", "hydro": "hydro pass", "hydro condemned": "hydro condemned",
    "condemned": 'condemned "x"', "retired": "retired",
    "remarked": 'remarked "x"', "damaged": 'damaged "x"', "out": 'out of service "x"', "returned": "returned to service",
    "extended": 'life extended until 2040-01 "x"',
}  # fmt: skip


def found(*texts: str, as_of: date = AS_OF) -> list[tuple[str, int, str]]:
    """(rule, line, text) of what the core finds; line 1 is the first line of the first text."""
    sources = [Source(f"{number}.cyl", text) for number, text in enumerate(texts)]
    record = read_record([*sources, Source("z.cyl", HEAD)])
    assert record.faults == []
    return [(f.rule, f.span.line, f.text) for f in judge(record, NO_PACKS, as_of).findings if f.rule in CORE]


def card(*verbs: str, made: str = "", name: str = "K-1") -> str:
    """A card with one entry a day, from 2026-01-02 on."""
    days = (f"2026-{month:02}-{day:02}" for month in range(1, 13) for day in range(2, 28))
    head = [f"cylinder {name}", *([f"  made {made}"] if made else [])]
    return "\n".join([*head, *(f"  {day} {WORDS[verb]}" for day, verb in zip(days, verbs))]) + "\n"


class TestAfterTheEnd:
    @pytest.mark.parametrize("verb", WORDS)
    def test_after_retirement_only_notes_may_follow(self, verb):
        what = found(card("entered", "retired", "remarked", verb))
        assert [(rule, line) for rule, line, _ in what] == ([] if verb == "remarked" else [("out-of-order-life", 5)])
        if verb != "remarked":
            assert what[0][2].endswith("after it was retired (2026-01-03): only `remarked` may follow")
            assert WORDS[verb].startswith(what[0][2].split(" after")[0])

    @pytest.mark.parametrize("verb", WORDS)
    @pytest.mark.parametrize("end", ["condemned", "hydro condemned"])
    def test_after_condemnation_it_is_emptied_remarked_on_and_retired_only(self, verb, end):
        what = found(card("entered", end, verb))
        assert [(rule, line) for rule, line, _ in what] == (
            [] if verb in ("emptied", "remarked", "retired") else [("out-of-order-life", 4)]
        )
        if what:
            assert what[0][2].endswith(
                "after it was condemned (2026-01-03): only `emptied`, `remarked` and `retired` may follow"
            )

    def test_condemned_and_then_retired(self):
        what = found(card("entered", "condemned", "retired", "remarked", "filled"))
        assert what == [
            ("out-of-order-life", 6, "filled after it was retired (2026-01-04): only `remarked` may follow")
        ]

    @pytest.mark.parametrize("late", ["condemned", "hydro condemned", "retired"])
    def test_the_day_of_the_end_is_that_of_the_first_one(self, late):
        what = found(card("entered", "retired", late, "filled"))
        assert [text.split(" after ")[1] for _, _, text in what] == [
            "it was retired (2026-01-03): only `remarked` may follow"
        ] * 2

    def test_a_failed_test_ends_nothing(self):
        assert (
            found(
                "cylinder K-1\n  2026-01-02 entered service\n  2026-01-03 hydro fail\n"
                "  2026-01-04 visual fail\n  2026-01-05 filled to 1 psi\n"
            )
            == []
        )


class TestBeforeTheBeginning:
    @pytest.mark.parametrize("verb", WORDS)
    def test_before_it_entered_service_it_is_neither_filled_nor_gauged_nor_moved(self, verb):
        what = found(card(verb, "entered"))
        if verb in ("filled", "gauged", "moved"):
            assert what == [("filled-before-service", 2, f"{verb} before it entered service (2026-01-03)")]
        elif verb in ("condemned", "hydro condemned", "retired"):
            assert [(rule, line) for rule, line, _ in what] == [("out-of-order-life", 3)]
        else:
            assert what == []

    def test_every_fill_before_is_told(self):
        assert [
            line for _, line, _ in found(card("filled", "filled", "gauged", "entered", "filled", "entered", "filled"))
        ] == [2, 3, 4]

    @pytest.mark.parametrize("verb", WORDS)
    def test_before_it_was_made_there_is_nothing(self, verb):
        what = [text for rule, _, text in found(card(verb, made="2026-02")) if rule == "out-of-order-life"]
        assert len(what) == 1 and what[0].endswith("on 2026-01-02, before it was made (2026-02)")

    @pytest.mark.parametrize(
        "made, is_before", [("2026-01", False), ("2026-01-02", False), ("2026-01-03", True), ("2026-02", True)]
    )
    def test_the_month_it_was_made_counts_from_its_first_day(self, made, is_before):
        assert ("out-of-order-life" in [rule for rule, _, _ in found(card("entered", made=made))]) is is_before

    def test_every_fill_before_it_was_made_is_told_and_none_after(self):
        what = found(
            "cylinder K-1\n  made 2026-02\n  2026-01-02 entered service\n"
            "  2026-01-03 filled to 1 psi\n  2026-02-01 filled to 1 psi\n  2026-02-02 filled to 1 psi\n"
        )
        assert [line for _, line, _ in what] == [3, 4]

    @pytest.mark.parametrize("made, is_before", [("2026-01", False), ("2026-01-31", False), ("2026-02", True)])
    def test_a_month_is_before_it_was_made_only_where_all_of_it_is(self, made, is_before):
        what = found(f"cylinder K-1\n  made {made}\n  2026-01 hydro pass\n")
        assert [rule for rule, _, _ in what] == ["out-of-order-life"] * is_before


class TestNeverEntered:
    @pytest.mark.parametrize("verb", WORDS)
    def test_what_shows_use(self, verb):
        what = found(card("remarked", verb, "remarked"))
        text = "in use since 2026-01-03, never entered service; counts as in it"
        assert what == (
            [("never-entered-service", 1, text)] if verb in ("filled", "gauged", "moved", "emptied") else []
        )

    def test_told_once_with_the_first_use(self):
        assert [text[:24] for _, _, text in found(card("visual", "emptied", "filled", "gauged"))] == [
            "in use since 2026-01-03,"
        ]

    def test_not_of_one_that_entered_at_any_time(self):
        assert "never-entered-service" not in [rule for rule, _, _ in found(card("filled", "entered"))]

    def test_struck_entries_show_nothing(self):
        assert found('cylinder K-1\n  2026-01-02 filled to 1 psi struck 2026-01-03 by p "x"\n') == []


class TestTwice:
    def test_on_a_card_and_a_sheet(self):
        what = found(
            "cylinder K-1\n  2026-01-02 entered service\n  2026-01-03 09:00 filled to 1 psi at st1\n",
            "fill sheet 2026-01-03 at st1\n  09:00 K-1 to 1psi\n",
        )
        assert what == [("same-entry-twice", 2, "same entry as 0.cyl:3")]

    @pytest.mark.parametrize("clause", ['remark "a"', "by p", "at st1"])
    def test_not_where_they_say_something_different(self, clause):
        assert (
            found(
                f"cylinder K-1\n  2026-01-02 entered service\n"
                f"  2026-01-03 filled to 1 psi\n  2026-01-03 filled to 1 psi {clause}\n"
            )
            == []
        )

    def test_three_times_is_told_twice(self):
        text = "cylinder K-1\n  2026-01-02 entered service\n" + "  2026-01-03 filled to 1 psi\n" * 3
        assert [(line, words) for _, line, words in found(text)] == [
            (4, "same entry as 0.cyl:3"), (5, "same entry as 0.cyl:3"),
        ]  # fmt: skip

    def test_struck_or_on_another_day_is_not_twice(self):
        text = (
            'cylinder K-1\n  2026-01-02 entered service\n  2026-01-03 visual pass struck 2026-01-04 by p "x"\n'
            "  2026-01-03 visual pass\n  2026-01-04 visual pass\n"
        )
        assert found(text) == []


class TestTheFuture:
    TEXT = (
        "cylinder K-1\n  2026-01-02 entered service\n  2026-03-01 filled to 1 psi\n"
        "  2026-03-02 retired\n  2026-03-03 filled to 1 psi\n"
    )

    def test_what_is_dated_after_the_day_is_told_once_and_has_no_effect(self):
        what = found(self.TEXT, as_of=date(2026, 2, 28))
        assert what == [
            (
                "future-entry",
                3,
                "dated 2026-03-01, after the day judged for (2026-02-28), and 2 more after it",
            )
        ]

    def test_one_more_is_told_and_none_is_not(self):
        said = {day: found(self.TEXT, as_of=date(2026, 3, day))[0][2] for day in (1, 2)}
        assert said[1].endswith("(2026-03-01), and 1 more after it") and said[2].endswith("(2026-03-02)")

    def test_the_day_itself_counts(self):
        assert [(rule, line) for rule, line, _ in found(self.TEXT, as_of=date(2026, 3, 2))] == [("future-entry", 5)]
        assert [(rule, line) for rule, line, _ in found(self.TEXT)] == [("out-of-order-life", 5)]


def expected(verbs: tuple[str, ...]) -> list[int]:
    """Which of the entries of a life are out of order, told straight from the rule."""
    wrong = []
    for at, verb in enumerate(verbs):
        before, after = verbs[:at], verbs[at + 1 :]
        retired = "retired" in before
        condemned = "condemned" in before or "hydro condemned" in before
        too_soon = verb in ("filled", "gauged", "moved") and "entered" not in before and "entered" in after
        may_follow = ("remarked",) if retired else ("emptied", "remarked", "retired")
        too_late = (retired or condemned) and verb not in may_follow
        wrong += [at] * (too_soon + too_late)
    return wrong


def test_all_short_lives():
    """Every life of four entries of these kinds, as cylinders of one record."""
    kinds = ("entered", "filled", "gauged", "emptied", "hydro condemned", "condemned", "retired", "remarked")
    lives = list(product(kinds, repeat=4))
    source = Source("a.cyl", "".join(card(*verbs, name=f"K-{number}") for number, verbs in enumerate(lives)))
    told: dict[str, list[int]] = {}
    unentered: set[str] = set()
    record = read_record([source, Source("z.cyl", HEAD)])
    for finding in judge(record, NO_PACKS, AS_OF).findings:
        if finding.rule in ("out-of-order-life", "filled-before-service"):
            told.setdefault(finding.subject, []).append(finding.day.day - 2)
        elif finding.rule == "never-entered-service":
            unentered.add(finding.subject)
    for number, verbs in enumerate(lives):
        assert sorted(told.get(f"K-{number}", [])) == expected(verbs), verbs
        is_used = any(verb in ("filled", "gauged", "emptied") for verb in verbs)
        assert (f"K-{number}" in unentered) == (is_used and "entered" not in verbs), verbs
