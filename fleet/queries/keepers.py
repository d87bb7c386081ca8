"""Who kept a car from which day to which."""

from collections.abc import Collection, Iterable, Sequence
from datetime import date
from typing import Any, NamedTuple

from django.db.models import Count, Max, Q
from django.utils import timezone

from config.sql import day_of, listed, rows
from fleet.core.days import ONE_DAY
from fleet.core.registration import show
from fleet.models import Car
from fleet.queries.access import in_service_after
from instructors.models import Member
from instructors.queries import LAST_DAY_OF, members_with_ids


class Keepership(NamedTuple):
    """One member's time as keeper of a car, both days counted; None: since ever, or until further notice.

    The day of a handover is the last of the former keeper's time; the taker's begins the day after.
    """

    keeper_id: int
    first: date | None
    last: date | None

    def holds(self, day: date) -> bool:
        """Whether the day lies in this time, first and last day included."""
        return (self.first is None or self.first <= day) and (self.last is None or day <= self.last)


#: A car without rows has its keeper.
_KEPT_BY = "COALESCE(time.keeper_id, car.keeper_id)"
_LEFT_ON = LAST_DAY_OF.format(member=_KEPT_BY)
_TIMES = f"""SELECT car.id, {_KEPT_BY}, time.from_on, time.to_on, {_LEFT_ON}
FROM fleet_car car LEFT JOIN fleet_keepertime time ON time.car_id = car.id
WHERE car.id IN ({{ids}}) ORDER BY car.registration, time.from_on"""  # noqa: S608 - of our own words


def keeperships_of_cars(car_ids: Collection[int], *, of_members: bool = False) -> dict[int, list[Keepership]]:
    """Who kept each car from when to when, oldest first, by one query however many cars there are.

    A car without rows is its keeper's for all days: one time with two open ends. Times of one car never overlap; days
    between two of them, and after a last one that has ended, are nobody's. These are the times as recorded. With
    ``of_members`` each ends at the latest on the day its keeper left. A time also ends with the car's service.
    """
    times: dict[int, list[Keepership]] = {}
    for car_id, kept_by, *days in rows(_TIMES.format(ids=listed(car_ids))):
        times.setdefault(car_id, []).extend(_kept(kept_by, *(days if of_members else days[:2])))
    return times


def _kept(by: int, *days: date | str | None) -> list[Keepership]:
    """A time with its first and last day, which goes on until its keeper left, if that day is given: one or none."""
    first, last, *left_on = (None if day is None else day_of(day) for day in days)
    return ended_by([Keepership(by, first, last)], *left_on)


#: Cars in service on a day or later that a member keeps or kept then, each once for each of its times, oldest first.
_KEPT = f"""SELECT car.*, {_KEPT_BY} AS kept_by, time.from_on AS kept_from, time.to_on AS kept_to, {_LEFT_ON} AS left_on
FROM fleet_car car LEFT JOIN fleet_keepertime time ON time.car_id = car.id
WHERE (car.in_service_to IS NULL OR car.in_service_to >= %s) AND (
    EXISTS (
        SELECT 1 FROM fleet_keepertime own
        WHERE own.car_id = car.id AND own.keeper_id = %s AND (own.to_on IS NULL OR own.to_on >= %s)
    )
    OR (car.keeper_id = %s AND time.id IS NULL)
)
ORDER BY car.registration, time.from_on"""  # noqa: S608 - of our own words


def kept_cars(member: Member, since: date) -> dict[Car, list[Keepership]]:
    """The cars in service on ``since`` or later that the member keeps or kept then, with everybody's times.

    Each time ends at the latest on the day its keeper left. It takes one query.
    """
    kept: Iterable[Any] = Car.objects.raw(_KEPT, [since, member.pk, since, member.pk])
    times: dict[Car, list[Keepership]] = {}
    for car in kept:
        times.setdefault(car, []).extend(_kept(car.kept_by, car.kept_from, car.kept_to, car.left_on))
    return times


def cars_ever_kept_by(member: Member) -> list[Car]:
    """The cars that the member keeps or ever kept."""
    return list(Car.objects.filter(_ever_kept_by(member)).distinct())


def has_ever_kept(member: Member) -> bool:
    """Whether the member keeps or ever kept a car."""
    return Car.objects.filter(_ever_kept_by(member)).exists()


def _ever_kept_by(member: Member) -> Q:
    return Q(keeper=member, keeper_times__isnull=True) | Q(keeper_times__keeper=member)


def keeperships_of(car: Car) -> list[Keepership]:
    """The same of one car."""
    return keeperships_of_cars([car.pk])[car.pk]


def times_with_cars(member: Member, *, from_the_first: bool = False) -> dict[str, list[Keepership]]:
    """The member's own times with each car that they keep or ever kept, by registration mark; two queries.

    With ``from_the_first``, days before a car's first time count as its first keeper's.
    """
    cars = {car.pk: car.registration for car in cars_ever_kept_by(member)}
    found = {}
    for car_id, times in keeperships_of_cars(cars).items():
        reaching = _from_the_first(times) if from_the_first else times
        found[cars[car_id]] = [time for time in reaching if time.keeper_id == member.pk]
    return found


def keeper_on(times: Sequence[Keepership], day: date) -> int:
    """The id of whoever kept a car with these times on that day.

    Before the first time that is the first keeper, on a day that is nobody's whoever had the car last.
    """
    return [time for time in times if time is times[0] or time.first is None or time.first <= day][-1].keeper_id


class KeeperlessCar(NamedTuple):
    """A car in service that nobody keeps after ``last_on``: its keeper leaves or has left, or its last time ended.

    ``is_over`` says whether that day is past, ``has_no_keeper`` whether it was decided that nobody keeps it for now.
    """

    car: Car
    last_on: date
    is_over: bool
    has_no_keeper: bool


def keeperless_cars(on: date) -> list[KeeperlessCar]:
    """The cars that nobody keeps on that day, and those whose keeper is to leave, soonest first; one query."""
    cars = (
        Car.objects.filter(in_service_after(on))
        .select_related("keeper")
        .annotate(time_count=Count("keeper_times"), ended_on=Max("keeper_times__to_on"), open_count=_OPEN_TIMES)
    )
    found = []
    for car in cars.filter(Q(time_count__gt=0, open_count=0) | Q(keeper__left_on__isnull=False)):
        ended_on = car.ended_on if car.time_count and not car.open_count else None
        last_on = min(day for day in (ended_on, car.keeper.left_on) if day is not None)
        if car.in_service_to is None or car.in_service_to > last_on:
            found.append(KeeperlessCar(car, last_on, last_on < on, ended_on is not None))
    return sorted(found, key=lambda one: (one.last_on, one.car.registration))


def cars_left_by(member: Member, left_on: date) -> list[Car]:
    """The cars that the member keeps and that are in service after ``left_on``."""
    cars = Car.objects.filter(in_service_after(left_on + ONE_DAY), keeper=member).select_related("keeper")
    times = cars.annotate(time_count=Count("keeper_times"), open_count=_OPEN_TIMES)
    return list(times.filter(Q(time_count=0) | Q(open_count=1)))


def still_kept(member: Member) -> list[str]:
    """``settings.STILL_KEPT``: the registrations, as they are read, of the cars that a member keeps today."""
    return [show(car.registration) for car in cars_left_by(member, timezone.localdate() - ONE_DAY)]


#: Whether a car's last time goes on: one or none.
_OPEN_TIMES = Count("keeper_times", filter=Q(keeper_times__isnull=False, keeper_times__to_on__isnull=True))


def ended_by(times: Iterable[Keepership], *ends: date | None) -> list[Keepership]:
    """These times, none going on after any of ``ends``: the last day in service, the day the keeper left.

    A time that begins after such a day falls away. None is no end.
    """
    known = [day for day in ends if day is not None]
    if not known:
        return list(times)
    end = min(known)
    begun = (time for time in times if time.first is None or time.first <= end)
    return [time._replace(last=end if time.last is None else min(end, time.last)) for time in begun]


def took_over_on(car: Car) -> date | None:
    """The day on which the present keeper took the car over, one before their time; None if nobody kept it before."""
    *before, now = keeperships_of(car)
    return now.first - ONE_DAY if before and now.first else None


def has_kept(car: Car, member: Member, on: date) -> bool:
    """Whether the member kept the car on that day; before its first time it counts as its first keeper's."""
    return _has_kept(keeperships_of(car), member, on)


def has_had(car: Car, member: Member, on: date) -> bool:
    """Whether the member kept the car on that day or took it over on it."""
    times = keeperships_of(car)
    return _has_kept(times, member, on) or _has_kept(times, member, on + ONE_DAY)


def _has_kept(times: Sequence[Keepership], member: Member, on: date) -> bool:
    return any(time.keeper_id == member.pk and time.holds(on) for time in _from_the_first(times))


def _from_the_first(times: Sequence[Keepership]) -> list[Keepership]:
    return [times[0]._replace(first=None), *times[1:]]


def refused_day(car: Car, member: Member, on: date) -> date | None:
    """The day on which the keeper took the car over, if it was not the member's on ``on``; otherwise None.

    The day of a handover is the former keeper's.
    """
    return None if has_kept(car, member, on) else took_over_on(car)


def keepers_since(car: Car, day: date | None = None) -> list[Member]:
    """Everybody who kept the car on that day or later, the present keeper included; None: everyone who ever did."""
    times = [time for time in keeperships_of(car) if day is None or time.last is None or time.last >= day]
    return members_with_ids({car.keeper_id, *(time.keeper_id for time in times)})
