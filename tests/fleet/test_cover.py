"""Cover that was paid for moves its due item, and a correction moves it back."""

from datetime import date

import pytest

from fleet.actions import book_due_item, extend_cover, shorten_cover
from fleet.models import Car, DueItem
from instructors.models import Member
from tests.factories import DueItemFactory

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today")]
SINCE, UNTIL, LATER = date(2026, 3, 1), date(2026, 9, 30), date(2027, 3, 31)


def due_on(car: Car) -> date | None:
    """The day that the item says; None without an item."""
    item = DueItem.objects.filter(car=car, kind="insurance").first()
    return item.due_on if item else None


def test_the_first_cover_makes_the_due_item(car: Car, keeper: Member) -> None:
    extend_cover(by=keeper, car=car, kind="insurance", since=SINCE, until=UNTIL)
    assert due_on(car) == UNTIL
    assert DueItem.history.get().history_user == keeper


def test_longer_cover_moves_it_forward_and_answers_the_booking(car: Car, keeper: Member) -> None:
    item = DueItemFactory.create(car=car, kind="insurance", due_on=UNTIL)
    book_due_item(by=keeper, item=item, booked_for=date(2026, 3, 20))
    extend_cover(by=keeper, car=car, kind="insurance", since=SINCE, until=LATER)
    item.refresh_from_db()
    assert (item.due_on, item.booked_for) == (LATER, None)


@pytest.mark.parametrize(("since", "moves"), [(date(2026, 4, 1), True), (date(2026, 4, 2), False)])
def test_cover_to_come_counts_only_if_it_leaves_no_day_without(
    car: Car, keeper: Member, since: date, moves: bool
) -> None:
    DueItemFactory.create(car=car, kind="insurance", due_on=date(2026, 3, 31))
    extend_cover(by=keeper, car=car, kind="insurance", since=since, until=LATER)
    assert due_on(car) == (LATER if moves else date(2026, 3, 31))


def test_the_first_cover_counts_once_it_has_begun(car: Car, keeper: Member) -> None:
    extend_cover(by=keeper, car=car, kind="insurance", since=date(2026, 3, 17), until=LATER)
    assert not DueItem.objects.exists()
    extend_cover(by=keeper, car=car, kind="insurance", since=date(2026, 3, 16), until=LATER)
    assert due_on(car) == LATER


def test_shorter_cover_moves_nothing(car: Car, keeper: Member) -> None:
    DueItemFactory.create(car=car, kind="insurance", due_on=LATER)
    extend_cover(by=keeper, car=car, kind="insurance", since=SINCE, until=UNTIL)
    assert due_on(car) == LATER
    assert DueItem.history.count() == 1


def test_a_voided_cost_takes_its_cover_back(car: Car, keeper: Member) -> None:
    extend_cover(by=keeper, car=car, kind="insurance", since=SINCE, until=UNTIL)
    extend_cover(by=keeper, car=car, kind="insurance", since=SINCE, until=LATER)
    shorten_cover(by=keeper, car=car, kind="insurance", was=LATER, until=UNTIL)
    assert due_on(car) == UNTIL
    shorten_cover(by=keeper, car=car, kind="insurance", was=UNTIL, until=None)
    assert not DueItem.objects.exists()
    assert DueItem.history.latest().history_user == keeper


def test_a_day_that_somebody_has_set_since_is_left_alone(car: Car, keeper: Member) -> None:
    DueItemFactory.create(car=car, kind="insurance", due_on=date(2026, 12, 1))
    shorten_cover(by=keeper, car=car, kind="insurance", was=LATER, until=UNTIL)
    assert due_on(car) == date(2026, 12, 1)


def test_without_a_due_item_there_is_nothing_to_take_back(car: Car, keeper: Member) -> None:
    shorten_cover(by=keeper, car=car, kind="insurance", was=LATER, until=UNTIL)
    assert not DueItem.objects.exists()


def test_a_day_that_was_entered_by_hand_counts_again_once_the_cost_is_taken_back(car: Car, keeper: Member) -> None:
    item = DueItemFactory.create(car=car, kind="insurance", due_on=UNTIL)
    book_due_item(by=keeper, item=item, booked_for=date(2026, 3, 20))
    extend_cover(by=keeper, car=car, kind="insurance", since=SINCE, until=LATER)
    shorten_cover(by=keeper, car=car, kind="insurance", was=LATER, until=date(2026, 1, 31))
    item.refresh_from_db()
    assert (item.due_on, item.booked_for) == (UNTIL, date(2026, 3, 20))


def test_what_two_costs_paid_for_is_unknown_once_both_are_taken_back(car: Car, keeper: Member) -> None:
    for until in (UNTIL, LATER):
        extend_cover(by=keeper, car=car, kind="insurance", since=SINCE, until=until)
    shorten_cover(by=keeper, car=car, kind="insurance", was=LATER, until=None)
    assert due_on(car) is None


@pytest.mark.parametrize("until", [None, date(2026, 1, 31)])
def test_a_day_entered_by_hand_that_a_cost_covers_exactly_stays(car: Car, keeper: Member, until: date | None) -> None:
    item = DueItemFactory.create(car=car, kind="insurance", due_on=UNTIL)
    book_due_item(by=keeper, item=item, booked_for=date(2026, 3, 20))
    extend_cover(by=keeper, car=car, kind="insurance", since=SINCE, until=UNTIL)
    shorten_cover(by=keeper, car=car, kind="insurance", was=UNTIL, until=until)
    item.refresh_from_db()
    assert (item.due_on, item.booked_for) == (UNTIL, date(2026, 3, 20))


def test_a_day_entered_by_hand_stays_when_two_costs_are_taken_back(car: Car, keeper: Member) -> None:
    DueItemFactory.create(car=car, kind="insurance", due_on=UNTIL)
    for until in (UNTIL, LATER):
        extend_cover(by=keeper, car=car, kind="insurance", since=SINCE, until=until)
    shorten_cover(by=keeper, car=car, kind="insurance", was=LATER, until=UNTIL)
    shorten_cover(by=keeper, car=car, kind="insurance", was=UNTIL, until=None)
    assert due_on(car) == UNTIL


def test_an_item_that_was_there_without_a_day_stays_with_its_booking(car: Car, keeper: Member) -> None:
    item = DueItemFactory.create(car=car, kind="insurance", due_on=None)
    book_due_item(by=keeper, item=item, booked_for=date(2026, 3, 20))
    extend_cover(by=keeper, car=car, kind="insurance", since=SINCE, until=UNTIL)
    shorten_cover(by=keeper, car=car, kind="insurance", was=UNTIL, until=None)
    item.refresh_from_db()
    assert (item.due_on, item.booked_for) == (None, date(2026, 3, 20))


def test_the_cover_before_gets_its_booking_back(car: Car, keeper: Member) -> None:
    extend_cover(by=keeper, car=car, kind="insurance", since=SINCE, until=UNTIL)
    book_due_item(by=keeper, item=DueItem.objects.get(), booked_for=date(2026, 3, 20))
    extend_cover(by=keeper, car=car, kind="insurance", since=SINCE, until=LATER)
    shorten_cover(by=keeper, car=car, kind="insurance", was=LATER, until=UNTIL)
    item = DueItem.objects.get()
    assert (item.due_on, item.booked_for) == (UNTIL, date(2026, 3, 20))
