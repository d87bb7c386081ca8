"""What stands out in the books of all of a member's cars, and what of it the member has dismissed."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from costing.core.records import CarBook
from costing.models import Dismissal
from costing.queries import car_books
from costing.queries.dismissals import dismissals_of
from costing.statement.core.odd import Finding, Seen, looked_at, odd, seen
from fleet.models import Car
from fleet.queries import kept_cars
from instructors.models import Member

Books = Mapping[Car, CarBook]


@dataclass(frozen=True)
class OddThing:
    """One thing that stands out in the book of a car; ``dismissal`` is None while it is shown."""

    car: Car
    finding: Finding
    dismissal: Dismissal | None


@dataclass(frozen=True)
class OddReport:
    """All that stands out, gravest first, and what there was to look at, by car."""

    things: tuple[OddThing, ...]
    seen: Mapping[Car, Seen]

    @property
    def shown(self) -> list[OddThing]:
        """What nobody has dismissed."""
        return [thing for thing in self.things if thing.dismissal is None]

    @property
    def dismissed(self) -> list[OddThing]:
        """What was dismissed and still stands out."""
        return [thing for thing in self.things if thing.dismissal is not None]

    def thing(self, mark: str, kind: str, key: str) -> OddThing | None:
        """What these three name, dismissed or not; None if nothing like it stands out."""
        names = (mark, kind, key)
        return next((one for one in self.things if names == (one.car.registration, *_name(one.finding))), None)


def odd_books(member: Member, today: date) -> Books:
    """Return the member's own books of the cars that they kept in the days that are looked at."""
    period = looked_at(today)
    cars = kept_cars(member, since=period.first)
    times = {car.pk: of_car for car, of_car in cars.items()}
    books = car_books(cars, period, member=member, times=times)
    return {car: books[car.pk] for car in cars}


def odd_report(member: Member, books: Books, today: date) -> OddReport:
    """Return what stands out in ``books``, which have all that affects the days looked at; one query."""
    dismissed = {(one.car_id, one.kind, one.key): one for one in dismissals_of(member)}
    things = [
        OddThing(car, found, dismissed.get((car.pk, *_name(found))))
        for car, book in books.items()
        for found in odd(book, today)
    ]
    return OddReport(
        tuple(sorted(things, key=lambda thing: thing.finding.grave)),
        {car: seen(book, today) for car, book in books.items()},
    )


def _name(finding: Finding) -> tuple[str, str]:
    return finding.kind.value, finding.key
