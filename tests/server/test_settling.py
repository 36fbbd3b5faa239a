"""
A record of which only what a change reaches is judged again is judged as it is when all of it is judged.
"""

import asyncio
import random

import pytest

import cylfile.server.edited_record
import cylfile.server.follow
import cylfile.server.service
from cylfile.history.facts import FACTS, SIGNER
from cylfile.judging.judge import judge
from cylfile.judging.reached import ASKED
from cylfile.server.follow import settle
from cylfile.server.service import Service
from support.workspaces import edited_in

HEAD = """\
department "Harrow Vale Fire District"
  zone   America/Denver
  rules  us-dot
  rules  air
  rules  practice
  rules  "house.cylpack"
site st1 "Station 1"
site st2 "Station 2"
"""
# What hangs on all fills before, and on the last of them.
PACK = """\
pack house "Ours"
  over us-dot
rule many-fills  notice
  on    filled
  when  fill-count > 3
  say   "fill {fill-count}"
rule fills-on-one-day  notice
  on    filled
  when  known last-fill-day and day - last-fill-day < 2 days
  say   "filled {last-fill-day} too"
"""
# So that the fills cannot be judged by what others tell of them alone.
MORE = """\
rule once-too-many  notice
  once  cylinder
  on    filled
  when  fill-count > 2 and known source
  say   "{times} fills, from {source}"
"""
EARLY = """\
rule early-fills  notice
  on    filled
  when  known sample-day and fill-count < 3
  say   "fill {fill-count} after a sample of {sample-day}"
rule through-cartridge  notice
  on    filled
  when  known cartridge-day
  say   "through the cartridge of {cartridge-day}"
"""
TESTER = 'tester A123 "Tarn Requalification"\n  authorized until 2026-01\n'
PEOPLE = TESTER + "".join(
    f'person {name} "{name.title()}"\n  fills     2026-02-05\n  inspects  2020-01-01\n'
    for name in ("ada", "bo", "cy", "di")
)
NAMES = [f"H-{number}" for number in range(10, 22)]


def day(chance: random.Random) -> str:
    return f"2026-0{chance.choice((1, 2, 3))}-0{chance.randrange(1, 9)}"


def own_line(chance: random.Random, name: str) -> str:
    """What may happen to a cylinder or to a source of air, some of it to its harm."""
    if name[0] == "H":
        what = ('out of service  "x"', "returned to service", "visual fail  by di", "hydro pass  by A123")
    elif name[0] == "C":
        what = ("air sample pass", "air sample fail", "cartridge changed", 'out of service  "x"', "returned to service")
    else:
        what = (
            f"filled  to 5{chance.randrange(10)}00 psi  on {chance.choice(('C1', 'C2', 'B1'))}",
            "emptied",
            "air sample pass",
        )
    told = chance.choice(("", f" {chance.randrange(24):02d}:00"))
    return f"  {day(chance)}{told}  {chance.choice((what[0], *what))}\n"


def texts(chance: random.Random) -> dict[str, str]:
    """A record in which nearly everything has to do with everything."""
    air = ""
    for name in ("C1", "C2"):
        air += f'source {name} "{name}"\n  kind  compressor\n  rated  6000 psi\n  cartridge  200 ft3\n  2026-01-01  cartridge changed\n'
        air += "".join(own_line(chance, name) for _ in range(7))
    for name in ("B1", "B2"):
        air += f'source {name} "{name}"\n  kind  storage\n  rated  6000 psi\n  holds  400 L\n'
        air += "".join(own_line(chance, name) for _ in range(7))
    cards = "".join(
        f"cylinder {name}\n  class  carbon-wrapped\n  rated  4500 psi\n  made  20{20 + number % 2}-06\n  holds  6.{number % 10} L\n"
        f"  2022-08-02  entered service  at st1\n  2025-12-0{1 + number % 9}  visual pass  by di\n"
        f"{''.join(own_line(chance, name) for _ in range(number % 3))}"
        for number, name in enumerate(NAMES)
    )

    def fill(name: str) -> str:
        before = chance.choice(("", "  from 0 psi", "  from 900 psi"))
        return f"{name}{before}  to 4{chance.randrange(10)}00 psi"

    def signed() -> str:
        return f"by {chance.choice(('ada', 'bo', 'cy'))}  on {chance.choice(('C1', 'C2', 'B1', 'B2'))}"

    sheets = "".join(
        f"fill sheet {day(chance)}  at st{chance.choice('12')}  {signed()}\n"
        + "".join(f"  {hour:02d}:30  {fill(name)}\n" for hour, name in enumerate(chance.sample(NAMES, 2), 9))
        for _ in range(14)
    )
    loose = "".join(f"{day(chance)} filled {fill(chance.choice(NAMES))} {signed()}\n" for _ in range(10))
    loose += "".join(
        f"{day(chance)} air sample C{chance.choice('12')} {chance.choice(('pass', 'fail'))}\n" for _ in range(4)
    )
    loose += "".join(f'waived read-over-limit for {name} until 2027-01-01 by di "x"\n' for name in NAMES)
    return {"head": HEAD, "people": PEOPLE, "air": air, "cards": cards, "sheet": sheets, "loose": loose}


def changed(chance: random.Random, path: str, text: str) -> str:
    """A text after a digit is another one, or a line is gone, twice there, elsewhere, struck, or beyond reading."""
    lines = text.splitlines(keepends=True)
    at = chance.randrange(len(lines))
    match chance.randrange(7):
        case 0 | 1:
            digits = [place for place, letter in enumerate(text) if letter.isdigit()]
            place = chance.choice(digits)
            return text[:place] + chance.choice("0123456789") + text[place + 1 :]
        case 2:
            del lines[at]
        case 3:
            lines.insert(chance.randrange(len(lines)), lines[at])
        case 4:
            lines.insert(chance.randrange(len(lines)), lines.pop(at))
        case 5:
            lines[at] = lines[at].rstrip("\n") + '  struck 2026-03-14 by ada "x"\n'
        case 6:
            lines[at] = chance.choice(
                (lines[at].replace(" ", " x ", 1), f"\n{lines[at]}", f'site st3 "x"\n{lines[at]}')
            )
    return "".join(lines)


def said(judged) -> list[tuple]:
    """All that is shown of findings, in an order."""
    return sorted(
        (
            f.span.source.path, f.span.start, f.span.end, f.rule, f.subject, f.level, f.text, tuple(f.working), f.advice,
            f.waived or "", f.answered or "", tuple((place.start, place.end, remark) for place, remark in f.related),
        )
        for f in judged.findings
    )  # fmt: skip


@pytest.mark.parametrize("seed", range(6))
def test_what_is_judged_again_in_part_is_what_is_judged_whole(tmp_path, monkeypatch, seed):
    monkeypatch.setattr(cylfile.server.edited_record, "SMALL", 0)
    # What waits until it is at rest is judged then.
    monkeypatch.setattr(cylfile.server.follow, "MANY", 400 if seed % 2 else 1)
    chance, kept, all_of_them = random.Random(seed), 0, 0
    still_true = cylfile.server.follow._still_true

    def counted(known, record, *more):
        nonlocal kept, all_of_them
        found = still_true(known, record, *more)
        kept, all_of_them = kept + len(found[0]), all_of_them + len(record.cylinders)
        return found

    monkeypatch.setattr(cylfile.server.follow, "_still_true", counted)
    (tmp_path / "house.cylpack").write_text(PACK if seed % 3 else PACK + MORE)
    edited = edited_in(tmp_path, **texts(chance))
    assert not edited.rules().faults
    edited.answer(settle(*edited.question()))
    first = {path: source.text for path, source in edited.sources.items()}
    for number in range(60):
        for _ in range(chance.choice((1, 1, 2))):
            path = chance.choice((*first, "sheet.cyl", "people.cyl", "loose.cyl"))
            text = first[path] if chance.random() < 0.15 else changed(chance, path, edited.source(path).text)
            edited.open(path, text)
            if chance.random() < 0.7:
                edited.follow()
        if chance.random() < 0.6:
            edited.follow()
            record, rules, *more = edited.question()
            in_part, whole = settle(record, rules, *more), judge(record, *rules)
            assert said(in_part) == said(whole), number
            assert edited.answer(in_part)
    assert all_of_them > kept > all_of_them / 5


UNMEASURED = "cylinder H-10\n  class  carbon-wrapped\n  rated  4500 psi\n  made  2019-06\n"
CARD = UNMEASURED + "  holds  6.8 L\n"
TESTED = f"{CARD}  2026-01-06  hydro pass  by A123\n"
OUT = f'{CARD}{{}}  2026-02-03  out of service  "x"\n  2026-02-03  returned to service\n'
COMPRESSOR = 'source C1 "C1"\n  kind  compressor\n  rated  6000 psi\n'
AT_TWO = "".join(f"2026-02-01 09:30 filled H-1{n}  to 4400 psi  by ada  at st{n + 1}\n" for n in (0, 1))
SAMPLE = "2026-02-03 air sample C1 fail\n"
GOOD = "  2026-02-0{}  air sample pass\n"
CHANGED = "  2026-01-20  cartridge changed\n"
STOPPED = '  2026-02-03{}  out of service  "x"\n'
STOPPED_LINE, RUN = '2026-02-06 out of service C1  "x"\n', "2026-02-01 air sample C1 pass\n"
FLAWLESS = "2026-02-06 filled H-10  from 0 psi  to 4000 psi  at 70 F  by ada  on C1\n"
IN_ORDER = CARD.replace("2019", "2024") + "  2025-06-01  entered service\n  2025-12-01  visual pass  by di\n"
NEXT_CARD = CARD.replace("10", "11")
CARTRIDGE = COMPRESSOR + "  cartridge  600 ft3\n  2026-01-01  cartridge changed\n"
BANK = 'source B1 "B1"\n  kind  storage\n  rated  5000 psi\n  holds  40 L\n'
FAILED, PASSED = COMPRESSOR + "  2026-02-02  air sample fail\n", SAMPLE.replace("fail", "pass")
FILL_OF_BANK = "2026-02-03 filled B1  to 5000 psi  on C1\n"
UNREAD = BANK + "  2026-01-05  filled  to unread  on C1\n"


def fills(first: int, last: int, source: str = "C1") -> str:
    return "".join(
        f"2026-02-0{day} filled H-10  from 0 psi  to 4400 psi  by ada  on {source}\n" for day in range(first, last + 1)
    )


@pytest.mark.parametrize(
    "steps",
    (
        # Others have told something else of a fill, and then there is another one.
        [{"loose": fills(1, 6)}, {"people": PEOPLE.replace("02-05", "02-03")}, {"loose": fills(1, 7)}],
        # Of fills from no source, too.
        [{"loose": fills(1, 6).replace("  on C1", "")}, {"people": PEOPLE.replace("02-05", "02-03")}],
        # Only its place in the file tells that a fill is before a sample.
        [
            {"loose": SAMPLE + fills(1, 6)},
            {"loose": fills(1, 6) + SAMPLE},
            {"loose": fills(1, 3) + SAMPLE + fills(4, 7)},
        ],
        # A test does not count any more, and a fill is another one.
        [
            {"cards": TESTED, "loose": fills(1, 6)},
            {"people": PEOPLE.replace("2026-01", "2025-01"), "loose": fills(1, 7)},
        ],
        # What was filled at another place is no cylinder any more.
        [{"cards": UNMEASURED + UNMEASURED.replace("10", "11"), "loose": AT_TWO}, {"cards": UNMEASURED}],
        # The other of two cards that say nothing of it stands first now.
        [{"cards": CARD + NEXT_CARD, "loose": AT_TWO}, {"cards": NEXT_CARD + CARD}],
        # A sample is no more of the block that told the order.
        [{"loose": fills(1, 6) + "# x\n" + SAMPLE}, {"loose": fills(1, 6) + 'site st3 "x"\n' + SAMPLE}],
        # A storage that was filled to what it is rated at is rated otherwise.
        [
            {"air": CARTRIDGE + UNREAD, "loose": fills(1, 6)},
            {"air": CARTRIDGE + UNREAD.replace("5000", "500")},
        ],
        # Nothing tells any more whether a storage was filled with air that was suspect.
        [
            {
                "air": FAILED + BANK,
                "cards": CARD + "  2026-02-10  emptied\n",
                "loose": FILL_OF_BANK + "# x\n" + PASSED,
                "sheet": fills(4, 6, "B1"),
            },
            {"loose": FILL_OF_BANK + 'site st3 "x"\n' + PASSED},
        ],
        # Nothing tells any more whether a source was out of service already.
        [
            {"air": COMPRESSOR + STOPPED.format(" 08:00"), "loose": fills(3, 3).replace(" filled", " 09:00 filled")},
            {"air": COMPRESSOR + STOPPED.format("")},
        ],
        # The line that told it stands in another file, or the fill does.
        [
            {"air": CARTRIDGE, "cards": IN_ORDER, "loose": RUN + STOPPED_LINE + FLAWLESS, "sheet": "# x\n"},
            {"loose": RUN + FLAWLESS, "sheet": STOPPED_LINE},
        ],
        [
            {"air": CARTRIDGE, "cards": IN_ORDER, "loose": RUN + FLAWLESS + STOPPED_LINE, "sheet": "# x\n"},
            {"loose": RUN + STOPPED_LINE, "sheet": FLAWLESS},
        ],
        # A rule asks after the air and after what was before.
        [
            {"pack": PACK + EARLY, "air": COMPRESSOR + GOOD.format(1), "loose": fills(4, 9)},
            {"air": COMPRESSOR + GOOD.format(2)},
        ],
        # A sample of the compressor stands for the storage that it filled.
        [
            {
                "pack": PACK + EARLY,
                "air": COMPRESSOR + GOOD.format(1) + BANK,
                "sheet": FILL_OF_BANK,
                "loose": fills(4, 6, "B1"),
            },
            {"air": COMPRESSOR + GOOD.format(2) + BANK},
        ],
        # What is the same from then on was not the last that is asked after.
        [
            {"pack": PACK + EARLY, "air": CARTRIDGE + CHANGED + GOOD.format(1), "loose": fills(4, 6)},
            {"air": CARTRIDGE + GOOD.format(1)},
        ],
        # A source is rated for less.
        [{"loose": fills(1, 6)}, {"air": COMPRESSOR.replace("6000", "3000")}],
        # The maker calls back one of those that say nothing else.
        [{"loose": fills(1, 6)}, {"head": HEAD + 'recall 2026-02-02 "x"\n  class carbon-wrapped\n'}],
        # The clocks are those of another zone.
        [
            {"loose": "2026-03-08 02:30 filled H-10  to 4400 psi  by ada\n"},
            {"head": HEAD.replace("America/Denver", "Etc/UTC")},
        ],
        # A line above shows that two of one day do not stand as they happened.
        [{"cards": OUT.format(""), "loose": fills(1, 6)}, {"cards": OUT.format("  2026-02-09  moved  to st1\n")}],
    ),
)
def test_what_hangs_on_others_is_as_judged_whole(tmp_path, monkeypatch, steps):
    monkeypatch.setattr(cylfile.server.edited_record, "SMALL", 0)
    first = {"head": HEAD, "people": PEOPLE, "air": COMPRESSOR, "cards": CARD, **steps[0]}
    (tmp_path / "house.cylpack").write_text(first.pop("pack", PACK))
    edited, told = edited_in(tmp_path, **first), []
    edited.answer(settle(*edited.question()))
    for changes in steps[1:]:
        told.append(said(edited.judged))
        for name, text in changes.items():
            edited.open(f"{name}.cyl", text)
        edited.follow()
        record, rules, *more = edited.question()
        in_part = settle(record, rules, *more)
        assert said(in_part) == said(judge(record, *rules)) != told[-1]
        assert edited.answer(in_part)


def test_what_others_tell_of_who_signs_is_asked_of_the_entries_that_rules_may_ask_it_of():
    asked = {place for fact in FACTS.values() if fact.lines_of == SIGNER for place in fact.at}
    assert asked == ASKED.keys()


def test_what_a_source_gave_is_counted_from_another_hour_of_the_same_day(tmp_path, monkeypatch):
    monkeypatch.setattr(cylfile.server.edited_record, "SMALL", 0)
    air = 'source C1 "C1"\n  kind  compressor\n  rated  6000 psi\n  cartridge  50 ft3\n'
    air += "  2026-01-05  cartridge changed\n  2026-02-01 08:00  cartridge changed\n"
    cards = "cylinder H-10\n  class  carbon-wrapped\n  rated  4500 psi\n  made  2022-06\n  holds  6.8 L\n"
    fills = [
        f"2026-02-0{day} 09:00 filled H-10  from 0 psi  to {psi} psi  by ada  on C1\n"
        for day, psi in ((1, 2000), (2, 4500))
    ]
    edited = edited_in(tmp_path, head=HEAD, people=PEOPLE, air=air, cards=cards, loose="".join(fills))
    edited.answer(settle(*edited.question()))
    before = said(edited.judged)
    edited.open("air.cyl", air.replace("08:00", "10:00"))
    edited.follow()
    record, rules, *more = edited.question()
    in_part = said(settle(record, rules, *more))
    assert in_part == said(judge(record, *rules)) != before


def test_what_goes_wrong_at_rest_is_told(tmp_path, monkeypatch):
    def fails(*asked):
        raise ZeroDivisionError("at rest")

    async def settled() -> None:
        service._settle(edited)
        while service._settling:
            await asyncio.sleep(0.01)

    service, edited, told = Service(), edited_in(tmp_path, head=HEAD), []
    monkeypatch.setattr(service, "say", told.append)
    monkeypatch.setattr(cylfile.server.service, "settle", fails)
    asyncio.run(settled())
    assert told == ["a fault of the program (ZeroDivisionError): at rest"]
