"""What is left of a member's takings after what the car cost the trade, over whole weeks or a month.

Takings are told by the week, Monday to Sunday, and shared over its days by the rule that shares every sum.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction

from costing.core.money import divide_half_up
from costing.core.periods import ONE_DAY, days_in, overlap
from costing.core.records import Period, Teaching
from costing.core.running_cost import RunningCost
from costing.core.shares import ByDays
from costing.core.week import DAYS, monday_of

#: So many weeks may takings or logs lag behind, and the last weeks that are told are still shown for the last.
LATE = 4


@dataclass(frozen=True)
class Left:
    """What is left over a period: pence taken, the business share of the true cost, and minutes taught.

    Pence are rounded half up once, at the end; below nought, the car took more than came in.
    """

    period: Period
    taken: int
    cost: Fraction
    minutes: int

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
        """What is left in a week of the period."""
        return divide_half_up((self.taken - self.cost) * DAYS, days_in(self.period))


def left_of(cost: RunningCost, taken_in: Mapping[date, int]) -> Left | None:
    """Return what is left over the period of ``cost``; None where the cost, its share or the hours are not known.

    ``taken_in`` are the pence of weeks by their Mondays. That each week with lessons is there, `untold` asks.
    """
    share = cost.business_share
    if not cost.is_known or share is None or not cost.minutes:
        return None
    return Left(cost.period, taken(taken_in, cost.period), cost.true_cost * share, cost.minutes)


def taken(taken_in: Mapping[date, int], period: Period) -> int:
    """Return the pence taken in a period: of a week that lies in it in part, the share of its days."""
    weeks = (ByDays(monday, sunday_of(monday), pence) for monday, pence in taken_in.items())
    return sum(week.by(period.last) - week.by(period.first - ONE_DAY) for week in weeks)


def untold(taken_in: Mapping[date, int], lessons: Iterable[Teaching], period: Period) -> list[date]:
    """Return the Mondays of weeks in which lessons were taught on days of the period and no takings are told.

    A record without lessons or without hours tells of no lesson; one that leaves both untold may be some.
    """
    taught: set[date] = set()
    for record in lessons:
        days = overlap(Period(record.from_on, record.to_on), period)
        if days and record.lessons != 0 and record.minutes != 0:
            taught.update(mondays_of(days))
    return sorted(taught - taken_in.keys())


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
