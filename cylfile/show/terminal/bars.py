"""
Bars of several kinds of things, told apart by what they are drawn with, so that color is not needed.
"""

from collections.abc import Mapping, Sequence

from cylfile.show.terminal.layout import Layout, cells

_LEAST_ROOM = 10


def put_bars(
    layout: Layout,
    kinds: Mapping[str, str],
    bars: Sequence[tuple[str, Mapping[str, int]]],
    indent: int = 2,
) -> None:
    """
    Put one bar a line, each a label and the count of each kind, and what stands for which kind.

    `kinds` maps a kind to what it is called. One sign is one thing where there is room for
    that, else several, and it is said how many; but no kind that there is vanishes.
    """
    used = [kind for kind in kinds if any(counts.get(kind) for _, counts in bars)]
    if not used:
        return
    shades = dict(zip(kinds, layout.signs.shades))
    label = max(cells(text) for text, _ in bars)
    most = max(sum(counts.values()) for _, counts in bars)
    room = max(layout.width - indent - label - 4 - len(f"{most:,}"), _LEAST_ROOM)
    each = -(-most // room)
    for text, counts in bars:
        drawn = "".join(shades[kind] * -(-counts.get(kind, 0) // each) for kind in used)
        total = sum(counts.values())
        layout.put_pieces(
            [(" " * indent + text.ljust(label) + "  ", ""), (drawn, ""), (f" {total:,}" if total else " -", "")]
        )
    legend = "   ".join(f"{shades[kind]} {kinds[kind]}" for kind in used)
    layout.put(
        legend + (f"   one sign for {each:,}" if each > 1 else ""), indent, style="faint", first=[(" " * indent, "")]
    )
