"""What every member contributes to the group's figures, worked out a few members at a time."""

from collections.abc import Collection, Sequence
from datetime import date
from fractions import Fraction
from typing import NamedTuple

from costing.core.car_year import running_by_true_cost
from costing.core.group import MINIMUM_SERVICE_DAYS, Contribution, contributor_values, has_standing
from costing.core.records import CarBook, Period
from costing.core.running_cost import days_in_service, monthly_tallies
from costing.queries import CarsOf, books_of_members, car_books, cars_with_money
from costing.queries.as_notified import BookAsNotified
from fleet.models import Car
from instructors.models import Member

#: A first day that is earlier than any car in the book.
_FIRST_EVER = date(1980, 1, 1)
#: How many members' books are read together: a larger batch takes more memory, a smaller one more queries.
_BATCH = 20


class Contributions(NamedTuple):
    """The contributions to one period by member id, how many members are out, and each contributor's running costs."""

    by_member: dict[int, Contribution]
    out: int
    running: list[dict[str, Fraction]]


class _Own(NamedTuple):
    """What one member brings to one period."""

    contribution: Contribution
    is_out: bool
    running: dict[str, Fraction]


def contributions_in(
    periods: Sequence[Period], years: Collection[Period], notified: BookAsNotified
) -> dict[Period, Contributions]:
    """Work out everybody's contribution to each of ``periods``, by the book as ``notified`` has it.

    Running costs are worked out for the periods in ``years`` only.
    """
    found = {period: Contributions({}, 0, []) for period in periods}
    whole = Period(min(period.first for period in periods), max(period.last for period in periods))
    whole = notified.needed(whole)
    members, own_cars = notified.members(), cars_with_money()
    for start in range(0, len(members), _BATCH):
        batch = members[start : start + _BATCH]
        cars: CarsOf = {member.pk: notified.cars(own_cars.get(member.pk, []), member) for member in batch}
        books = books_of_members(cars, whole)
        for member in batch:
            own_books = _as_notified(member, cars[member.pk], books[member.pk], whole, notified)
            owns = _own_contributions(member, cars[member.pk], own_books, periods, years, notified)
            for period, own in zip(periods, owns, strict=True):
                so_far = found[period]
                so_far.by_member[member.pk] = own.contribution
                found[period] = so_far._replace(out=so_far.out + own.is_out)
                if own.running:
                    so_far.running.append(own.running)
    return found


def _as_notified(
    member: Member, cars: Collection[Car], books: dict[int, CarBook], whole: Period, notified: BookAsNotified
) -> dict[int, CarBook]:
    """Return the member's books without changes that were notified too late.

    A car that has changed hands needs all its days: the last entries of other keepers may hide the member's own.
    """
    shared = [car for car in cars if car.pk in notified.handed_on]
    if shared:
        books = books | car_books(shared, Period(_FIRST_EVER, whole.last), member=member)
    counting = {car.pk: notified.book(car, books[car.pk]) for car in cars}
    return counting | {car.pk: notified.own_days(car, counting[car.pk], member) for car in shared}


def _own_contributions(
    member: Member,
    cars: Collection[Car],
    books: dict[int, CarBook],
    periods: Sequence[Period],
    years: Collection[Period],
    notified: BookAsNotified,
) -> list[_Own]:
    rate = notified.cooperative.depreciation_rate
    by_car = [monthly_tallies(books[car.pk], periods, depreciation_rate=rate) for car in cars]
    services = [books[car.pk].service for car in cars]
    owns = []
    for index, period in enumerate(periods):
        tallies = [of_car[index] for of_car in by_car]
        days = days_in_service(services, period)
        values = contributor_values(tallies, days) if has_standing(member.joined_on, period.last) else None
        is_out = values is None and days >= MINIMUM_SERVICE_DAYS and has_standing(member.joined_on, period.last)
        needs_running = values is not None and period in years
        running = running_by_true_cost([(car.fuel, books[car.pk]) for car in cars], period) if needs_running else {}
        owns.append(_Own(Contribution(sum(tally.true_cost for tally in tallies), values), is_out, running))
    return owns
