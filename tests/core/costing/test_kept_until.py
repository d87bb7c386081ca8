"""Until when the records of a tax year must be kept.

GOV.UK, Business records if you're self-employed: at least five years after the 31 January deadline of the tax year; its
example, 2013 to 2014: sent by 31 January 2015, kept until the end of January 2020.
"""

from datetime import date

import pytest

from costing.core.periods import kept_until


@pytest.mark.parametrize(
    ("day", "until"),
    [
        (date(2013, 4, 6), date(2020, 1, 31)),
        (date(2014, 4, 5), date(2020, 1, 31)),
        (date(2014, 4, 6), date(2021, 1, 31)),
        (date(2026, 3, 16), date(2032, 1, 31)),
        (date(2026, 4, 6), date(2033, 1, 31)),
    ],
)
def test_it_is_five_years_from_the_day_on_which_the_return_was_due(day: date, until: date) -> None:
    assert kept_until(day) == until
