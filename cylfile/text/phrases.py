"""
How messages count and join: 1 entry, 1,000 entries; a, b or c.
"""

from collections.abc import Sequence


def counted(number: int, noun: str, nouns: str = "") -> str:
    """1 day, 2 days, 1,000 entries."""
    return f"{number:,} {noun if abs(number) == 1 else nouns or f'{noun}s'}"


def either(words: Sequence[str]) -> str:
    """One of several: `psi, bar or MPa`."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} or {words[-1]}"
