"""
Reading the files of a record in several processes.
"""

from collections.abc import Iterator, Sequence
from itertools import chain
from typing import NamedTuple

from cylfile.judging.processes import dealt, in_processes, processes_for
from cylfile.record.file_reader import FileReader
from cylfile.text.ledger import stretches
from cylfile.text.source import Source

# Into how many parts the share of a process is cut at most: files differ in what a character of them costs.
_PARTS = 8


class _Stretch(NamedTuple):
    source: Source
    start: int
    end: int


def read_files(sources: Sequence[Source], jobs: int | None = None) -> dict[Source, FileReader]:
    """What each source says, read in at most `jobs` processes; in as many as pay where that is None."""
    shares = _shares(sources, jobs or processes_for(source.text for source in sources))
    with in_processes(_each_read, shares, sources) as read:
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
    """The sources, cut where they are long, in at most `jobs` shares that take about as long each."""
    if jobs == 1:
        return [[_Stretch(source, 0, len(source.text)) for source in sources]]
    fair = sum(len(source.text) for source in sources) // jobs
    # In the order of the paths, for files of one folder are alike.
    in_order = sorted(sources, key=lambda source: source.path)
    cut = (_Stretch(source, *each) for source in in_order for each in stretches(source, fair // _PARTS))
    # To hand over what was read takes a fifth of the time of reading it.
    return dealt(((stretch, stretch.end - stretch.start) for stretch in cut), jobs, fair // 5)
