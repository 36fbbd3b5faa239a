"""
The page of findings: what stands on it and where, at every width, plain and in color.
"""

import argparse
import io
import json
import re
from datetime import date
from itertools import chain, cycle
from pathlib import Path

import pytest

from cylfile.files.records import the_record
from cylfile.files.rules_and_day import case_of
from cylfile.findings.finding import Finding
from cylfile.judging.report import Report
from cylfile.judging.whole_record import judge_record
from cylfile.record.reader import read_record
from cylfile.show.machine.lint_json import lint_json
from cylfile.show.pages.gathered import gather, share
from cylfile.show.pages.lint_page import findings_page
from cylfile.show.pages.missing_facts import missing_together
from cylfile.show.pages.word_by_word import span_of
from cylfile.show.terminal.heading import CAUTION_LINE
from cylfile.show.terminal.layout import Layout, cells
from cylfile.show.terminal.screen import write
from cylfile.text.source import Source, Span
from support.shown_record import LEDGER, PACK, report, rules

AT_80 = """\
Larkspur Valley    4 cylinders, 11 entries    as of 2026-11-25    record: .
rules: test.cylpack, house.cylpack
    made laxer by house: no-temperature suspended: No probe (house.cylpack:3)

 DO NOT FILL  in use today, and must not be filled: 2 cylinders
  past test: L-2, L-4  retired: L-4

L-2   wrapped, 4500 psi, made 2016-03, Station 1                     DO NOT FILL
 DANGER  filled 12 to 43 days after its test fell due (2026-06-30) (2 x
  cards.cyl:19 to :20); last test 2021-06-03 + 5 years = due by 2026-06-30. Take
  it out of service. (past-test; Statute 1; Statute 2, about the same)
L-4   steel, 2216 psi, made 2001-01, Station 1                       DO NOT FILL
 DANGER  filled after it was retired (2020-05-04): only `remarked` may follow
  (cards.cyl:35); other entry: cards.cyl:34. (out-of-order-life)
 DANGER  filled 5,449 days after its test fell due (2006-01-31)     cards.cyl:35
  last test 2001-01 + 5 years = due by 2006-01-31
L-10   steel, 2216 psi, made 2022-01, Station 1
 waived  test falls due in 67 days                                   cards.cyl:7
  NOTICE, waived until 2026-12-31 by vance: Booked for test. (due-soon)

Not about one cylinder
 WARNING  no card declares `L-99`                                   cards.cyl:38
  Correct the name, or open a card: cylinder L-99 (unknown-name)

No finding above is about these, and they must not be filled
  L-3   out of service since 2025-01-01: valve leaks

DANGER 4    WARNING 1    CAUTION 0    NOTICE 0    waived 1
3 cylinders must not be filled: L-2, L-3, L-4
Checks the record, not the cylinder. The marking, its permit, local code and a
qualified person decide.
"""
L_2_AT_60 = """\
L-2   wrapped, 4500 psi, made 2016-03, Station   DO NOT FILL
      1
 DANGER  filled 12 to 43 days after its test fell due
  (2026-06-30) (2 x cards.cyl:19 to :20); last test
  2021-06-03 + 5 years = due by 2026-06-30. Take it out of
  service. (past-test; Statute 1; Statute 2, about the same)
"""
L_2_AT_120 = """\
L-2   wrapped, 4500 psi, made 2016-03, Station 1                                                             DO NOT FILL
 DANGER  filled 12 to 43 days after its test fell due (2026-06-30) (2 x cards.cyl:19 to :20); last test 2021-06-03 + 5
  years = due by 2026-06-30. Take it out of service. (past-test; Statute 1; Statute 2, about the same)
"""
HOSTILE = "\\x1b[31m [red]x[/red] [link=https://example.invalid]y[/link] [/nope] :fire: \\u202egnp.exe"


def page(width: int | None, of=None, color: bool = False) -> str:
    stream = io.StringIO()
    write(findings_page(of or report(), Layout(width)), stream, color)
    return stream.getvalue()


def words(text: str) -> str:
    return "".join(text.split())


def letters(text: str) -> list[str]:
    """All that is no punctuation: where there is no room, sentences are put together in paragraphs."""
    return sorted(re.sub("[().;,\\s]", "", text))


def test_the_page_at_80_columns():
    assert page(80).rpartition("cylfile ")[0] == AT_80


def test_a_narrow_terminal_puts_places_under_their_texts():
    assert L_2_AT_60 in page(60)


@pytest.mark.parametrize("width", [120, 140, 300])
def test_a_wide_terminal_has_no_longer_lines(width):
    assert L_2_AT_120 in page(width)


@pytest.mark.parametrize("width", [30, 40, 49, 60, 80, 100, 120])
def test_every_width_is_kept_and_says_all_that_the_widest_says(width):
    text = page(width)
    assert max(cells(line) for line in text.split("\n")) <= width
    assert letters(text) == letters(page(None))
    assert words(CAUTION_LINE) in words(text)


def test_no_line_ends_in_blanks():
    assert not re.search("[ \t]$", page(100), re.MULTILINE)


def test_color_changes_nothing_but_color():
    colored = page(100, color=True)
    assert "\x1b[" in colored
    assert re.sub("\x1b\\[[0-9;]*m", "", colored).rstrip() == page(100).rstrip()


def test_a_pipe_is_never_wrapped():
    long = " ".join(f"word{number}" for number in range(80))
    text = page(None, report(LEDGER.replace("valve leaks", long)))
    assert f"out of service since 2025-01-01: {long}\n" in text


def test_without_findings_the_foot_says_so():
    ledger = (
        'department "D"\n  rules  "house.cylpack"\ncylinder L-1\n  class  steel\n  rated  2000 psi\n  made  2026-01\n'
    )
    text = page(None, report(ledger))
    assert text.startswith("D    1 cylinder, 0 entries    as of 2026-11-25")
    assert "DANGER 0    WARNING 0    CAUTION 0    NOTICE 0\nNo cylinder is marked DO NOT FILL.\n" in text


def test_without_rules_nothing_is_said_of_filling():
    ledger = LEDGER.replace('  rules  "house.cylpack"\n', "")
    text = page(None, report(ledger, rules()))
    assert "rules: none" in text
    assert "There are no rules, so it cannot be told which cylinders may be filled." in text
    assert "DO NOT FILL" not in text and "must not be filled" not in text


def test_a_line_that_cannot_be_read_bars_its_cylinder():
    text = page(None, report(LEDGER.replace("2022-02-01  entered", "2022-02-01  enterd")))
    assert re.search("L-10 .*DO NOT FILL\n", text)
    assert "could not be read: 1 place, cards.cyl:11\n" in text


def test_a_last_test_that_proves_nothing_bars_its_cylinder():
    ledger = LEDGER.replace("  2022-02-01", "  2026-10-01  hydro pass  by Z999  at 2000 psi\n  2022-02-01", 1)
    text = page(None, report(ledger))
    assert re.search("L-10 .*DO NOT FILL\n DANGER  tested below its rated pressure", text)


def test_the_place_of_another_entry_that_the_text_names_is_not_told_again():
    once = "2022-02-01  entered service"
    entry = next(line for line in LEDGER.splitlines() if once in line)
    text = page(
        None, report(LEDGER.replace(entry, f"{entry}\n  2022-03-01  gauged  900 psi\n  2022-03-01  gauged  900 psi", 1))
    )
    assert "same entry as cards.cyl:12" in text and "other entry: cards.cyl:12" not in text


def test_a_class_title_is_shown_without_its_advice():
    assert "steel, 2216 psi" in page(None) and "say so on the card" not in page(None)


def test_the_ways_of_narrowing_down_are_named():
    assert "\nonly cylinder L-2\n" in page(None, report(narrowed=["only cylinder L-2"]))


def test_text_of_a_record_is_inert():
    hostile = HOSTILE.encode().decode("unicode_escape")
    of = report()
    of.record.department.title = hostile
    for finding in of.findings:
        finding.text = finding.advice = hostile
        finding.cite = [hostile]
    of.heads = {name: head._replace(site=hostile) for name, head in of.heads.items()}
    for color in (False, True):
        text = page(None, of, color)
        text = re.sub("\x1b\\[[0-9;]*m", "", text) if color else text
        assert "\x1b" not in text and "\u202e" not in text
        assert "\\u{1b}[31m [red]x[/red] [link=https://example.invalid]y[/link] [/nope] :fire: \\u{202e}gnp.exe" in text


def test_markup_makes_no_link_and_no_style():
    of = report(LEDGER.replace("Larkspur Valley", "[red]A[/red] [link=https://example.invalid]B[/link]"))
    text = page(100, of, color=True)
    assert "[red]A[/red] [link=https://example.invalid]B[/link]" in text
    assert "\x1b]8" not in text


def test_many_findings_of_one_rule_are_one():
    fills = "".join(f"  2026-09-{day:02d}  filled  to 4500 psi  by vance\n" for day in range(1, 21))
    text = page(None, report(LEDGER.replace("  2026-08-12", fills + "  2026-08-12")))
    group = text[text.index("\nL-2 ") : text.index("\nL-4 ")]
    assert group.count("DANGER  filled ") == 1 and group.count("Take it out of service.") == 1
    assert "filled 12 to 82 days after its test fell due (2026-06-30)" in group and "22 x cards.cyl:19 to :39" in group


def test_levels_are_those_of_the_pack_in_force():
    text = page(
        None, report(ruleset=rules("l.cylpack", l='pack l "L"\n  over "test.cylpack"\nlevel past-test caution\n'))
    )
    assert "CAUTION  filled 12 to 43 days after" in text
    assert PACK.count("danger") == 3 and "DANGER  filled 12" not in text


def with_everything_one_by_one(of):
    of.each = True
    return of


def test_every_finding_by_itself_where_that_is_asked_for():
    text = page(None, with_everything_one_by_one(report()))
    assert "filled 12 days after" in text and "filled 43 days after" in text


def test_what_is_below_the_level_shown_is_counted():
    of = report()
    of.least_shown = "danger"
    text = page(None, of)
    assert "no card declares" not in text and "WARNING 1" in text
    assert "2 findings below danger not shown: --show notice" in text


def test_several_cylinders_are_told_once_where_the_words_are_the_same():
    card = "\ncylinder L-{}\n  class  steel\n  rated  2216 psi\n  made  2022-01\n  2022-02-02  entered service\n"
    text = page(None, report(LEDGER + "".join(map(card.format, (20, 21)))))
    assert "NOTICE  test falls due in 67 days: L-20, L-21" in text
    assert text.count("(due-soon)") == 1


# The demo, in which every rule is broken.


@pytest.fixture(scope="module")
def demo():
    folder = the_record([str(Path(__file__).parents[2] / "examples" / "faulty")])
    record = read_record(*folder.texts())
    case = case_of(folder, record, argparse.Namespace(as_of=date(2026, 11, 25), rules=[]))
    judgement = judge_record(case)
    heads, cylinders = judgement.heads, len(record.cylinders)
    return Report(record, case.rules, case.as_of, judgement.findings, heads, cylinders, record.entry_count)


def words_of(text: str) -> set[str]:
    return {word.strip('(),.;:`"').lower() for word in text.split()}


def test_nothing_is_lost_by_telling_findings_together(demo):
    """Each finding has its name, its figures, its working and its sources on the page, or they lie in a span that has."""
    text = " ".join(page(80, demo).split())
    there = words_of(text)
    figures = text.replace(",", "")
    spans = [
        (float(least), float(most))
        for least, most in re.findall("(-?[0-9]+[0-9.]*) to (-?[0-9]+(?:[.][0-9]+)?)", figures)
    ]
    days = re.findall("([0-9]{4}-[0-9-]{2,5}) to ([0-9]{4}-[0-9-]{2,5})", text)

    def is_there(word: str) -> bool:
        if word in there or not word or f"{word}s" in there or word.removesuffix("s") in there:
            return True
        if re.fullmatch("-?[0-9,]+([.][0-9]+)?", word):
            return any(least <= float(word.replace(",", "")) <= most for least, most in spans)
        return any(least <= word <= most for least, most in days)

    for finding in json.loads("".join(lint_json(demo)))["findings"]:
        parts = [finding["subject"], finding["text"], *finding["working"], finding["advice"], finding["rule"]]
        lost = [word for word in words_of(" ".join(parts)) if not is_there(word)]
        # A section is named once for the paragraphs of it that stand side by side.
        of_sources = [
            part for word in " ".join(finding["cite"]).split() for part in re.split("(?<=[0-9a-z])(?=[(].*)", word)
        ]
        lost += [part for part in of_sources if part.strip(";,") not in text]
        assert lost == [], finding


FIGURE = re.compile("[0-9]{4}-[0-9]{2}(?:-[0-9]{2})?|[0-9]{2}:[0-9]{2}(?![0-9])|-?[0-9][0-9,]*(?:[.][0-9]+)?(?![.]cyl)")


def figures_in(text: str) -> set[str]:
    """The numbers, days and times of a text, without those of places."""
    return {
        each.replace(",", "") for each in FIGURE.findall(re.sub("[^ (]*[.]cyl(:[0-9]+)?|:[0-9]+(?![0-9:])", "", text))
    }


def spans_in(text: str) -> list[tuple[str, str]]:
    ends = re.findall(f"({FIGURE.pattern}) to ({FIGURE.pattern})", text)
    return [(least.replace(",", ""), most.replace(",", "")) for least, most in ends]


def is_within(figure: str, spans: list[tuple[str, str]]) -> bool:
    if re.fullmatch("-?[0-9]+([.][0-9]+)?", figure):
        numbers = [span for span in spans if all(re.fullmatch("-?[0-9]+([.][0-9]+)?", end) for end in span)]
        return any(float(least) <= float(figure) <= float(most) for least, most in numbers)
    return any(least <= figure <= most for least, most in spans)


def paragraphs_of(text: str) -> dict[str, list[str]]:
    """Rule -> what is told of it, with the head under which it stands; what names no rule is of the one before it."""
    told: dict[str, list[str]] = {}
    rules: list[str] = []
    head = ""
    for top, paragraph in re.findall("^(?:([^ \n].*)| [A-Za-z]+  (.*(?:\n  .*)*))|^$", text, re.MULTILINE):
        if paragraph:
            paragraph = " ".join(paragraph.split())
            named = re.findall("[(]([a-z]+(?:-[a-z0-9]+)+|recalled)[ );]|([a-z-]+); ([a-z-]+), or all:", paragraph)
            rules = [*filter(None, chain.from_iterable(named))] or rules
            for rule in rules:
                told.setdefault(rule, []).append(f"{head} {paragraph}")
        else:
            head = top
    return told


@pytest.mark.parametrize("width", [80, 120, None])
def test_each_finding_has_its_name_its_place_and_every_figure_of_its_working_where_its_rule_is_told(demo, width):
    told = paragraphs_of(page(width, demo))
    everywhere = [paragraph for paragraphs in told.values() for paragraph in paragraphs]
    places: dict[tuple[str, str], list[tuple[str, str]]] = {}
    for finding in demo.findings:
        of_rule = told[finding.rule]
        names = f"(?<![0-9A-Za-z-]){re.escape(finding.subject)}(?![0-9A-Za-z-])"
        about = [paragraph for paragraph in of_rule if re.search(names, paragraph)]
        assert about, finding
        # What stands above of the same subject is not said again.
        also = [paragraph for paragraph in everywhere if re.search(names, paragraph)]
        for figure in figures_in(" ".join([finding.text, *finding.working])):
            assert any(
                figure in figures_in(paragraph) or is_within(figure, spans_in(paragraph))
                for paragraph in (*about, *also)
            ), (figure, finding)
        place = f":{finding.span.line}" if finding.about else "today"
        places.setdefault((finding.rule, finding.subject), []).append((str(finding.day), place))
    for (rule, subject), of_each in places.items():
        if rule != "cannot-judge":
            for _, place in {min(of_each), max(of_each)} - ({of_each[0]} if of_each[0][1] == "today" else set()):
                assert any(place in paragraph for paragraph in told[rule]), (rule, subject, place)


def sources_at_the_foot(text: str) -> dict[str, str]:
    """Number -> the whole citation, put together again of the group and the section under which the number stands."""
    sources: dict[str, str] = {}
    group = section = ""
    for item in re.split(" *\n *|  +", text.partition("\n  Sources")[2].partition("\n\n")[0].strip()):
        if note := re.fullmatch("\\[([0-9]+)\\] (.*)", item):
            named = note[2]
            if group.endswith(" CFR"):
                # What begins with no digit is of the section before it.
                of_it = re.match("[0-9.]+[a-z]?", named)
                section = of_it[0] if of_it else section
                named = f"{group} {named if of_it else section + ' ' * (named[0] != '(') + named}"
            sources[note[1]] = f"{named}, {group}" if group in ("from memory", "secondary source") else named
        else:
            group = item.removesuffix(":").removesuffix(", where OSHA governs")
    return sources


def test_each_source_has_a_number_at_the_foot_and_each_rule_the_numbers_of_its_sources(demo):
    text = page(None, demo)
    sources = sources_at_the_foot(text)
    assert len(sources) > 40 and [*map(int, sources)] == [*range(1, len(sources) + 1)]
    named: dict[str, set[str]] = {}
    for rule, numbers in re.findall(r"[(]([a-z0-9-]+) \[([0-9,-]+)\][)]", text):
        for run in numbers.split(","):
            first, _, last = run.partition("-")
            for number in range(int(first), int(last or first) + 1):
                named.setdefault(rule, set()).add(sources[str(number)])
    cited: dict[str, set[str]] = {}
    for finding in demo.findings:
        for cite in "; ".join(finding.cite).split("; "):
            cited.setdefault(finding.rule, set()).add(cite.removesuffix(" where OSHA governs"))
    assert named == {rule: cites - {""} for rule, cites in cited.items() if cites - {""}}
    # And they are the same at every width.
    assert sources_at_the_foot(page(80, demo)).keys() == sources.keys()


def test_a_rule_advises_and_cites_once_a_page(demo):
    text = " ".join(page(80, demo).split())
    assert text.count("(holds-suspect-air [") == text.count("(filled-over-limit [") == 1


def test_the_page_of_the_demo_is_a_fraction_of_its_findings_one_by_one(demo):
    text = page(80, demo)
    each = page(80, with_everything_one_by_one(of_some(demo, demo.findings, demo.heads)))
    assert text.count("\n") < each.count("\n") * 0.4 and max(cells(line) for line in text.split("\n")) <= 80


def of_some(demo, findings, heads):
    """The report of some of what is found in the demo."""
    return Report(demo.record, demo.rules, demo.as_of, findings, heads, demo.cylinders, demo.entries)


def of_one(demo, name):
    """The page of one cylinder of the demo, without lines that are wrapped."""
    findings = [finding for finding in demo.findings if finding.subject == name]
    return page(None, of_some(demo, findings, {name: demo.heads[name]}))


def test_a_few_cylinders_are_told_one_by_one_however_much_is_found_of_them(demo):
    names = ("106", "118", "130")
    findings = [finding for finding in demo.findings if finding.subject in names]
    heads = {name: demo.heads[name] for name in names}
    text = page(None, of_some(demo, findings, heads))
    assert text.count("\n DANGER  ") > 8 and all(f"\n{name}   " in text for name in names)
    assert not re.search("[A-Z]  (106|118|130): ", text)


def test_a_bar_is_told_once(demo):
    alone = of_one(demo, "118")
    assert "\n  damaged on 2024-09-10: dropped down the cellar stairs, dent in the aluminum at the neck\n" in alone
    assert "DANGER  filled while barred  " in alone and "WARNING  in service while barred  " in alone
    for text in (alone, page(None, demo)):
        assert text.count("dropped down the cellar stairs") == 1
        assert text.lower().count("cleared by a hydrostatic test by an authorized tester (`hydro pass`)") == 1
    assert "WARNING  in service while barred: 106, 118, 131, 135\n" in text


def test_working_that_stands_above_is_not_repeated(demo):
    text = of_one(demo, "130")
    # The test was long past when it was filled; that it is overdue now adds only the day of the last fill.
    assert text.count("last test 1997-03 + 5 years = due by 2002-03-31") == 1
    assert "may not be filled or topped up" in text and "\n  last filled 2026-09-29\n" in text


def test_the_worst_of_several_is_said_in_words_and_of_each_what_differs(demo):
    text = page(None, demo)
    # The blanks of the working stand for what each row tells, in its order.
    assert "DANGER  filled 11 to 10,339 days after its test fell due: 9 cylinders, 32 times\n" in text
    assert "\n  last test _ + _ years = due by _\n" in text
    assert "  106: 94 to 1,627; 2017-04; 5; 2022-04-30; 9 x 2022.cyl:91 to 2026.cyl:501  130: 7,296 to 8,948;" in text
    # Those with the same test and day stand together.
    assert (
        "  2020-09, 5, 2025-09-30:  119: 171, 2026.cyl:161  120: 169 to 189, 3 x :154 to :211  121: 189, :212" in text
    )
    assert "holds suspect air: sample of comp failed 2024-03-05 to 2026-02-10: 15 cylinders\n" in text
    assert "  2026-02-10:  105: 2026-01-15  106: 2025-11-29  114: 2025-11-29" in text
    assert "fills through an overdue cartridge of comp: 33 cylinders and 2 sources\n" in text
    # The file of the row before is not named again.
    assert "  2023-12-05, 2024-03-05:  102: 2024.cyl:31  103: :33  107: :28" in text


def test_where_figures_are_too_many_each_has_its_working_in_words(demo):
    text = page(None, demo)
    assert (
        "DANGER  filled to 2087 to 4681 psi at 70 F, over its limit of 2015 to 4500 psi: 4 cylinders, 12 times\n"
        in text
    )
    assert (
        "131: limit of 2216 psi; 4500 psi at 84 F = 4322 psi, real gas; over by 2106 psi; rated 2015 psi; allowed:"
        in text
    )


def test_the_rows_of_very_many_have_what_the_sentence_has_of_each(demo):
    text = page(None, demo)
    assert "\n  changed 2023-12-05 + 1 year = good through 2024-12-05; filled 2024-12-14 to 2026-11-10\n" in text
    # Two rules of the same fills share the rows, and a row that says one thing says it of both.
    assert (
        "\n  cartridge-overdue; cartridge-spent, or all:  101: 8, 2025.cyl:27; 7, :102  102: 7, :76  103: 4, :35; 3"
        in text
    )
    # Those whose findings are in the same files stand together.
    assert "  115: 2, 2025.cyl:37; 1, 2026.cyl:504  140: 1, :557; -  141: 1, :508; -  " in text


def test_facts_missing_at_one_place_are_told_together_with_the_rules_that_want_each(demo):
    text = page(None, demo)
    assert (
        "\n CAUTION  143: not judged without proof-pressure: filled-over-test-pressure; "
        "without test-every: filled-in-due-month, filled-past-test, test-due-soon, test-overdue"
    ) in text
    assert "\n  Write `test-pressure`, `test-every` on the card.\n" in text
    assert "\n CAUTION  filler-authorized not known; not judged: filler-not-authorized\n" in text


def test_a_rule_that_wants_two_facts_is_told_of_both_and_all_that_is_to_be_written_is_told():
    span = Span(Source("a.cyl", "x\n"), 0, 1)
    wanted = {"class": ("no-life", "old-test"), "made": ("old-test",), "dew-point": ("wet",)}
    advice = [
        "Write `class` or `marked` on the card.",
        "Write `made` on the card.",
        "Write `water` on the sample, in ppm.",
    ]
    findings = [
        Finding("cannot-judge", "caution", "A", span, f"{fact} not known; not judged: {', '.join(of_it)}", [], write)
        for (fact, of_it), write in zip(wanted.items(), advice)
    ]
    for finding, unjudged in zip(findings, wanted.values()):
        finding.unjudged = unjudged
    (one,) = missing_together(gather(findings, rules()))
    assert one.text == "not judged without class: no-life; without class, made: old-test; without dew-point: wet"
    assert one.advice == "Write `class` or `marked`, `made` on the card. Write `water` on the sample, in ppm."
    assert one.findings == findings


def test_dangers_of_several_come_before_the_cylinders_and_the_rest_after(demo):
    text = page(80, demo)
    places = [text.index(words) for words in ("holds suspect air: sample", "\n110   carbon", "cartridge of comp")]
    assert places == sorted(places)


def told_of(*subjects: str, texts: tuple[str, ...] = ("`bye` is not allowed here",)):
    """What is told once of findings about these subjects, and of whom what is left tells."""
    span = Span(Source("a.cyl", "x\n"), 0, 1)
    findings = [
        Finding("unreadable-line", "danger", name, span, text, [], "Write it.")
        for name, text in zip(subjects, cycle(texts))
    ]
    told, left = share(gather(findings, rules()))
    return [(one.text, [each.first.subject for each, _ in one.rows]) for one in told], [
        each.first.subject for each in left
    ]


def test_what_is_about_nobody_is_told_by_itself():
    assert told_of("A", "", "B") == ([("`bye` is not allowed here", ["A", "B"])], [""])


def test_what_is_too_long_to_stand_side_by_side_is_told_of_each():
    texts = tuple(f"`{year}/03/24 or the day after` is not a day" for year in range(2010, 2016))
    ((sentence, names),), _ = told_of(*"ABCDEF", texts=texts)
    assert (sentence, names) == ("`_ or the day after` is not a day", [*"ABCDEF"])


@pytest.mark.parametrize(
    "words, span",
    [
        (["9", "12"], "9 to 12"), (["94 to 1627", "171"], "94 to 1627"), (["1 to 3", "2 to 9"], "1 to 9"),
        (["(2026-06-30),", "(2025-01-31),"], "(2025-01-31 to 2026-06-30),"), (["day", "days"], "days"),
        (["4500", "4500"], "4500"), (["94 to 1,627", "10,339"], "94 to 10,339"), (["21:38", "22:09"], "21:38/22:09"),
        (["2025-06-03", "not\x1fknown", "2024-05-29"], "2024-05-29 to 2025-06-03/not\x1fknown"),
        (["9 to 12/not\x1fknown", "7"], "7 to 12/not\x1fknown"), (["not\x1fknown", "7"], "7/not\x1fknown"),
        # Of what was written nobody knows that it is a figure: 103 is a cylinder.
        (["`104`", "`103`"], "`104/103`"),
    ],
)  # fmt: skip
def test_words_that_differ_are_told_from_the_least_to_the_greatest(words, span):
    assert span_of(words) == span
