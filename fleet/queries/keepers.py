"""Who kept a car from when to when, as its history tells."""

from datetime import date
from typing import NamedTuple

from django.db.models import Count
from django.utils import timezone

from fleet.models import Car
from instructors.models import Member
from instructors.queries import members_with_ids


class Keepership(NamedTuple):
    """One member's time with a car, both days counted; None: from the start, until now.

    The day of a handover is the last of one time and the first of the next.
    """

    keeper_id: int
    first: date | None
    last: date | None

    def holds(self, day: date) -> bool:
        """Whether the day lies in this time, its first and its last day counted."""
        return (self.first is None or self.first <= day) and (self.last is None or day <= self.last)


def keeperships_of(car: Car) -> list[Keepership]:
    """Who kept a car from when to when, oldest first; a time that began and ended on one day is none.

    The first one reaches back as far as any record, the last one is that of the keeper now.
    """
    rows = Car.history.filter(id=car.pk).order_by("history_date", "history_id").values_list("keeper_id", "history_date")
    starts: list[tuple[int, date | None]] = []
    for keeper_id, changed_at in rows:
        day = timezone.localdate(changed_at)
        if starts and starts[-1][0] == keeper_id:
            continue
        if starts and starts[-1][1] == day:
            starts.pop()  # handed on the day it was taken: that day is the one's before
            if starts and starts[-1][0] == keeper_id:
                continue
        starts.append((keeper_id, day if starts else None))
    starts = starts or [(car.keeper_id, None)]
    ends = [*(day for _, day in starts[1:]), None]
    return [Keepership(keeper_id, first, last) for (keeper_id, first), last in zip(starts, ends, strict=True)]


def transferred_car_ids() -> frozenset[int]:
    """The ids of the cars that more than one member ever kept in this book, if only for a minute; one query."""
    keepers = Car.history.order_by().values("id").annotate(count=Count("keeper_id", distinct=True))
    return frozenset(keepers.filter(count__gt=1).values_list("id", flat=True))


def took_over_on(car: Car) -> date | None:
    """The day on which whoever keeps the car now took it over; None if nobody kept it before."""
    return keeperships_of(car)[-1].first


def has_kept(car: Car, member: Member, on: date) -> bool:
    """Whether the member kept the car on that day; before its first record it was its first keeper's."""
    return any(time.keeper_id == member.pk and time.holds(on) for time in keeperships_of(car))


def refused_day(car: Car, member: Member, on: date) -> date | None:
    """The day on which the keeper took the car over, if ``on`` lies in the time of another; else None.

    The day of a handover is the former keeper's.
    """
    times = keeperships_of(car)
    is_theirs = any(time.keeper_id == member.pk and time.holds(on) and time.first != on for time in times)
    return None if is_theirs else times[-1].first


def keepers_since(car: Car, day: date | None = None) -> list[Member]:
    """Everybody who kept the car on that day or later, the keeper now among them; None: who ever did."""
    times = [time for time in keeperships_of(car) if day is None or time.last is None or time.last >= day]
    return members_with_ids({time.keeper_id for time in times})
