"""Writing down what an odometer showed."""

from datetime import date

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from config import showing
from fleet.actions.saving import save_as
from fleet.core.odometer import Reading
from fleet.models import Car, OdometerReading
from fleet.queries import raw_readings_of
from instructors.models import Member

#: More than any odometer shows, and far below what a database can hold.
MOST_MILES = 9_999_999


@transaction.atomic
def record_reading(*, by: Member, car: Car, read_on: date, miles: int) -> OdometerReading:
    """Write down what the odometer of ``car`` showed on ``read_on``; a second reading of a day replaces it.

    Raises ValidationError on ``read_on`` if the day is yet to come, on ``miles`` if the odometer would fall.
    """
    refuse_future("read_on", read_on)
    lock_car(car)
    reading = OdometerReading.objects.filter(car=car, read_on=read_on).first()
    if reading is None:
        reading = OdometerReading(car=car, read_on=read_on)
    elif reading.miles == miles:
        return reading
    check_reading(car, read_on, miles)
    reading.miles = miles
    save_as(by, reading)
    return reading


def lock_car(car: Car) -> None:
    """Let nobody else write to the car's odometer until this transaction ends.

    Taken before any lock on a due item of the car, so that two actions never wait for each other.
    """
    Car.objects.select_for_update(of=("self",)).get(pk=car.pk)


def check_reading(car: Car, day: date, miles: int, ignoring: Reading | None = None, *, field: str = "miles") -> None:
    """Refuse a reading with which the odometer would fall, against the readings of every source.

    Other readings of the same day are no bar: the highest of a day counts. ``ignoring`` is the reading that
    this one is to replace. Call it with the car locked. Raises ValidationError on ``field``, naming the
    reading it cannot be squared with.
    """
    if not 0 <= miles <= MOST_MILES:
        raise ValidationError({field: f"An odometer shows from 0 to {showing.whole(MOST_MILES)} miles."})
    readings = raw_readings_of([car.pk])[car.pk]
    if ignoring in readings:
        readings.remove(ignoring)
    before = max((reading for reading in readings if reading.read_on < day), default=None)
    after = min((reading for reading in readings if reading.read_on > day), default=None)
    for neighbour, is_wrong, word in (
        (before, before is not None and miles < before.miles, "less"),
        (after, after is not None and miles > after.miles, "more"),
    ):
        if neighbour is not None and is_wrong:
            shown = f"On {showing.day(neighbour.read_on)} it showed {showing.whole(neighbour.miles)} miles"
            raise ValidationError({field: f"{shown}: it cannot have shown {word} on {showing.day(day)}."})


def refuse_future(field: str, day: date) -> None:
    """Raise ValidationError on ``field`` if ``day`` is after today."""
    if day > timezone.localdate():
        raise ValidationError({field: f"{showing.day(day)} is yet to come."})
