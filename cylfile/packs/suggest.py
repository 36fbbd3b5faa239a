"""Did you mean: the one known word that is close to one nobody knows."""

from collections.abc import Iterable

_LONGEST = 80


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known word that is most like `word`, None where none is like it."""
    if len(word) > _LONGEST:
        return None
    from difflib import get_close_matches

    return next(iter(get_close_matches(word, list(known), n=1, cutoff=0.65)), None)


def did_you_mean(word: str, known: Iterable[str], otherwise: str = "") -> str:
    """Advice on an unknown word."""
    meant = nearest(word, known)
    return f"Did you mean `{meant}`?" if meant else otherwise
