"""
Records as they are asked for by whoever has to know what others of their county say of a cylinder.
"""

import argparse
import gc
from collections.abc import Callable, Iterable
from functools import partial
from typing import NamedTuple

from cylfile.command_line.reading import case_in
from cylfile.files.neighbors import Neighbors, Other, county_of
from cylfile.files.records import Folder, records_on_disk
from cylfile.judging.case import Case
from cylfile.judging.fill_verdict import Reason
from cylfile.record.blocks import Cylinder


class InCounty(NamedTuple):
    """A record that is asked for, in the folder where it was found, among the records of its county."""

    case: Case
    folder: Folder
    county: list[Other]
    rules: list[str]

    def against(self, cards: Iterable[Cylinder]) -> Callable[[Cylinder], list[Reason]]:
        """What tells of each of some cylinders why it must not be filled by what the others say of it."""
        neighbors = Neighbors(self.county, self.folder, cards, self.case.as_of, self.rules)
        return partial(neighbors.reasons, self.case.record)


def read_county(options: argparse.Namespace) -> list[InCounty]:
    """Each of the records that the options ask for, in its county; see `reading.read`."""
    gc.disable()
    folders = records_on_disk(options.paths)
    county = county_of(folders)
    return [InCounty(case_in(folder, options, is_checked=False), folder, county, options.rules) for folder in folders]
