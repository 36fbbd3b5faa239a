"""
Why a cylinder must not be filled, in a sentence and in about three words.
"""

from cylfile.judging.fill_verdict import Reason

DO_NOT_FILL = "DO NOT FILL"
# Kind of bar -> what it comes to.
_BARS = {
    "condemned": "condemned",
    "retired": "retired",
    "overpressure": "over-pressurized",
    "expansion": "failed expansion test",
    "crack": "failed crack examination",
    "heat": "aluminum and heat",
    "hydro": "failed hydrostatic test",
    "visual": "failed visual inspection",
    "damage": "damaged",
    "suspect-air": "holds suspect air",
    "out-of-service": "out of service",
    "struck": "bar struck, unanswered",
}
# Rule -> what it comes to; the others are named by themselves.
_RULES = {
    "": "pressure not known",
    "filled-past-test": "test overdue",
    "filled-past-life": "past its life",
    "used-past-life": "past its life",
    "unreadable-line": "line cannot be read",
    "unreadable-folder": "file cannot be read",
    "name-taken": "name, serial or tag twice",
    "no-class": "class not known",
    "unknown-name": "unknown name beside it",
    "cannot-judge": "facts missing",
    "filled-for-export-only": "for export only",
    "recalled": "under recall",
    "cycles-exceeded": "fill count exceeded",
    "future-entry": "made in the future",
}


def in_full(reason: Reason) -> str:
    """The reason; where it is what the rules would say of a fill, that it would be."""
    if not reason.if_filled:
        return reason.text
    return f"would be {reason.text}" if reason.text.startswith("filled ") else f"if filled: {reason.text}"


def in_short(reason: Reason) -> str:
    """The reason in about three words."""
    return _BARS.get(reason.kind) or _RULES.get(reason.rule) or reason.rule.replace("-", " ")
