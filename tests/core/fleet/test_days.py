from datetime import date

import pytest

from fleet.core.days import add_months


@pytest.mark.parametrize(
    ("day", "months", "expected"),
    [
        (date(2026, 3, 16), 1, date(2026, 4, 16)),
        (date(2026, 3, 16), 12, date(2027, 3, 16)),
        (date(2026, 1, 31), 1, date(2026, 2, 28)),
        (date(2028, 2, 29), 12, date(2029, 2, 28)),
        (date(2026, 12, 31), 2, date(2027, 2, 28)),
        (date(2026, 1, 15), -1, date(2025, 12, 15)),
        (date(2026, 3, 31), -1, date(2026, 2, 28)),
    ],
)
def test_months_keep_the_day_or_take_the_last_there_is(day: date, months: int, expected: date) -> None:
    assert add_months(day, months) == expected
