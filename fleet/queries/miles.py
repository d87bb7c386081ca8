"""The miles the cars have run, from every place where an odometer reading is recorded."""

from collections.abc import Collection, Iterable, Iterator
from datetime import date
from itertools import chain
from typing import Protocol

from django.conf import settings
from django.db.models import Max, QuerySet
from django.utils.module_loading import import_string

from fleet.core.odometer import Odometer, Reading
from fleet.models import Car, OdometerReading

CarReading = tuple[int, date, int]


class OdometerSource(Protocol):
    """One of ``settings.ODOMETER_SOURCES``: yields (car id, day, miles) of the cars asked for.

    With ``since``, that day on and each car's last reading before it; in one query, however many the
    cars.
    """

    def __call__(self, car_ids: Collection[int], since: date | None = None) -> Iterable[CarReading]: ...


def recorded_readings(car_ids: Collection[int], since: date | None = None) -> Iterator[CarReading]:
    """The readings entered as such: an OdometerSource, and the one door to these readings."""
    readings = OdometerReading.objects.filter(car_id__in=car_ids).order_by().values_list("car_id", "read_on", "miles")
    if since is None:
        yield from readings
    else:
        # An odometer never falls, so the highest reading is the last one.
        lasts = readings.filter(read_on__lt=since).values_list("car_id").annotate(Max("read_on"), Max("miles"))
        yield from lasts.union(readings.filter(read_on__gte=since), all=True)


def raw_readings_of(car_ids: Collection[int], since: date | None = None) -> dict[int, list[Reading]]:
    """Every reading of each car from every source, unsorted; see OdometerSource for ``since``."""
    readings: dict[int, list[Reading]] = {car_id: [] for car_id in car_ids}
    if not readings:
        return readings
    sources: list[OdometerSource] = [import_string(name) for name in settings.ODOMETER_SOURCES]
    for car_id, read_on, miles in chain.from_iterable(source(list(readings), since) for source in sources):
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
