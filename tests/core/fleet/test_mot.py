from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.core.days import add_months
from fleet.core.mot import (
    FAILURE_RULES,
    RETEST_RULE,
    AfterFailure,
    after_failure,
    earliest_keeping_date,
    expiry_limits,
    first_mot_due,
    first_mot_to_come,
    first_mot_years,
    is_window_in_doubt,
    next_expiry,
)

days = st.dates(date(1990, 1, 1), date(2090, 12, 31))


def test_first_registration_on_29_february_clamps_to_28() -> None:
    assert first_mot_due(date(2024, 2, 29), "GB") == date(2027, 2, 28)
    assert first_mot_due(date(2024, 2, 29), "NI") == date(2028, 2, 29)


def test_the_years_before_a_first_mot_are_the_nations() -> None:
    assert (first_mot_years("GB"), first_mot_years("NI")) == (3, 4)
    with pytest.raises(KeyError):
        first_mot_years("FR")


def test_first_mot_is_to_come_up_to_its_own_day() -> None:
    registered = date(2023, 6, 10)
    assert first_mot_to_come(registered, "GB", date(2026, 6, 10)) == date(2026, 6, 10)
    assert first_mot_to_come(registered, "GB", date(2026, 6, 11)) is None
    assert first_mot_to_come(registered, "NI", date(2026, 6, 11)) == date(2027, 6, 10)
    assert first_mot_to_come(None, "GB", date(2026, 6, 10)) is None


def test_an_unknown_nation_is_an_error() -> None:
    with pytest.raises(KeyError):
        first_mot_due(date(2023, 6, 10), "XX")


@pytest.mark.parametrize(
    ("expiry", "earliest", "a_day_too_soon"),
    [
        # GOV.UK, Getting an MOT: a certificate to 15 May may be renewed from 16 April.
        (date(2026, 5, 15), date(2026, 4, 16), date(2027, 4, 14)),
        (date(2026, 1, 10), date(2025, 12, 11), date(2026, 12, 9)),
        (date(2026, 3, 1), date(2026, 2, 2), date(2027, 1, 31)),
        # February has no 31st: its last day is taken, and the window opens on the day after it.
        (date(2026, 3, 31), date(2026, 3, 1), date(2027, 2, 27)),
        (date(2028, 3, 30), date(2028, 3, 1), date(2029, 2, 27)),
    ],
)
def test_the_window_opens_a_month_less_a_day_before_expiry(expiry: date, earliest: date, a_day_too_soon: date) -> None:
    assert earliest_keeping_date(expiry) == earliest
    assert next_expiry(earliest, expiry) == expiry.replace(year=expiry.year + 1)
    assert next_expiry(earliest - timedelta(days=1), expiry) == a_day_too_soon


def test_first_mot_after_three_years_in_great_britain_and_four_in_northern_ireland() -> None:
    assert first_mot_due(date(2023, 6, 10), "GB") == date(2026, 6, 10)
    assert first_mot_due(date(2023, 6, 10), "NI") == date(2027, 6, 10)


def test_a_certificate_from_a_test_ends_a_year_less_a_day_to_thirteen_months_later() -> None:
    assert expiry_limits(date(2026, 4, 16)) == (date(2027, 4, 15), date(2027, 5, 16))


def test_pass_on_the_last_day_keeps_the_date_and_a_day_later_does_not() -> None:
    assert next_expiry(date(2026, 5, 15), date(2026, 5, 15)) == date(2027, 5, 15)
    assert next_expiry(date(2026, 5, 16), date(2026, 5, 15)) == date(2027, 5, 15)
    assert next_expiry(date(2026, 5, 17), date(2026, 5, 15)) == date(2027, 5, 16)


def test_without_an_earlier_certificate_it_lasts_a_year_from_the_test() -> None:
    assert next_expiry(date(2026, 3, 16), None) == date(2027, 3, 15)


@given(test_day=days, expiry=st.none() | days)
def test_a_certificate_lasts_a_year_to_thirteen_months(test_day: date, expiry: date | None) -> None:
    least, most = expiry_limits(test_day)
    assert least <= next_expiry(test_day, expiry) <= most


@given(expiry=days, early=st.integers(0, 31))
def test_inside_the_window_the_day_of_the_test_makes_no_difference(expiry: date, early: int) -> None:
    test_day = expiry - timedelta(days=early)
    if test_day >= earliest_keeping_date(expiry):
        assert next_expiry(test_day, expiry) == add_months(expiry, 12)
    else:
        assert next_expiry(test_day, expiry) < add_months(expiry, 12)


@pytest.mark.parametrize(
    ("expiry", "is_dangerous", "left"),
    [
        (date(2026, 5, 15), False, AfterFailure.UNTIL_EXPIRY),
        (date(2026, 3, 16), False, AfterFailure.UNTIL_EXPIRY),  # its last day
        (date(2026, 3, 15), False, AfterFailure.TO_TEST_OR_REPAIR),
        (None, False, AfterFailure.TO_TEST_OR_REPAIR),
        (date(2026, 5, 15), True, AfterFailure.NOT_AT_ALL),  # M1-11: a certificate in date does not help
        (None, True, AfterFailure.NOT_AT_ALL),
    ],
)
def test_what_a_failure_leaves_of_the_old_certificate(
    expiry: date | None, is_dangerous: bool, left: AfterFailure
) -> None:
    assert after_failure(date(2026, 3, 16), expiry, is_dangerous=is_dangerous) is left


def test_every_rule_after_a_failure_names_its_source_and_standing() -> None:
    assert set(FAILURE_RULES) == set(AfterFailure)
    for rule in (*FAILURE_RULES.values(), RETEST_RULE):
        assert "(secondary" in rule.source
        assert "safe" not in rule.words


def test_a_window_is_in_doubt_where_the_month_before_may_lack_its_day() -> None:
    days = [date(2027, 3, day) for day in range(1, 32)]
    assert [day.day for day in days if is_window_in_doubt(day)] == [29, 30, 31]
