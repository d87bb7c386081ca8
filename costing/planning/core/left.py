"""What is left of a member's takings after what the car cost the trade, over whole weeks or a month.

Takings are told by the week, Monday to Sunday, and shared over its days by the rule that shares every sum.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction

from costing.core.keeping import own_times
from costing.core.money import divide_half_up
from costing.core.periods import ONE_DAY, days_in, overlap
from costing.core.records import CarBook, Logged, Period
from costing.core.running_cost import RunningCost
from costing.core.shares import ByDays
from costing.core.week import DAYS, monday_of

#: So many weeks may takings or logs lag behind, and the last weeks that are told are still shown for the last.
LATE = 4


@dataclass(frozen=True)
class Left:
    """What is left over some weeks: pence taken, the business share of the true cost, and minutes taught.

    ``weeks`` are those in which the member kept a car; one that lies in a month in part is its days of that month.
    ``minutes`` are of lessons in whichever car, because takings are: so no hour leaves more than was taken for it.
    ``elsewhere`` of them were in cars that the member did not keep, whose cost is not in ``cost``.
    Pence are rounded half up once, at the end; below nought, the car took more than came in.
    """

    weeks: Sequence[Period]
    taken: int
    cost: Fraction
    minutes: int
    elsewhere: int = 0

    @property
    def car(self) -> int:
        """What the car cost the trade: what was taken less what is left, so that the three add up."""
        return self.taken - self.pence

    @property
    def pence(self) -> int:
        """What is left in all."""
        return divide_half_up(self.taken - self.cost, 1)

    @property
    def an_hour(self) -> int:
        """What is left of each hour taught."""
        return divide_half_up((self.taken - self.cost) * 60, self.minutes)

    @property
    def a_week(self) -> int:
        """What is left in each of the weeks."""
        return divide_half_up((self.taken - self.cost) * DAYS, sum(map(days_in, self.weeks)))


def left_of(
    cost: RunningCost, taken_in: Mapping[date, int], weeks: Sequence[Period], elsewhere: int | None
) -> Left | None:
    """Return what is left of ``weeks`` with a car; None where the cost, its share or the hours are not known.

    ``cost`` is of a period that has no other days with a car. ``taken_in`` are the pence of weeks by their Mondays;
    that each week with lessons is there, `untold` asks. ``elsewhere`` are the minutes in cars that were not kept.
    """
    share = cost.business_share
    if not cost.is_known or share is None or cost.minutes is None or elsewhere is None:
        return None
    minutes = cost.minutes + elsewhere
    return Left(weeks, taken(taken_in, weeks), cost.true_cost * share, minutes, elsewhere) if minutes else None


def taken(taken_in: Mapping[date, int], weeks: Iterable[Period]) -> int:
    """Return the pence taken in ``weeks``: of one that is there in part, the share of its days."""
    pence = 0
    for first, last in weeks:
        monday = monday_of(first)
        week = ByDays(monday, sunday_of(monday), taken_in.get(monday, 0))
        pence += week.by(last) - week.by(first - ONE_DAY)
    return pence


def untold(taken_in: Mapping[date, int], lessons: Iterable[Logged], weeks: Iterable[Period]) -> list[date]:
    """Return the Mondays of those ``weeks`` on whose days lessons were taught and for which no takings are told.

    A record without lessons or without hours tells of no lesson; one that leaves its hours untold may be some.
    """
    days = {monday_of(week.first): week for week in weeks}
    taught = {
        monday
        for one in lessons
        if one.minutes != 0
        for monday in mondays_of(Period(one.from_on, one.to_on))
        if monday in days and overlap(Period(one.from_on, one.to_on), days[monday])
    }
    return sorted(taught - taken_in.keys())


def weeks_of(period: Period) -> list[Period]:
    """Return the weeks that have a day in the period, each cut to its days of it."""
    weeks = [Period(monday, sunday_of(monday)) for monday in mondays_of(period)]
    return [Period(max(first, period.first), min(last, period.last)) for first, last in weeks]


def weeks_with_a_car(books: Iterable[CarBook], period: Period) -> list[Period]:
    """Return those weeks of the period on a day of which the books' member kept a car that was in service."""
    times = [time.period for book in books for time in own_times(book)]
    return [week for week in weeks_of(period) if any(overlap(time, week) for time in times)]


def mondays_of(period: Period) -> list[date]:
    """Return the Monday of each week that has a day in the period, in order."""
    first = monday_of(period.first)
    return [first + timedelta(days=DAYS * number) for number in range((period.last - first).days // DAYS + 1)]


def sunday_of(monday: date) -> date:
    """Return the last day of the week of ``monday``."""
    return monday + timedelta(days=DAYS - 1)


def weeks_ending(sunday: date, count: int) -> Period:
    """Return the period of so many weeks that ends on ``sunday``."""
    return Period(sunday - timedelta(days=DAYS * count - 1), sunday)


def last_sunday(today: date) -> date:
    """Return the Sunday of the last week that has ended before ``today``."""
    return monday_of(today) - ONE_DAY


def told_until(taken_in: Mapping[date, int], known_until: date | None, today: date) -> date:
    """Return the Sunday to which the last weeks are counted: the last for which both takings and costs are told.

    While there is none, it is the last that has ended. It lies at most `LATE` weeks before that.
    """
    ended = last_sunday(today)
    newest = max((sunday_of(monday) for monday in taken_in if sunday_of(monday) <= ended), default=None)
    if newest is None or known_until is None:
        return ended
    told = min(newest, last_sunday(known_until + ONE_DAY))
    return told if ended - told <= timedelta(days=DAYS * LATE) else ended
