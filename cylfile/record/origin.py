"""
Where the texts of a record were had from, for papers that leave the house.
"""

from typing import NamedTuple


class Origin(NamedTuple):
    """
    `commit` is the full name of the revision that holds the record, empty where none does; `uncommitted` is whether
    what was read differs from it. `stamp` says when and by which command, empty where nobody asked for that.
    """

    commit: str = ""
    uncommitted: bool = False
    stamp: str = ""
