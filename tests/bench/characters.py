"""
Changes each single character of a record that has every word of the language, and of a pack: what shows of it? Not a test.

    python tests/bench/characters.py

Every change has to break the last of its seals, where they cover the line, and to be seen by a comparison. A sample of the
changes is in the check (`tests/seal/test_every_character.py`).
"""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from support.every_word import PACK, RECORD, changes_of, unseen_in_pack, unseen_in_record  # noqa: E402


def main() -> int:
    unseen = unseen_in_record() + unseen_in_pack()
    changes = sum(1 for text in (RECORD, PACK) for _ in changes_of(text))
    for was, now in unseen:
        print(f"unseen: {was.rstrip()}\n     is: {now.rstrip()}")
    print(f"{changes:,} changes of one character, {len(unseen)} unseen")
    return int(bool(unseen))


if __name__ == "__main__":
    sys.exit(main())
