"""
Why a cylinder must not be filled, in a sentence and in about three words.
"""

from cylfile.judging.fill_verdict import Reason

# Rule or kind of bar -> what it comes to; the others are named by their rule.
_IN_SHORT = {
    "": "barred",
    "filled-past-test": "test overdue",
    "filled-past-life": "past its life",
    "used-past-life": "past its life",
    "filled-out-of-service": "barred",
    "unreadable-line": "line unreadable",
    "name-taken": "name taken twice",
    "no-class": "class not known",
    "no-rules": "no rules",
    "unknown-name": "not on record",
    "cannot-judge": "facts missing",
    "holds-suspect-air": "holds suspect air",
    "filled-for-export-only": "not for use here",
    "recalled": "under recall",
    "cycles-exceeded": "fill count exceeded",
    "out-of-order-life": "entries after its end",
    "filled-over-limit": "over its limit",
    "future-entry": "made in the future",
}


def in_full(reason: Reason) -> str:
    """The reason; where it is what the rules would say of a fill, that it would be."""
    if not reason.if_filled:
        return reason.text
    return f"would be {reason.text}" if reason.text.startswith("filled ") else f"if filled: {reason.text}"


def in_short(reason: Reason) -> str:
    """The reason in three words or so."""
    return _IN_SHORT.get(reason.rule) or reason.rule.replace("-", " ")
