"""
What breaks a seal and what does not: any change of a fact in a sealed period, and nothing else.
"""

import hashlib
import random
import subprocess
from datetime import date, timedelta

import pytest

from cylfile.compare.states import compare_records
from cylfile.findings.seal_findings import seal_findings
from cylfile.findings.signatures import signature_findings, signed_entries
from cylfile.history.seals import check_seals, days_up_to, spell_out, what_entries_rest_on
from cylfile.record.reader import read_record
from cylfile.text.source import Source, decode

SEALED = date(2026, 3, 31)

# Lines that end in `# free` hold nothing that the seal covers. Every other line does, whole.
RECORD = r"""
department "Hollin Creek Fire"
  zone       America/Denver
  rules      us-dot                            # free
site hc1 "Station 1"
site hc2 "Station 2"
person vale "Ada Vale"
  fills      2021-05-03
      until 2027-05-31                         # free
  fills      2027-06-01                        # free
  inspects   2020-01-15 until 2025-12-31
person unused "Never Named"                    # free
tester Z901 "Hill Requalification"
  authorized 2019-01-01 until 2025-12
source C1 "Air-room compressor"
  kind       compressor
  rated      6000 psi
  at hc2
  2026-01-14        air sample pass  CO 1.2 ppm  O2 20.9 %  oil 0.1 mg/m3
cylinder K-1
  serial     HC-88
  marked     "DOT-SP 99123-4500"
  class      carbon-wrapped
  made       2019-06
  holds      6.8 L
  owner      "County"                          # free
  tag        E2003412DC03                      # free
  2019-08-02        entered service  at hc1
  2024-06-20        hydro pass  by Z901  at 7500 psi  plus
  2026-03-14 09:42  filled  from 1150 psi  to 4500 psi  at 88 F  by vale  on C1
      remark "Fogged; read \"twice\"."
  2026-03-20        gauged  4400 psi  struck 2026-03-21 by vale "other one"
  2026-04-02        gauged  4300 psi           # free
cylinder K-2
  2026-03-01        entered service  late 2026-03-09 by vale "found"
cylinder K-3                                   # free
  holds      9 L                               # free
fill sheet 2026-03-15  at hc1  by vale
  09:42  K-1  to 4490 psi
  09:58  K-2  to 4500 psi
fill sheet 2026-04-15  by vale                 # free
  09:58  K-3  to 4500 psi                      # free
2026-03-20  remarked K-2 "wrap scuffed"
2026-03-02  remarked K-3 "new"  late 2026-04-01 by vale "forgotten"    # free
waived test-overdue for K-1 until 2026-12-31 by vale "agreed"       # free
recall 2026-02-01 "Valves of spring"           # free
  maker "Elm"                                  # free
""".lstrip()


def record_of(*texts: str):
    """The record of some files, in the order in which they are given."""
    return read_record([Source(f"f{number}.cyl", text) for number, text in enumerate(texts)])


def seal_line(text: str, day: date = SEALED, by: str = "vale") -> str:
    """The seal of a record, read from one text."""
    spelled = spell_out(record_of(text), day, by)
    return f"sealed {day} by {by} {spelled.entries} entries {spelled.digest}\n"


SEAL = seal_line(RECORD)
LATER_SEAL = seal_line(RECORD + SEAL, date(2026, 4, 30))


def holds(*texts: str) -> bool:
    """Whether the one seal of the files holds, and lint says the same."""
    record = record_of(*texts)
    (check,) = check_seals(record)
    broken = list(seal_findings(check_seals(record, date(2026, 12, 31)), lambda rule: "danger"))
    assert [finding.rule for finding in broken] == ([] if check.holds else ["seal-broken"])
    return check.holds


def test_the_record_can_be_read():
    assert record_of(RECORD).faults == []


def test_a_new_seal_holds():
    assert holds(RECORD, SEAL)
    assert SEAL.startswith("sealed 2026-03-31 by vale 9 entries ")


# What breaks nothing.


def blocks_of(text: str) -> list[str]:
    """The blocks of a text, each with its lines."""
    blocks: list[str] = []
    for line in text.splitlines(keepends=True):
        if line[0] in " \t":
            blocks[-1] += line
        else:
            blocks.append(line)
    return blocks


def test_order_and_number_of_files_break_nothing():
    blocks = blocks_of(RECORD)
    assert holds("".join(reversed(blocks)), SEAL)
    assert holds(SEAL, *blocks)
    assert holds(*reversed(blocks), SEAL)


def test_line_ends_and_a_byte_order_mark_break_nothing():
    data = b"\xef\xbb\xbf" + (RECORD + SEAL).replace("\n", "\r\n").encode()
    source, faults = decode("f.cyl", data)
    assert not faults
    assert check_seals(read_record([source]))[0].holds


@pytest.mark.parametrize(
    "was, now",
    [
        ("# free", "# any other comment"),
        ("  serial ", "  # a comment on a line of its own\n\n  serial"),
        ("to 4500 psi  at 88 F", "to 4500psi\tat   88 °F"),
        ("from 1150 psi  to 4500 psi  at 88 F  by vale  on C1", "by vale on C1\n      at 88 F to 4500 psi from 1150 psi"),
        ("serial     HC-88", 'serial "HC-88"'),
        ("  made       2019-06\n  holds      6.8 L\n", "  holds 6.8 L\n  made 2019-06\n"),
        # The sheet undone: a card line and a loose line, what was inherited written out.
        ("fill sheet 2026-03-15  at hc1  by vale\n  09:42  K-1  to 4490 psi\n  09:58  K-2  to 4500 psi\n",
         "2026-03-15 09:42 filled K-1 to 4490 psi by vale at hc1\n2026-03-15 09:58 filled K-2 at hc1 to 4500 psi by vale\n"),
        # The loose line on a sheet that has nothing to inherit, and on the card.
        ('2026-03-20  remarked K-2 "wrap scuffed"\n', ""),
        # Authority that goes on is none of the period's business.
        ("until 2027-05-31 ", "until 2031-05-31 "),
        ("  fills      2021-05-03\n", "  fills 2021-05-03 until 2025-01-31\n  fills 2025-02-01\n"),
        # A strike after the seal, of any sealed line.
        ('  2019-08-02        entered service  at hc1', '  2019-08-02 entered service at hc1 struck 2026-04-09 by unused "no"'),
        ("  09:42  K-1  to 4490 psi", '  09:42 K-1 to 4490 psi struck 2026-04-01 by vale "typed wrong"'),
        # A line with `late`, and a new card for it.
        ("person unused", '2026-02-01 remarked K-9 "x" late 2026-04-01 by unused "forgotten"\ncylinder K-9\nperson unused'),
        ("person unused", 'person newly "N"\n  fills 2020-01-01\nperson unused'),
    ],
)  # fmt: skip
def test_what_breaks_nothing(was, now):
    assert was in RECORD
    text = RECORD.replace(was, now, 1)
    if was.startswith("2026-03-20  remarked K-2"):
        text = text.replace("cylinder K-2\n", 'cylinder K-2\n  2026-03-20 remarked "wrap scuffed"\n')
    assert record_of(text).faults == []
    assert holds(text, SEAL)


def lines_of(text: str) -> list[str]:
    return text.splitlines(keepends=True)


def is_free(line: str) -> bool:
    return line.rstrip().endswith("# free") or not line.strip()


def test_what_no_seal_covers_may_go():
    kept = [line for line in lines_of(RECORD) if not is_free(line)]
    assert len(kept) < len(lines_of(RECORD))
    assert holds("".join(kept), SEAL)


# What breaks it.


def altered(sign: str) -> str:
    """Another character of the same sort, so that the line can often still be read."""
    if sign.isdigit():
        return str((int(sign) + 1) % 10)
    if sign.isalpha():
        following = {"z": "a", "Z": "A"}.get(sign) or chr(ord(sign) + 1)
        return following
    return "x"


def single_character_changes():
    """Every text that is the record with one character of a covered fact altered or gone."""
    at = 0
    for line in lines_of(RECORD):
        if not is_free(line):
            for offset, sign in enumerate(line, at):
                if not sign.isspace():
                    yield offset, RECORD[:offset] + altered(sign) + RECORD[offset + 1 :]
                    yield offset, RECORD[:offset] + RECORD[offset + 1 :]
        at += len(line)


def test_every_single_character_change_breaks_it():
    # A third of them; `tests/bench/characters.py` tries all of a larger record.
    changes = list(single_character_changes())[::3]
    assert len(changes) > 500
    unnoticed = [
        RECORD[max(at - 30, 0) : at + 10] for at, text in changes if check_seals(record_of(text, SEAL))[0].holds
    ]
    assert unnoticed == []


def test_what_breaks_it_is_shown_by_comparing():
    old = record_of(RECORD)
    assert compare_records(old, record_of(RECORD)).is_empty
    some = list(single_character_changes())[::5]
    unseen = [RECORD[max(at - 30, 0) : at + 10] for at, text in some if compare_records(old, record_of(text)).is_empty]
    assert unseen == []


def test_every_line_removed_breaks_it():
    lines = lines_of(RECORD)
    covered = [index for index, line in enumerate(lines) if not is_free(line)]
    # The header of a card that goes takes the properties under it with it; that is a removal too.
    unnoticed = [lines[index] for index in covered if holds("".join(lines[:index] + lines[index + 1 :]), SEAL)]
    assert unnoticed == []


def test_every_entry_written_twice_breaks_it():
    lines = lines_of(RECORD)
    entries = [i for i, line in enumerate(lines) if not is_free(line) and line.lstrip()[:2] in ("20", "09")]
    assert len(entries) == 9
    assert [lines[i] for i in entries if holds("".join(lines[:i] + lines[i : i + 1] + lines[i:]), SEAL)] == []


@pytest.mark.parametrize(
    "line",
    [
        "2026-03-31 gauged K-1 4200 psi",
        "2019-01-01 remarked C1 \"x\"",
        "2026-03-31 gauged K-3 4200 psi",
        '2026-03-30 gauged K-1 4200 psi late 2026-03-31 by vale "back-dated lateness"',
        '2026-03-30 gauged K-1 4200 psi struck 2026-04-02 by vale "struck at once"',
        f"sealed 2025-12-31 by vale 0 entries {'0' * 64}",
    ],
)  # fmt: skip
def test_an_added_line_breaks_it(line):
    record = record_of(RECORD, f"{line}\n", SEAL)
    assert record.faults == []
    assert not check_seals(record)[-1].holds


def test_an_added_line_after_the_period_does_not():
    assert holds(RECORD, "2026-04-01 gauged K-1 4200 psi\n", SEAL)


@pytest.mark.parametrize(
    "was, now",
    [
        ('struck 2026-03-21 by vale "other one"', ""),
        ('struck 2026-03-21 by vale "other one"', 'struck 2026-04-01 by vale "other one"'),
        ("from 1150 psi  to", 'struck 2026-03-31 by vale "back-dated" from 1150 psi  to'),
        ("from 1150 psi  to", 'late 2026-04-09 by vale "to get it out of the seal" from 1150 psi  to'),
        ("inspects   2020-01-15 until 2025-12-31", "inspects   2020-01-15"),
        ("  fills      2021-05-03\n", "  fills      2021-05-03 until 2025-01-31\n  fills 2025-02-02\n"),
        ("  holds      6.8 L\n", "  holds      6.8 L\n  ree 50 cc\n"),
        ("marked     ", "rated 4500 psi\n  marked     "),
    ],
)
def test_what_breaks_it(was, now):
    text = RECORD.replace(was, now, 1)
    assert was in RECORD and record_of(text).faults == []
    assert not holds(text, SEAL)


# The seal line itself, and the chain.


def test_every_change_of_the_seal_line_shows():
    for at, sign in enumerate(SEAL.rstrip("\n")):
        if sign != " ":
            record = record_of(RECORD, SEAL[:at] + altered(sign) + SEAL[at + 1 :])
            assert record.faults or not check_seals(record)[0].holds, at


def test_an_earlier_seal_that_holds_narrows_the_period():
    changed = RECORD.replace("4300 psi", "4301 psi")
    (finding,) = seal_findings(
        check_seals(record_of(changed, SEAL, LATER_SEAL), date(2026, 12, 31)), lambda rule: "danger"
    )
    assert finding.day == date(2026, 4, 30)
    assert any("the seal through 2026-03-31 holds" in line for line in finding.working)


def test_a_late_line_is_covered_by_the_seal_of_the_day_it_was_written():
    changed = RECORD.replace('remarked K-3 "new"', 'remarked K-3 "now"')
    assert [check.holds for check in check_seals(record_of(changed, SEAL, LATER_SEAL))] == [True, False]


def test_a_seal_of_any_day_can_be_checked():
    for day in ("0001-01-01", "9999-12-31"):
        assert not check_seals(record_of(RECORD, f"sealed {day} by vale 1 entries {'0' * 64}\n"))[0].holds


def test_the_digest_can_be_had_without_the_program(tmp_path):
    """The lines of the digest, sorted by bytes, give it with a common tool."""
    spelled = spell_out(record_of(RECORD), SEALED, "vale")
    lines = spelled.text.splitlines()[1:]
    assert lines == sorted(lines, key=str.encode)
    assert spelled.digest == hashlib.sha256(spelled.text.encode()).hexdigest()
    file = tmp_path / "spelled"
    file.write_text(spelled.text, encoding="utf-8")
    said = subprocess.run(["sha256sum", str(file)], capture_output=True, text=True, check=True)
    assert said.stdout.split()[0] == spelled.digest == SEAL.split()[-1]
    assert "2026-03-14 09:42 filled K-1 from 1150 psi to 4500 psi at 88 F by vale on C1 remark" in spelled.text
    assert "cylinder K-1 made 2019-06\n" in spelled.text
    assert "tag" not in spelled.text and "K-3" not in spelled.text and "unused" not in spelled.text


# Late lines.


def late_findings(text: str) -> list:
    signed = signed_entries(record_of(text).entries.values())
    found = signature_findings(signed, date(2026, 12, 31), lambda rule: "notice")
    return sorted((finding for finding in found if finding.rule == "late-entry"), key=lambda finding: finding.subject)


def test_late_lines_are_listed():
    found = late_findings(RECORD)
    assert [(finding.subject, finding.rule, finding.level, finding.day) for finding in found] == [
        ("K-2", "late-entry", "notice", date(2026, 3, 1)),
        ("K-3", "late-entry", "notice", date(2026, 3, 2)),
    ]
    assert found[1].text == 'remarked of 2026-03-02, written late on 2026-04-01 by vale: "forgotten"'


def test_a_struck_late_line_is_not():
    text = RECORD.replace('"found"', '"found" struck 2026-04-02 by vale "no"')
    assert [finding.subject for finding in late_findings(text)] == ["K-3"]


def test_a_property_struck_on_the_day_of_the_seal_is_covered_as_struck_and_one_struck_later_as_it_stood():
    for day, stood in (("2026-03-31", False), ("2026-04-01", True)):
        text = RECORD.replace(
            "  made       2019-06", f'  made 2018-06 struck {day} by vale "misread"\n  made       2019-06'
        )
        covered = spell_out(read_record([Source("a.cyl", text)]), SEALED, "vale").lines
        assert [line for line in covered if "2018-06" in line] == [
            "cylinder K-1 made 2018-06" if stood else f'cylinder K-1 made 2018-06 struck {day} by vale "misread"'
        ]


def test_a_line_of_a_card_may_be_struck_after_the_seal_with_the_right_one_after_it():
    made = "  made       2019-06\n"
    once = '  made 2019-06 struck 2026-04-09 by vale "misread"\n  made 2019-05\n'
    twice = once.replace("05", '05 struck 2026-04-12 by vale "again"') + "  made 2019-04\n"
    for now in (once, twice, once + '  marked "DOT-3AA2216" struck 2026-04-09 by vale "no"\n'):
        text = RECORD.replace(made, now)
        assert record_of(text).faults == []
        assert holds(text, SEAL) == ("marked" not in now), now
    # What stood is what counts, and a line that nothing was struck for is new.
    for now in (once.replace("2019-06", "2019-07"), twice.replace("2019-06", "2018-06"), made + "  rated 4500 psi\n"):
        assert not holds(RECORD.replace(made, now), SEAL), now
    assert not holds(RECORD.replace(made, once.replace("2026-04-09", "2026-03-31")), SEAL)


@pytest.mark.parametrize(
    "spans, said",
    [
        ([], []),
        ([(None, None)], []),
        ([(date(2026, 1, 1), None)], ["2026-01-01"]),
        ([(date(2026, 1, 1), date(2026, 1, 9)), (date(2026, 1, 10), date(2026, 1, 20))], ["2026-01-01 until 2026-01-20"]),
        ([(date(2026, 1, 1), date(2026, 1, 9)), (date(2026, 1, 11), date(2026, 1, 20))],
         ["2026-01-01 until 2026-01-09", "2026-01-11 until 2026-01-20"]),
        # One within another ends nothing earlier.
        ([(date(2026, 1, 1), date(2026, 2, 9)), (date(2026, 1, 5), date(2026, 1, 20))], ["2026-01-01 until 2026-02-09"]),
        # One that goes on does so through one that ends; one that ends on the day of the seal may go on the day after.
        ([(date(2026, 1, 1), None), (date(2026, 2, 1), date(2026, 2, 9))], ["2026-01-01"]),
        ([(date(2026, 1, 1), SEALED)], ["2026-01-01"]),
        ([(None, SEALED)], []),
        ([(date(2026, 1, 1), date(2026, 1, 9)), (date(2026, 2, 1), date(2026, 2, 9)), (date(2026, 2, 5), date(2026, 3, 9))],
         ["2026-01-01 until 2026-01-09", "2026-02-01 until 2026-03-09"]),
        ([(SEALED, None)], ["2026-03-31"]),
        ([(date(2026, 4, 1), None)], ["never"]),
        # One that was never in force hides none.
        ([(date(2026, 1, 9), date(2026, 1, 8)), (date(2026, 2, 1), date(2026, 2, 1))], ["2026-02-01 until 2026-02-01"]),
        ([(date(2026, 1, 9), date(2026, 1, 8))], ["never"]),
        ([(None, date(2026, 3, 30))], ["0001-01-01 until 2026-03-30"]),
    ],
)  # fmt: skip
def test_what_spans_of_authority_say_of_the_days_up_to_the_seal(spans, said):
    assert days_up_to(spans, SEALED) == said


@pytest.mark.parametrize("seed", range(40))
def test_what_is_struck_of_an_authority_stands_until_then(seed):
    """On each day what is said of the authority is what would be said if the lines struck by then had never been."""
    chance = random.Random(seed)

    def some_day() -> date:
        return date(2026, 1, 1) + timedelta(days=chance.randrange(12))

    spans = [(*sorted((some_day(), some_day())), some_day()) for _ in range(chance.randrange(1, 7))]

    def said_on(day: date, lines: list[str]) -> list[str]:
        record = record_of(
            "\n".join(['person vale "Vale"', *lines, "cylinder K-1", "  2025-12-31 gauged 100 psi by vale", ""])
        )
        assert record.faults == []
        return sorted(line for line in what_entries_rest_on(record, day) if "struck" not in line)

    struck = [f'  fills {first} until {last} struck {until} by vale "no"' for first, last, until in spans]
    for day in (date(2026, 1, 1) + timedelta(days=number) for number in range(-1, 14)):
        standing = [f"  fills {first} until {last}" for first, last, until in spans if day < until]
        assert said_on(day, struck) == said_on(day, standing), day
