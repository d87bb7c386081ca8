"""A week of lessons: what is in the book of it, what is proposed, and how its hours and miles fall on its days."""

from collections.abc import Iterable, Mapping
from datetime import date, timedelta
from statistics import median
from typing import NamedTuple

from costing.core.periods import ONE_DAY
from costing.core.shares import share

DAYS = 7
#: What a lesson takes of somebody who has logged none yet, in minutes.
USUAL_MINUTES = 60
_DAY_MINUTES = 24 * 60


class Taught(NamedTuple):
    """One record: its days, how many lessons in how many minutes, and private miles; None is not known."""

    first: date
    last: date
    lessons: int | None
    minutes: int | None
    private_miles: int | None = None

    def days(self) -> Iterable[date]:
        """Yield its days."""
        for number in range((self.last - self.first).days + 1):
            yield self.first + timedelta(days=number)


class DayShare(NamedTuple):
    """What falls on one day of a week: its lessons, minutes and private miles; None is not known."""

    day: date
    lessons: int
    minutes: int | None
    private_miles: int | None


def monday_of(day: date) -> date:
    """Return the Monday of the day's week."""
    return day - timedelta(days=day.weekday())


def logged_by_day(records: Iterable[Taught]) -> dict[date, int | None]:
    """Return the lessons in the book by day; None where only those of several days are known, or not how many."""
    logged: dict[date, int | None] = {}
    for record in records:
        is_of_each = record.first == record.last or record.lessons == 0
        for day in record.days():
            before = logged.get(day, 0)
            is_known = is_of_each and before is not None and record.lessons is not None
            logged[day] = (before or 0) + (record.lessons or 0) if is_known else None
    return logged


def pattern_of(records: Iterable[Taught], monday: date) -> list[int]:
    """Return the lessons of each weekday, Monday first, on its last day in the book before ``monday``; else none.

    Lessons of several days are shared over them.
    """
    by_day: dict[date, int] = {}
    for record in records:
        length = (record.last - record.first).days + 1
        for number, day in enumerate(record.days()):
            known = record.lessons or 0
            if day < monday:
                by_day[day] = by_day.get(day, 0) + share(known, number + 1, length) - share(known, number, length)
    last = {day.weekday(): by_day[day] for day in sorted(by_day)}
    return [last.get(number, 0) for number in range(DAYS)]


def usual_minutes(records: Iterable[Taught]) -> int:
    """Return what a lesson takes in the middle of these records, in whole minutes."""
    taught = [record.minutes / record.lessons for record in records if record.lessons and record.minutes]
    return round(median(taught)) if taught else USUAL_MINUTES


def shared_out(lessons: Mapping[date, int], minutes: int | None, private_miles: int | None) -> list[DayShare]:
    """Share the minutes of a week over its days by lessons, and its private miles over all of them, with no rest.

    Raises ValueError if a day would have more minutes than a day has, or its lessons none.
    """
    days, told = sorted(lessons), sum(lessons.values())
    found, so_far = [], 0
    for number, day in enumerate(days):
        before, so_far = so_far, so_far + lessons[day]
        taught, private = minutes, private_miles
        if taught is not None:
            taught = share(taught, so_far, told) - share(taught, before, told) if told else 0
            if taught > _DAY_MINUTES or (lessons[day] and not taught):
                raise ValueError(f"{lessons[day]} lessons in {taught} minutes of a day")
        if private is not None:
            private = share(private, number + 1, len(days)) - share(private, number, len(days))
        found.append(DayShare(day, lessons[day], taught, private))
    return found


def first_to_log(monday: date, logged: Iterable[date], kept: Iterable[date]) -> date:
    """Return the Monday of the week that is to be logged, ``monday`` being that of today.

    That is the week before if the member kept the car on a day of it that is not in the book yet.
    """
    before = {monday - number * ONE_DAY for number in range(1, DAYS + 1)}
    return monday - timedelta(days=DAYS) if (before & set(kept)) - set(logged) else monday
