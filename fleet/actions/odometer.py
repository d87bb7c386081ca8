"""Recording odometer readings, and correcting them."""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from datetime import date

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from config import showing
from config.history import delete_as, lock, lock_all, save_as
from fleet.actions.acts import notify
from fleet.core.odometer import Reading
from fleet.core.registration import show
from fleet.models import Car, OdometerReading
from fleet.queries import keepers_since, raw_readings_of, took_over_on
from instructors.models import ActKind, Member

#: More than any odometer shows, and far below what a database can hold.
MOST_MILES = 9_999_999
#: For anyone who may not know what the car's fills show.
DOES_NOT_FIT = "This does not fit what the car's odometer showed before or after that day: ask its keeper."


@transaction.atomic
def record_reading(*, by: Member, car: Car, read_on: date, miles: int, field: str = "miles") -> OdometerReading:
    """Record what the odometer of ``car`` showed on ``read_on``; a second reading of a day replaces the first.

    Keepers of the car since that day are mailed about what others record. Raises ValidationError on ``read_on`` if the
    day is in the future, or before ``by``, its keeper, took the car over; on ``field`` if the odometer would fall.
    """
    refuse_future("read_on", read_on)
    car = lock_car(car)
    reading = _of_day(car, read_on) or OdometerReading(car=car, read_on=read_on)
    was = reading.miles
    if was == miles:
        return reading
    refuse_before_takeover(by, car, read_on, field="read_on" if field == "miles" else field)
    check_reading(by, car, read_on, miles, field=field)
    reading.miles = miles
    save_as(by, reading)
    _tell(by, car, read_on, was, miles)
    return reading


@transaction.atomic
def correct_reading(*, by: Member, car: Car, read_on: date, miles: int) -> OdometerReading:
    """Correct the reading of that day; raises ValidationError like ``record_reading``, or if it is gone."""
    if _of_day(lock_car(car), read_on) is None:
        raise ValidationError("This reading is no longer in the book.", code="gone")
    return record_reading(by=by, car=car, read_on=read_on, miles=miles)


@transaction.atomic
def remove_reading(*, by: Member, car: Car, read_on: date) -> bool:
    """Remove the reading of a day, and say whether there was one; its history is kept.

    Readings that came with fills stay. Raises ValidationError on ``read_on`` for a day before ``by``, its keeper, took
    the car over.
    """
    car = lock_car(car)
    reading = _of_day(car, read_on)
    if reading is None:
        return False
    refuse_before_takeover(by, car, read_on, field="read_on")
    was = reading.miles
    delete_as(by, reading)
    _tell(by, car, read_on, was, None)
    return True


def _of_day(car: Car, read_on: date) -> OdometerReading | None:
    return OdometerReading.objects.filter(car=car, read_on=read_on).first()


def _tell(by: Member, car: Car, read_on: date, was: int | None, now: int | None) -> None:
    field = f"reading:{read_on.isoformat()}"
    notify(by, car, {field: (was, now)}, to=keepers_since(car, read_on), kind=ActKind.READING)


def lock_car(car: Car) -> Car:
    """The car as it is now, locked: nobody else writes to its odometer until the transaction ends.

    Lock the car before any of its due items, so that two actions never wait for each other.
    """
    return lock(car)


def lock_every_car() -> None:
    """Lock every car: nobody writes to any odometer until this transaction ends."""
    lock_all(Car)


def refuse_before_takeover(by: Member, car: Car, day: date, *, field: str) -> None:
    """Refuse a change by the keeper to days when somebody else kept the car.

    Otherwise a coordinator could hand a car over to themself, change what counts for its former keeper, and hand it
    back with nobody told. What a coordinator changes on somebody else's car is mailed to everyone it affects. Raises
    ValidationError on ``field``.
    """
    if by.pk != car.keeper_id:
        return
    since = took_over_on(car)
    if since is not None and day < since:
        took_over = f"You took {show(car.registration)} over on {showing.day(since)}"
        only = "only a coordinator who does not keep it can change the days before, and all whom it touches are told."
        raise ValidationError({field: f"{took_over}: {only}"})


def check_reading(
    by: Member,
    car: Car,
    day: date,
    miles: int,
    ignoring: Reading | None = None,
    *,
    field: str = "miles",
    among: Sequence[Reading] | None = None,
) -> None:
    """Refuse a reading that would make the odometer fall, checked against every source.

    Other readings of the same day do not matter: the highest of a day counts. ``ignoring`` is the reading that this
    one replaces; ``among`` are the car's readings, oldest first, if they are read already. Call it with the car locked.
    Raises ValidationError on ``field``, naming the reading that conflicts. A reading from a fill is named only to the
    keeper: otherwise a coordinator could find out its day and miles by entering readings that are refused, with nobody
    told.
    """
    if not 0 <= miles <= MOST_MILES:
        raise ValidationError({field: f"An odometer shows from 0 to {showing.whole(MOST_MILES)} miles."})
    since = min(day, ignoring.read_on) if ignoring else day
    before, after = _neighbours(_in_order(car, since, ignoring) if among is None else among, day)
    for neighbour, is_wrong, word in (
        (before, before is not None and miles < before.miles, "less"),
        (after, after is not None and miles > after.miles, "more"),
    ):
        if neighbour is not None and is_wrong:
            may_see = by.pk == car.keeper_id or (by.is_coordinator and _is_written(car, neighbour))
            if not may_see:
                raise ValidationError({field: DOES_NOT_FIT})
            shown = f"On {showing.day(neighbour.read_on)} it showed {showing.whole(neighbour.miles)} miles"
            raise ValidationError({field: f"{shown}: it cannot have shown {word} on {showing.day(day)}."})


def _in_order(car: Car, since: date, ignoring: Reading | None) -> list[Reading]:
    readings = sorted(raw_readings_of([car.pk], since)[car.pk])
    if ignoring in readings:
        readings.remove(ignoring)
    return readings


def _neighbours(readings: Sequence[Reading], day: date) -> tuple[Reading | None, Reading | None]:
    """Return the last reading before a day and the first after it, of readings in order."""
    first = bisect_left(readings, day, key=lambda one: one.read_on)
    last = bisect_right(readings, day, key=lambda one: one.read_on)
    return readings[first - 1] if first else None, readings[last] if last < len(readings) else None


def _is_written(car: Car, reading: Reading) -> bool:
    """Whether it was entered as a reading, which everyone who may enter one can see."""
    written = _of_day(car, reading.read_on)
    return written is not None and written.miles == reading.miles


def refuse_future(field: str, day: date) -> None:
    """Raise ValidationError on ``field`` if ``day`` is after today."""
    if day > timezone.localdate():
        raise ValidationError({field: f"{showing.day(day)} is yet to come."})
