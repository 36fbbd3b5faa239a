"""
Neatening a file in the editor: the canonical layout, as the fewest lines changed.
"""

from difflib import SequenceMatcher

from cylfile.files.tree import PACK_ENDING
from cylfile.rewriting.neatening import neaten
from cylfile.server.cursor import line_at, line_start
from cylfile.server.edited_record import EditedRecord
from cylfile.server.pack_layout import laid_out
from cylfile.text.source import Source


def neatened(edited: EditedRecord, source: Source) -> list[tuple[int, int, str]]:
    """
    What to put in place of which stretches, so that cursors and blame stay where nothing changes.

    Nothing where that would change what the file says.
    """
    if source.path.endswith(PACK_ENDING):
        return least_edits(source.text, laid_out(source))
    result = neaten(source, edited.record)
    return [] if result.refusal else least_edits(source.text, result.text)


def neatened_between(edited: EditedRecord, source: Source, start: int, end: int) -> list[tuple[int, int, str]]:
    """The same of the lines between two offsets: the layout of a line rests on no other, so a part of them will do."""
    return [edit for edit in neatened(edited, source) if edit[0] < max(end, start + 1) and edit[1] > start]


def neatened_line(edited: EditedRecord, source: Source, offset: int) -> list[tuple[int, int, str]]:
    """The same of the whole line that an offset is in, one that goes on below itself too, unless that is refused."""
    is_pack = source.path.endswith(PACK_ENDING)
    start = line_start(source, offset) if is_pack else line_at(source, source.line_end(offset)).start
    return neatened_between(edited, source, start, source.line_end(offset))


def least_edits(before: str, after: str) -> list[tuple[int, int, str]]:
    """Whole lines to replace, that turn one text into the other."""
    old, new = before.split("\n"), after.split("\n")
    old = [f"{line}\n" for line in old[:-1]] + old[-1:]
    new = [f"{line}\n" for line in new[:-1]] + new[-1:]
    # Most lines stay, so the ends that are the same are taken off before the rest is compared.
    first = next((at for at, (one, other) in enumerate(zip(old, new)) if one != other), min(len(old), len(new)))
    most = min(len(old), len(new)) - first
    last = next((at for at in range(most) if old[-1 - at] != new[-1 - at]), most)
    old_middle, new_middle = old[first : len(old) - last], new[first : len(new) - last]
    if len(old_middle) == len(new_middle):
        ranges = [(at, at + 1, at, at + 1) for at, (a, b) in enumerate(zip(old_middle, new_middle)) if a != b]
    else:
        matcher = SequenceMatcher(None, old_middle, new_middle, autojunk=False)
        ranges = [(a, b, c, d) for tag, a, b, c, d in matcher.get_opcodes() if tag != "equal"]
    starts = [sum(map(len, old[:first]))]
    for line in old_middle:
        starts.append(starts[-1] + len(line))
    return [(starts[a], starts[b], "".join(new_middle[c:d])) for a, b, c, d in ranges]
