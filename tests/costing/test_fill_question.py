"""What fills say of the miles of cars: one of the sources of their readings."""

from datetime import date

import pytest
from django.utils import timezone

from config.sql import rows
from costing.queries import fill_question
from tests.factories import CarFactory, FillFactory

pytestmark = pytest.mark.django_db
SINCE = date(2026, 3, 9)


def test_from_a_day_on_the_last_fill_of_each_car_before_it_is_told_too() -> None:
    first, second, without = (CarFactory() for _ in range(3))
    for car, day, miles in ((first, 1, 300), (first, 2, 350), (first, 9, 360), (second, 2, 450), (second, 3, 460)):
        FillFactory(car=car, filled_on=date(2026, 3, day), odometer=miles)
    FillFactory(car=first, filled_on=date(2026, 3, 8), odometer=355, voided_at=timezone.now())
    sql, values = fill_question([first.pk, second.pk, without.pk], SINCE)
    found = {(car_id, str(day), miles) for car_id, day, miles in rows(sql, *values)}
    assert found == {(first.pk, "2026-03-02", 350), (first.pk, "2026-03-09", 360), (second.pk, "2026-03-03", 460)}


def test_of_a_day_with_several_fills_before_it_the_one_of_most_miles_is_told() -> None:
    car = CarFactory()
    for miles in (300, 320, 310):
        FillFactory(car=car, filled_on=date(2026, 3, 2), odometer=miles)
    sql, values = fill_question([car.pk], SINCE)
    assert [miles for *_, miles in rows(sql, *values)] == [320]
