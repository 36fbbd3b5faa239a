"""
Varied records after all that goes wrong with paper: wrong lines, broken headers, twins, tags on two cards, blocks
that stand in other files, waivers, recalls, failed samples and what is left of a merge.
"""

import random
import re
import sys
from pathlib import Path

from cylfile.text.source import Source

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "bench"))
from varied import files  # noqa: E402

_BLOCK = re.compile(r"^(?=[^ \t\n#])", re.MULTILINE)
_CARD = re.compile(r"^cylinder ([^ \n]+)", re.MULTILINE)
# What becomes of a header, with the first of what follows it.
_HEADERS = (
    lambda header: f"{header} 7",
    lambda header: header[1:],
    lambda header: header.upper(),
    lambda header: f'{header} "open',
    lambda header: f" {header}",
    lambda header: header.rsplit(" ", 1)[0],
    lambda header: f"{header}\n<<<<<<< ours",
    lambda header: f"=======\n{header}",
)
_ROUTINE = 9_900
_RULES = ("filled-over-limit", "filled-past-test", "cartridge-spent", "no-such-rule")


def messy_record(seed: int, entries: int = 1_200, wrong: float = 0.3) -> list[Source]:
    """The sources of a record that is deterministic by its seed; `wrong` is the share of its lines that are."""
    chance = random.Random(seed)
    # Beside all others the sources fill storages for twenty years, which is more of the same.
    texts = dict(files(_ROUTINE + entries, seed, wrong, a_cylinder=500))
    lines = texts["air.cyl"].splitlines(keepends=True)
    texts["air.cyl"] = "".join(line for line in lines if not line.startswith("  20") or chance.random() < 0.04)
    names = [name for text in texts.values() for name in _CARD.findall(text)]
    for path, text in texts.items():
        blocks = _BLOCK.split(text)
        for number in range(1, len(blocks)):
            if path != "department.cyl" and chance.random() < 0.03:
                header, rest = blocks[number].split("\n", 1)
                blocks[number] = f"{chance.choice(_HEADERS)(header)}\n{rest}"
        texts[path] = "".join(blocks)
    cards = [block for text in texts.values() for block in _BLOCK.split(text) if block.startswith("cylinder ")]
    some = chance.sample(names, 6)
    twins = [
        chance.choice(cards),
        chance.choice(cards).replace("cylinder ", "cylinder TWIN-", 1),
        f"cylinder {some[0]}\n  serial VV-99\n",
        *(f"cylinder TAG-{name}\n  class carbon-wrapped\n  tag {name}\n" for name in some[1:3]),
    ]
    waived = (
        f"waived {chance.choice(_RULES)} for {chance.choice((*names, 'C1'))} until 20{chance.randrange(10, 30)}-01-01 "
        f'by {chance.choice(("ida5", "nobody"))} "as told"\n'
        for _ in range(6)
    )
    samples = (
        f"20{chance.randrange(10, 25)}-03-0{chance.randrange(1, 9)} 0{chance.randrange(10)}:30 air sample "
        f"{chance.choice(('C1', 'B1', 'B2'))} {chance.choice(('fail', 'pass', 'fail CO 30 ppm', 'too'))}\n"
        for _ in range(5)
    )
    recalls = ('recall 2019-02-03 "Valves"\n  class dot-3al\n', 'recall 2020-05-01 "Necks"\n  serial VV-10003\n')
    rows = (
        f"fill sheet 20{chance.randrange(10, 25)}-04-0{chance.randrange(1, 9)}  on {chance.choice(('C1', 'B2', 'NONE'))}\n"
        f"  {first}  to 2000 psi\n  {chance.choice(('STRANGER', second, f'{second} too'))}  to 2000 psi\n"
        f"  09:30  {first}  from 50 psi  to 1900 bar  by nobody\n"
        for first, second in zip(some, some[1:])
    )
    texts["more.cyl"] = "".join([*twins, *waived, *samples, *recalls, *rows])
    # Blocks stand where they should not.
    paths = [path for path in texts if path != "department.cyl"]
    for _ in range(20):
        here, there = chance.sample(paths, 2)
        blocks = _BLOCK.split(texts[here])
        moved = blocks.pop(chance.randrange(len(blocks)))
        texts[here] = "".join(blocks)
        texts[there] += moved if texts[there].endswith("\n") or not texts[there] else f"\n{moved}"
    return [Source(path, text) for path, text in texts.items()]
