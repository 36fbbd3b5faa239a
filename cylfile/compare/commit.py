"""
A commit, as comparisons know it.
"""

from typing import NamedTuple


class Commit(NamedTuple):
    """A commit, its parents and its tree, and who made it when, as git has that: the days are those of their clocks."""

    id: str
    parents: tuple[str, ...]
    tree: str
    author: str
    address: str
    day: str
    committer: str
    committed: str
    subject: str
