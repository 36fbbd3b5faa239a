"""Texts of a pack as they were meant, from between their quotation marks."""


def unescaped(raw: str) -> str:
    """A text with `\\"` and `\\\\` read as the characters they stand for."""
    return raw.replace('\\"', '"').replace("\\\\", "\\")
