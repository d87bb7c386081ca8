"""The database itself refuses an odometer that falls, whoever writes."""

from datetime import date
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from fleet.models import Car
from tests.factories import FillFactory, OdometerReadingFactory

READING, FILL = "reading", "fill"


def write(kind: str, car: Car, on: date, miles: int, **fields: Any) -> Any:
    if kind == READING:
        return OdometerReadingFactory.create(car=car, read_on=on, miles=miles)
    return FillFactory.create(car=car, filled_on=on, odometer=miles, **fields)


@pytest.mark.parametrize("first", [READING, FILL])
@pytest.mark.parametrize("second", [READING, FILL])
@pytest.mark.parametrize(("on", "miles"), [(date(2026, 2, 2), 49_999), (date(2026, 1, 2), 50_001)])
def test_a_row_out_of_step_with_another_day_is_refused(car: Car, first: str, second: str, on: date, miles: int) -> None:
    write(first, car, date(2026, 1, 20), 50_000)
    with pytest.raises(IntegrityError, match="never falls"), transaction.atomic():
        write(second, car, on, miles)


@pytest.mark.parametrize("kind", [READING, FILL])
def test_a_row_changed_until_it_falls_is_refused(car: Car, kind: str) -> None:
    write(FILL, car, date(2026, 1, 20), 50_000)
    later = write(kind, car, date(2026, 1, 25), 50_100)
    field = "miles" if kind == READING else "odometer"
    with pytest.raises(IntegrityError, match="never falls"), transaction.atomic():
        type(later).objects.filter(pk=later.pk).update(**{field: 49_000})


def test_the_same_miles_another_car_and_a_voided_fill_are_no_fall(car: Car, colleague_car: Car) -> None:
    write(FILL, car, date(2026, 1, 20), 50_000)
    write(READING, car, date(2026, 1, 25), 50_000)
    write(READING, colleague_car, date(2026, 1, 26), 12)
    write(FILL, car, date(2026, 1, 27), 1, voided_at=timezone.now())


def test_two_fills_of_one_day_may_come_in_any_order(car: Car) -> None:
    write(FILL, car, date(2026, 1, 20), 50_200)
    write(FILL, car, date(2026, 1, 20), 50_000)
