"""
The one filter that all text goes through on its way out.

A name or a note comes from a file that anybody may have written. Characters that steer a
terminal, reorder text or show as nothing are written as escapes, so that what is read is what
is there.
"""

import re
import unicodedata

# The categories of Unicode that are no signs to be read: control, format, surrogate, and the
# separators of lines and paragraphs. A tab is let through.
_HIDDEN_CATEGORIES = frozenset(("Cc", "Cf", "Cs", "Zl", "Zp"))
# What nearly all text is made of. It needs no closer look.
_PLAIN = re.compile("[\t -~]*")
# Fillers that are letters by their category, and have no ink.
_BLANK_LETTERS = frozenset("\u115f\u1160\u3164\uffa0\u2800")


def visible(text: str) -> str:
    """The text with every hidden character as an escape such as `\\u{1b}`."""
    if _PLAIN.fullmatch(text):
        return text
    return "".join(f"\\u{{{ord(sign):x}}}" if _is_hidden(sign) else sign for sign in text)


def _is_hidden(sign: str) -> bool:
    return sign != "\t" and (unicodedata.category(sign) in _HIDDEN_CATEGORIES or sign in _BLANK_LETTERS)


# Letters of other alphabets that look as Latin ones do.
_TWINS = str.maketrans(
    "\u0430\u0435\u043e\u0440\u0441\u0443\u0445\u0456\u0458\u0455\u0410\u0412\u0415\u041a\u041c\u041d\u041e\u0420\u0421\u0422\u0425"
    "\u0406\u0408\u0405\u03bf\u0391\u0392\u0395\u0396\u0397\u0399\u039a\u039c\u039d\u039f\u03a1\u03a4\u03a5\u03a7\u03bd",
    "aeopcyxijsABEKMHOPCTXIJSoABEZHIKMNOPTYXv",
)


def told_apart(one: str, other: str) -> tuple[str, str]:
    """Two texts; where they differ and look the same, each letter that is not ASCII as an escape."""
    if one == other or _looks(one) != _looks(other):
        return one, other
    return _escaped(one), _escaped(other)


def _looks(text: str) -> str:
    return unicodedata.normalize("NFKC", text).translate(_TWINS)


def _escaped(text: str) -> str:
    return "".join(sign if sign.isascii() else f"\\u{{{ord(sign):x}}}" for sign in text)
