"""
What is wrong with seals; see `cylfile.history.seals`.
"""

from collections import Counter
from collections.abc import Callable, Iterable
from datetime import date

from cylfile.findings.finding import Finding
from cylfile.history.seals import Check
from cylfile.text.phrases import counted

SEAL_BROKEN = "seal-broken"
_ADVICE = "Put it back: strike, or write `late`; see `cylfile compare`."


def seal_findings(checks: list[Check], level_of: Callable[[str], str]) -> Iterable[Finding]:
    """
    A finding for each of the seals of a record, all of which were checked, of which what it covers itself was changed; those that rest on it are counted there.

    It is about no name, so that no waiver covers it: a broken seal is put right in the open or
    stays broken.
    """
    resting = Counter(check.rests_on for check in checks if check.is_kept and check.rests_on is not None)
    # The last day of a seal that holds, and the one before that.
    held = before = None
    for check in checks:
        day = check.seal.day
        if not check.is_kept:
            yield _broken(check, held if held != day else before, resting[check.seal], level_of(SEAL_BROKEN))
        elif check.holds and held != day:
            held, before = day, held


def _broken(check: Check, held: date | None, resting: int, level: str) -> Finding:
    seal = check.seal
    text = f"what was sealed through {seal.day} has changed since"
    sealed = counted(seal.entries, "entry", "entries")
    working = [f"sealed by {seal.by} with {sealed}, now {check.entries:,}"]
    if check.entries == seal.entries:
        working = [f"{sealed} then and now, but what is said, or what it rests on, is not the same"]
    if held is not None:
        working.append(
            f"the seal through {held} holds: the change is dated after it, or is to what was named only then"
        )
    if resting:
        working.append(f"seals after it that rest on it, and so do not hold either: {resting:,}")
    about = f"{seal.day} {seal.digest}"
    return Finding(SEAL_BROKEN, level, "", seal.span, text, working, _ADVICE, day=seal.day, about=about)
