"""What to charge: cost, volume and profit of lessons, exact to the penny.

A cost is either fixed, whatever is taught, or grows with each lesson hour. What an hour brings in over the cost that it
causes is its contribution; contributions pay for the fixed cost first, and what they come to beyond it is left. This is
standard cost-volume-profit analysis, as textbooks of management accounting have it (`tests/published`). Sums are pence.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from math import ceil
from typing import NamedTuple

from costing.core.catalogue.costs import COST_CATEGORIES, Driver
from costing.core.running_cost import business_share

#: The more miles between two lessons that are asked about while nobody has typed any.
MORE_MILES = 10
#: The weeks of a year, to the day.
WEEKS_OF_A_YEAR = Fraction(365, 7)


class CarCost(NamedTuple):
    """What a car costs the trade, in pence: a week of the year, a business mile, and a lesson hour apart from miles.

    ``miles_an_hour`` are the business miles that go with each lesson hour, those between lessons among them.
    """

    week: Fraction
    mile: Fraction
    hour: Fraction
    miles_an_hour: Fraction


def car_cost(
    by_category: Mapping[str, int], *, miles: int, private_miles: int, minutes: int, days: int
) -> CarCost | None:
    """Return what each day, mile and hour of a period cost the trade: each category by what it grows with.

    ``miles`` are all that was driven on so many ``days``. None without miles, hours or days, or if more miles were
    private than were driven.
    """
    share = business_share(miles, private_miles)
    if not share or minutes <= 0 or days <= 0:
        return None
    pence = dict.fromkeys(Driver, 0)
    for name, amount in by_category.items():
        pence[COST_CATEGORIES[name].driver] += amount
    hours = Fraction(minutes, 60)
    return CarCost(
        week=pence[Driver.DAYS] * share * 7 / days,
        mile=Fraction(pence[Driver.MILES], miles),
        hour=pence[Driver.HOURS] * share / hours,
        miles_an_hour=(miles - private_miles) / hours,
    )


@dataclass(frozen=True)
class Lessons:
    """Lessons over a year: the price of an hour, what an hour costs, and what the year costs, in pence.

    ``hours_a_week`` are taught in each of ``weeks`` of the year.
    """

    variable: Fraction
    fixed: Fraction
    weeks: Fraction = WEEKS_OF_A_YEAR
    hours_a_week: Fraction | None = None
    price: int | None = None

    @property
    def hours(self) -> Fraction | None:
        """The lesson hours of the year; None if they are not told, or none."""
        return self.hours_a_week * self.weeks if self.hours_a_week else None

    @property
    def contribution(self) -> Fraction | None:
        """What an hour brings in over the cost that it causes; None without a price."""
        return None if self.price is None else self.price - self.variable

    @property
    def left(self) -> Fraction | None:
        """What is left of the year; None without a price or hours."""
        if self.contribution is None or self.hours is None:
            return None
        return self.contribution * self.hours - self.fixed

    @property
    def left_an_hour(self) -> Fraction | None:
        """What is left of each hour after its share of the fixed cost."""
        return None if self.left is None or self.hours is None else self.left / self.hours

    @property
    def cost_an_hour(self) -> Fraction | None:
        """What an hour costs, its share of the fixed cost included; None without hours."""
        return None if self.hours is None else self.variable + self.fixed / self.hours

    def hours_needed(self, wanted: Fraction | int = 0) -> Fraction | None:
        """Return the exact hours a teaching week at which ``wanted`` is left of a year; without it, break-even.

        None without a price, or if an hour brings in no more than it costs: then no number of hours is enough.
        """
        if self.contribution is None or self.contribution <= 0:
            return None
        return max(Fraction(0), (self.fixed + wanted) / self.contribution / self.weeks)

    def whole_hours_needed(self, wanted: Fraction | int = 0) -> int | None:
        """Return the fewest whole hours a teaching week at which at least ``wanted`` is left of a year."""
        hours = self.hours_needed(wanted)
        return None if hours is None else ceil(hours)

    def lessons_needed(self, minutes: Fraction | int, wanted: Fraction | int = 0) -> int | None:
        """Return the fewest lessons of so many ``minutes`` a teaching week that leave at least ``wanted``."""
        hours = self.hours_needed(wanted)
        return None if hours is None else ceil(hours * 60 / minutes)

    def price_needed(self, wanted: Fraction | int = 0) -> int | None:
        """Return the least price of an hour, in whole pence, at which at least ``wanted`` is left of a year.

        None without hours.
        """
        return None if self.hours is None else max(0, ceil(self.variable + (self.fixed + wanted) / self.hours))

    @property
    def margin_of_safety(self) -> Fraction | None:
        """The part of the hours that may fall away before the car takes more than comes in; below nought, short.

        None without a break-even, or without hours.
        """
        needed = self.hours_needed()
        return None if needed is None or not self.hours_a_week else (self.hours_a_week - needed) / self.hours_a_week


class Cancelled(NamedTuple):
    """What an hour that is cancelled and not filled costs: with its miles saved, and with them driven all the same."""

    miles_saved: Fraction
    miles_driven: Fraction


def cancelled_hour(price: int, cost: CarCost) -> Cancelled:
    """Return what is lost with an hour that is cancelled: its price, less what is not spent on it."""
    saved = price - cost.hour
    return Cancelled(saved - cost.mile * cost.miles_an_hour, saved)


def variable_hour(cost: CarCost) -> Fraction:
    """Return the cost that each lesson hour causes: its miles, and what grows with hours."""
    return cost.mile * cost.miles_an_hour + cost.hour
