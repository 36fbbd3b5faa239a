"""A card, a sheet and a loose line say the same fact in the same entry; its plain form says it once more."""

from datetime import date, time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cylfile.record.dates import Month
from cylfile.record.entries import Answer, Signed, plain_form
from cylfile.record.quantities import Quantity
from cylfile.record.reader import read_record
from cylfile.record.vocabulary import VERBS
from cylfile.text.source import Source
from support.ledger_entries import HEAD, KINDS, SHEETS, VALUES, Written, entry_of, needed_of, written

unhurried = settings(deadline=None, max_examples=50)
EVERY_CLAUSE = [(verb, clause.field) for verb, kind in KINDS.items() for clause in kind.clauses]


def with_only(verb: str, field: str) -> Written:
    """The verb with what it needs and this field."""
    fields = dict.fromkeys([*needed_of(verb, field), field])
    return Written(verb, "2026-05-01", "", {name: VALUES[name][0] for name in fields})


@unhurried
@given(written())
def test_card_and_loose_line_give_one_entry(entry):
    on_card, loose = entry_of(entry.on_card()), entry_of(entry.loose())
    assert on_card.facts == loose.facts and plain_form(on_card) == plain_form(loose)


@unhurried
@given(written(tuple(SHEETS)).filter(lambda entry: len(entry.day) == len("2026-05-01")), st.data())
def test_a_row_gives_the_same_whatever_its_header_says_for_it(entry, data):
    may_inherit = [
        field
        for field in entry.said
        if field not in ("outcome", "result") and (entry.verb, field) != ("gauged", "reading")
    ]
    in_header = data.draw(st.sets(st.sampled_from(may_inherit))) if may_inherit else ()
    loose, row = entry_of(entry.loose()), entry_of(entry.on_sheet(in_header))
    assert row.facts == loose.facts and plain_form(row) == plain_form(loose)


@unhurried
@given(written())
def test_a_plain_form_reads_back_as_what_it_says(entry):
    said = entry_of(entry.loose())
    again = entry_of(f"{HEAD}cylinder 114\n{plain_form(said)}\n")
    assert again.facts == said.facts and plain_form(again) == plain_form(said)


@unhurried
@given(written(("filled", "remarked", "hydro")), written(("filled", "remarked", "hydro")), st.booleans())
def test_entries_say_the_same_exactly_when_their_plain_forms_do(one, other, alike):
    if alike:
        other = one._replace(said=dict(sorted(one.said.items())))
    ours, theirs = entry_of(one.loose()), entry_of(other.on_card())
    assert (ours.facts == theirs.facts) == (plain_form(ours) == plain_form(theirs))
    assert not alike or ours.facts == theirs.facts


@pytest.mark.parametrize("verb, field", EVERY_CLAUSE)
def test_each_clause_of_each_verb_fills_its_own_field(verb, field):
    entry = entry_of(with_only(verb, field).on_card())
    filled = [clause.field for clause in entry.row.clauses if getattr(entry, clause.field) is not None]
    assert sorted(filled) == sorted({field, *needed_of(verb, field)})
    word = VALUES[field][0]
    value = getattr(entry, field)
    if field == "answers":
        assert value == (Answer("past-test", date(2026, 6, 1), "wren", "why"),)
    elif field in ("struck", "late"):
        assert value == Signed(date(2026, 6, 1), "wren", "why")
    elif field in ("text", "remark"):
        assert value == ""
    elif field == "until":
        assert value == Month(2031, 5, 1)
    elif word == "":
        assert value is True
    elif isinstance(value, Quantity):
        assert str(value) == word
    else:
        assert value == word


@pytest.mark.parametrize(
    "verb, field",
    [(v, f) for v, f in EVERY_CLAUSE if f not in ("outcome", "result") and (v, f) != ("gauged", "reading")],
)
def test_each_clause_of_each_verb_stands_at_most_once(verb, field):
    entry = with_only(verb, field)
    line = entry.loose().rstrip("\n")
    record = read_record([Source("a.cyl", f"{line} {entry.clauses([field])[0]}\n")])
    (fault,) = record.faults
    (clause,) = [clause for clause in KINDS[verb].clauses if clause.field == field]
    word = {"unread": "to", "answers": "answered past-test"}.get(field, clause.word)
    assert fault.text == (f"`{word}`" if word else "a text") + " is written twice on this line"
    assert (fault.cure, record.entry_count) == ("Keep the one that is true.", 0)


@pytest.mark.parametrize("verb", KINDS)
def test_a_verb_refuses_the_clauses_of_others(verb):
    own = {clause.field for clause in KINDS[verb].clauses}
    base = with_only(verb, "remark")
    for other in KINDS.values():
        for clause in other.clauses:
            # `to`, `from` and `at` begin a clause of a pressure, of a temperature or of a site; the field tells which.
            if clause.field not in own and clause.field not in ("outcome", "result"):
                words = clause.form.format(VALUES[clause.field][0]).strip()
                record = read_record([Source("a.cyl", f"{base.loose()[:-1]} {words}\n")])
                assert record.entry_count == 0 and len(record.faults) == 1, (verb, words)


@pytest.mark.parametrize("verb, field", [(verb, field) for verb in KINDS for field in needed_of(verb)])
def test_a_verb_without_what_it_needs_is_refused_and_says_what(verb, field):
    said = {name: VALUES[name][0] for name in (*needed_of(verb), "remark") if name != field}
    record = read_record([Source("a.cyl", Written(verb, "2026-05-01", "", said).loose())])
    (fault,) = record.faults
    assert record.entry_count == 0
    if field in ("outcome", "result") or verb == "gauged":
        assert fault.cure.startswith("Expected ") or fault.cure.startswith("Write ")
    else:
        (clause,) = [clause for clause in KINDS[verb].clauses if clause.field == field]
        assert fault.text == f"`{verb}` needs {clause.what}" and fault.cure == f"Write {clause.what}."


def test_clauses_are_written_in_one_order():
    for row in VERBS.values():
        clauses = [clause for clause in row.clauses if not clause.instead_of]
        said = {clause.field: VALUES[clause.field][0] for clause in reversed(clauses)}
        entry = Written(row.verb, "2026-05-01", "09:42", said)
        words = " ".join(clause.form.format(VALUES[clause.field][0]) for clause in clauses)
        assert plain_form(entry_of(entry.loose())) == f"2026-05-01 09:42 {row.verb} {entry.subject} {words}"


def test_the_plain_form_of_a_fill_in_full():
    text = (
        f"{HEAD}cylinder K-1042\nfill sheet 2026-03-15  at st1  on comp  by wren\n"
        "  09:42  K-1042  from 900 psi  to 4500psi  at 85°F\n"
    )
    assert plain_form(entry_of(text)) == (
        "2026-03-15 09:42 filled K-1042 from 900 psi to 4500 psi at 85 F by wren on comp at st1"
    )


@pytest.mark.parametrize(
    "written_as, said, in_plain_form",
    [("09:42", time(9, 42), "09:42"), ("09:42:00", time(9, 42), "09:42"), ("09:42:10", time(9, 42, 10), "09:42:10")],
)
def test_seconds_are_written_where_there_are_any(written_as, said, in_plain_form):
    entry = entry_of(Written("emptied", "2026-05-01", written_as, {}).loose())
    assert entry.time == said and plain_form(entry) == f"2026-05-01 {in_plain_form} emptied 114"


class TestSheets:
    def read(self, text: str):
        return read_record([Source("a.cyl", f"{HEAD}cylinder 114\ncylinder K-1\n{text}")])

    def test_a_row_that_says_a_clause_does_not_inherit_it(self):
        record = self.read(
            "fill sheet 2026-05-01  to 4500 psi  at st1  at 60 F  by wren\n"
            "  114\n  K-1  to 4400 psi  at 12  at 70 F  by 7\n"
        )
        assert [plain_form(entries[0]) for entries in record.entries.values()] == [
            "2026-05-01 filled 114 to 4500 psi at 60 F by wren at st1",
            "2026-05-01 filled K-1 to 4400 psi at 70 F by 7 at 12",
        ]

    def test_the_site_and_the_temperature_are_two_clauses(self):
        record = self.read(
            "gauge sheet 2026-05-01  at st1  at 60 F\n  114  4200 psi  at 12\n  K-1  4200 psi  at 70 F\n"
        )
        assert [(e.at_site, str(e.at_temperature)) for (e,) in record.entries.values()] == [
            ("12", "60 F"),
            ("st1", "70 F"),
        ]

    def test_a_strike_in_the_header_strikes_every_row(self):
        record = self.read('visual sheet 2026-05-01  struck 2026-05-02 by wren "wrong day"\n  114  pass\n  K-1  fail\n')
        assert all(
            entry.struck == Signed(date(2026, 5, 2), "wren", "wrong day") for (entry,) in record.entries.values()
        )

    def test_a_row_of_a_cylinder_named_by_digits_may_have_a_time(self):
        record = self.read("fill sheet 2026-05-01\n  114  to 4500 psi\n  09:42  114  to 4400 psi\n")
        assert [entry.time for entry in record.entries["114"]] == [None, time(9, 42)]

    def test_a_sheet_without_rows_says_nothing(self):
        record = self.read("fill sheet 2026-05-01  by wren\n")
        assert record.faults == [] and record.entry_count == 0

    def test_an_unknown_name_in_a_header_is_told_once(self):
        record = self.read("fill sheet 2026-05-01  by nils\n  114  to 4500 psi\n  K-1  to 4500 psi\n")
        assert [(fault.text, fault.span.line) for fault in record.faults] == [
            ("no block declares the person `nils`", HEAD.count("\n") + 3)
        ]

    @pytest.mark.parametrize(
        "sheet, row", [("fill", "to 4500 psi"), ("visual", "pass"), ("hydro", "pass"), ("gauge", "4500 psi")]
    )
    def test_a_broken_header_places_no_row_and_says_so_of_each(self, sheet, row):
        record = self.read(f"{sheet} sheet 2026-05-01  by wren by 7\n  114  {row}\n  K-1  {row}\n")
        assert record.entry_count == 0
        assert [fault.text.split(":")[0] for fault in record.faults] == ["`by` is written twice on this line"] + [
            "this line cannot be placed"
        ] * 2
        assert record.damaged["114"] and record.damaged["K-1"]
