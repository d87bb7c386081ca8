"""Quotes typed one after another: a new price moves no bill."""

from collections.abc import Sequence
from datetime import date, timedelta
from decimal import Decimal
from itertools import accumulate

import pytest
from django.test import Client
from django.urls import reverse
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from costing.models import PotBill
from costing.planning.core.bills import Bill, Lacks, Source, year_from
from costing.planning.core.pot import Weeks, smallest_weekly
from costing.planning.report import PotReport, pot_report
from costing.planning.services.pot_bills import bills_of
from costing.planning.services.pot_gathered import Gathered, gather, rows_of
from fleet.models import Car
from fleet.queries import cars_of, due_report
from instructors.models import Member
from tests.conftest import TODAY
from tests.costing.pages import shown
from tests.factories import CostEntryFactory, DueItemFactory, PotBillFactory, PotPlanFactory

POT = reverse("costing:pot")

pytestmark = pytest.mark.usefixtures("today")


def quote(member: Member, pounds: str, due_on: str | None = None, **fields: object) -> PotBill:
    return PotBillFactory.create(member=member, kind="insurance", amount=pounds, due_on=due_on, **fields)


def insurance(report: PotReport) -> list[tuple[date, int, Source]]:
    return [(bill.on, bill.pence, bill.source) for bill in report.bills.known if bill.title == "Insurance"]


def of(member: Member) -> PotReport:
    return pot_report(member, TODAY)


def test_a_quote_without_a_day_keeps_that_of_the_quote_before(everyone: dict[str, Client], car: Car) -> None:
    PotPlanFactory(member=car.keeper, balance="0.00")
    quote(car.keeper, "587.92", "2026-05-20", car=car)
    cheaper = of(car.keeper).smallest
    quote(car.keeper, "813.01", car=car)
    report = of(car.keeper)
    assert insurance(report) == [(date(2026, 5, 20), 813_01, Source.QUOTE)]
    assert report.smallest.weekly > cheaper.weekly
    page = shown(everyone["keeper"], POT)
    assert "Insurance for 20 May 2026, the day of your quote before, QA51 ABC; this one counts £813.01" in page
    assert "20 May 2026, QA51 ABC; does not count: your newer quote of £813.01 does £587.92" in page


def test_a_cars_own_quote_without_a_day_keeps_that_of_one_for_all_cars(car: Car) -> None:
    quote(car.keeper, "587.92", "2026-05-20")
    quote(car.keeper, "813.01", car=car)
    assert insurance(of(car.keeper)) == [(date(2026, 5, 20), 813_01, Source.QUOTE)]


def test_without_a_car_the_day_is_kept_too(everyone: dict[str, Client], stranger: Member) -> None:
    quote(stranger, "587.92", "2026-03-16")
    quote(stranger, "813.01")
    assert insurance(of(stranger)) == [(TODAY, 813_01, Source.TYPED)]
    assert "for 16 March 2026, the day of your quote before; this one counts" in shown(everyone["stranger"], POT)


def test_a_quote_for_a_day_beyond_the_year_leaves_the_renewal_within_it(car: Car) -> None:
    DueItemFactory(car=car, kind="insurance", due_on="2026-05-02")
    quote(car.keeper, "1100.00", "2027-05-02", car=car)
    [unknown] = [one for one in of(car.keeper).bills.not_known if one.title == "Insurance"]
    assert (unknown.lacks, unknown.on) == (Lacks.PRICE, date(2026, 5, 2))
    quote(car.keeper, "990.00", car=car)
    assert insurance(of(car.keeper)) == [(date(2026, 5, 2), 990_00, Source.QUOTE)]


# --- Whatever was typed before ----------------------------------------------------------------------------


@pytest.fixture
def book(car: Car, colleague_car: Car) -> Gathered:
    """The member's book with two cars: of one the insurance is due and was paid, of the other nothing is known."""
    colleague_car.keeper = car.keeper
    colleague_car.save()
    DueItemFactory(car=car, kind="insurance", due_on="2026-05-31")
    half = {"paid_on": "2025-12-01", "covers_from": "2025-12-01", "covers_to": "2026-05-31"}
    CostEntryFactory(car=car, category="insurance", amount="420.00", **half)
    member = car.keeper
    due = due_report(TODAY, cars=cars_of(member, TODAY), members=[member])
    return gather(member, year_from(TODAY), due, rows_of(member, due))


#: Pence, days from today or none, and which car or all.
typed_quotes = st.tuples(
    st.integers(1, 150_000), st.none() | st.integers(0, 500), st.sampled_from(["one", "other", None])
)


def bills_with(book: Gathered, typed: Sequence[tuple[int, int | None, str | None]]) -> list[Bill]:
    cars = dict(zip(("one", "other"), book.cars, strict=True))
    book.rows.typed[:] = [
        PotBill(
            pk=number,
            member=book.member,
            kind="insurance",
            amount=Decimal(pence) / 100,
            due_on=None if days is None else TODAY + timedelta(days=days),
            car=cars[car] if car else None,
        )
        for number, (pence, days, car) in enumerate(typed, start=1)
    ]
    return [bill for bill in bills_of(book).known if bill.title == "Insurance"]


def smallest(bills: Sequence[Bill]) -> int:
    """The weekly sum from a pot that meets what comes before the first one is put by."""
    return smallest_weekly([bill for bill in bills if bill.on >= TODAY + timedelta(days=7)], 0, Weeks(TODAY)).weekly


def paid_by(bills: Sequence[Bill], car: str) -> list[int]:
    """What is paid for a car by the end of each day of the year."""
    days = [TODAY + timedelta(days=number) for number in range(366)]
    return list(accumulate(sum(bill.pence for bill in bills if (bill.on, bill.of) == (day, car)) for day in days))


@given(st.lists(typed_quotes, max_size=4), st.integers(0, 50_000), st.sampled_from(["one", "other", None]))
@settings(max_examples=200, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
def test_a_dearer_quote_without_a_day_lowers_nothing(
    book: Gathered, typed: list[tuple[int, int | None, str | None]], more: int, car: str | None
) -> None:
    before = bills_with(book, typed)
    dearest = max([420_00, *(pence for pence, *_ in typed)])
    after = bills_with(book, [*typed, (dearest + more, None, car)])
    assert smallest(after) >= smallest(before)
    for of_car in {bill.of for bill in (*before, *after)}:
        assert all(new >= old for old, new in zip(paid_by(before, of_car), paid_by(after, of_car), strict=True))
