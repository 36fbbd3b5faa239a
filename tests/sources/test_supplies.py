"""What a source had to give is kept for all fills of a stretch: it is what each of them by itself would be told."""

from hypothesis import example, given, settings
from hypothesis import strategies as st

from cylfile.history.sources.supply import Supply
from support.air_records import log_of

RECORD = """\
source C1 "Compressor"
  kind  compressor
{C1}source B1 "Bank"
  kind   storage
  holds  50 L
{B1}source B2 "Bank"
  kind   storage
  holds  50 L
{B2}cylinder T-1
  holds  6.8 L
{T1}"""
# Few days and few times, so that much happens at one moment, and at moments that nothing tells apart.
MOMENTS = st.builds("2024-01-0{}{}".format, st.integers(1, 4), st.sampled_from(["", "", " 08:00", " 09:00", " 10:00"]))
_SAMPLES = ["air sample pass  CO 1 ppm", "air sample fail  CO 20 ppm"]
_SHARED = ['out of service "leaks"', "returned to service", "gauge checked"]
COMPRESSOR = st.sampled_from([*_SAMPLES, *_SHARED, "cartridge changed"])
_FILLS = ["filled  to 4800 psi  on C1", "filled  to 4700 psi  on B1", "filled  to 4600 psi  on B2"]
STORAGE = st.sampled_from([*_SAMPLES, *_SHARED, *_FILLS, "emptied", "filled  from 0 psi  to 4000 psi  on C1"])


def lines(acts: st.SearchStrategy[str], most: int) -> st.SearchStrategy[str]:
    line = st.builds("  {}  {}\n".format, MOMENTS, acts)
    return st.lists(line, max_size=most).map("".join)


@settings(max_examples=150, deadline=None)
@given(C1=lines(COMPRESSOR, 4), B1=lines(STORAGE, 4), B2=lines(STORAGE, 4), T1=lines(st.sampled_from(_FILLS), 8))
@example(
    C1="",
    B1="  2024-01-02 09:00  filled  to 4800 psi  on C1\n",
    B2="",
    T1="  2024-01-02 08:00  filled  to 4700 psi  on B1\n  2024-01-02 10:00  filled  to 4700 psi  on B1\n",
)
def test_a_fill_is_told_of_its_source_what_it_would_be_told_alone(C1, B1, B2, T1):
    record, log = log_of(RECORD.format(C1=C1, B1=B1, B2=B2, T1=T1))
    for fill in record.entries.get("T-1", ()):
        for reading in (log, log.lenient):
            kept, alone = reading.at(fill), Supply(reading, log.sources[fill.on], fill)
            assert told(kept) == told(alone)
        if log.at(fill).is_told and log.at(fill).suspect is None:
            at_once = log.untold(fill)
            log.at(fill).is_told = False
            assert log.untold(fill) == at_once == ()
            log.at(fill).is_told = True


def told(supply: Supply) -> tuple:
    sampled = [(then.name, then.state) for then in supply.sampled]
    return supply.then.name, supply.then.state, supply.then.delivers, supply.suspect, sampled, supply.sample_day
