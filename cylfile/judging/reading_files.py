"""
Reading the files of a record in several processes.
"""

from collections.abc import Iterator, Sequence

from cylfile.judging.processes import in_processes, processes_for
from cylfile.record.file_reader import FileReader
from cylfile.text.source import Source


def read_files(sources: Sequence[Source], jobs: int | None = None) -> dict[Source, FileReader]:
    """What each source says, read in at most `jobs` processes; in as many as pay where that is None."""
    jobs = jobs or processes_for(source.text for source in sources)
    with in_processes(_each_read, _shares(sources, jobs), sources) as files:
        return {source: file for file in files for source in file.record.sources}


def _each_read(sources: list[Source]) -> Iterator[FileReader]:
    return (FileReader(source).read() for source in sources)


def _shares(sources: Sequence[Source], jobs: int) -> list[list[Source]]:
    """The sources in at most `jobs` shares that take about as long each, the longest dealt out first."""
    shares: list[list[Source]] = [[] for _ in range(max(1, min(jobs, len(sources))))]
    # What is read in another process has to be handed over too.
    more = sum(len(source.text) for source in sources) // (10 * len(shares))
    sizes = [0, *[more] * (len(shares) - 1)]
    for source in sorted(sources, key=lambda source: -len(source.text)):
        least = sizes.index(min(sizes))
        shares[least].append(source)
        sizes[least] += len(source.text) + 1
    return shares
