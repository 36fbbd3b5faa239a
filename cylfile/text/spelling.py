"""
Two spellings of one language: American is written, British is read as well.
"""

# What the words of ledgers, packs and options differ in.
_AMERICAN = {"authoris": "authoriz", "odour": "odor", "aluminium": "aluminum", "pressuris": "pressuriz"}


def american(word: str) -> str:
    """A word of the languages in the spelling that is written: `authorised` is `authorized`."""
    for british, ours in _AMERICAN.items():
        word = word.replace(british, ours)
    return word
