"""
Words that the trade has for what the ledger language says in words of its own.

Somebody who writes one of them is told the whole form that says it. Nothing is guessed: the form
may still need what only the record keeper knows.
"""

import re

_VISUAL = "an inspection is written `visual pass` or `visual fail`"
_HYDRO = "a test is written `hydro pass`, `hydro fail` or `hydro condemned`"
_REJECTED = 'what an inspection or a test rejected is written `visual fail` or `hydro fail`, what is for scrap `condemned "..."`'
_FILLED = "a fill is written `filled to 4500 psi`"
_EMPTIED = "that the air was let out is written `emptied`"
_MOVED = "a move is written `moved to SITE`, or `moved to TESTER` where it is sent for its test"
_GAUGED = "a reading of the gauge is written `gauged 4200 psi`"
_OUT = 'that it is taken out of use is written `out of service "..."`'
_BACK = "that it is in use again is written `returned to service`"
_IN = "that it is in use from here on is written `entered service`"
_DAMAGED = 'damage is written `damaged "..."`, with `heat` or `overpressure` where it was that'
_SERVICED = 'work on its valve, relief device or neck is written `serviced "..."`'
_RETIRED = 'that it is gone for good is written `retired`, that it failed for good `condemned "..."`'
_REMARKED = 'a remark is written `remarked "..."`'
_SAMPLE = "an air sample is written `air sample pass` or `air sample fail`, with its readings"
_CARTRIDGE = "a new cartridge is written `cartridge changed`"

# Word or words, as they are written at the place of a verb -> the form that says it.
_FORMS = {
    _VISUAL: "inspected, inspection, visually inspected, visual inspection, viewed, examined, vip, vis",
    _HYDRO: "tested, test, hydrostatic test, hydrostatic, hydrostatically tested, hydrotest, hydrotested, "
    "retested, retest, requalified, requalification, recertified, certified",
    _REJECTED: "rejected, failed, fail",
    _FILLED: "topped off, topped up, topped, top off, refilled, recharged, charged, pressurized",
    _EMPTIED: "drained, bled, bled down, vented, blown down, depressurized, discharged, evacuated, empty",
    _MOVED: "relocated, transferred, sent, shipped, delivered, transported, assigned, issued",
    _GAUGED: "checked, read, measured, gauge, pressure, pressure check",
    _OUT: "removed, removed from service, quarantined, tagged out, locked out, red tagged, red-tagged, oos, out-of-service, withdrawn, taken out of service",
    _BACK: "restored, reinstated, released, put back, back in service, returned-to-service",
    _IN: "commissioned, installed, bought, purchased, received, new, in service, in-service, placed in service, put in service",
    _DAMAGED: "dropped, dented, cut, gouged, burned, burnt, scratched, abraded, corroded, overpressurized, over-pressurized, overfilled",
    _SERVICED: "repaired, maintained, overhauled, rebuilt, replaced, lubricated, cleaned, maintenance, service, valve",
    _RETIRED: "scrapped, discarded, disposed, destroyed, decommissioned, written off, junked, sold, lost",
    _REMARKED: "noted, note, commented, comment, observed, reported",
    _SAMPLE: "sampled, sample, air tested, air test, air quality",
    _CARTRIDGE: "filter changed, filter, cartridge replaced, changed",
}
_FORM_OF = {word: form for form, words in _FORMS.items() for word in words.split(", ")}
_MOST_WORDS = max(word.count(" ") + 1 for word in _FORM_OF)
_WORD = re.compile("[ \t]*([A-Za-z][A-Za-z-]*)")


def trade_form(text: str, start: int) -> tuple[int, str] | None:
    """
    The end of the word or words of the trade that stand at an offset of a line, and the form that says it.

    None where there are none. More words are looked for first.
    """
    found, end = None, start
    said: list[str] = []
    while len(said) < _MOST_WORDS and (word := _WORD.match(text, end)):
        said.append(word[1].lower())
        end = word.end()
        form = _FORM_OF.get(" ".join(said))
        found = (end, form) if form else found
    return found
