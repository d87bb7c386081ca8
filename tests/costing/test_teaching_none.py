"""The address /lessons/none/: no lessons this week, with one tap."""

from datetime import date, timedelta

import pytest
from django.core.exceptions import ValidationError
from django.test import Client
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from costing.actions import log_no_lessons
from costing.models import TeachingRecord
from costing.queries.teaching import week_without_lessons
from fleet.models import Car
from tests.costing.pages import new_ref, shown, text_of
from tests.factories import CarFactory, TeachingRecordFactory

NONE = reverse("costing:teaching-none")
#: The day that the tests call today.
MONDAY = date(2026, 3, 16)
FRIDAY = date(2026, 3, 20)


def spans() -> list[tuple[date, date, int | None, int | None, int | None]]:
    rows = TeachingRecord.objects.order_by("pk")
    return list(rows.values_list("from_on", "to_on", "lesson_count", "minutes", "private_miles"))


@pytest.mark.usefixtures("today")
def test_one_tap_says_that_there_were_none_and_twice_is_once(everyone: dict[str, Client], car: Car) -> None:
    assert "No lessons this week" in shown(everyone["keeper"], reverse("costing:teaching-log"))
    sent = {"ref": new_ref()}
    for words in ("Logged: Lessons, none, 16 March 2026", "Already logged, nothing was added"):
        answer = everyone["keeper"].post(NONE, sent, follow=True)
        assert answer.redirect_chain == [(reverse("costing:home"), 303)]
        assert words in text_of(answer)
    assert spans() == [(MONDAY, MONDAY, 0, 0, 0)]
    record = TeachingRecord.objects.get()
    assert (record.car, record.member) == (car, car.keeper)
    assert reverse("costing:entry-correct", args=["lessons", record.pk]) in answer.content.decode()
    # Nothing is left to be said of today, so the page offers it no more, and a late tap is told so.
    assert "No lessons this week" not in shown(everyone["keeper"], reverse("costing:teaching-log"))
    again = everyone["keeper"].post(NONE, {"ref": new_ref()}, follow=True)
    assert "Lessons are logged up to today already." in text_of(again)
    assert TeachingRecord.objects.count() == 1


@pytest.mark.usefixtures("today")
@pytest.mark.parametrize("ref", ["", "no reference"])
def test_a_tap_without_a_reference_is_refused(everyone: dict[str, Client], car: Car, ref: str) -> None:
    assert "Reload the page and try again." in text_of(everyone["keeper"].post(NONE, {"ref": ref}, follow=True))
    assert not TeachingRecord.objects.exists()


@pytest.mark.usefixtures("today")
def test_nobody_can_say_it_for_another_nor_without_a_car(everyone: dict[str, Client], car: Car) -> None:
    for who in ("colleague", "coordinator"):
        answer = everyone[who].post(NONE, {"ref": new_ref()}, follow=True)
        assert "You have no car in service now" in text_of(answer), who
    for who in ("stranger", "anonymous"):
        everyone[who].post(NONE, {"ref": new_ref()})
    assert not TeachingRecord.objects.exists()


@pytest.mark.parametrize(
    ("last_on", "first"),
    [
        # From Monday, whether the last lessons were yesterday, long ago or never.
        (date(2026, 3, 15), MONDAY),
        (date(2026, 2, 1), MONDAY),
        (None, MONDAY),
        # From the day after those of this week.
        (date(2026, 3, 17), date(2026, 3, 18)),
        (date(2026, 3, 19), FRIDAY),
        # Up to today or beyond, nothing is left to be said.
        (FRIDAY, None),
        (date(2026, 3, 22), None),
    ],
)
def test_it_counts_from_monday_or_from_the_last_lessons_of_the_week(
    car: Car, last_on: date | None, first: date | None
) -> None:
    if last_on:
        TeachingRecordFactory(car=car, from_on=last_on - timedelta(days=1), to_on=last_on)
        TeachingRecordFactory(car=car, from_on=FRIDAY, to_on=FRIDAY, voided_at="2026-03-20T09:00Z")
    if first is None:
        with pytest.raises(ValidationError, match="up to today already"):
            log_no_lessons(by=car.keeper, ref=new_ref(), on=FRIDAY)
    else:
        record, is_new = log_no_lessons(by=car.keeper, ref=new_ref(), on=FRIDAY)
        assert is_new
        assert (record.from_on, record.to_on) == (first, FRIDAY)


def test_it_is_logged_on_the_car_last_taught_in_and_not_before_that_came(car: Car) -> None:
    other = CarFactory(keeper=car.keeper, registration="QA60XYZ", in_service_from=date(2026, 3, 18))
    gone = CarFactory(keeper=car.keeper, registration="QA40XYZ", in_service_to=date(2026, 3, 15))
    to_come = CarFactory(keeper=car.keeper, registration="QA10XYZ", in_service_from=date(2026, 3, 25))
    for taught_in in (gone, to_come):
        TeachingRecordFactory(car=taught_in, from_on=date(2026, 3, 14), to_on=date(2026, 3, 14))
    TeachingRecordFactory(car=other, from_on=date(2026, 3, 9), to_on=date(2026, 3, 12))
    record, _ = log_no_lessons(by=car.keeper, ref=new_ref(), on=FRIDAY)
    assert (record.car, record.from_on, record.to_on) == (other, date(2026, 3, 18), FRIDAY)


@pytest.mark.django_db
@given(on=st.dates(date(2026, 1, 1), date(2026, 12, 31)))
def test_it_is_never_more_than_a_week_and_begins_on_its_monday(on: date) -> None:
    days = week_without_lessons(0, on)
    assert days is not None
    assert days.first.weekday() == 0
    assert 0 <= (days.last - days.first).days < 7
    assert days.last == on
