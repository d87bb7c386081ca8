"""Which days a cost is proposed to cover."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costing.core.catalogue.costs import COST_CATEGORIES, FIT_OUT, INSURANCE
from costing.core.cover import proposed_days, term_ends_on
from costing.core.odometer import CarOdometer
from costing.core.periods import days_in
from costing.core.records import Agreement, Cost
from costing.core.spent import cost_total

PAID_ON = date(2026, 11, 26)
DAYS = st.dates(date(2024, 1, 1), date(2030, 12, 31))
BY_DAYS = [category for category in COST_CATEGORIES.values() if category.covers == "days"]


@pytest.mark.parametrize("name", ["insurance", "vehicle_tax", "breakdown_cover"])
@pytest.mark.parametrize(
    ("until_now", "first", "last"),
    [
        (None, "2026-11-26", "2027-11-25"),
        # Logged twelve days before the old cover ends: none of them is paid twice.
        ("2026-12-07", "2026-12-08", "2027-12-07"),
        ("2026-11-26", "2026-11-27", "2027-11-26"),
        ("2026-11-25", "2026-11-26", "2027-11-25"),
        # Logged up to two weeks late, it ran on; later than that, there was a gap.
        ("2026-11-11", "2026-11-12", "2027-11-11"),
        ("2026-11-10", "2026-11-26", "2027-11-25"),
    ],
)
def test_a_renewal_begins_on_the_day_after_what_it_renews(
    name: str, until_now: str | None, first: str, last: str
) -> None:
    ends = date.fromisoformat(until_now) if until_now else None
    days = proposed_days(COST_CATEGORIES[name], PAID_ON, ends)
    assert days == (date.fromisoformat(first), date.fromisoformat(last))


@pytest.mark.parametrize(
    ("term_ends", "last"),
    [
        (date(2029, 1, 7), date(2029, 1, 7)),
        (PAID_ON, PAID_ON),
        (date(2026, 11, 25), date(2029, 11, 25)),
        (None, date(2029, 11, 25)),
    ],
)
def test_fit_out_lasts_to_the_end_of_the_agreement_or_three_years(term_ends: date | None, last: date) -> None:
    assert proposed_days(FIT_OUT, PAID_ON, date(2027, 5, 1), term_ends) == (PAID_ON, last)


def test_an_agreement_says_nothing_about_a_policy() -> None:
    assert proposed_days(INSURANCE, PAID_ON, None, date(2029, 1, 7)).last == date(2027, 11, 25)


def test_fit_out_is_spread_over_three_years_and_its_rest_is_charged_when_the_car_goes() -> None:
    """420 pounds paid on 16 March 2026 last 1,096 days: 6.13 in March, and all that is left on the last day."""
    paid_on, sold_on = date(2026, 3, 16), date(2026, 6, 30)
    days = proposed_days(FIT_OUT, paid_on)
    assert (days.last, days_in(days)) == (date(2029, 3, 15), 1_096)
    fit_out = Cost(paid_on, FIT_OUT.name, 42_000, days.first, days.last)
    total = cost_total(fit_out, CarOdometer([], []), sold_on)
    assert total is not None
    told = [total.by(day) for day in (date(2026, 3, 15), date(2026, 3, 31), date(2026, 6, 29), sold_on)]
    assert told == [0, 613, 4_062, 42_000]


HIRE = Agreement(date(2026, 1, 8), "contract_hire", payments=24)
#: Ten weeks from 2 March 2027 end on 10 May.
RENTAL = Agreement(date(2027, 3, 2), "weekly_rental", payments=10, frequency="week")
OWNED = Agreement(date(2028, 1, 8), "owned", price=700_000)


@pytest.mark.parametrize(
    ("agreements", "on", "ends_on"),
    [
        ([HIRE], PAID_ON, date(2028, 1, 7)),
        ([HIRE], date(2028, 1, 7), date(2028, 1, 7)),
        ([HIRE], date(2028, 1, 8), None),
        ([OWNED], PAID_ON, None),
        ([OWNED], date(2028, 1, 8), None),
        ([], PAID_ON, None),
        # Bought before the car came: to the end of the agreement to come.
        ([HIRE], date(2025, 12, 30), date(2028, 1, 7)),
        # The later one takes over, whatever was left of the earlier one.
        ([RENTAL, HIRE], date(2027, 3, 2), date(2027, 5, 10)),
        ([RENTAL, HIRE], date(2027, 3, 1), date(2028, 1, 7)),
        # After its end, no other one is to come; a car then owned has no term.
        ([RENTAL, HIRE], date(2027, 5, 11), None),
        ([HIRE, OWNED], date(2028, 1, 9), None),
        ([RENTAL._replace(starts_on=date(2028, 6, 1)), HIRE], date(2028, 2, 1), date(2028, 8, 9)),
    ],
)
def test_the_term_is_of_the_agreement_in_force_or_else_to_come(
    agreements: list[Agreement], on: date, ends_on: date | None
) -> None:
    assert term_ends_on(agreements, on) == ends_on


@given(paid_on=DAYS, until_now=st.none() | DAYS, term_ends=st.none() | DAYS)
def test_a_proposal_covers_some_days_and_none_that_is_covered(
    paid_on: date, until_now: date | None, term_ends: date | None
) -> None:
    for category in BY_DAYS:
        days = proposed_days(category, paid_on, until_now, term_ends)
        assert days_in(days) >= 1
        if category.is_renewed:
            assert days_in(days) in {364, 365, 366}
            assert until_now is None or days.first > min(until_now, paid_on - timedelta(days=1))
            assert until_now is None or until_now < paid_on or days.first == until_now + timedelta(days=1)
        else:
            assert days.first == paid_on
