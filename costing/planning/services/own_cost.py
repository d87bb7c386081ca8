"""What a member's cars cost their lessons, on which what to charge rests."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from config import showing
from costing.core.keeping import days_with_a_car
from costing.core.periods import last_ended_month, month_of, months_ending, months_within
from costing.core.records import CarBook, Period
from costing.core.running_cost import RunningCost
from costing.planning.core.charging import WEEKS_OF_A_YEAR, CarCost, car_cost
from costing.planning.core.unlogged import unlogged
from costing.queries import car_books
from costing.report import all_together, reports_from
from costing.wording.service import had_no_car
from fleet.core.days import add_months
from fleet.queries import kept_cars
from instructors.models import Member
from instructors.queries import cooperative

#: A plan rests on the last months that are known, of the year that ends with one of the last so many.
_YEAR, _MONTHS_LATE = 12, 3


@dataclass(frozen=True)
class OwnCost:
    """What a member's cars cost their lessons, from those of the last twelve months that are known.

    ``cost`` is None while none is; ``reasons`` say what the last of them lacks. ``minutes`` were taught in ``months``.
    ``unlogged`` are the categories that such months usually have and these do not.
    """

    cost: CarCost | None
    months: tuple[Period, ...]
    minutes: int
    lessons: int
    days: int
    reasons: tuple[str, ...]
    is_estimate: bool
    unlogged: tuple[str, ...] = ()

    @property
    def of(self) -> str:
        """Which months they are, as in "the 12 months to October 2026"."""
        if not self.months:
            return ""
        last = showing.month(self.months[-1].last)
        count = len(self.months)
        if count == 1:
            return last
        is_run = add_months(self.months[0].first, count - 1) == self.months[-1].first
        if is_run:
            return f"the {count} months to {last}"
        return (
            f"{showing.in_words(count)} months that are known between {showing.month(self.months[0].first)} and {last}"
        )

    @property
    def hours_a_week(self) -> Fraction | None:
        """The hours taught in a week of the year; None without any."""
        return Fraction(self.minutes * 7, 60 * self.days) if self.days and self.minutes else None

    def hours_in(self, weeks: Fraction) -> Fraction | None:
        """The hours taught in each of so many ``weeks`` of a year that has those of the book; None without any."""
        return self.hours_a_week and self.hours_a_week * WEEKS_OF_A_YEAR / weeks

    @property
    def minutes_a_lesson(self) -> Fraction:
        """The exact average length of a lesson; an hour while there are none."""
        return Fraction(self.minutes, self.lessons) if self.lessons and self.minutes else Fraction(60)


def own_cost(member: Member, today: date) -> OwnCost:
    """Return what the member's own records say the car costs their lessons; seven queries.

    Of the year that ends with the last month that is known all months count that are: each with its own true cost,
    miles, hours and days with a car.
    """
    last = last_ended_month(today)
    months = months_within(months_ending(last.first, _YEAR + _MONTHS_LATE))
    cars = kept_cars(member, since=months[0].first)
    if not cars:
        return OwnCost(None, (), 0, 0, 0, (had_no_car(),), is_estimate=False)
    times = {car.pk: of_car for car, of_car in cars.items()}
    books = car_books(cars, Period(months[0].first, today), member=member, times=times)
    of_cars = reports_from(books, cars, months, cooperative().depreciation_rate)
    every = [all_together([of_car[number] for of_car in of_cars]) for number in range(len(months))]
    known = [one.cost for one in every if one.cost.cost_per_lesson_hour is not None]
    if not known:
        return OwnCost(None, (), 0, 0, 0, tuple(every[-1].missing), is_estimate=False)
    since = add_months(month_of(known[-1].period.last).first, 1 - _YEAR)
    return _added_up([cost for cost in known if cost.period.first >= since], books)


def _added_up(costs: Sequence[RunningCost], books: Mapping[int, CarBook]) -> OwnCost:
    pence: dict[str, int] = {}
    for cost in costs:
        for name, amount in cost.by_category.items():
            pence[name] = pence.get(name, 0) + amount
    minutes = sum(cost.minutes or 0 for cost in costs)
    days = sum(days_with_a_car(books.values(), cost.period) for cost in costs)
    used = {
        "miles": sum(cost.miles or 0 for cost in costs),
        "private_miles": sum(cost.private_miles or 0 for cost in costs),
        "minutes": minutes,
        "days": days,
    }
    months = tuple(cost.period for cost in costs)
    return OwnCost(
        cost=car_cost(pence, **used),
        months=months,
        minutes=minutes,
        lessons=sum(cost.lessons or 0 for cost in costs),
        days=days,
        reasons=(),
        is_estimate=any(cost.estimated for cost in costs),
        unlogged=unlogged(books.values(), months, {name for name, amount in pence.items() if amount}),
    )
