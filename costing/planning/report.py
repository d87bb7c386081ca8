"""What is left after the car, and what a lesson hour must bring in: one report for page, home and paper."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from itertools import chain
from typing import NamedTuple

from config import showing
from costing.core.keeping import days_with_a_car
from costing.core.known import so_far
from costing.core.periods import last_ended_month, month_of, months_ending, months_within
from costing.core.records import CarBook, Period
from costing.core.running_cost import RunningCost
from costing.planning.core.charging import CarCost, car_cost
from costing.planning.core.left import LATE, Left, last_sunday, left_of, told_until, untold, weeks_ending
from costing.planning.services.takings import taken_by_week
from costing.queries import car_books
from costing.report import all_together, reports_from
from fleet.core.days import add_months
from fleet.models import Car
from fleet.queries import kept_cars
from instructors.models import Member
from instructors.queries import cooperative

#: Over so many of the last weeks it is said what is left.
SPANS = (4, 13, 52)
#: The span that home tells of.
OF_HOME = 13
#: A plan rests on the last months that are known, of the year that ends with one of the last so many.
_YEAR, _MONTHS_LATE = 12, 3


@dataclass(frozen=True)
class LeftOver:
    """What is left over a period, or the ``reasons`` why that is not known; ``weeks`` of it, or None of a month."""

    period: Period
    weeks: int | None
    left: Left | None
    reasons: tuple[str, ...]

    @property
    def title(self) -> str:
        """What it is of, as in "13 weeks to 22 November"."""
        if self.weeks is None:
            return showing.month(self.period.first)
        return f"{self.weeks} weeks to {self.period.last.day} {self.period.last:%B}"


class LeftLine(NamedTuple):
    """One sentence for a page on which it is one of many, and whether the car took more than came in."""

    words: str
    is_short: bool


def left_over(member: Member, today: date) -> list[LeftOver]:
    """Return what is left of the last 4, 13 and 52 weeks that are told, and of the last month; eight queries."""
    first = weeks_ending(last_sunday(today), SPANS[-1] + LATE).first
    cars = kept_cars(member, since=first)
    times = {car.pk: of_car for car, of_car in cars.items()}
    books = car_books(cars, Period(first, today), member=member, times=times)
    taken_in = taken_by_week(member, first)
    until = _told_until(books, taken_in, today)
    spans: list[tuple[Period, int | None]] = [(weeks_ending(until, count), count) for count in SPANS]
    spans.append((last_ended_month(today), None))
    return _over(books, cars, taken_in, spans, cooperative().depreciation_rate)


def left_line(
    member: Member, books: Mapping[int, CarBook], cars: Collection[Car], today: date, *, rate: Decimal
) -> LeftLine | None:
    """Return what is left an hour over the last 13 weeks, by one query; None while that is not known.

    ``books`` of the member's ``cars`` hold the last 17 weeks; ``rate`` is how much of its value a car loses a year.
    """
    taken_in = taken_by_week(member, weeks_ending(last_sunday(today), OF_HOME + LATE).first) if books else {}
    if not taken_in:
        return None
    period = weeks_ending(_told_until(books, taken_in, today), OF_HOME)
    [of_weeks] = _over(books, cars, taken_in, [(period, OF_HOME)], rate)
    return None if of_weeks.left is None else LeftLine(sentence(of_weeks), of_weeks.left.pence < 0)


def sentence(over: LeftOver) -> str:
    """Say what is left an hour, in the words of home. Raises ValueError where that is not known."""
    if over.left is None:
        raise ValueError("what is left is not known")
    an_hour = over.left.an_hour
    if an_hour < 0:
        return f"The car took {showing.pence_as_pounds(-an_hour)} an hour more than came in, {over.title}"
    return f"{showing.pence_as_pounds(an_hour)} an hour is left after the car, {over.title}"


def _told_until(books: Mapping[int, CarBook], taken_in: Mapping[date, int], today: date) -> date:
    _, known = so_far(list(books.values()), Period(today, today))
    return told_until(taken_in, known, today)


def _over(
    books: Mapping[int, CarBook],
    cars: Collection[Car],
    taken_in: Mapping[date, int],
    spans: Sequence[tuple[Period, int | None]],
    rate: Decimal,
) -> list[LeftOver]:
    """What is left of each period, by one pass over the books."""
    if not cars:
        return [LeftOver(period, weeks, None, ("no car",)) for period, weeks in spans]
    lessons = list(chain.from_iterable(book.teaching for book in books.values()))
    of_cars = reports_from(books, cars, [period for period, _ in spans], rate)
    found = []
    for number, (period, weeks) in enumerate(spans):
        together = all_together([of_car[number] for of_car in of_cars])
        mondays = untold(taken_in, lessons, period)
        left = None if mondays else left_of(together.cost, taken_in)
        reasons: tuple[str, ...] = ()
        if left is None:
            reasons = (*_untold_in_words(mondays, period), *(() if _is_whole(together.cost) else together.missing))
        found.append(LeftOver(period, weeks, left, reasons or ("no lessons were taught",)))
    return found


def _is_whole(cost: RunningCost) -> bool:
    return cost.is_known and cost.business_share is not None and bool(cost.minutes)


def _untold_in_words(mondays: Sequence[date], period: Period) -> list[str]:
    """Name the first week without takings, with its year if that is not the period's, and how many more there are."""
    if not mondays:
        return []
    more = f" and {showing.in_words(len(mondays) - 1)} more" if len(mondays) > 1 else ""
    first = mondays[0]
    day = showing.day(first) if first.year != period.last.year else f"{first.day} {first:%B}"
    return [f"no takings for the week from {day}{more}"]


@dataclass(frozen=True)
class OwnCost:
    """What a member's cars cost their lessons, from those of the last twelve months that are known.

    ``cost`` is None while none is; ``reasons`` say what the last of them lacks. ``minutes`` were taught in ``months``.
    """

    cost: CarCost | None
    months: tuple[Period, ...]
    minutes: int
    lessons: int
    days: int
    reasons: tuple[str, ...]
    is_estimate: bool

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

    @property
    def minutes_a_lesson(self) -> int:
        """The average length of a lesson, in whole minutes; an hour while there are none."""
        return max(1, round(Fraction(self.minutes, self.lessons))) if self.lessons and self.minutes else 60


def own_cost(member: Member, today: date) -> OwnCost:
    """Return what the member's own records say the car costs their lessons; seven queries.

    Of the year that ends with the last month that is known all months count that are: each with its own true cost,
    miles, hours and days with a car.
    """
    last = last_ended_month(today)
    months = months_within(months_ending(last.first, _YEAR + _MONTHS_LATE))
    cars = kept_cars(member, since=months[0].first)
    if not cars:
        return OwnCost(None, (), 0, 0, 0, ("no car",), is_estimate=False)
    times = {car.pk: of_car for car, of_car in cars.items()}
    books = car_books(cars, Period(months[0].first, today), member=member, times=times)
    of_cars = reports_from(books, cars, months, cooperative().depreciation_rate)
    every = [all_together([of_car[number] for of_car in of_cars]) for number in range(len(months))]
    known = [one.cost for one in every if _is_whole(one.cost)]
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
    return OwnCost(
        cost=car_cost(pence, **used),
        months=tuple(cost.period for cost in costs),
        minutes=minutes,
        lessons=sum(cost.lessons or 0 for cost in costs),
        days=days,
        reasons=(),
        is_estimate=any(cost.estimated for cost in costs),
    )
