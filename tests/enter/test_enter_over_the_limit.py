"""
What a gauge may be off is allowed to readings of the past, and not to a fill that is entered now.
"""

import pytest

from support.small_record import DEPARTMENT

CARD = "cylinder T-1\n  class  carbon-wrapped\n  rated  4500 psi\n  made  2024-01\n  2024-02-01  entered service  at quay\n"


@pytest.mark.parametrize(
    "clauses, status",
    [
        ("to 4500 psi at 70 F", 0),
        # Half a degree and half a psi of each figure are what was written.
        ("to 4507 psi at 70 F", 0),
        ("to 4515 psi at 70 F", 1),
        ("to 4500 psi at 50 F", 1),
        ("to 4600 psi at 90 F", 0),
    ],
)
def test_it_is_refused_though_lint_would_let_it_pass(entered, clauses, status):
    (entered.folder / "department.cyl").write_text(DEPARTMENT.replace('"house.cylpack"', "us-dot"))
    (entered.folder / "cards.cyl").write_text(CARD)
    (entered.folder / "fills.cyl").write_text("# Fills.\n")
    done = entered("enter", f"2026-03-14 filled T-1 {clauses} by ben", "--as-of", "2026-03-14")
    assert done.status == status, done
    assert ("filled-over-limit" in done.out) is bool(status)
    if status:
        signed = entered(
            "enter",
            f"2026-03-14 filled T-1 {clauses} by ben",
            "--as-of",
            "2026-03-14",
            "--override",
            "bled",
            "--by",
            "ayla",
        )
        assert signed.status == 0, signed
