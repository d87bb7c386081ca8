"""A member's own books, of one car or of all, and their figures over periods: what statements are made of."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from costing.core.records import CarBook, Period
from costing.core.use import Use
from costing.queries import car_books
from costing.report import Together, all_together, reports_of
from fleet.models import Car
from fleet.queries import cars_ever_kept_by
from instructors.models import Member
from instructors.queries import cooperative


@dataclass(frozen=True)
class OwnBooks:
    """The cars that are asked for with the member's own book of each, by car id, that hold a span of days."""

    cars: Sequence[Car]
    uses: Mapping[int, Use]
    is_of_one: bool

    def of(self, found: Together) -> list[CarBook]:
        """The books of the cars that some figures are of."""
        return [self.uses[report.car.pk].book for report in found.reports]

    def over(self, periods: Sequence[Period]) -> list[Together]:
        """The figures of each period, all cars together. Of several cars, those that it does not concern are left out.

        It takes one query.
        """
        rate = cooperative().depreciation_rate
        reports = [reports_of(car, self.uses[car.pk], periods, rate) for car in self.cars]
        found = []
        for index in range(len(periods)):
            every = [of_car[index] for of_car in reports]
            found.append(all_together([one for one in every if self.is_of_one or one.concerns_period] or every))
        return found


def own_books(member: Member, span: Period, car: Car | None) -> OwnBooks | None:
    """Return a member's own books over ``span``, of one car or of all that they ever kept; None if they kept none."""
    cars = [car] if car else cars_ever_kept_by(member)
    if not cars:
        return None
    uses = {car_id: Use(book) for car_id, book in car_books(cars, span, member=member).items()}
    return OwnBooks(cars, uses, car is not None)
