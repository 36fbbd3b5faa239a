"""
Words that differ and look the same: letters of other alphabets, accents made up in another way, spaces of other kinds.
"""

import re
import unicodedata
from collections.abc import Iterable

_WORDS = re.compile(r"([ \t\"]+)")
# Letters of other alphabets that look as Latin ones do.
_TWINS = str.maketrans(
    "\u0430\u0435\u043e\u0440\u0441\u0443\u0445\u0456\u0458\u0455\u0410\u0412\u0415\u041a\u041c\u041d\u041e\u0420\u0421\u0422\u0425"
    "\u0406\u0408\u0405\u03bf\u0391\u0392\u0395\u0396\u0397\u0399\u039a\u039c\u039d\u039f\u03a1\u03a4\u03a5\u03a7\u03bd",
    "aeopcyxijsABEKMHOPCTXIJSoABEZHIKMNOPTYXv",
)


def told_apart(one: str, other: str) -> tuple[str, str]:
    """Two texts, as `told_from` gives each."""
    return told_from(one, [other]), told_from(other, [one])


def told_from(text: str, others: Iterable[str]) -> str:
    """
    A text beside others: a word that looks as one of theirs and is none of them has each sign that is not ASCII as an
    escape, and so has a text that looks as one of them.
    """
    others = list(others)
    if text not in others and any(_looks(text) == _looks(other) for other in others):
        return _escaped(text)
    words = {word for other in others for word in _WORDS.split(other)}
    if text.isascii() and all(map(str.isascii, words)):
        return text
    looks = {_looks(word) for word in words}
    return "".join(
        _escaped(word) if word not in words and _looks(word) in looks else word for word in _WORDS.split(text)
    )


def _looks(text: str) -> str:
    return unicodedata.normalize("NFKC", text).translate(_TWINS)


def _escaped(text: str) -> str:
    return "".join(sign if sign.isascii() else f"\\u{{{ord(sign):x}}}" for sign in text)
