"""What stands out in the books of all of a member's cars, and what of it the member has dismissed."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from costing.core.records import CarBook
from costing.models import Dismissal
from costing.queries import car_books
from costing.queries.dismissals import dismissals_of
from costing.statement.core.odd import Finding, looked_at, odd
from fleet.models import Car
from fleet.queries import kept_cars
from instructors.models import Member


@dataclass(frozen=True)
class OddThing:
    """One thing that stands out in the book of a car; ``dismissal`` is None while it is shown."""

    car: Car
    finding: Finding
    dismissal: Dismissal | None


def odd_books(member: Member, today: date) -> tuple[list[Car], Mapping[int, CarBook]]:
    """Return the cars that the member kept in the days that are looked at, and the member's own books by car id."""
    period = looked_at(today)
    cars = kept_cars(member, since=period.first)
    times = {car.pk: of_car for car, of_car in cars.items()}
    return list(cars), car_books(cars, period, member=member, times=times)


def odd_things(member: Member, cars: Iterable[Car], books: Mapping[int, CarBook], today: date) -> list[OddThing]:
    """Return what stands out in a member's own ``books``, by car id, gravest first.

    The books have all that affects the days looked at. It takes one query, and none if nothing stands out.
    """
    found = [(car, one) for car in cars for one in odd(books[car.pk], today)]
    dismissed = {(one.car_id, one.kind, one.key): one for one in dismissals_of(member)} if found else {}
    things = [OddThing(car, one, dismissed.get((car.pk, one.kind.value, one.key))) for car, one in found]
    return sorted(things, key=lambda thing: thing.finding.grave)
