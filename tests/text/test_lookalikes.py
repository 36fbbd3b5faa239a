"""Letters that look alike are made visible where two texts differ, and nowhere else."""

import pytest

from cylfile.text.lookalikes import told_apart


@pytest.mark.parametrize(
    "one, other, said",
    [
        ("Ada", "Ada", ("Ada", "Ada")),
        ("\u0410da Vale", "Ada Vale", ("\\u{410}da Vale", "Ada Vale")),
        ("caf\u00e9", "cafe\u0301", ("caf\\u{e9}", "cafe\\u{301}")),
        ("a\u00a0b", "a b", ("a\\u{a0}b", "a b")),
        # Beside another difference too, and only the word that looks as one of the other's.
        ("\u0410da Vale, für uns", "Ada Valer, für uns", ("\\u{410}da Vale, für uns", "Ada Valer, für uns")),
        ("für Ada", "für Eva", ("für Ada", "für Eva")),
        ("провер\u0435но", "проверено", ("проверено", "проверено")),
    ],
)
def test_what_looks_alike_and_differs(one, other, said):
    assert told_apart(one, other) == said
