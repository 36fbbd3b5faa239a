"""What the air log says of a fill: its source, samples, cartridge, and what a storage gave."""

from datetime import date, time
from types import SimpleNamespace

import pytest

from cylfile.history.facts import FACTS
from cylfile.history.figures import Figures
from cylfile.history.life import Life
from cylfile.history.sources.air_changes import differing_fills
from cylfile.history.sources.air_facts import over_rated
from cylfile.history.sources.air_log import AirLog
from cylfile.history.sources.air_path import lets_out
from cylfile.history.sources.source_life import SourceLife
from cylfile.history.sources.source_log import SourceLog
from cylfile.history.totals import Total, totals_of
from cylfile.judging.by_itself import air_log
from cylfile.judging.fill_verdict import fill_in_mind
from cylfile.judging.judge import judge
from cylfile.packs.layering import load_rules
from cylfile.record.reader import read_record
from cylfile.text.source import Source
from support.air_records import LATE, FillAir, air_rules, findings, last_fill, log_of, record_of
from support.messy_records import messy_record

FT3 = 28316.846592
SAMPLED = """\
source C1 "Compressor"
  kind       compressor
  rated      6000 psi
  cartridge  67000 ft3
  2024-01-05  cartridge changed
  2024-01-05  air sample pass  CO 1 ppm
{more}source B1 "Bank"
  kind   storage
  rated  5000 psi
  holds  50 L
{bank}cylinder T-1
  holds  6.8 L
{fills}"""


def sampled(fills: str, more: str = "", bank: str = ""):
    return last_fill(text_of(fills, more, bank))


def text_of(fills: str, more: str = "", bank: str = "") -> str:
    def lines(text: str) -> str:
        return "".join(f"  {line.strip()}\n" for line in text.split("\n") if line.strip())

    return SAMPLED.format(fills=lines(fills), more=lines(more), bank=lines(bank))


def test_the_source_and_its_rating():
    fill = sampled("2024-01-06  filled  to 4500 psi  on C1")
    assert (fill.then.kind, fill.then.pressure, fill.then.delivers) == ("compressor", None, 6000)
    fill = sampled("2024-01-06  filled  to 4500 psi  on B1", bank="2024-01-05  filled  to 4800 psi  on C1")
    assert (fill.then.kind, fill.then.pressure, fill.then.delivers) == ("storage", 4800, 4800)
    fill = sampled("2024-01-06  filled  to 4500 psi  on B1", bank="2024-01-05  filled  to 5800 psi  on C1")
    assert fill.then.delivers == 5000
    fill = sampled("2024-01-07  filled  to 4500 psi  on B1", bank="2024-01-05 filled to 4800 psi\n2024-01-06 emptied")
    assert fill.then.delivers == 0


def test_a_fill_without_a_source_or_of_a_strange_one():
    fill = sampled("2024-01-06  filled  to 4500 psi")
    known = (
        fill.then.kind,
        fill.then.rated,
        fill.then.pressure,
        fill.then.delivers,
        fill.supply.sample_day,
        fill.cartridge_used,
        fill.storage_given,
    )
    assert known == (None,) * 7 and fill.supply.sample_failed_day is None


@pytest.mark.parametrize(
    "when, more, strict, lenient",
    [
        ("2024-01-06", "", date(2024, 1, 5), date(2024, 1, 5)),
        ("2024-01-04", "", None, None),
        ("2024-01-05", "", None, date(2024, 1, 5)),
        ("2024-01-05 08:00", "", None, date(2024, 1, 5)),
        ("2024-02-06 08:00", "2024-02-06 07:59  air sample pass", date(2024, 2, 6), date(2024, 2, 6)),
        ("2024-02-06 08:00", "2024-02-06 08:01  air sample pass", date(2024, 1, 5), date(2024, 1, 5)),
        ("2024-02-06", "2024-02-06 08:01  air sample pass", date(2024, 1, 5), date(2024, 2, 6)),
        ("2024-02-06", "2024-02-05  air sample fail", date(2024, 1, 5), date(2024, 1, 5)),
        (
            "2024-02-06",
            '2024-02-05  air sample pass  struck 2024-02-07 by x "typo"',
            date(2024, 1, 5),
            date(2024, 1, 5),
        ),
    ],
)
def test_the_last_good_sample_before_a_fill_in_either_order_of_what_nothing_tells(when, more, strict, lenient):
    text = text_of(f"{when}  filled  to 4500 psi  on C1", more) + 'person x "X"\n'
    record, log = log_of(text)
    (fill,) = record.entries["T-1"]
    assert (log.at(fill).sample_day, log.lenient.at(fill).sample_day) == (strict, lenient)
    assert bool(log.untold(fill)) == (strict != lenient)


def test_a_storage_without_samples_goes_by_its_compressors():
    bank = "2024-01-06  filled  to 4800 psi  on C1"
    fill = sampled("2024-01-07  filled  to 4500 psi  on B1", bank=bank)
    assert (fill.supply.sample_day, fill.supply.sampled_source) == (date(2024, 1, 5), "C1")
    fill = sampled("2024-01-07  filled  to 4500 psi  on B1", bank=bank + "\n2024-01-02  air sample pass")
    assert (fill.supply.sample_day, fill.supply.sampled_source) == (date(2024, 1, 2), "B1")
    # One that fills itself, which a slip of the pen can say, is not followed round and round.
    assert (
        sampled(
            "2024-01-07  filled  to 4500 psi  on B1", bank="2024-01-06  filled  to 4800 psi  on B1"
        ).supply.sample_day
        is None
    )


def test_two_storages_that_fill_each_other_are_not_followed_round_and_round():
    text = (
        'source B1 "One"\n  kind storage\n  2024-01-05 filled to 4800 psi on B2\n'
        'source B2 "Two"\n  kind storage\n  2024-01-04 filled to 4800 psi on B1\n'
        'source B3 "Three"\n  kind storage\n  2024-01-06 filled to 4800 psi on B1\n'
        "cylinder T-1\n  2024-01-07 filled to 4500 psi on B3\n"
    )
    assert last_fill(text).supply.sampled_source == "B2" and last_fill(text).supply.sample_day is None


def test_air_through_a_cartridge_counts_from_its_change_and_for_storages_too():
    one = sampled("2024-01-06  filled  from 0 psi  to 4500 psi  at 70 F  on C1")
    assert one.then.cartridge_day == date(2024, 1, 5)
    assert one.cartridge_used / FT3 == pytest.approx(65.87, abs=0.01)
    before = "2024-01-04  filled  from 0 psi  to 4500 psi  at 70 F  on C1\n"
    two = sampled(before + "2024-01-06  filled  from 0 psi  to 4500 psi  at 70 F  on C1")
    assert two.cartridge_used == one.cartridge_used
    bank = "2024-01-06  filled  from 4000 psi  to 5000 psi  at 70 F  on C1"
    with_bank = sampled("2024-01-07  filled  from 0 psi  to 4500 psi  at 70 F  on C1", bank=bank)
    assert with_bank.cartridge_used > one.cartridge_used + 50 * FT3
    # Its next change starts anew.
    new = sampled(
        before + "2024-02-06  filled  from 0 psi  to 4500 psi  at 70 F  on C1", "2024-02-05  cartridge changed"
    )
    assert (new.then.cartridge_day, new.cartridge_used) == (date(2024, 2, 5), one.cartridge_used)


def test_a_storage_without_its_volume_leaves_the_cartridge_unknown():
    text = text_of("2024-01-07  filled  to 4500 psi  on C1", bank="2024-01-06  filled  to 5000 psi  on C1")
    assert last_fill(text.replace("  holds  50 L\n", "")).cartridge_used is None


def test_fills_that_were_assumed_are_counted():
    fill = sampled(
        "2024-01-06  filled  to 4500 psi  on C1\n2024-01-07  filled  from 500 psi  to 4500 psi  at 70 F  on C1"
    )
    assert fill.cartridge_assumed == 1


def test_a_fill_that_lost_air_gives_none_back():
    fill = sampled(
        "2024-01-06  filled  from 0 psi  to 4500 psi  at 70 F  on C1\n2024-01-07  filled  from 4500 psi  to 900 psi  at 70 F  on C1"
    )
    assert fill.free_air < 0
    assert fill.cartridge_used / FT3 == pytest.approx(65.87, abs=0.01)


def test_a_fill_in_mind_counts_on_top():
    record, log = log_of(text_of("2024-01-06  filled  from 0 psi  to 4500 psi  at 70 F  on C1"))
    written = record.entries["T-1"][0]
    life = Life(record.cylinders["T-1"], Figures(rated=4500.0), record.authority, date(2024, 1, 7), log)
    in_mind = fill_in_mind(life)
    assert FillAir(log, in_mind).cartridge_used is None
    on_source = in_mind._replace(on="C1", from_pressure=written.from_pressure, at_temperature=written.at_temperature)
    assert FillAir(log, on_source).cartridge_used == pytest.approx(2 * FillAir(log, written).cartridge_used, rel=1e-6)


def test_entries_to_come_have_no_effect():
    record, log = log_of(
        text_of("2024-01-06  filled  to 4500 psi  on C1", more="2024-03-05  air sample fail"), as_of=date(2024, 2, 1)
    )
    assert log.sources["C1"].latest.sample is [e for e in record.entries["C1"] if e.verb == "air sample"][0]


def test_what_a_storage_gave_since_it_was_filled():
    fills = "2024-01-06  filled  from 0 psi  to 2000 psi  at 70 F  on B1\n2024-01-08  filled  to 2000 psi  on B1"
    fill = sampled(fills, bank="2024-01-05  filled  to 5000 psi  at 70 F  on C1")
    # The second fill does not say what it began with, so it counts nothing.
    assert fill.storage_given == sampled(fills.split("\n")[0], bank="2024-01-05  filled  to 5000 psi").storage_given > 0
    assert fill.then.storage_filled_day == date(2024, 1, 5)
    assert sampled(fills, bank="2024-01-05  filled  to 5000 psi\n2024-01-07  filled  to 5000 psi").storage_given == 0
    assert sampled(fills).then.storage_held is None


# Findings, end to end.


def test_what_is_not_written_down_is_asked_for():
    text = 'source C1 "C"\n  kind  compressor\ncylinder T-1\n  2024-01-06  filled  to 4500 psi  on C1\n'
    found = judge(record_of(text), air_rules(), date(2024, 1, 6)).findings
    asked = {finding.text.split()[0]: finding.advice for finding in found if finding.rule == "cannot-judge"}
    assert asked == {
        "sample-day": "Write an `air sample pass` entry of the source.",
        "cartridge-day": "Write a `cartridge changed` entry of the source.",
        "cartridge-rated": "Write `cartridge` on the source.",
        "source-rated": "Write `rated` on the source.",
    }
    without = judge(record_of(text.replace("  on C1", "")), air_rules(), date(2024, 1, 6)).findings
    (finding,) = [finding for finding in without if finding.rule == "cannot-judge"]
    assert finding.text.startswith("source not known") and "`on`" in finding.advice


def test_future_and_double_entries_of_a_source_are_reported():
    text = text_of(
        "",
        more='2024-02-05  air sample pass  CO 1 ppm\n2024-02-05  air sample pass  CO 1 ppm\n2025-03-01  remarked "x"',
    )
    rules = ("future-entry", "same-entry-twice")
    assert findings(text, date(2024, 3, 1), *rules) == [("future-entry", "C1"), ("same-entry-twice", "C1")]


def test_a_gauge_that_nobody_read():
    """A fill to an unread pressure is assumed to have reached 4500 psi, a storage its rating, and tells no pressure."""
    cylinder = sampled("2024-01-06  filled  from 0 psi  to unread  at 70 F  on C1")
    assert (
        cylinder.cartridge_used == sampled("2024-01-06  filled  from 0 psi  to 4500 psi  at 70 F  on C1").cartridge_used
    )
    assert cylinder.cartridge_assumed == 1
    fill = "2024-01-07  filled  from 0 psi  to 4500 psi  at 70 F  on {}"
    unread, read = (
        "2024-01-06  filled  from 0 psi  to unread  on C1",
        "2024-01-06  filled  from 0 psi  to 5000 psi  on C1",
    )
    of_compressor, of_bank = sampled(fill.format("C1"), bank=unread), sampled(fill.format("B1"), bank=unread)
    assert of_compressor.cartridge_used == sampled(fill.format("C1"), bank=read).cartridge_used
    assert (of_bank.then.pressure, of_bank.then.delivers, of_bank.then.storage_held) == (None, 5000, None)


@pytest.mark.parametrize(
    "written, over",
    [
        ("5000 psi", 0),
        ("345 bar", 0),
        ("5001 psi", 0),
        ("5002 psi", 1),
        ("34.5 MPa", 0),
        ("7500 psi", 2499),
        ("unread", None),
    ],
)
def test_how_far_a_storage_is_over_its_rating(written, over):
    record, log = log_of(text_of("", bank=f"2024-01-06  filled  to {written}  on C1"))
    life = SourceLife(record.air_sources["B1"], date(2024, 1, 7), log)
    found = over_rated(life, record.entries["B1"][0])
    assert found == (over if over is None else pytest.approx(over, abs=1e-3))


@pytest.mark.parametrize(
    "rated, said", [("345 bar", "rated 345.0 bar"), ("5000 psi", "rated 5000 psi"), ("34.5 MPa", "rated 345.0 bar")]
)
def test_a_source_is_told_in_the_unit_that_it_is_rated_in(rated, said):
    text = text_of("", bank="2024-01-06  filled  to 400 bar  on C1").replace("rated  5000 psi", f"rated  {rated}")
    (finding,) = (
        each
        for each in judge(record_of(text), air_rules(), date(2024, 1, 6)).findings
        if each.rule == "source-over-rated"
    )
    assert said in finding.text


def test_a_storage_emptied_or_found_bad_on_the_day_of_a_fill_harms_it_only_where_that_came_first():
    def either_way(bank: str):
        record, log = log_of(text_of("2024-01-06  filled  to 4500 psi  on B1", bank=bank))
        (fill,) = record.entries["T-1"]
        return log.at(fill), log.lenient.at(fill)

    filled = "2024-01-05  filled  to 4800 psi  on C1\n"
    assert [air.then.pressure for air in either_way(filled + "2024-01-06  emptied")] == [0.0, 4800]
    found_bad = either_way(filled + "2024-01-06  air sample fail  CO 20 ppm")
    assert [air.sampled_source for air in found_bad] == ["B1", "C1"]


def test_what_either_figure_of_a_fill_leaves_open_is_no_loss():
    """310 bar are 4496.2 psi and anything up to 4503.4, so that 4500 psi may have been no more."""
    fills = "2024-01-06  filled  from 4500 psi  to 310 bar\n2024-01-07  filled  from 310 bar  to 4490 psi\n"
    assert findings(text_of(fills), date(2024, 1, 8), "fill-lost-air") == []
    assert (
        len(findings(text_of("2024-01-06  filled  from 4500 psi  to 309 bar"), date(2024, 1, 8), "fill-lost-air")) == 1
    )


def test_a_fill_is_told_the_last_gauge_check_before_it_and_the_free_air_that_it_put_in():
    fill = sampled(
        "2024-01-06  filled  from 0 psi  to 4500 psi  at 70 F  on C1",
        '2024-01-03  gauge checked "true"\n2024-01-04  gauge checked "true"\n2024-01-07  gauge checked "true"',
    )
    asked = {
        name: FACTS[name].value(SimpleNamespace(air=fill.log), fill.fill) for name in ("gauge-check-day", "free-air")
    }
    assert asked["gauge-check-day"] == date(2024, 1, 4)
    assert asked["free-air"] / FT3 == pytest.approx(65.87, abs=0.01)


def test_a_fill_that_begins_at_one_psi_does_not_let_out_what_was_there():
    """`0 psi` says that the gauge was read and it was empty; anything more is air from before."""
    text = (
        "cylinder K-1\n  2024-01-06  filled  from 0 psi  to 4500 psi\n  2024-01-07  filled  from 1 psi  to 4500 psi\n"
    )
    assert [lets_out(fill) for fill in record_of(text).entries["K-1"]] == [True, False]


FILLS = """\
source C1 "Compressor"
  kind compressor
  2024-01-02 10:00 cartridge changed
  2024-01-04 cartridge changed
cylinder T-1
  holds 6.8 L
  2024-01-02 09:59:59 filled from 0 psi to 1000 psi at 70 F on C1
  2024-01-02 10:00 filled from 0 psi to 2000 psi at 70 F on C1
  2024-01-02 10:00:01 filled from 0 psi to 3000 psi on C1
  2024-01-02 filled to 4000 psi on C1
  2024-01-03 filled from 0 psi to 4500 psi at 70 F on C1
  2024-01-03 12:00 filled from 4500 psi to 4400 psi at 70 F on C1
  2024-01-04 filled to unread on C1
  2024-01-05 filled from 500 psi to 4500 psi at 70 F on C1
"""


def sums_of(log, changes, fills) -> list:
    return [
        (log.given(change, fill), log.assumed(change, fill), log.given_as_written(change, fill))
        for change in changes
        for fill in fills
    ]


def test_fills_that_are_written_meanwhile_count_as_if_they_had_been_there_and_no_more_once_taken_out():
    """An editor takes fills in and out as somebody types; the sums over them must be those of the text as it stands."""
    record, air = log_of(FILLS)
    fills, changes = record.entries["T-1"], record.entries["C1"]

    def log(drawn):
        return SourceLog(
            record.air_sources["C1"],
            changes,
            drawn,
            lambda sample: False,
            air.free_air_of,
            air.is_assumed,
            air.free_air_held,
        )

    whole = sums_of(log(fills), changes, fills)
    assert len({given for given, _, _ in whole}) > 6 and {assumed for _, assumed, _ in whole} >= {0, 1, 2, 3}
    for number, fill in enumerate(fills):
        others = fills[:number] + fills[number + 1 :]
        changing = log(others)
        without = sums_of(changing, changes, fills)
        changing.take_in(fill)
        assert sums_of(changing, changes, fills) == whole
        changing.take_out(fill)
        assert sums_of(changing, changes, fills) == without
        # Before anybody has asked there is nothing to correct.
        untouched = log(others)
        untouched.take_in(fill)
        assert sums_of(untouched, changes, fills) == whole


def test_which_fills_an_entry_of_a_source_is_before():
    """Without a time it counts from the beginning of its day, and a fill without one to the end of its day."""
    record, air = log_of(FILLS)
    fills, (timed, of_day) = record.entries["T-1"], record.entries["C1"]
    log = SourceLog(
        record.air_sources["C1"],
        [timed, of_day],
        fills,
        lambda sample: False,
        air.free_air_of,
        air.is_assumed,
        air.free_air_held,
    )
    in_turn = sorted(fills, key=lambda fill: (fill.day, fill.time or time.max))
    assert [round(log.given_as_written(timed, fill) / FT3) for fill in in_turn] == [0, 33, 33, 33, 33, 99, 99, 156]
    assert [round(log.given_as_written(of_day, fill) / FT3) for fill in in_turn[-2:]] == [0, 58]


def test_what_lost_air_and_what_is_assumed_add_not_a_milliliter_to_what_was_taken():
    record, air = log_of(FILLS)
    change = record.entries["C1"][0]
    lost, assumed = (
        next(fill for fill in record.entries["T-1"] if str(fill.reading) == to) for to in ("4400 psi", "4000 psi")
    )

    def log(*drawn):
        return SourceLog(
            record.air_sources["C1"],
            [change],
            list(drawn),
            lambda sample: False,
            air.free_air_of,
            air.is_assumed,
            air.free_air_held,
        )

    assert log(lost).given(change, lost) == log(lost).given_as_written(change, lost) == 0.0
    assert log(assumed).given_as_written(change, assumed) == 0.0 < log(assumed).given(change, assumed)
    assert log().given(change, lost) == 0.0 and log(lost).assumed(change, lost) == 0


def test_a_total_counts_each_fill_and_no_air_of_one_that_lost_some_or_that_nobody_knows():
    record, air = log_of(FILLS)
    nothing_assumed = AirLog(record, LATE)
    fills = {str(fill.reading): fill for fill in record.entries["T-1"]}
    for to, of, unknown in (("4400 psi", air, 0), ("4000 psi", nothing_assumed, 1)):
        total = Total()
        total.take_in(fills[to], of)
        assert (total.fills, total.free_air, total.unknown) == (1, 0.0, unknown)
        total.take_in(fills["1000 psi"], air)
        assert (total.fills, round(total.free_air / FT3), total.unknown) == (2, 17, unknown)


def test_totals_are_those_of_the_first_and_of_the_last_day_and_of_those_between():
    record, air = log_of(FILLS)
    found = totals_of(record, air, {}, ["cylinder"], date(2024, 1, 3), date(2024, 1, 4))
    assert {key: total.fills for key, total in found.items()} == {("T-1",): 3}


def test_totals_stand_in_the_order_of_what_they_are_of():
    ledger = """\
cylinder Z-1
  2024-01-03  filled  to 4000 psi  by bo
  2024-01-04  filled  to 4000 psi
cylinder A-1
  2024-01-03  filled  to 4000 psi  by al
"""
    record = read_record([Source("a.cyl", ledger)])
    found = totals_of(record, AirLog(record, LATE), {}, ["person"], date(2024, 1, 1), LATE)
    assert list(found) == [("al",), ("bo",), (None,)]


def test_a_log_for_some_fills_counts_with_them_what_that_of_all_does():
    record = read_record([source for source in messy_record(3, 300) if source.path != "more.cyl"])
    rules, _ = load_rules(["us-dot", "air"], lambda name: None)
    whole, known, counted = air_log(record, rules, LATE), 0, 0
    for name, entries in record.entries.items():
        fills = [entry for entry in entries if entry.verb == "filled"]
        some = air_log(record, rules, LATE, entries)
        for fill in fills:
            told = [FillAir(log, fill).given for log in (whole, some)]
            assert told[0] == told[1], (name, fill)
            known += told[0] != (None, None, None)
        counted += len(fills) > 0 and sum(log.fills for log in some.sources.values()) < whole.sources["C1"].fills
    assert known > 100 and counted > 3


def test_fills_that_nobody_read_differ_where_the_rating_that_they_are_taken_to_reach_does():
    fills = [
        "2024-01-05 07:00 filled B1 from 500 psi to unread on C1",
        "2024-01-06 07:00 filled B1 from 500 psi to 4000 psi on C1",
    ]
    written = Source("fills.cyl", "".join(f"{fill}\n" for fill in fills))
    files: dict = {}
    logs = []
    for rated in (5000, 6000):
        text = SAMPLED.format(fills="", more="", bank="").replace("rated  5000", f"rated  {rated}")
        logs.append(air_log(read_record([Source("air.cyl", text), written], read_before=files), air_rules(), LATE))
    assert [fill.reading for fill in differing_fills(*logs, ["B1"])["B1"]] == [None, None]
    assert differing_fills(logs[0], logs[0], ["B1"]) == {"B1": []}
