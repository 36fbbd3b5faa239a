"""
How the pages of a whole record begin.
"""

from cylfile.record.record import Record
from cylfile.show.terminal.layout import Layout


def put_heading(layout: Layout, record: Record, rules, facts: list[str]) -> None:
    """The name of the department, facts, and the rules, as many side by side as there is room for."""
    title = record.department.title if record.department else "A record without a department"
    pieces = [(title, "strong"), *((fact, "") for fact in facts), (f"rules: {', '.join(rules.names) or 'none'}", "")]
    layout.put_facts(pieces)


def title_of(record: Record, site: str | None) -> str:
    """What a site is called."""
    if site is None:
        return "Nowhere on record"
    known = record.sites.get(site)
    return known.title if known and known.title else site
