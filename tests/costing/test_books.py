"""What is read for a period is enough for that period, and no more than the reader may see."""

from datetime import date
from decimal import Decimal

import pytest
from django.db import transaction
from hypothesis import assume, given, settings

from costing.core.records import CarBook, Period
from costing.core.running_cost import running_cost
from costing.queries import car_books
from fleet.actions import hand_over
from fleet.models import Car
from instructors.models import Member
from tests.core.costing.books import books, periods
from tests.costing.stored_books import store
from tests.factories import (
    AgreementFactory,
    CostEntryFactory,
    FillFactory,
    TeachingRecordFactory,
    ValuationFactory,
)

RATE = Decimal("0.15")
ALL_DAYS = Period(date(2000, 1, 1), date(2100, 1, 1))


@pytest.mark.django_db
@settings(max_examples=60)
@given(books(), periods())
def test_the_days_read_for_a_period_give_the_same_figures_as_the_whole_book(book: CarBook, period: Period) -> None:
    with transaction.atomic():
        car, member = store(book)
        of_period = running_cost(car_books([car], period, member=member)[car.pk], period, depreciation_rate=RATE)
        whole_book = car_books([car], ALL_DAYS, member=member)[car.pk]
        of_whole_book = running_cost(whole_book, period, depreciation_rate=RATE)
        assert of_period == of_whole_book
        transaction.set_rollback(True)


@pytest.mark.django_db
@settings(max_examples=40)
@given(books(), periods())
def test_a_book_read_back_costs_what_it_cost_when_written(book: CarBook, period: Period) -> None:
    # Lessons of no member in particular are stored as the last keeper's, and count in that one's time with the car
    # alone: with another keeper before, or a time before the service, what is stored is not the same book.
    assume(len({one.keeper for one in book.keepings}) < 2)
    assume(all(one.last is None or one.last >= book.service.first for one in book.keepings))
    with transaction.atomic():
        car, member = store(book)
        read_back = running_cost(car_books([car], period, member=member)[car.pk], period, depreciation_rate=RATE)
        written = running_cost(book, period, depreciation_rate=RATE)
        assert (read_back.by_category, read_back.miles) == (written.by_category, written.miles)
        assert (read_back.lessons, read_back.minutes) == (written.lessons, written.minutes)
        transaction.set_rollback(True)


def test_another_members_money_and_teaching_stay_out_of_ones_own_book(
    car: Car, keeper: Member, colleague: Member
) -> None:
    FillFactory.create(car=car, member=colleague, filled_on=date(2026, 1, 5), odometer=40_000)
    FillFactory.create(car=car, filled_on=date(2026, 1, 12), odometer=40_300, amount=Decimal("40.00"))
    CostEntryFactory.create(car=car, member=colleague, paid_on=date(2026, 1, 8))
    TeachingRecordFactory.create(car=car, member=colleague, from_on=date(2026, 1, 5), to_on=date(2026, 1, 6))
    january = Period(date(2026, 1, 1), date(2026, 1, 31))
    cost = running_cost(car_books([car], january, member=keeper)[car.pk], january, depreciation_rate=RATE)
    assert cost.by_category == {"fuel": 4000}
    assert cost.lessons == 0
    # The colleague's fill says when the keeper's days of fuel begin; how full it was is the colleague's alone.
    assert cost.litre_economy is None


def test_ones_own_economy_lies_between_ones_own_brims_with_nobody_elses_fill_between(
    car: Car, keeper: Member, colleague: Member
) -> None:
    days = (
        (5, 40_000, keeper),
        (9, 40_200, keeper),
        (12, 40_300, colleague),
        (16, 40_500, keeper),
        (20, 40_600, keeper),
    )
    for day, odometer, member in days:
        FillFactory.create(car=car, member=member, filled_on=date(2026, 1, day), odometer=odometer, quantity=10)
    january = Period(date(2026, 1, 1), date(2026, 1, 31))
    for member, of in ((keeper, (300, 20_000)), (colleague, None), (None, (600, 40_000))):
        book = car_books([car], january, member=member)[car.pk]
        economy = running_cost(book, january, depreciation_rate=RATE).litre_economy
        assert (economy and (economy.miles, economy.thousandths)) == of


def test_voided_entries_are_not_read(car: Car, today: date) -> None:
    from django.utils import timezone

    CostEntryFactory.create(car=car, paid_on=date(2026, 1, 8), voided_at=timezone.now())
    FillFactory.create(car=car, filled_on=date(2026, 1, 9), voided_at=timezone.now())
    january = Period(date(2026, 1, 1), date(2026, 1, 31))
    book = car_books([car], january)[car.pk]
    assert book.costs == ()
    assert book.fills == ()


def test_the_number_of_queries_does_not_grow_with_the_cars(
    car: Car, colleague_car: Car, django_assert_num_queries: object
) -> None:
    for each in (car, colleague_car):
        FillFactory.create(car=each)
        CostEntryFactory.create(car=each)
    january = Period(date(2026, 1, 1), date(2026, 1, 31))
    for cars in ([car], [car, colleague_car]):
        with django_assert_num_queries(6):  # type: ignore[operator]
            car_books(cars, january)


def test_what_a_former_keeper_recorded_is_not_the_takers_by_a_handover_from_a_day_long_past(
    car: Car, keeper: Member, coordinator: Member
) -> None:
    """A coordinator who hands a car to themself from its first day on would read its rent, and what it was worth."""
    AgreementFactory.create(car=car, starts_on=date(2025, 6, 1), kind="contract_hire", price=None, payment=Decimal(313))
    ValuationFactory.create(car=car, valued_on=date(2025, 9, 1), value=Decimal(9_000))
    hand_over(by=coordinator, car=car, keeper=coordinator, on=car.in_service_from, odometer=21_400)
    january = Period(date(2026, 1, 1), date(2026, 1, 31))
    taken = car_books([car], january, member=coordinator)[car.pk]
    assert (taken.agreements, taken.valuations) == ((), ())
    assert "rental" not in running_cost(taken, january, depreciation_rate=RATE).by_category
    # The car's own figures have them, and the former keeper's book too, for the days that are left to it.
    for whose in (None, keeper):
        book = car_books([car], january, member=whose)[car.pk]
        assert (len(book.agreements), len(book.valuations)) == (1, 1)
