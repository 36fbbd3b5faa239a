"""
All that a record says, laid open, so that two ways to read it can be compared.
"""

from cylfile.record.entries import Entry
from cylfile.record.record import Record


def said(record: Record) -> dict:
    """All that a record says and where, its blocks laid open, but for what is worked out of it."""

    def opened(thing: object) -> object:
        if isinstance(thing, Entry):
            # Its act or its shape, whichever it was read by.
            return opened((thing.verb, *thing[:-1], thing.span.end))
        if isinstance(thing, list | tuple):
            return [opened(each) for each in thing]
        if isinstance(thing, dict):
            return {key: opened(value) for key, value in thing.items()}
        return opened(vars(thing)) if hasattr(thing, "where") else (thing.__class__, thing)

    return {
        name: opened(value) for name, value in vars(record).items() if name not in ("origin", "clock", "known_marks")
    }
