"""
The files of a new record, as texts: an example of everything that a record needs, and the settings of git and editors.

The days in them are counted from the day they are made for, so that the record has nothing
wrong with it then and for years.
"""

from datetime import date, timedelta

from cylfile.files.git.attributes import ATTRIBUTES
from cylfile.record.dates import months_after
from cylfile.record.entries import write_text

_DEPARTMENT = """\
# What holds for the whole record. Everything after a hash is a comment.
department {name}
  zone          {zone}
  rules         "rules/house.cylpack"
  usual-source  air-room

site station-1 "Station 1"

# Who may fill and who may inspect, and since when: put in your people.
person keeper "Keeper of the record"
  fills      {trained}
  inspects   {trained}

source air-room "Compressor of the air room"
  kind       compressor
  rated      6000 psi
  cartridge  67000 ft3
  at         station-1
  {entered}        cartridge changed  by keeper
  {entered}        gauge checked  by keeper
  {entered}        air sample pass  CO 1.2 ppm  CO2 410 ppm  O2 20.9 %  oil 0.1 mg/m3  water 12 ppm  odor none
"""

_CARDS = """\
# The cards: one for each cylinder, with its name in column 1 and all about it further in.
# This one is an example. Write the cards of your cylinders like it, and take it out.
cylinder E-1
  serial     EXAMPLE-1
  marked     "DOT-3AA2265"
  made       {made}

  {entered}        entered service  at station-1
  {entered}        visual pass  by keeper
"""

_FILLS = """\
# Fill sheets: a day's work on many cylinders. What the head of a sheet says holds for all of its rows.
fill sheet {today}  at station-1  on air-room  by keeper
  09:42  E-1     from 0 psi     to 2250 psi  at 70 F
"""

_PACK = """\
# The rules of the house, laid over those of the law and the trade: all that come with the program for the United
# States. `cylfile rules list` names all that is judged. Take out a line of `over` that does not hold for you.
pack house "Our own rules"
  over us-dot
  over osha
  over practice
  over air

# What the house has otherwise is written like this, without the hash:
# setting due-soon  60 days
# suspend fill-without-temperature "No thermometer at Station 2 until the refit"
"""

_ATTRIBUTES = """\
# Git shows the cylinder in the heading of each change by itself, for a card begins in column 1.
# `cylfile plain --for-git` says how a clone shows changes in plain forms.
{attributes}  whitespace=trailing-space,tab-in-indent
*.cylpack  text
"""

_IGNORE = """\
# What a writer that was broken off can leave behind.
.cylfile.lock
.*.writing
"""

_EDITOR = """\
root = true

[*.{cyl,cylpack}]
charset = utf-8
indent_style = space
indent_size = 2
insert_final_newline = true
trim_trailing_whitespace = true
"""

_HOOKS = """\
# For the program pre-commit: `pre-commit install` makes git ask these before every commit.
repos:
  - repo: local
    hooks:
      - id: cylfile-neaten
        name: the ledgers are neat
        entry: cylfile neaten --check
        language: system
        files: \\.cyl$
        pass_filenames: false
      - id: cylfile-lint
        name: nothing is wrong with the record
        entry: cylfile lint --staged
        language: system
        files: \\.(cyl|cylpack)$
        pass_filenames: false
      - id: cylfile-compare
        name: nothing is altered unseen
        entry: cylfile compare HEAD --staged
        language: system
        always_run: true
        pass_filenames: false
"""

_README = """\
# The breathing-air record of {name}

Plain text, kept with cylfile. `department.cyl` says who and where, `cards.cyl` holds a card for each cylinder,
`fills/` the fill sheets by month, and `rules/house.cylpack` the rules it is judged by. How many files there are and
what is in which is up to you: all `*.cyl` files of this folder together are the record.

    cylfile lint                                      what is wrong, cylinder by cylinder
    cylfile may-fill E-1                              may this one be filled now, and to what pressure
    cylfile enter "now filled E-1 from 900 psi to 2250 psi at 72 F by keeper on air-room"
    cylfile enter --sheet                             at the fill station: a cylinder, its reading, the next
    cylfile neaten                                    columns in line again
    cylfile --help                                    all there is

How to go on:

1. Put your people and sites in `department.cyl`.
2. Write the cards of your cylinders in `cards.cyl`, from their markings and their papers, or have them made of a
   spreadsheet: `cylfile import FILE --cards --draft-map` begins that.
3. Take the example E-1 out, its card and its row on the sheet.
4. `git init`, and commit every day. A wrong line is never rubbed out: it gets `struck DAY by PERSON "why"`.
5. A file is in a mess: `cylfile lint` says which lines cannot be read and what to write, `git diff` what was changed, and
   `git restore FILE` makes it what it was at the last commit; copy it first, for what was written since is gone then.
6. Have the record looked at before every commit: with the program pre-commit, begun by `cylfile start --hooks`, by
   `pre-commit install`; without it, write `cylfile lint --staged && cylfile compare HEAD --staged` in `.git/hooks/pre-commit` and make that file executable.

It checks the record, not the cylinder. The marking, its permit, local code and a qualified person decide.
"""


def first_files(name: str, zone: str, today: date, hooks: bool = False) -> dict[str, str]:
    """Path in the folder -> text of every file of a new record that is begun on a day, with hooks for git or without."""
    entered = months_after(today, -1)
    days = {
        "today": today,
        "entered": entered,
        "made": f"{months_after(entered, -2):%Y-%m}",
        "trained": entered - timedelta(days=1),
    }
    return {
        "department.cyl": _DEPARTMENT.format(name=write_text(name), zone=zone, **days),
        "cards.cyl": _CARDS.format(**days),
        f"fills/{today:%Y-%m}.cyl": _FILLS.format(**days),
        "rules/house.cylpack": _PACK,
        ".gitattributes": _ATTRIBUTES.format(attributes=ATTRIBUTES),
        ".gitignore": _IGNORE,
        ".editorconfig": _EDITOR,
        **({".pre-commit-config.yaml": _HOOKS} if hooks else {}),
        "README.md": _README.format(name=name),
    }
