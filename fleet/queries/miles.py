"""The miles the cars have run, from every place where an odometer reading is recorded."""

from collections.abc import Collection, Iterator
from datetime import date
from itertools import chain
from typing import Protocol

from django.conf import settings
from django.db.models import QuerySet
from django.utils.module_loading import import_string

from config.sql import Question, listed, rows
from fleet.core.odometer import Odometer, Reading
from fleet.models import Car, OdometerReading

CarReading = tuple[int, date, int]


class OdometerSource(Protocol):
    """One of ``settings.ODOMETER_SOURCES``: asks for (car id, day, miles) of some cars, at least one.

    With ``since``, that day on and each car's last reading before it. All sources are asked in one statement.
    """

    def __call__(self, car_ids: Collection[int], since: date | None = None) -> Question: ...


_READINGS = "SELECT car_id, read_on, miles FROM fleet_odometerreading WHERE car_id IN ({cars})"
_LAST_READINGS = """SELECT last.car_id, last.read_on, last.miles FROM fleet_car car
JOIN fleet_odometerreading last ON last.id = (
    SELECT before.id FROM fleet_odometerreading before WHERE before.car_id = car.id AND before.read_on < %s
    ORDER BY before.read_on DESC LIMIT 1
) WHERE car.id IN ({cars})"""


def recorded_readings(car_ids: Collection[int], since: date | None = None) -> Iterator[CarReading]:
    """The readings entered as such: the one door to them."""
    sql, values = reading_question(car_ids, since)
    yield from rows(sql, *values)


def reading_question(car_ids: Collection[int], since: date | None = None) -> Question:
    """What asks for them, as an OdometerSource."""
    cars = listed(car_ids)
    if since is None:
        return Question(_READINGS.format(cars=cars), ())
    sql = f"{_READINGS} AND read_on >= %s UNION ALL {_LAST_READINGS}"
    return Question(sql.format(cars=cars), (since, since))


def raw_readings_of(car_ids: Collection[int], since: date | None = None) -> dict[int, list[Reading]]:
    """Every reading of each car from every source, unsorted; see OdometerSource for ``since``."""
    readings: dict[int, list[Reading]] = {car_id: [] for car_id in car_ids}
    if not readings:
        return readings
    sources: list[OdometerSource] = [import_string(name) for name in settings.ODOMETER_SOURCES]
    questions = [source(list(readings), since) for source in sources]
    sql = " UNION ALL ".join(question.sql for question in questions)
    for car_id, read_on, miles in rows(sql, *chain.from_iterable(question.values for question in questions)):
        readings[car_id].append(Reading(read_on, miles))
    return readings


def readings_of(car_ids: Collection[int], since: date | None = None) -> dict[int, Odometer]:
    """The odometer of each car from all sources; one without a reading is empty and falsy."""
    return {car_id: Odometer(readings) for car_id, readings in raw_readings_of(car_ids, since).items()}


def last_reading_of(car: Car, on: date) -> Reading | None:
    """The car's last odometer reading up to ``on``."""
    odometer = readings_of([car.pk], since=on)[car.pk].until(on)
    return Reading(odometer.last_on, odometer.at(odometer.last_on)) if odometer else None


def written_readings_of(car: Car) -> QuerySet[OdometerReading]:
    """The readings entered as such, newest first, of a car that was fetched for its member."""
    return OdometerReading.objects.filter(car=car).order_by("-read_on")


def written_reading_of(car: Car, pk: int) -> OdometerReading | None:
    """One of them; None if it is not the car's, or gone."""
    return OdometerReading.objects.filter(car=car, pk=pk).first()
