"""
The one filter that all text goes through on its way out.

A name or a note comes from a file that anybody may have written. Characters that steer a
terminal, reorder text or show as nothing are written as escapes, so that what is read is what
is there.
"""

import unicodedata

# The categories of Unicode that are no signs to be read: control, format, surrogate, and the
# separators of lines and paragraphs. A tab is let through.
_HIDDEN_CATEGORIES = frozenset(("Cc", "Cf", "Cs", "Zl", "Zp"))
# Fillers that are letters by their category, and have no ink.
_BLANK_LETTERS = frozenset("\u115f\u1160\u3164\uffa0\u2800")


def visible(text: str) -> str:
    """The text with every hidden character as an escape such as `\\u{1b}`."""
    # What nearly all text is made of needs no closer look.
    if text.isascii() and text.isprintable():
        return text
    return "".join(f"\\u{{{ord(sign):x}}}" if _is_hidden(sign) else sign for sign in text)


def _is_hidden(sign: str) -> bool:
    return sign != "\t" and (unicodedata.category(sign) in _HIDDEN_CATEGORIES or sign in _BLANK_LETTERS)
