"""A member's own books, of one car or of all, and their figures over periods: what statements are made of."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property

from costing.core.known import part_known
from costing.core.periods import spanning
from costing.core.records import CarBook, Logged, Period
from costing.core.use import Use
from costing.queries import car_books
from costing.report import CarReport, Together, all_together, reports_of
from fleet.models import Car
from fleet.queries import cars_ever_kept_by, cars_with_ids
from instructors.models import Member
from instructors.queries import cooperative


@dataclass(frozen=True)
class OwnBooks:
    """The cars that are asked for with the member's own book of each, by car id, that hold a span of days.

    ``car`` is None for all that the member ever kept. Each book is put together once, for whatever is asked of it.
    """

    member: Member
    car: Car | None
    span: Period
    cars: Sequence[Car]
    uses: Mapping[int, Use]

    def reaching(self, days: Period) -> "OwnBooks":
        """These books, or others read anew if they do not hold all of ``days``."""
        if self.span.first <= days.first and days.last <= self.span.last:
            return self
        return _read(self.member, spanning([self.span, days]), self.car, self.cars)

    def of(self, found: Together) -> list[CarBook]:
        """The books of the cars that some figures are of."""
        return [self.uses[report.car.pk].book for report in found.reports]

    @cached_property
    def rate(self) -> Decimal:
        """The co-op's yearly rate of depreciation; asked for by one query."""
        return cooperative().depreciation_rate

    def known_part(self, period: Period) -> Period | None:
        """The part of a period that is known of all the cars kept in it; None while no day of it is. By no query."""
        known, _ = part_known([use.known for use in self.uses.values()], period)
        return known

    @cached_property
    def never_kept(self) -> list[Logged]:
        """The lessons that the member taught in cars which they never kept; of one car alone that is not asked."""
        books = [] if self.car else [use.book for use in self.uses.values()]
        logged = next((book.logged for book in books), None) or ()
        return [one for one in logged if one.minutes != 0 and one.car not in self.uses]

    @cached_property
    def cars_never_kept(self) -> list[Car]:
        """The cars of these lessons, by registration; asked for by one query if there are any."""
        ids = {one.car for one in self.never_kept}
        return sorted(cars_with_ids(ids), key=lambda car: car.registration)

    def reports(self, periods: Sequence[Period]) -> list[list[CarReport]]:
        """A report of each period of each car."""
        return [reports_of(car, self.uses[car.pk], periods, self.rate) for car in self.cars]

    def over(self, periods: Sequence[Period]) -> list[Together]:
        """The figures of each period, all cars together; of several cars, without those that it does not concern."""
        reports = self.reports(periods)
        found = []
        for index in range(len(periods)):
            every = [of_car[index] for of_car in reports]
            found.append(all_together([one for one in every if self.car or one.concerns_period] or every))
        return found


def own_books(member: Member, span: Period, car: Car | None) -> OwnBooks | None:
    """Return a member's own books over ``span``, of one car or of all that they ever kept; None if they kept none."""
    cars = [car] if car else cars_ever_kept_by(member)
    return _read(member, span, car, cars) if cars else None


def _read(member: Member, span: Period, car: Car | None, cars: Sequence[Car]) -> OwnBooks:
    books = car_books(cars, span, member=member)
    return OwnBooks(member, car, span, cars, {car_id: Use(book) for car_id, book in books.items()})
