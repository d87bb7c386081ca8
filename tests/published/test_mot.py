"""MOT days against what has been published.

Status of each: V2 read in a secondary text only, C worked out from the stated rule.
"""

from datetime import date

import pytest

from fleet.core.mot import earliest_keeping_date, first_mot_due, next_expiry


@pytest.mark.parametrize(
    ("expiry", "earliest"),
    [
        # GOV.UK, Getting an MOT, as reproduced; the year is ours (M1-E1, V2 and C).
        (date(2026, 5, 15), date(2026, 4, 16)),
        # One calendar month less a day, by the same rule (M1-E2 to M1-E5, C). No official example settles
        # expiries on the 29th to the 31st.
        (date(2027, 1, 1), date(2026, 12, 2)),
        (date(2026, 12, 31), date(2026, 12, 1)),
        (date(2027, 2, 28), date(2027, 1, 29)),
        (date(2028, 2, 29), date(2028, 1, 30)),
    ],
)
def test_earliest_day_that_keeps_the_date(expiry: date, earliest: date) -> None:
    assert earliest_keeping_date(expiry) == earliest


def test_pass_on_the_first_day_of_the_window_keeps_the_date() -> None:
    # M1-E6, C: GOV.UK's window; the new certificate runs on from the old one.
    assert next_expiry(date(2026, 4, 16), date(2026, 5, 15)) == date(2027, 5, 15)


def test_pass_before_the_window_lasts_twelve_months_from_the_test() -> None:
    # M1-E7, V2 and C: GOV.UK, Getting an MOT, as reported.
    assert next_expiry(date(2026, 4, 10), date(2026, 5, 15)) == date(2027, 4, 9)


def test_first_mot_after_three_years_in_great_britain_and_four_in_northern_ireland() -> None:
    # M1-E8, C. Road Traffic Act 1988 s.47 (V, read as at 2006); nidirect, How the MOT scheme works (V).
    assert first_mot_due(date(2023, 6, 10), "GB") == date(2026, 6, 10)
    assert first_mot_due(date(2023, 6, 10), "NI") == date(2027, 6, 10)


def test_the_window_stands_before_a_first_test_too() -> None:
    # M1-6: Road Traffic (NI) Order 1995 art.64(1A) (V); in Great Britain FROM MEMORY.
    first = first_mot_due(date(2023, 6, 10), "NI")
    assert next_expiry(date(2027, 5, 11), first) == date(2028, 6, 10)
    assert next_expiry(date(2027, 5, 10), first) == date(2028, 5, 9)
