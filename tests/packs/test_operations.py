"""What the arithmetic of the packs gives for every pair of kinds, and that what has no result is not known."""

from datetime import date, timedelta
from math import inf

import pytest

from cylfile.packs.operations import OPERATIONS, comparable
from cylfile.record.dates import NEVER, Month

DAY, MINUTE, NONE = timedelta(days=1), timedelta(minutes=1), timedelta(0)
FAR = timedelta(days=999_999_999)


@pytest.mark.parametrize(
    "left, sign, right, kinds, result",
    [
        (date(2024, 2, 28), "+", 2 * DAY, "date duration", date(2024, 3, 1)),
        (date(2024, 3, 1), "-", 2 * DAY, "date duration", date(2024, 2, 28)),
        (Month(2024, 2, 1), "+", DAY, "date duration", date(2024, 2, 2)),
        (Month(2024, 2, 1), "-", DAY, "date duration", date(2024, 1, 31)),
        (NEVER, "+", DAY, "date duration", NEVER),
        (NEVER, "-", DAY, "date duration", NEVER),
        (date(2024, 2, 28), "+", FAR, "date duration", None),
        (date(2024, 2, 28), "-", FAR, "date duration", None),
        (date(2024, 1, 31), "+", 1, "date period", date(2024, 2, 29)),
        (date(2024, 3, 31), "-", 1, "date period", date(2024, 2, 29)),
        (date(2024, 3, 31), "+", 0, "date period", NEVER),
        (date(2024, 3, 31), "-", 0, "date period", None),
        (NEVER, "+", 1, "date period", NEVER),
        (NEVER, "-", 1, "date period", NEVER),
        (2 * DAY, "+", DAY, "duration duration", 3 * DAY),
        (2 * DAY, "-", DAY, "duration duration", DAY),
        (timedelta.max, "+", DAY, "duration duration", None),
        (timedelta.min, "-", DAY, "duration duration", None),
        (3 * DAY, "/", 2 * DAY, "duration duration", 1.5),
        (3 * DAY, "/", NONE, "duration duration", None),
        (3 * DAY, "/", 2, "duration count", 1.5 * DAY),
        (3 * DAY, "/", 0, "duration count", None),
        (3 * DAY, "*", 2, "duration count", 6 * DAY),
        (2, "*", 3 * DAY, "count duration", 6 * DAY),
        (FAR, "*", 2, "duration count", None),
        (600.0, "/", 2 * MINUTE, "pressure duration", 300.0),
        (600.0, "/", NONE, "pressure duration", None),
        (300.0, "*", 2 * MINUTE, "rate duration", 600.0),
        (300.0, "*", NONE, "rate duration", 0.0),
        (3.0, "*", 2, "pressure count", 6.0),
        (0.5, "*", 8.0, "share volume", 4.0),
        (1e308, "*", 10, "pressure count", None),
        (inf, "*", 1, "pressure count", None),
        (3.0, "/", 2, "pressure count", 1.5),
        (3.0, "/", 0, "pressure count", None),
        (3.0, "/", 6.0, "pressure pressure", 0.5),
        (3.0, "/", 0.0, "pressure pressure", None),
    ],
)
def test_what_it_gives(left, sign, right, kinds, result):
    function = OPERATIONS[(sign, *kinds.split())].function
    assert function is not None and function(left, right) == result
    if isinstance(result, date):
        assert type(function(left, right)) is date


@pytest.mark.parametrize("amount", ["pressure", "volume", "share", "count", "rate", "concentration", "density"])
def test_amounts_of_one_kind_are_added_scaled_and_put_in_proportion(amount):
    assert [OPERATIONS[sign, amount, amount].result for sign in "+-"] == [amount, amount]
    assert OPERATIONS["*", amount, "share"].result == OPERATIONS["/", amount, "count"].result == amount
    assert OPERATIONS["/", amount, amount].result == ("count" if amount == "count" else "share")
    assert ("+", amount, "duration") not in OPERATIONS


@pytest.mark.parametrize(
    "sign, left, right, may",
    [
        ("<", "pressure", "pressure", True), ("<", "pressure", "volume", False), ("=", "text", "text", True), ("<", "text", "text", False),
        ("!=", "flag", "flag", True), (">", "flag", "flag", False), ("<", "share", "count", True), ("=", "count", "share", True),
        ("<", "share", "pressure", False),
    ],
)  # fmt: skip
def test_what_may_be_compared(sign, left, right, may):
    assert comparable(sign, left, right) is may
