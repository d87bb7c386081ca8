"""Everybody's part in the group's figures, worked out from the book one member at a time."""

from collections.abc import Collection, Sequence
from datetime import date
from fractions import Fraction
from typing import NamedTuple

from costing.core.car_year import running_by_true_cost
from costing.core.group import MINIMUM_SERVICE_DAYS, Part, contributor_values, has_standing
from costing.core.records import CarBook, Period
from costing.core.running_cost import days_in_service, monthly_tallies
from costing.queries import CarsOf, books_of_members, car_books, cars_with_money
from costing.queries.told import AsTold
from fleet.models import Car
from instructors.models import Member

#: From before any car of the book.
EVER = Period(date(1980, 1, 1), date.max)
#: Members whose books are read together: more would take more memory, fewer more queries.
_AT_ONCE = 20


class Parts(NamedTuple):
    """One period: each member's part by their id, how many are out, and what running a car cost each contributor."""

    by_member: dict[int, Part]
    out: int
    running: list[dict[str, Fraction]]


class _Own(NamedTuple):
    """One member's part in one period."""

    part: Part
    is_out: bool
    running: dict[str, Fraction]


def parts_in(periods: Sequence[Period], years: Collection[Period], told: AsTold) -> dict[Period, Parts]:
    """Everybody's part in each of ``periods``; in those that are ``years`` with their running costs.

    The book is taken as ``told`` has it. A few members' books are in memory at a time.
    """
    found = {period: Parts({}, 0, []) for period in periods}
    whole = Period(min(period.first for period in periods), max(period.last for period in periods))
    whole = told.needed(whole)
    members, own_cars = told.members(), cars_with_money()
    for start in range(0, len(members), _AT_ONCE):
        few = members[start : start + _AT_ONCE]
        cars: CarsOf = {member.pk: told.cars(own_cars.get(member.pk, []), member) for member in few}
        books = books_of_members(cars, whole)
        for member in few:
            own_books = _as_told(member, cars[member.pk], books[member.pk], whole, told)
            own_parts = _own_parts(member, cars[member.pk], own_books, periods, years, told)
            for period, own in zip(periods, own_parts, strict=True):
                parts = found[period]
                parts.by_member[member.pk] = own.part
                found[period] = parts._replace(out=parts.out + own.is_out)
                if own.running:
                    parts.running.append(own.running)
    return found


def _as_told(
    member: Member, cars: Collection[Car], books: dict[int, CarBook], whole: Period, told: AsTold
) -> dict[int, CarBook]:
    """The books without what came too late.

    Of a car that has changed hands all days are needed: what others logged last may hide what is one's own.
    """
    shared = [car for car in cars if car.pk in told.handed_on]
    if shared:
        books = books | car_books(shared, EVER._replace(last=whole.last), member=member)
    return {car.pk: told.book(car, books[car.pk], member) for car in cars}


def _own_parts(
    member: Member,
    cars: Collection[Car],
    books: dict[int, CarBook],
    periods: Sequence[Period],
    years: Collection[Period],
    told: AsTold,
) -> list[_Own]:
    rate = told.cooperative.depreciation_rate
    by_car = [monthly_tallies(books[car.pk], periods, depreciation_rate=rate) for car in cars]
    services = [books[car.pk].service for car in cars]
    own = []
    for index, period in enumerate(periods):
        tallies = [of_car[index] for of_car in by_car]
        days = days_in_service(services, period)
        values = contributor_values(tallies, days) if has_standing(member.joined_on, period.last) else None
        is_out = values is None and days >= MINIMUM_SERVICE_DAYS and has_standing(member.joined_on, period.last)
        of_year = values is not None and period in years
        running = running_by_true_cost([(car.fuel, books[car.pk]) for car in cars], period) if of_year else {}
        own.append(_Own(Part(sum(tally.true_cost for tally in tallies), values), is_out, running))
    return own
