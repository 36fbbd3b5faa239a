"""
A record that is changed file by file is the record that is read anew, whatever the changes were.
"""

import random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import cylfile.server.edited_record
from cylfile.record.entries import plain_form
from cylfile.record.reader import read_record
from cylfile.record.reading_again import Move
from cylfile.server.changing_record import ChangingRecord, moved
from cylfile.server.follow import settle
from cylfile.text.source import Source, Span
from support.workspaces import CARDS, HEAD, SHEET, edited_in

MORE = {
    "loose.cyl": '2026-03-16  visual H-12 pass by quill\n2026-03-17  filled H-99 to 4500 psi\nwaived no-class for H-99 until 2027-01-01 by vance "x"\n',
    "second.cyl": 'cylinder H-12\n  made 2020-01\n  2026-01-01  air sample pass\nsite vance "a name that is taken"\n',
    "broken.cyl": "cylinder H-14 x\n  2026-01-01 blah\n<<<<<<< a\n  indented\nfill sheet 2026-02-30\n  H-12 to 4500 psi\n",
}
TEXTS = {"head.cyl": HEAD, "cards.cyl": CARDS, "sheet.cyl": SHEET, **MORE}


def what(record):
    """All that a record says and all that is wrong with it, in an order that does not matter."""
    return (
        {name: [plain_form(each) for each in entries] for name, entries in record.entries.items() if entries},
        sorted((f.span.source.path, f.span.start, f.span.end, f.text, f.rule, f.subject or "") for f in record.faults),
        {name: sorted(f.text for f in faults) for name, faults in record.damaged.items() if faults},
        sorted(record.declared),
        [waiver.name for waiver in record.waivers],
        record.department and record.department.title,
        [source.path for source in record.sources],
    )


def anew(texts: dict[str, str]):
    return what(read_record([Source(path, text) for path, text in texts.items()]))


def edit(chance: random.Random, text: str) -> str:
    """A text as it is a keystroke, a lost line or a line twice later."""
    lines = text.split("\n")
    at = chance.randrange(len(lines))
    match chance.randrange(4):
        case 0:
            place = chance.randrange(len(text) + 1)
            return text[:place] + chance.choice(' "#\nx1psi') + text[place:]
        case 1:
            place = chance.randrange(len(text) + 1)
            return text[:place] + text[place + chance.randrange(1, 9) :]
        case 2:
            return "\n".join([*lines[:at], *lines[at + 1 :]])
        case _:
            return "\n".join([*lines[:at], lines[at], *lines[at:]])


@pytest.mark.parametrize("seed", range(12))
def test_changes_one_by_one_give_the_record_that_is_read_anew(seed):
    chance, texts, living = random.Random(seed), {}, ChangingRecord()
    for _ in range(40):
        path = chance.choice(list(TEXTS))
        if path in texts and chance.random() < 0.1:
            del texts[path]
            living.update({path: None})
        else:
            texts[path] = edit(chance, texts[path]) if path in texts else TEXTS[path]
            living.update({path: Source(path, texts[path])})
        assert what(living.record) == anew(texts)


def shown(findings):
    return sorted(
        (f.rule, f.subject, f.span.source.path, f.span.start, f.span.end, f.text, f.waived or "") for f in findings
    )


@pytest.mark.parametrize("seed", range(4))
def test_what_is_known_at_once_is_what_is_known_at_rest(tmp_path, monkeypatch, seed):
    """With rules that look at one cylinder only, there is nothing that has to wait but what a block declares."""
    monkeypatch.setattr(cylfile.server.edited_record, "SMALL", 0)
    chance = random.Random(seed)
    edited = edited_in(tmp_path)
    edited.answer(settle(*edited.question()))
    text = edited.source("sheet.cyl").text
    for _ in range(15):
        text = edit(chance, text)
        edited.open("sheet.cyl", text)
        at_once = edited.follow()
        at_rest = settle(*edited.question())
        of_many = {id(finding) for finding in at_rest.others}
        assert shown(f for f in at_once.findings if f not in at_once.others) == shown(
            f for f in at_rest.findings if id(f) not in of_many
        )
        if chance.random() < 0.2:
            assert edited.answer(at_rest) and edited.is_settled


def test_only_the_cylinders_of_the_changed_lines_are_judged_anew():
    living = ChangingRecord()
    living.update(
        {path: Source(path, text) for path, text in TEXTS.items() if path in ("head.cyl", "cards.cyl", "sheet.cyl")}
    )
    change = living.update({"sheet.cyl": Source("sheet.cyl", SHEET.replace("4400", "4300"))})
    assert change.names == {"H-14"}
    change = living.update({"sheet.cyl": Source("sheet.cyl", "\n\n" + SHEET.replace("4400", "4300"))})
    assert change.names == set()
    change = living.update({"cards.cyl": Source("cards.cyl", CARDS.replace("2022-06", "2022-07"))})
    assert change.names == {"H-14"}
    change = living.update({"head.cyl": Source("head.cyl", HEAD.replace("2024-12-31", "2024-12-30"))})
    assert change.names == change.heads == {"ember"}


def test_places_move_with_the_lines_round_them():
    old, new = Source("a", "one\ntwo\nthree\n"), Source("a", "one\nTWO and\nthree\n")
    move = Move(old, new, 4, 8, 12)
    assert move.span(Span(old, 0, 3)).text == "one"
    assert move.span(Span(old, 8, 13)).text == "three"
    assert move.span(Span(old, 5, 7)) is None


@given(st.text("ab\n", max_size=30), st.text("ab\n", max_size=30))
@settings(suppress_health_check=[HealthCheck.too_slow])
def test_a_moved_place_holds_the_same_text(before, after):
    old, new = Source("a.cyl", before), Source("a.cyl", after)
    living = ChangingRecord()
    living.update({"a.cyl": old})
    move = living.update({"a.cyl": new}).moves["a.cyl"]
    for start in range(len(before)):
        span = move.span(Span(old, start, start + 1))
        if span is not None:
            assert span.text == before[start]


def test_a_finding_on_a_changed_line_is_let_go():
    from cylfile.findings.finding import Finding

    old, new = Source("a", "one\ntwo\n"), Source("a", "one\ntw\n")
    finding = Finding("x", "notice", "", Span(old, 4, 7), "text")
    assert moved(finding, {"a": Move(old, new, 4, 8, 7)}) is None
