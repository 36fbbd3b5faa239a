"""What an editor asks about a record: hover, names, outline, actions, hints and neatening."""

import pytest

from cylfile.server import outline
from cylfile.server.actions import actions
from cylfile.server.edited_record import EditedRecord
from cylfile.server.formatting import least_edits, neatened
from cylfile.server.hints import hints
from cylfile.server.hovering import escaped, hover
from cylfile.server.names import Refused, definitions, references, renamed
from support.workspaces import CARDS, HEAD, SHEET, edited_in, opened, write


@pytest.fixture
def edited(tmp_path):
    return edited_in(tmp_path)


def shown(edited, text: str, path: str = "sheet.cyl") -> str:
    found = hover(edited, *opened(edited, path, text))
    return found[1].replace("\\", "") if found else ""


def test_hover_over_a_cylinder_tells_its_state_and_its_next_test(edited):
    text = shown(edited, SHEET.replace("H-12", "H-1|2", 1))
    assert "**H-12**: " in text and "4500 psi" in text
    assert "next test due by 2029-06-30: last test 2024-06-20 + 5 years" in text
    assert "last fill: 2026-03-15 09:42 filled H-12 from 900 psi to 4500 psi" in text
    assert "settles at" in text and "at 70 F" in text


def test_hover_over_a_retired_cylinder_says_so(edited):
    assert "retired 2026-01-02" in shown(edited, '2026-03-15 remarked H-1|3 "a"', "new.cyl")


def test_hover_says_that_other_records_of_the_county_are_not_asked(tmp_path):
    folder = tmp_path / "record"
    folder.mkdir()
    edited = edited_in(folder, cards=CARDS.replace("  made   2019-06\n", '  made   2019-06\n  serial "X-5"\n'))
    text = SHEET.replace("H-12", "H-1|2", 1)
    said = "- other records of the county are not asked here; `cylfile may-fill H-12` asks them"
    assert said not in shown(edited, text).splitlines()
    (tmp_path / ".git").mkdir()
    assert said in shown(edited, text).splitlines()
    # Nobody there knows of one without a serial number.
    other = shown(edited, '2026-03-15 remarked H-1|4 "a"', "new.cyl")
    assert "H-14" in other and "asked" not in other


def test_hover_over_a_pressure_tells_what_it_settles_at(edited):
    assert shown(edited, SHEET.replace("4500 psi", "45|00 psi")).startswith("settles at 4")
    # Without a temperature nobody can tell.
    assert shown(edited, SHEET.replace("4400 psi", "44|00 psi")) == ""


def test_hover_over_a_person_and_a_rule(edited):
    assert "fills 2020-01-01 until 2024-12-31" in shown(edited, '2026-03-15 remarked H-13 "a" by em|ber', "new.cyl")
    text = shown(edited, 'waived filled-past-|test for H-12 until 2026-04-01 by vance "x"', "new.cyl")
    assert "49 CFR 180.205" in text and "danger" in text


def test_texts_of_a_record_are_no_markup(edited):
    assert escaped("[a](http://b) <b>*c*") == "\\[a\\](http://b) \\<b\\>\\*c\\*"
    assert escaped("- a") == "\\- a" and escaped("1. a") == "1\\. a" and escaped("2026-03-14 1.5") == "2026-03-14 1.5"
    text = hover(edited, *opened(edited, "new.cyl", 'site s9 "<img src=x>"\n2026-03-15 moved H-12 to s|9'))[1]
    assert "\\<img src=x\\>" in text


def test_definition_and_references_of_a_name(edited):
    (place,) = definitions(edited, "H-12")
    assert (place.source.path, place.text) == ("cards.cyl", "H-12")
    assert [(span.source.path, span.line) for span in references(edited, "H-12")] == [
        ("cards.cyl", 1),
        ("sheet.cyl", 2),
    ]
    assert [(span.source.path, span.line) for span in references(edited, "st1")] == [
        ("cards.cyl", 5), ("cards.cyl", 12), ("head.cyl", 5), ("sheet.cyl", 1),
    ]  # fmt: skip


def test_a_word_that_only_looks_like_the_name_is_none(edited):
    text = 'cylinder X-1\n  serial  H-12\n  class   H-12\n  tag  H-12\n  2026-01-01  remarked "H-12"  # H-12\n  2026-01-02 visual pass by H-120\n'
    opened(edited, "new.cyl", text)
    assert not [span for span in references(edited, "H-12") if span.source.path == "new.cyl"]


def test_a_count_is_no_name(edited):
    opened(edited, "new.cyl", 'cylinder 5\n  life  5 years\n  test-every  5 years\n2026-01-01 remarked 5 "x"\n')
    assert [span.line for span in references(edited, "5")] == [1, 4]


def test_renaming_goes_over_all_files(edited):
    assert [(span.source.path, span.text) for span in renamed(edited, "H-12", "H-99")] == [
        ("cards.cyl", "H-12"), ("sheet.cyl", "H-12"),
    ]  # fmt: skip


@pytest.mark.parametrize(
    "new", ("", "two words", "2026-01-01", "4500psi", "filled", "by", "Hä", "-x", "a" * 65, "H-14", 'a"b', "a#b")
)
def test_what_is_no_name_is_refused(edited, new):
    with pytest.raises(Refused):
        renamed(edited, "H-12", new)


def test_the_outline_has_a_symbol_a_block(edited):
    source, _ = opened(edited, "new.cyl", CARDS + SHEET + '2026-03-15 remarked H-12 "a"\nfill sh')
    found = outline.symbols(source)
    assert [(each.word, each.name) for each in found] == [
        ("cylinder", "H-12"), ("cylinder", "H-13"), ("cylinder", "H-14"), ("fill sheet", "fill sheet 2026-03-15"),
        ("line", '2026-03-15 remarked H-12 "a"'), ("fill", "sh"),
    ]  # fmt: skip
    assert all(each.block_start <= each.start <= each.end <= each.block_end for each in found)
    assert source.text[found[0].block_start : found[0].block_end] == CARDS[: CARDS.index("\n\n")]


def test_folds_are_blocks_and_comments(edited):
    source, _ = opened(
        edited, "new.cyl", '# one\n# two\n\ncylinder H-1\n  made 2020-01\n\n  tag T\nsite s9 "x"\n# alone\n'
    )
    lines = [(source.position(a)[0], source.position(b)[0], comment) for a, b, comment in outline.folds(source)]
    assert sorted(lines) == [(1, 2, True), (4, 7, False)]


def test_the_folder_is_searched_by_name_and_title(edited):
    assert [name for _, name, _ in outline.search(edited, "h-1")] == ["H-12", "H-13", "H-14"]
    assert [name for _, name, _ in outline.search(edited, "requal")] == ["Z999"]


def applied(text: str, edits) -> str:
    for start, end, new in sorted(edits, reverse=True):
        text = text[:start] + new + text[end:]
    return text


def offered(edited, text: str, path: str = "new.cyl"):
    source, offset = opened(edited, path, text)
    return source, actions(edited, source, offset, offset)


def test_the_right_form_is_put_in(edited):
    source, found = offered(edited, "cylinder H-15\n  2026-03-15  fil|ed  to 4500 psi\n")
    (fix,) = [action for action in found if action.is_preferred]
    assert applied(source.text, fix.edits) == "cylinder H-15\n  2026-03-15  filled  to 4500 psi\n"
    source, found = offered(edited, "cylinder H-15\n  03/1|4/2026  filled  to 4500 psi\n")
    assert "  2026-03-14  filled" in applied(source.text, found[0].edits)


def test_a_missing_clause_is_added_without_a_value(edited):
    source, found = offered(edited, "cylinder H-15\n  2026-03-15  fil|led  from 900 psi\n")
    (fix,) = [action for action in found if action.title.startswith("Add")]
    assert applied(source.text, fix.edits) == "cylinder H-15\n  2026-03-15  filled  from 900 psi  to \n"


def test_a_card_is_opened_where_the_cards_are(edited):
    source, found = offered(edited, "2026-03-15  filled H-1|77 to 4500 psi\n")
    by_title = {action.title: action for action in found}
    assert by_title["Open a card for H-177"].path == "cards.cyl"
    assert by_title["Open a card for H-177"].edits == [(len(CARDS), len(CARDS), "\ncylinder H-177\n")]
    (meant,) = [title for title in by_title if title.startswith("Write")]
    assert applied(source.text, by_title[meant].edits) == f"2026-03-15  filled {meant[7:-1]} to 4500 psi\n"


@pytest.mark.parametrize(
    "text, titles",
    (
        ("2026-03-15  filled H-12 to 4500 psi by van|cy\n", {"Write `vance`", "Declare the person vancy, for you to title"}),
        ("2026-03-15  hydro H-12 pass by Z9|98\n",
         {"Write `Z999`", "Declare the tester Z998, for you to title", "Declare the person Z998, for you to title"}),
        ("2026-03-15  moved H-12 to st|9\n",
         {"Write `st2`", "Declare the site st9, for you to title", "Declare the tester st9, for you to title"}),
        ("2026-03-15  filled H-12 to 4500 psi on B|9\n", {"Declare the source B9, for you to title"}),
        ("2026-03-15  filled H-12 to 4500 psi on vanc|e\n", set()),
    ),
)  # fmt: skip
def test_a_name_that_no_block_declares_is_corrected_or_declared(edited, text, titles):
    source, found = offered(edited, text)
    assert {action.title for action in found if action.title.startswith(("Write", "Declare", "Open"))} == titles
    for action in found:
        if action.title.startswith("Declare"):
            assert action.path == ("head.cyl") and action.edits[0][2].startswith(f"\n{action.title.split()[2]} ")


@pytest.mark.parametrize("place", range(0, 48, 6))
def test_a_line_is_struck_only_once_somebody_says_why(edited, place):
    """Wherever in the line the cursor stands."""
    at = SHEET.index("\n") + 1 + place
    source, found = offered(edited, SHEET[:at] + "|" + SHEET[at:], "sheet.cyl")
    (strike,) = [action for action in found if action.title.startswith("Strike")]
    struck = applied(source.text, strike.edits)
    assert '  at 85 F    struck 2026-03-15 by vance "\n' in struck
    opened(edited, "sheet.cyl", struck)
    assert [finding.rule for finding in edited.findings()["sheet.cyl"]][:1] == ["unreadable-line"]
    opened(edited, "sheet.cyl", struck.replace('vance "\n', 'vance "typed twice"\n'))
    assert edited.record.entries["H-12"][-1].struck.text == "typed twice"


def test_a_property_is_struck_as_an_entry_is_and_a_line_that_is_struck_or_unread_is_not(edited):
    card = "cylinder H-20\n  rated  45|00 psi\n"
    source, found = offered(edited, card)
    (strike,) = [action for action in found if action.title.startswith("Strike")]
    struck = applied(source.text, strike.edits)
    assert struck == 'cylinder H-20\n  rated  4500 psi    struck 2026-03-15 by vance "\n'
    for text in (
        struck.replace('"\n', '"x|"\n'), "cylinder H|-20\n", "cylinder H-20\n  rated 4500 P|SI\n",
        'person vance "Lio"\n  fills  2020-|01-01\n# |', "2026-03-15 filled H-12 to 45|00 PSI\n",
    ):  # fmt: skip
        _, found = offered(edited, text.replace("|", "", text.count("|") - 1))
        assert not [action for action in found if action.title.startswith("Strike")], text


@pytest.mark.parametrize("place", (0, 8, 30, 48))
def test_what_was_done_about_a_finding_of_the_past_is_written_on_its_line(edited, place):
    past = (
        SHEET.replace("2026-03-15", "2026-02-15").replace("to 4500 psi", "to 7000 psi").replace("by vance", "by ember")
    )
    at = past.index("\n") + 1 + place
    source, found = offered(edited, past[:at] + "|" + past[at:], "sheet.cyl")
    (answer,) = [action for action in found if action.title.startswith("Answer filled-over-limit")]
    assert answer.title == "Answer filled-over-limit, by vance: write the reason"
    text = applied(source.text, answer.edits)
    assert 'at 85 F    answered filled-over-limit 2026-03-15 by vance "\n' in text
    opened(edited, "sheet.cyl", text.replace('vance "\n', 'vance "bled down"\n'))
    answered = [finding for finding in edited.findings()["sheet.cyl"] if finding.answered]
    assert [finding.rule for finding in answered] == ["filled-over-limit"]
    # Nobody answers for what he signed himself, and what is past is not waived from today on.
    _, found = offered(edited, past.replace("by ember", "by vance").replace("09:42", "09:|42"), "sheet.cyl")
    assert not [action for action in found if action.title.startswith(("Answer", "Waive"))]


def test_what_is_true_of_today_is_waived_from_today_on(edited):
    source, found = offered(edited, CARDS.replace("H-13", "H-1|3"), "cards.cyl")
    assert not [action for action in found if action.title.startswith("Answer")]
    text = CARDS.replace("2024-06-20  hydro pass", "2019-08-02  hydro pass")
    source, found = offered(edited, text.replace("cylinder H-12", "cylinder H|-12"), "cards.cyl")
    rules = {finding.rule for finding in edited.findings()["cards.cyl"] if finding.span.line == 1}
    waivers = [action for action in found if action.title.startswith("Waive")]
    assert waivers and {action.title.split()[1] for action in waivers} == rules
    rule = waivers[0].title.split()[1]
    text = applied(source.text, waivers[0].edits)
    assert text.endswith(f'\nwaived {rule} for H-12 from 2026-03-15 until  by vance "')
    opened(edited, "cards.cyl", text)
    assert "unreadable-line" in {finding.rule for finding in edited.findings()["cards.cyl"]}
    opened(edited, "cards.cyl", text.replace("until  by", "until 2026-04-01  by") + 'on its way"\n')
    waived = {finding.rule for finding in edited.findings()["cards.cyl"] if finding.waived}
    assert waived == {rule}


def test_hints_tell_due_days_and_settled_pressures(edited):
    source, _ = opened(edited, "cards.cyl", CARDS)
    assert [text for _, text in hints(edited, source, 0, len(CARDS))] == [
        "test due by 2029-06-30",
        "test due by 2027-06-30",
    ]
    source, _ = opened(edited, "sheet.cyl", SHEET)
    ((place, text),) = hints(edited, source, 0, len(SHEET))
    assert source.text[:place].endswith("at 85 F") and text.startswith("settles at 4")


def test_neatening_changes_only_the_lines_that_it_must(edited):
    not_neat = SHEET.replace("  09:58  H-14  to 4400 psi", "   09:58 H-14   to   4400 psi # as read")
    source, _ = opened(edited, "sheet.cyl", not_neat)
    edits = neatened(edited, source)
    assert all(
        source.text[start:end].lstrip().startswith("09:58")
        for start, end, _ in edits
        if "09:58" in source.text[start:end]
    )
    neat_text = applied(not_neat, edits)
    source, _ = opened(edited, "sheet.cyl", neat_text)
    assert neatened(edited, source) == [] and "# as read" in neat_text


@pytest.mark.parametrize(
    "before, after",
    (
        ("a\nb\nc\n", "a\nX\nc\n"),
        ("a\nb", "a\nb\n"),
        ("", "a\n"),
        ("a\nb\nc", "c"),
        ("a\na\na\n", "a\n"),
        ("x", "x"),
        ("\n\n", "\n"),
    ),
)
def test_least_edits_turn_one_text_into_the_other(before, after):
    assert applied(before, least_edits(before, after)) == after


def test_a_department_below_is_a_record_of_its_own(tmp_path):
    for name in ("here", "there"):
        (tmp_path / name).mkdir()
        write(tmp_path / name)
    (tmp_path / "loose.cyl").write_text("# nothing\n")
    top = EditedRecord(str(tmp_path))
    top.follow()
    assert list(top.sources) == ["loose.cyl"]


def test_open_packs_count_before_they_are_saved(edited):
    pack = 'pack house "Ours"\n  over us-dot\nrule x notice\n  on    filled\n  when  to > 5 psi\n  say   "much"\n'
    edited.open("head.cyl", HEAD.replace("us-dot", '"house.cylpack"'))
    assert "unknown-name" not in {finding.rule for finding in edited.findings()["head.cyl"]}
    edited.open("house.cylpack", pack)
    assert [finding.text for finding in edited.findings()["sheet.cyl"] if finding.rule == "x"] == ["much", "much"]


def test_a_time_that_the_clocks_skipped_is_said_as_it_is_typed(tmp_path):
    edited = edited_in(tmp_path, head=HEAD.replace("Etc/UTC", "America/Denver"))
    for time, is_said in (("01:30", False), ("02:30", True), ("03:30", False)):
        edited.open("new.cyl", f"2026-03-08 {time} gauged H-12 900 psi\n")
        assert any(each.rule == "no-such-time" for each in edited.findings().get("new.cyl", [])) == is_said
