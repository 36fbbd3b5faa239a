"""
Reading the files of a record in several processes.
"""

from collections.abc import Iterator, Sequence
from itertools import chain
from typing import NamedTuple

from cylfile.judging.processes import SHARES, in_processes, processes_for, shares_of
from cylfile.record.file_reader import FileReader
from cylfile.text.ledger import stretches
from cylfile.text.source import Source

# A file is cut into parts of at least so many characters.
_PART = 10_000


class _Stretch(NamedTuple):
    source: Source
    start: int
    end: int


def read_files(sources: Sequence[Source], jobs: int | None = None) -> dict[Source, FileReader]:
    """What each source says, read in at most `jobs` processes; in as many as pay where that is None."""
    jobs = jobs or processes_for(source.text for source in sources)
    shares = _shares(sources, jobs)
    with in_processes(_each_read, shares, jobs, sources) as read:
        each = dict(zip(chain.from_iterable(shares), read))
    files: dict[Source, FileReader] = {}
    for stretch in sorted(each, key=lambda stretch: stretch.start):
        if stretch.start:
            files[stretch.source].further.append(each[stretch])
        else:
            files[stretch.source] = each[stretch]
    return files


def _each_read(share: list[_Stretch]) -> Iterator[FileReader]:
    return (FileReader(source).read(start, end) for source, start, end in share)


def _shares(sources: Sequence[Source], jobs: int) -> list[list[_Stretch]]:
    """The sources, cut where they are long and read in several processes, in shares that take about as long each."""
    if jobs == 1:
        return [[_Stretch(source, 0, len(source.text)) for source in sources]]
    size = max(_PART, sum(len(source.text) for source in sources) // (jobs * SHARES))
    cut = (_Stretch(source, *each) for source in sources for each in stretches(source, size))
    return shares_of(((stretch, stretch.end - stretch.start + 1) for stretch in cut), jobs)
