"""A group in which all but one are in league: what they know, and how closely figures hold the one they do not.

The arithmetic here is that of the attackers, written from the rules and not from the book's own code: they try every
value that the victim could have and keep those with which they would have seen the same.
"""

import json
import math
import statistics
from collections.abc import Sequence
from datetime import date
from fractions import Fraction
from io import StringIO
from typing import Any, NamedTuple

import time_machine
from django.core.management import call_command
from scipy.optimize import linprog

from fleet.core.days import add_months
from fleet.models import Car
from tests.factories import (
    CarFactory,
    CostEntryFactory,
    FillFactory,
    HireFactory,
    MemberFactory,
    TeachingRecordFactory,
)

#: Lesson hours of a month, and miles; none is private.
HOURS, MILES = 100, 1_000
#: Every value a lesson hour could cost the victim, in quarters of a penny, up to £30.
CANDIDATES = [Fraction(quarter, 4) for quarter in range(4 * 3_000)]


class Bounds(NamedTuple):
    low: Fraction
    high: Fraction

    @property
    def width(self) -> Fraction:
        return self.high - self.low


def enter_car(first_day: date, **fields: Any) -> Car:
    """A member's car, entered and brimmed on its first day: who kept it when is told by when that was written."""
    with time_machine.travel(first_day, tick=False):
        car = CarFactory.create(in_service_from=first_day, **fields)
    FillFactory.create(car=car, filled_on=first_day, odometer=10_000, amount=0)
    HireFactory.create(car=car, starts_on=first_day)
    TeachingRecordFactory.create(
        car=car, from_on=first_day, to_on=first_day, lesson_count=0, minutes=0, private_miles=0
    )
    return car


def log_month(car: Car, month: date, pence: int, *, hours: int = HOURS, category: str = "repairs") -> None:
    """A month of a member: what it cost in pence, its lesson hours, and 1,000 miles."""
    last = date.fromordinal(add_months(month, 1).toordinal() - 1)
    odometer = car.fill_set.latest("odometer").odometer + MILES
    FillFactory.create(car=car, filled_on=last, odometer=odometer, amount=0)
    amount = f"{pence // 100}.{pence % 100:02}"
    CostEntryFactory.create(car=car, paid_on=month, category=category, amount=amount)
    TeachingRecordFactory.create(
        car=car, from_on=month, to_on=last, lesson_count=hours, minutes=hours * 60, private_miles=0
    )


def league(count: int, first_day: date) -> list[Car]:
    """Members of the attackers' own making, long enough in the co-op to count."""
    return [
        enter_car(first_day, keeper=MemberFactory.create(name=f"In league {number}", joined_on=date(2024, 1, 8)))
        for number in range(count)
    ]


def closed(month: date, span: str = "month") -> dict[str, Any]:
    """The group's figures as the command tells them."""
    out = StringIO()
    call_command("group_median", "--month", f"{month:%Y-%m}", "--span", span, "--json", stdout=out)
    answer: dict[str, Any] = json.loads(out.getvalue())
    return answer


def pence_of(pounds: str) -> Fraction:
    return Fraction(pounds) * 100


def alike(others: Sequence[Fraction], answer: dict[str, Any]) -> Bounds:
    """The bounds of what the victim's lesson hour can have cost, given all the others' and what is shown."""
    step = answer["rounded_to"]

    def to_step(value: Fraction) -> Fraction:
        return Fraction(math.floor(value / step + Fraction(1, 2)) * step)

    has_quartiles = answer["lower_quartile_cost_per_lesson_hour"] is not None

    def seen(candidate: Fraction) -> tuple[Fraction, ...]:
        values = sorted([*others, candidate])
        if not has_quartiles:
            return (to_step(statistics.median(values)),)
        return tuple(to_step(each) for each in statistics.quantiles(values, n=4, method="inclusive"))

    figures = ["median_cost_per_lesson_hour"]
    if has_quartiles:
        figures = ["lower_quartile_cost_per_lesson_hour", *figures, "upper_quartile_cost_per_lesson_hour"]
    shown = tuple(pence_of(answer[name]) for name in figures)
    return _edges([value for value in CANDIDATES if seen(value) == shown])


def _edges(values: list[Fraction]) -> Bounds:
    """From the first to past the last of the candidates that would have looked the same."""
    assert values, "what was shown fits no value at all"
    return Bounds(values[0], values[-1] + Fraction(1, 4))


def of_the_year(months: Sequence[tuple[int, Bounds]]) -> Bounds:
    """What the months leave for the year, hours known: (hours, bounds of the cost an hour) of each."""
    hours = sum(of_month for of_month, _ in months)
    low, high = (sum(weight * getattr(bounds, side) for weight, bounds in months) for side in ("low", "high"))
    return Bounds(Fraction(low, hours), Fraction(high, hours))


def together(one: Bounds, other: Bounds) -> Bounds:
    return Bounds(max(one.low, other.low), min(one.high, other.high))


#: Every sum a year of one kind could come to, in pence: from a pound to £2,000, by a quarter of a pound.
YEARLY = [Fraction(25 * quarters) for quarters in range(4, 8_000)]
#: What such a median is rounded to, in pence.
RUNNING_STEP = 5_000


def alike_in_a_year(others: Sequence[Fraction], median: Fraction | None) -> Bounds:
    """The bounds of what the victim can have spent in a year on a kind of cost, in pence, given the others' sums.

    Without a ``median`` there are too few who spent anything on it.
    """

    def to_step(value: Fraction) -> Fraction:
        return Fraction(math.floor(value / RUNNING_STEP + Fraction(1, 2)) * RUNNING_STEP)

    def seen(spent: Sequence[Fraction]) -> Fraction | None:
        return to_step(statistics.median(map(to_step, spent))) if len(spent) >= 5 else None

    found = [value for value in YEARLY if seen([*others, value]) == median]
    if not found:
        assert seen(others) == median, "what was shown fits no value at all"
        return Bounds(Fraction(0), Fraction(0))
    low = Fraction(0) if seen(others) == median or found[0] == YEARLY[0] else found[0]
    return Bounds(low, found[-1] + Fraction(25))


def rolling(years: Sequence[Bounds]) -> tuple[list[Bounds], list[Bounds]]:
    """The tightest bounds of each of the ``years``, one beginning a month after the other, and of each of their months.

    All that is known besides is that nobody spends less than nothing in a month. With the running totals of the months
    as places and each bound as the longest way from one to another, the shortest ways are the tightest bounds.
    """
    places = len(years) + 12
    far = Fraction(10**9)
    way = [[Fraction(0) if here == there else far for there in range(places)] for here in range(places)]
    for month in range(places - 1):
        way[month + 1][month] = Fraction(0)
    for first, bounds in enumerate(years):
        way[first][first + 12] = min(way[first][first + 12], bounds.high)
        way[first + 12][first] = min(way[first + 12][first], -bounds.low)
    for over in range(places):
        for here in range(places):
            for there in range(places):
                way[here][there] = min(way[here][there], way[here][over] + way[over][there])

    def between(first: int, last: int) -> Bounds:
        return Bounds(-way[last][first], way[first][last])

    return (
        [between(first, first + 12) for first in range(len(years))],
        [between(month, month + 1) for month in range(places - 1)],
    )


#: So much of each of the victim's bills is in a year's sum, as the others know it, and the bounds of that sum in pence.
YearOfBills = tuple[Sequence[Fraction], Bounds]


def held_by(years: Sequence[YearOfBills], parts: Sequence[Fraction]) -> float:
    """How closely, in pence, the ``years`` hold the sum of such ``parts`` of the victim's bills, taken together.

    Nothing is known of a bill besides but that it was not below nothing, nor above £20,000.
    """
    above = [([float(part) for part in of_bills], float(bounds.high)) for of_bills, bounds in years]
    below = [([-float(part) for part in of_bills], -float(bounds.low)) for of_bills, bounds in years]
    rows, sums = zip(*above, *below, strict=True)
    ends = [
        linprog([way * float(part) for part in parts], A_ub=rows, b_ub=sums, bounds=(0, 2_000_000), method="highs")
        for way in (1, -1)
    ]
    assert all(end.success for end in ends), "what was shown fits no bills at all"
    return float(-ends[0].fun - ends[1].fun)
