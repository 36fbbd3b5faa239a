"""
Building a wheel: the grammars' parse tables, the usual sentences, what the shipped packs say, the code of their rules and
the page of the manual are made here and carried along.
"""

import os.path
import sys
from collections.abc import Iterator
from itertools import permutations, product

from setuptools.command.build_py import build_py

_BLOCKS = """\
department "Valley"
  zone America/Denver
  zone UTC
  rules us-dot
  rules air
  rules "house.cylpack"
  usual-source C1
site st1 "Station 1"
site 1 "Station 1"
  contact "the captain"
person rowe "Rowe"
  fills 2020-01-01
  fills 2020-01-01 until 2025-01-01
  inspects 2020-01-01
  inspects 2020-01-01 until 2025-01-01
tester A123 "Tester"
  authorized
  authorized until 2026-01
  authorized since 2020-01-01
  authorized since 2020-01-01 until 2026-01
source C1 "Compressor"
  kind compressor
  kind storage
  rated 6000 psi
  holds 50 L
  cartridge 67000 ft3
  at st1
  2024-01-05 air sample pass CO 1 ppm
  2024-01-05 air sample pass CO 1 ppm CO2 400 ppm O2 20.9 % oil 0.1 mg/m3 water 12 ppm
  2024-01-05 cartridge changed
  2024-01-05 cartridge changed by rowe
  2024-01-05 gauge checked
  2024-01-05 gauge checked by rowe
cylinder 114
cylinder K-1
  serial NC-1
  serial 12345
  maker "Maker"
  owner "Owner"
  marked "DOT-3AL3000"
  class carbon-wrapped
  rated 4500 psi
  made 2024-01
  made 2024-01-05
  holds 6.8 L
  tag E200
  tag E200 since 2024-01-05
  2024-01-05 entered service
  2024-01-05 entered service at st1
  2024-01-05 entered service at st1 by rowe
  2024-01-05 hydro pass by A123 at 7500 psi total 92.1 cc permanent 1.8 cc
  2024-01-05 hydro pass by A123 at 7500 psi total 92.1 cc permanent 1.8 cc visual pass
  2024-01 hydro pass by A123
  2024-01-05 visual pass by rowe
  2024-01-05 gauged 4500 psi
  2024-01-05 gauged 4500 psi by rowe
  2024-01-05 gauged 4500 psi at 70 F by rowe
  2024-01-05 moved to st1
  2024-01-05 moved to st1 by rowe
  2024-01-05 emptied
  2024-01-05 emptied by rowe
  2024-01-05 damaged "dropped" by rowe
  2024-01-05 serviced "valve" by rowe
  2024-01-05 out of service "valve" by rowe
  2024-01-05 returned to service
  2024-01-05 returned to service by rowe
  2024-01-05 returned to service at st1 by rowe
  2024-01-05 retired by rowe
  2024-01-05 retired "old" by rowe
  2024-01-05 remarked "seen" by rowe
"""
_LOOSE = (
    "visual K-1 pass by rowe", "gauged K-1 4500 psi by rowe", "gauged K-1 4500 psi at 70 F by rowe", "moved K-1 to st1",
    "moved K-1 to st1 by rowe", "emptied K-1 by rowe", 'damaged K-1 "dropped" by rowe', 'remarked K-1 "seen" by rowe',
    'out of service K-1 "valve" by rowe', "returned to service K-1 by rowe", "hydro K-1 pass by A123",
)  # fmt: skip


class BuildWithTables(build_py):
    """Copies the package, and adds what is made of grammars and packs, see `cylfile.text.grammar`, and `man cylfile`."""

    def run(self):
        super().run()
        if not self.editable_mode:
            # The build tool runs this file by its path and does not know the package.
            sys.path.insert(0, os.path.dirname(os.path.dirname(os.path.realpath(__file__))))
            from cylfile.packs.judges import save_judges
            from cylfile.packs.pack_sentences import pack_language
            from cylfile.packs.shipped import save_shipped
            from cylfile.text.ledger import LEDGER

            folder = os.path.join(self.build_lib, "cylfile", "grammar")
            _read_usual_sentences()
            for language in (LEDGER, pack_language()):
                language.save_table(os.path.join(folder, f"{language.file_name}.table"))
                language.save_usual(os.path.join(folder, f"{language.file_name}.usual"))
            packs = os.path.join(self.build_lib, "cylfile", "packs")
            save_shipped(packs)
            save_judges(_usual_rules(), packs)
            self._add_manual()

    def _add_manual(self) -> None:
        from cylfile.command_line.manual import manual_page

        folder = os.path.join(self.get_finalized_command("build").build_temp, "manual")
        os.makedirs(folder, exist_ok=True)
        path = os.path.join(folder, "cylfile.1")
        with open(path, "w", encoding="ascii", newline="\n") as file:
            file.write(manual_page())
        self.distribution.data_files = [*(self.distribution.data_files or ()), ("share/man/man1", [path])]


def _usual_record() -> str:
    """The sentences that nearly every record has, clauses in canonical order."""
    from cylfile.text.ledger import SHEETS

    fills = [
        " ".join(filter(None, said))
        for said in product(
            ("", "from 500 psi"), ("to 4500 psi",), ("", "at 80 F"), ("", "by rowe"), ("", "on C1"), ("", "at st1")
        )
    ]
    names = ("at st1", "on C1", "by rowe")
    headers = [" ".join(some) for count in range(len(names) + 1) for some in permutations(names, count)]
    lines = [_BLOCKS]
    for time in ("", "07:12 "):
        lines += (f"  2024-01-05 {time}filled {fill}\n" for fill in fills)
        lines += (f"2024-01-05 {time}filled K-1 {fill}\n" for fill in fills)
        lines += ("fill sheet 2024-01-05\n", *(f"  {time}{name} {fill}\n" for fill in fills for name in ("K-1", "114")))
        lines += (f"2024-01-05 {time}{entry}\n" for entry in _LOOSE)
    lines += (f"{sheet} sheet 2024-01-05 {header}\n" for sheet in SHEETS for header in headers)
    return "".join(lines)


def _usual_rules() -> Iterator[list]:
    """The rules of a department that names one of the shipped packs, or two in whatever order."""
    from cylfile.packs.layering import load_rules
    from cylfile.packs.shipped import shipped_names

    for count in (1, 2):
        for names in permutations(shipped_names(), count):
            rules, _ = load_rules(names, lambda name: None)
            yield list(rules.rules.values())


def _read_usual_sentences() -> None:
    """Read the usual sentences, what the shipped packs say, and the small records in them."""
    from cylfile.packs.shipped import read_shipped, shipped_names
    from cylfile.text.ledger import read_blocks
    from cylfile.text.source import Source

    texts = [_usual_record()]
    for name in shipped_names():
        read = read_shipped(name)
        assert read is not None
        pack, _ = read
        texts += (example.text for rule in pack.rules.values() for example in (*rule.breaks, *rule.keeps))
    for text in texts:
        read_blocks(Source("usual", text))
