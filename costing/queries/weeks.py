"""What the book has of a member's lessons in one car, for the page that logs a week of them."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date, timedelta
from typing import NamedTuple

from django.db.models import Q

from costing.core.week import DAYS, Taught, first_to_log, logged_by_day, monday_of, pattern_of, usual_minutes
from costing.models import Batch, TeachingRecord
from fleet.models import Car
from fleet.queries import Keepership
from instructors.models import Member

#: So far back a week serves as the pattern of the next, and lessons tell how long one takes. No source.
_LATE = timedelta(days=92)


class WeekDay(NamedTuple):
    """One day of a week: whether it may be logged, whether it is, with how many lessons, and how many are proposed.

    ``logged`` is None where only those of several days are in the book.
    """

    day: date
    is_open: bool
    is_logged: bool
    logged: int | None
    proposed: int


class Week(NamedTuple):
    """A week of one car from its Monday, and what a lesson takes, in minutes."""

    car: Car
    days: list[WeekDay]
    minutes_a_lesson: int
    today: date
    #: The minutes in the book of its days; None where they are not known, or those of a record with other days.
    minutes_logged: int | None = None
    #: And the private miles, in the same way.
    private_logged: int | None = None

    @property
    def monday(self) -> date:
        return self.days[0].day

    @property
    def sunday(self) -> date:
        return self.days[-1].day

    @property
    def before(self) -> date:
        """The Monday of the week before it."""
        return self.monday - timedelta(days=DAYS)

    @property
    def after(self) -> date | None:
        """The Monday of the week after it; None if that has not begun."""
        return None if self.sunday >= self.today else self.sunday + timedelta(days=1)

    @property
    def is_as_before(self) -> bool:
        """Whether the lessons of an earlier week are proposed for it."""
        return any(day.proposed for day in self.days)

    @property
    def to_log(self) -> list[date]:
        """The days that may be logged and are not."""
        return [day.day for day in self.days if day.is_open and not day.is_logged]

    @property
    def is_all_logged(self) -> bool:
        """Whether there is nothing left to log."""
        return not self.to_log and any(day.is_logged for day in self.days)

    @property
    def lessons_logged(self) -> int | None:
        """The lessons in the book of its days; None where only those of several days are."""
        told = [day.logged for day in self.days if day.is_logged]
        return None if None in told else sum(lessons or 0 for lessons in told)


class LatelyTaught:
    """A member's late lessons by car, from one query however many cars there are. ``times`` are who kept each when."""

    def __init__(
        self, member: Member, times: Mapping[Car, Sequence[Keepership]], today: date, since: date | None = None
    ) -> None:
        self.today, self._times, self._member_id = today, times, member.pk
        first = min(since or today, today) - _LATE
        rows = TeachingRecord.objects.standing().filter(member=member, car__in=list(times), to_on__gte=first)
        self.records: dict[Car, list[Taught]] = {car: [] for car in times}
        by_id = {car.pk: car for car in times}
        figures = ("from_on", "to_on", "lesson_count", "minutes", "private_miles")
        for row in rows.order_by("from_on", "pk").values("car_id", *figures):
            self.records[by_id[row["car_id"]]].append(Taught(*(row[name] for name in figures)))
        self.minutes_a_lesson = usual_minutes(one for records in self.records.values() for one in records)

    def logged(self, car: Car) -> dict[date, int | None]:
        """Return the lessons in the book by day of late."""
        return logged_by_day(self.records[car])

    def own_spans(self, car: Car) -> list[tuple[str, str]]:
        """Return the first and last days on which the car was in service and the member's, as a phone keeps them."""
        own = [time for time in self._times[car] if time.keeper_id == self._member_id]
        return [
            (
                max(car.in_service_from, time.first or car.in_service_from).isoformat(),
                _least(time.last, car.in_service_to),
            )
            for time in own
        ]

    def is_own(self, car: Car, day: date) -> bool:
        """Say whether the car was in service on that day, and the member's to teach in."""
        in_service = car.in_service_from <= day and (car.in_service_to is None or day <= car.in_service_to)
        return in_service and any(time.keeper_id == self._member_id and time.holds(day) for time in self._times[car])

    def week(self, car: Car, monday: date | None = None) -> Week:
        """Return the week of ``monday``; without one, the last week if a day of it is to be logged, else this one."""
        logged = self.logged(car)
        if monday is None:
            this = monday_of(self.today)
            before = [this - timedelta(days=number + 1) for number in range(DAYS)]
            monday = first_to_log(this, logged, [day for day in before if self.is_own(car, day)])
        pattern = pattern_of(self.records[car], monday)
        days = list(self._days(car, monday, logged, pattern))
        return Week(car, days, self.minutes_a_lesson, self.today, *self._logged_in(car, monday))

    def _logged_in(self, car: Car, monday: date) -> tuple[int | None, int | None]:
        """The minutes and private miles in the book of a week; None where they are not known."""
        sunday = monday + timedelta(days=DAYS - 1)
        own = [one for one in self.records[car] if one.first <= sunday and monday <= one.last]
        if any(one.first < monday or sunday < one.last for one in own):
            return None, None
        return _sum_of(one.minutes for one in own), _sum_of(one.private_miles for one in own)

    def _days(
        self, car: Car, monday: date, logged: Mapping[date, int | None], pattern: Sequence[int]
    ) -> Iterator[WeekDay]:
        for number in range(DAYS):
            day = monday + timedelta(days=number)
            is_open = day <= self.today and self.is_own(car, day)
            yield WeekDay(day, is_open, day in logged, logged.get(day), pattern[number])


def _sum_of(figures: Iterable[int | None]) -> int | None:
    found = list(figures)
    return None if None in found else sum(each or 0 for each in found)


def _least(*days: date | None) -> str:
    return min((day.isoformat() for day in days if day), default="")


def taught_in(week: Batch) -> tuple[list[TeachingRecord], list[TeachingRecord]]:
    """Return the records that were saved together as a week, with their car, and those that they took the place of.

    Voided or not, oldest first.
    """
    found = TeachingRecord.objects.filter(Q(batch=week) | Q(replaced_by=week)).select_related("car").order_by("from_on")
    records = list(found)
    return [one for one in records if one.batch_id == week.pk], [one for one in records if one.batch_id != week.pk]
