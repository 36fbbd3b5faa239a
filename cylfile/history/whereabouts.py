"""
Where a cylinder is that is at none of the sites: at the tester it was moved to, and since when.
"""

from datetime import date

from cylfile.history.order import in_order
from cylfile.history.standing import standing
from cylfile.record.record import Record


def at_tester_since(record: Record, name: str, site: str | None, as_of: date) -> date | None:
    """The day on which a cylinder, which is at `site`, was moved there, where that is a tester's; else None."""
    if site not in record.testers:
        return None
    entries = in_order(standing(record.entries.get(name, ()), as_of)).entries
    return next((entry.day for entry in reversed(entries) if entry.verb == "moved"), None)
