"""
No character of a record with every word of the language changes unseen: of what a seal covers, its check says so, and
of the rest a comparison. A sample is drawn here; `tests/bench/characters.py` tries them all.
"""

import random

from cylfile.history.seals import check_seals
from cylfile.record.plain_form import header, said_lines
from cylfile.record.properties import PROPERTIES
from cylfile.record.reader import read_record
from cylfile.record.vocabulary import CLAUSES, VERBS
from cylfile.text.source import Source
from support.every_word import PACK, RECORD, sealed_record, unseen_in_pack, unseen_in_record

SAMPLE = 80


def test_the_record_has_every_word_of_the_language():
    record = sealed_record()
    assert record.faults == [] and [check.holds for check in check_seals(record)] == [True] * 3
    entries = [entry for of_name in record.entries.values() for entry in of_name]
    assert {entry.verb for entry in entries} == set(VERBS)
    said = {field for entry in entries for field in entry._fields if getattr(entry, field) is not None}
    assert {clause.field for clause in CLAUSES} <= said
    things = [record.department, *record.declared.values(), *record.recalls]
    known = {word.split()[0].replace("-", "_") for thing in things for word in thing.where}
    # What the grammar calls otherwise than the page.
    known |= {"usual_source", "at_site", "class_name", "serial_range", "made_between"}
    assert set(PROPERTIES) <= known, set(PROPERTIES) - known
    assert record.waivers and record.seals and any(thing.struck_properties for thing in things)


def test_every_property_is_written_as_the_language_reads_it():
    record = sealed_record()
    things = [record.department, *record.declared.values()]
    text = ""
    for thing in things:
        # A title stands in the header.
        titles = [line.removeprefix("title") for line in said_lines(thing) if line.startswith("title ")]
        lines = [f"  {line}\n" for line in said_lines(thing) if not line.startswith("title ")]
        text += "".join([header(thing), *titles, "\n", *lines])
    again = read_record([Source("again.cyl", text)])
    assert again.faults == []
    assert [*map(said_lines, [again.department, *again.declared.values()])] == [*map(said_lines, things)]


def test_a_sample_of_all_changes_of_one_character_is_seen():
    assert unseen_in_record(random.Random(11), SAMPLE) == []
    assert unseen_in_pack(random.Random(11), SAMPLE // 5) == []
    assert "answered" in RECORD and "suspend" in PACK
