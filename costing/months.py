"""Twelve months of a lesson hour, beside the group's: one report for the picture and for the table behind it."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from functools import cached_property
from typing import NamedTuple

from config import showing
from costing.core.car_year import running_by_true_cost
from costing.core.group import MINIMUM_SERVICE_DAYS, is_of_fuel, shown
from costing.core.keeping import days_with_a_car, own_agreements, own_valuations
from costing.core.odometer import CarOdometer
from costing.core.periods import month_of, months_ending, months_within
from costing.core.records import CarBook, Period
from costing.queries import car_books, closings_of_year
from costing.report import OwnBesideGroup, OwnFigures, known_part, reports_from, so_far_title, taken_together
from fleet.core.odometer import Odometer
from fleet.models import Car
from fleet.queries import kept_cars
from instructors.models import Cooperative, Member


class Begun(NamedTuple):
    """What is in the book of one car, of all that makes its first figure."""

    has_reading: bool
    has_fill: bool
    has_lessons: bool
    is_held: bool


@dataclass(frozen=True)
class MonthsReport:
    """Twelve months of a lesson hour, oldest first, the year they make, and what is logged until today.

    ``so_far`` are the figures of the running month up to the day for which they are known, by their title. ``cars`` are
    those that the member kept in these months or since, and ``books`` what the member's own figures rest on, by car id.
    """

    months: list[OwnBesideGroup]
    year: OwnBesideGroup
    so_far: tuple[str, OwnFigures]
    cars: Collection[Car]
    books: Mapping[int, CarBook]

    @property
    def last_entry_on(self) -> date | None:
        """The day of the member's latest fill, cost or lessons of these months or since; None without."""
        return max((day for book in self.books.values() for day in _entry_days(book)), default=None)

    @property
    def begun(self) -> dict[int, Begun]:
        """What is in the book of each car, by its id."""
        return {car_id: _begun(book) for car_id, book in self.books.items()}

    @cached_property
    def odometers(self) -> Mapping[int, Odometer]:
        """The odometer of each car in these months and since, by its id."""
        return {car_id: CarOdometer(book.readings, book.fills) for car_id, book in self.books.items()}

    @property
    def running(self) -> dict[str, Fraction]:
        """The member's own running costs of the year, worked out as contributions to the group's are.

        They are exact: pounds a year for one car, and pence a mile for each fuel. Empty under 28 days with a car; fuel
        is left out of a year whose miles and fills are not known to its end.
        """
        period = self.year.period
        if days_with_a_car(self.books.values(), period) < MINIMUM_SERVICE_DAYS:
            return {}
        found = running_by_true_cost([(car.fuel, self.books[car.pk]) for car in self.cars], period)
        is_known = self.year.own.cost_per_mile is not None
        return {key: sum_of for key, sum_of in found.items() if is_known or not is_of_fuel(key)}


def months_report(member: Member, month: date, today: date, settings: Cooperative) -> MonthsReport:
    """Return the report of the 12 months that end with ``month``, of all cars that the member kept in them.

    It takes one pass over their books and seven queries.
    """
    year, running = months_ending(month, 12), Period(month_of(today).first, today)
    cars = kept_cars(member, since=year.first)
    times = {car.pk: of_car for car, of_car in cars.items()}
    books = car_books(cars, Period(year.first, max(year.last, today)), member=member, times=times)
    known = known_part(books.values(), running)
    periods = [*months_within(year), year]
    reports = reports_from(books, cars, [*periods, known], settings.depreciation_rate)
    *own, lately = taken_together(reports, len(periods) + 1)
    closings = closings_of_year([period.first for period in periods[:-1]])

    def beside_group(period: Period, figures: OwnFigures) -> OwnBesideGroup:
        closing = closings.get(period)
        title = f"12 months to {showing.month(year.last)}" if period == year else showing.month(period.last)
        return OwnBesideGroup(title, period, figures, closing and shown(closing, settings.minimum_contributors))

    *months, of_year = map(beside_group, periods, own)
    return MonthsReport(
        months, of_year, (so_far_title(showing.month(running.first), running, known), lately), list(cars), books
    )


def _entry_days(book: CarBook) -> Sequence[date]:
    return [
        *(fill.filled_on for fill in book.fills if not fill.is_anothers),
        *(cost.paid_on for cost in book.costs),
        *(record.to_on for record in book.teaching),
    ]


def _begun(book: CarBook) -> Begun:
    return Begun(
        has_reading=bool(book.readings or book.fills),
        has_fill=any(not fill.is_anothers for fill in book.fills),
        has_lessons=bool(book.teaching),
        is_held=bool(own_agreements(book) or own_valuations(book)),
    )
