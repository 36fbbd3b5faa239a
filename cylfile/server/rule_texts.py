"""
Where the text of a rule can be read on this machine: at its line of a pack, or of the reader's own rules.
"""

import inspect
from functools import cache

from cylfile.findings import core_rules
from cylfile.server.edited_record import EditedRecord


class RuleTexts:
    """The texts of the rules of one record as they are now."""

    def __init__(self, edited: EditedRecord):
        self._edited = edited
        self._rules = edited.rules().ruleset.rules
        self._known: dict[str, tuple[str, int] | None] = {}

    def place(self, rule: str) -> tuple[str, int] | None:
        """File and line, from 1; None where there is none."""
        if rule not in self._known:
            self._known[rule] = self._found(rule)
        return self._known[rule]

    def _found(self, rule: str) -> tuple[str, int] | None:
        if rule not in self._rules:
            return _core_places().get(rule)
        span = self._rules[rule].span
        return self._edited.shipped_file(span.source) or self._edited.file_of(span.source.path), span.line


@cache
def _core_places() -> dict[str, tuple[str, int]]:
    file, lines = inspect.getsourcefile(core_rules), inspect.getsource(core_rules).split("\n")
    found = {}
    for number, line in enumerate(lines, 1):
        name, colon, _ = line.strip().partition('": CoreRule(')
        if file and colon:
            found[name.removeprefix('"')] = file, number
    return found
