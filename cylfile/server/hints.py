"""
Small remarks at the ends of lines: when a cylinder is due, and what a fill settles at.
"""

from cylfile.history.facts import FACTS
from cylfile.history.standing import stands
from cylfile.packs.wording import in_words
from cylfile.record.dates import NEVER
from cylfile.server.edited_record import EditedRecord
from cylfile.text.source import Source


def hints(edited: EditedRecord, source: Source, start: int, end: int) -> list[tuple[int, str]]:
    """(offset, remark) for the lines between two offsets."""
    judged, record = edited.follow(), edited.record
    found = []
    for name, card in record.cylinders.items():
        life = judged.life(name)
        if card.span.source is source and start <= card.span.start < end and life is not None:
            if life.test_due not in (None, NEVER) and life.retired_day is None and life.condemned_day is None:
                found.append((source.line_end(card.span.start), f"test due by {life.test_due}"))
        for entry in record.entries.get(name, ()):
            if entry.source is source and start <= entry.start < end and entry.verb in ("filled", "gauged"):
                if life is None or not stands(entry, life.as_of):
                    continue
                value = FACTS["settled"].value(life, entry)
                if value is not None:
                    place = entry.span.end
                    found.append(
                        (source.line_end(place), f"settles at {in_words(value, 'pressure', life.pressure_unit)}")
                    )
    return sorted(found)
