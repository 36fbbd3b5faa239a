"""
No file name, no way of dealing a record out and no order of blocks changes an answer.

Generated days of a cylinder and its source stand in blocks; the blocks are dealt out to files, in any
order and under any names. What stands in one block keeps its order, for that is what tells it.
"""

from datetime import date

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cylfile.history.due import coming, coming_of_sources
from cylfile.history.fold import life_of
from cylfile.history.seals import spell_out
from cylfile.history.service_state import state_of
from cylfile.judging.by_itself import air_log
from cylfile.judging.fill_answer import answer
from cylfile.judging.judge import judge
from cylfile.packs.layering import load_rules
from cylfile.record.reader import read_record
from cylfile.text.source import Source

RULES, _ = load_rules(["us-dot", "osha", "air"], lambda name: None)
AS_OF = date(2026, 6, 1)
HEAD = """\
department "D"
person p "P"
tester A123 "T"
source C1 "C"
  kind  compressor
  2026-03-01  air sample pass  CO 1 ppm
cylinder K-1
  serial  NC-1
  marked  "DOT-3AA2015"
  made    2022-05
  2022-06-01  entered service
"""
LINES = (
    "filled K-1 to 2015 psi at 70 F on C1", "filled K-1 to 2500 psi at 70 F on C1", "gauged K-1 1500 psi",
    "visual K-1 pass", "visual K-1 fail", "hydro K-1 pass by A123 at 3360 psi", "hydro K-1 fail by A123",
    'damaged K-1 "cut"', 'out of service K-1 "valve"', "returned to service K-1", "emptied K-1", 'condemned K-1 "crack"',
    "retired K-1", 'remarked K-1 "x"', "air sample C1 fail CO 30 ppm", "air sample C1 pass CO 1 ppm",
    'out of service C1 "hose"', "returned to service C1",
)  # fmt: skip
MONTHLY = tuple(line for line in LINES if line.split()[0] in ("visual", "hydro", "condemned", "retired"))
WHEN = st.sampled_from(("2026-05-01", "2026-05-01", "2026-05-01 09:00", "2026-05-01 10:00", "2026-05-02"))
ENTRY = st.one_of(
    st.builds("{} {}".format, WHEN, st.sampled_from(LINES)), st.builds("2026-05 {}".format, st.sampled_from(MONTHLY))
)
BLOCKS = st.lists(st.lists(ENTRY, min_size=1, max_size=3), min_size=1, max_size=5)


def dealt_out(blocks: list[list[str]], random) -> list[Source]:
    """The blocks in one to three files of any names, in any order, each parted from the next by a block of another kind."""
    names = random.sample(["a.cyl", "m.cyl", "z.cyl"], 3)
    texts = {name: "" for name in names}
    texts[random.choice(names)] += HEAD
    for number, block in enumerate(random.sample(blocks, len(blocks))):
        texts[random.choice(names)] += f'site part{number} "Between two blocks"\n' + "".join(
            f"{line}\n" for line in block
        )
    return [Source(name, text) for name, text in texts.items()]


def answers(sources: list[Source]) -> dict:
    """All that the program would say of the record, but for where it says it."""
    record = read_record(sources)
    assert record.faults == []
    judgement = judge(record, RULES, AS_OF)
    life = life_of(record, RULES, record.cylinders["K-1"], AS_OF)
    may = answer(record, RULES, AS_OF, "K-1")
    return {
        "findings": sorted((finding.rule, finding.level, finding.subject) for finding in judgement.findings),
        "state": (
            state_of(life),
            state_of(judgement.lives["K-1"]),
            life.blocked_by,
            life.fill_limit,
            life.last_pressure,
        ),
        "may": (may.may, sorted(reason.rule for reason in may.reasons)),
        "due": sorted(map(str, [*coming(life), *coming_of_sources(air_log(record, RULES, AS_OF), 3, None)])),
        "sealed": spell_out(record, date(2026, 5, 31), "p").digest,
    }


@settings(deadline=None, max_examples=120, suppress_health_check=[HealthCheck.too_slow])
@given(BLOCKS, st.randoms(use_true_random=False))
def test_no_way_of_dealing_the_record_out_changes_an_answer(blocks, random):
    # Two lines that say the same are told apart by nothing, and are a finding of their own.
    lines = [line for block in blocks for line in block]
    if len(set(lines)) == len(lines):
        first = answers(dealt_out(blocks, random))
        for _ in range(3):
            assert answers(dealt_out(blocks, random)) == first


def test_what_the_case_was():
    """A passed and a failed inspection of one day, on a card and in a file that is then called something else."""
    failed, passed = "2026-05-01 visual K-1 fail\n", "2026-05-01 visual K-1 pass\n"
    both = [
        answers([Source("head.cyl", HEAD), Source(name, failed), Source(other, passed)])
        for name, other in (("a.cyl", "z.cyl"), ("z.cyl", "a.cyl"))
    ]
    assert both[0] == both[1] and not both[0]["may"][0]
    assert ("order-not-told", "caution", "K-1") in both[0]["findings"]
