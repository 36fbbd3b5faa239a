"""Sources on a page: each once, the volume and the section named once."""

import pytest

from cylfile.show.pages.citations import Notes, cited


@pytest.mark.parametrize(
    "cites, line",
    [
        (["49 CFR 180.205(c)", "49 CFR 173.301(a)(6)"], "49 CFR 180.205(c), 173.301(a)(6)"),
        (["49 CFR 180.205(f)(4); 49 CFR 180.209(m)", "49 CFR 180.205(f)(4)"], "49 CFR 180.205(f)(4), 180.209(m)"),
        (["49 CFR 180.205(c)", "49 CFR 180.205(i) and (j)"], "49 CFR 180.205(c), (i) and (j)"),
        (["29 CFR 1910.134(i)", "permit terms", "49 CFR 171.8"], "29 CFR 1910.134(i); permit terms; 49 CFR 171.8"),
        (["49 CFR 180.209(b)", "house rule 3", "49 CFR 180.209(m)"], "49 CFR 180.209(b), (m); house rule 3"),
        (["49 CFR 173.301(a)", "49 CFR 173.301a(c)"], "49 CFR 173.301(a), 173.301a(c)"),
        (["49 CFR 180.205(c)", "49 CFR 173.301(a)", "49 CFR 180.205(d)"], "49 CFR 180.205(c), (d), 173.301(a)"),
        (
            ["49 CFR 180.205(c)", "49 CFR 180.205", "29 CFR 1910.134(i)"],
            "49 CFR 180.205(c), 180.205; 29 CFR 1910.134(i)",
        ),
        # What is known from memory alone is not mixed with what was read.
        (
            ["49 CFR 180.207(d)", "49 CFR 180.207(c) Table 1, from memory"],
            "49 CFR 180.207(d); 49 CFR 180.207(c) Table 1, from memory",
        ),
        (
            ["A-1, secondary source", "terms", "A-2, secondary source", "A-1, from memory"],
            "A-1 and A-2, secondary source; terms; A-1, from memory",
        ),
        (["49 CFR Part 180 gives no life"], "49 CFR Part 180 gives no life"),
        ([], ""),
    ],
)
def test_a_source_is_cited_once_and_its_volume_once(cites, line):
    assert cited(cites) == line


CITES = [
    "plain sense; 29 CFR 1910.134(i)(1)(ii) where OSHA governs",
    "49 CFR 180.205(c)",
    "29 CFR 1910.134(i)(1)(ii)",
    "49 CFR 180.205(b); 49 CFR 173.301(a)",
    "49 CFR 180.203 over-heated; 49 CFR 180.203 elastic expansion",
    "terms; A-1, from memory",
    "A-1, secondary source",
    "49 CFR 180.205(f), (i) and (j)",
]


def test_sources_are_numbered_by_what_they_are_of_and_each_is_told_once():
    notes = Notes(CITES)
    assert [(title, [note.text for note in group]) for title, group in notes.groups] == [
        ("", ["plain sense", "terms", "49 CFR 180.205(f), (i) and (j)"]),
        # Whom a volume governs is said of it once.
        ("29 CFR, where OSHA governs", ["1910.134(i)(1)(ii)"]),
        # A section is named once.
        ("49 CFR", ["173.301(a)", "180.203 elastic expansion", "over-heated", "180.205(b)", "(c)"]),
        ("from memory", ["A-1"]),
        ("secondary source", ["A-1"]),
    ]
    assert [note.number for _, group in notes.groups for note in group] == [*range(1, 12)]


@pytest.mark.parametrize(
    "texts, numbers",
    [
        (["49 CFR 180.205(c)"], "[9]"),
        (["49 CFR 180.205(c)", "plain sense", "49 CFR 180.205(b)"], "[1,8-9]"),
        (["29 CFR 1910.134(i)(1)(ii)", "29 CFR 1910.134(i)(1)(ii) where OSHA governs"], "[4]"),
        (["A-1, secondary source", "terms"], "[2,11]"),
        ([], ""),
    ],
)
def test_a_rule_has_the_numbers_of_its_sources(texts, numbers):
    assert Notes(CITES).numbered(texts) == numbers
