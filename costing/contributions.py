"""What every member contributes to the group's figures, worked out a few members at a time."""

from collections.abc import Collection, Sequence
from fractions import Fraction
from typing import NamedTuple

from costing.core.car_year import running_by_true_cost
from costing.core.group import (
    MINIMUM_SERVICE_DAYS,
    Contribution,
    ContributorValues,
    contributor_values,
    has_standing,
)
from costing.core.keeping import days_with_a_car, gave_up
from costing.core.periods import days_in
from costing.core.records import CarBook, Period
from costing.core.running_cost import monthly_tallies
from costing.queries import CarsOf, books_of_members
from costing.queries.as_notified import BookAsNotified
from fleet.models import Car
from instructors.models import Member

#: How many members' books are read together: a larger batch takes more memory, a smaller one more queries.
_BATCH = 20


class Contributions(NamedTuple):
    """The contributions to one period by member id, how many members are out, and their running costs.

    ``running`` has those of each contributor who had a car on every day of the period, so that nothing is scaled up.
    """

    by_member: dict[int, Contribution]
    out: int
    running: list[dict[str, Fraction]]

    @property
    def values(self) -> dict[int, ContributorValues]:
        """The values of those who contribute."""
        return {member: one.values for member, one in self.by_member.items() if one.values is not None}


class _Own(NamedTuple):
    """What one member brings to one period."""

    contribution: Contribution
    is_out: bool
    running: dict[str, Fraction]


def contributions_in(
    months: Sequence[Period], years: Sequence[Period], running: Collection[Period], notified: BookAsNotified
) -> dict[Period, Contributions]:
    """Work out everybody's contribution to each of ``months`` and ``years``, by the book as ``notified`` has it.

    Running costs are worked out for the years in ``running`` only. In a month in which a member gives up a car for good
    they contribute nothing, and are not out.
    """
    periods = [*months, *years]
    found = {period: Contributions({}, 0, []) for period in periods}
    whole = Period(min(period.first for period in periods), max(period.last for period in periods))
    whole = notified.needed(whole)
    members, own_cars = notified.members(), notified.cars_by_keeper()
    for start in range(0, len(members), _BATCH):
        batch = members[start : start + _BATCH]
        cars: CarsOf = {member.pk: own_cars.get(member.pk, []) for member in batch}
        books = books_of_members(cars, whole)
        for member in batch:
            own_books = {car.pk: notified.book(car, books[member.pk][car.pk]) for car in cars[member.pk]}
            owns = _own_contributions(member, cars[member.pk], own_books, periods, set(years), running, notified)
            for period, own in zip(periods, owns, strict=True):
                so_far = found[period]
                so_far.by_member[member.pk] = own.contribution
                found[period] = so_far._replace(out=so_far.out + own.is_out)
                if own.running:
                    so_far.running.append(own.running)
    return found


def _own_contributions(
    member: Member,
    cars: Collection[Car],
    books: dict[int, CarBook],
    periods: Sequence[Period],
    years: Collection[Period],
    running: Collection[Period],
    notified: BookAsNotified,
) -> list[_Own]:
    rate = notified.cooperative.depreciation_rate
    by_car = [monthly_tallies(books[car.pk], periods, depreciation_rate=rate) for car in cars]
    owns = []
    for index, period in enumerate(periods):
        tallies = [of_car[index] for of_car in by_car]
        days = days_with_a_car(books.values(), period)
        counts = has_standing(member.joined_on, period.last) and (
            period in years or not any(gave_up(book, period) for book in books.values())
        )
        values = contributor_values(tallies, days) if counts else None
        is_out = counts and values is None and days >= MINIMUM_SERVICE_DAYS
        needs_running = values is not None and period in running and days == days_in(period)
        of_running = running_by_true_cost([(car.fuel, books[car.pk]) for car in cars], period) if needs_running else {}
        owns.append(_Own(Contribution(sum(tally.true_cost for tally in tallies), values), is_out, of_running))
    return owns
