"""What the book knows of a car that bears on the next figure, and may be told to whoever types it."""

from datetime import date, timedelta

from fleet.core.odometer import Odometer, Reading
from fleet.core.plausible import reading, tread
from fleet.core.plausible.doubt import Limits
from fleet.models import Car
from fleet.queries.condition import treads_of
from fleet.queries.keepers import took_over_on
from fleet.queries.miles import raw_readings_of, recorded_readings
from instructors.models import Member

#: Readings of so many days before are looked at.
_READINGS_OF = timedelta(days=200)


def readings_told(by: Member, car: Car, on: date, today: date) -> list[Reading]:
    """The readings around a day that ``by`` may be told of, unsorted.

    What came with fills is told to the car's keeper alone, of the time since they took it over.
    """
    since = min(on, today) - _READINGS_OF
    if car.keeper_id != by.pk:
        return [Reading(read_on, miles) for _, read_on, miles in recorded_readings([car.pk], since)]
    taken_over = took_over_on(car)
    found = raw_readings_of([car.pk], since)[car.pk]
    return [one for one in found if taken_over is None or one.read_on >= taken_over]


def reading_limits(by: Member, car: Car, on: date, today: date) -> Limits:
    """What the car's readings allow of one on a day, but for the recorded one of that day: it takes its place."""
    told = readings_told(by, car, on, today)
    for miles in car.odometer_readings.filter(read_on=on).values_list("miles", flat=True):
        if Reading(on, miles) in told:
            told.remove(Reading(on, miles))
    return reading.limits(told, today)


def tread_limits(by: Member, car: Car, read_on: date, miles: int | None, today: date) -> Limits:
    """What the car's treads allow of those read on a day, when its odometer shows ``miles``."""
    depths, moves = treads_of([car.pk], read_on)[car.pk]
    return tread.limits(depths, moves, Odometer(readings_told(by, car, read_on, today)), read_on, miles)
