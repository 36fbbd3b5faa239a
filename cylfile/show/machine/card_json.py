"""
One cylinder's whole life as one JSON object, with one entry a line and its findings in it.
"""

from collections.abc import Iterator

from cylfile.history.due import Due, Untold
from cylfile.history.service_state import state_of
from cylfile.record.entries import plain_form
from cylfile.show.machine.json_object import dump, finding_object, list_head
from cylfile.show.pages.card_page import Card, working_of


def card_json(card: Card) -> Iterator[str]:
    """One object, with one entry a line and its findings in it."""
    life, own = card.life, card.life.cylinder
    head = {
        **list_head(card.record, card.rules, life.as_of),
        "cylinder": life.name,
        "state": state_of(life),
        "may_be_filled": not card.head.reasons,
        "reasons": [{"text": reason.text, "if_filled": reason.if_filled, "rule": reason.rule or None} for reason in card.head.reasons],
        "site": life.site,
        "class": life.class_name,
        "rated_psi": life.rated,
        "fill_limit_psi": life.fill_limit,
        "serial": own.serial,
        "marked": own.marked,
        "made": str(own.made) if own.made else None,
        "holds": str(own.holds) if own.holds else None,
        "tags": own.tags_on(life.as_of),
        "fills": life.fill_count,
        "free_air_liters": round(card.free_air[0] / 1e3, 1),
        "fills_without_free_air": card.free_air[1],
        "coming": [_coming_object(each) for each in card.coming],
    }  # fmt: skip
    yield dump(head)[:-1] + ', "entries": ['
    between = "\n "
    for entry in card.entries:
        found = [finding_object(finding) for finding in card.beside.get(entry.place, ())]
        place = {"file": entry.span.source.path, "line": entry.span.line}
        yield between + dump(
            {"day": str(entry.day), "verb": entry.verb, "entry": plain_form(entry), **place, "findings": found}
        )
        between = ",\n "
    yield "\n], " + f'"findings": {dump([finding_object(finding) for finding in card.elsewhere])}, '
    of_neighbors = [
        {"department": title, "entries": [plain_form(entry) for entry in entries]}
        for title, entries in card.of_neighbors
    ]
    yield f'"of_neighbors": {dump(of_neighbors)}' + "}\n"


def _coming_object(each: Due | Untold) -> dict:
    if isinstance(each, Untold):
        return {"what": each.kind, "due_by": None, "lacks": each.lacks}
    return {"what": each.kind, "due_by": str(each.day), "working": working_of(each)}
