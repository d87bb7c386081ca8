"""The entries behind a figure of the true cost: what each of them adds to it, and what else it rests on."""

from dataclasses import dataclass
from datetime import date

from costing.core.parts import Part, parts
from costing.core.records import Cost, Period
from costing.core.running_cost import RunningCost
from costing.queries import car_books
from costing.report import all_together, reports_from
from fleet.models import Car
from fleet.queries import kept_cars
from instructors.models import Member
from instructors.queries import cooperative


@dataclass(frozen=True)
class Behind:
    """What a true cost of a period rests on, in pence.

    ``parts`` are the entries, newest first, and ``entries`` what they add up to. ``figure`` is what the reports show of
    the category, or of all; ``held`` is what of it no entry was logged for: interest, hire and loss of value. ``cost``
    has all figures of the period.
    """

    parts: list[Part]
    figure: int
    cost: RunningCost

    @property
    def entries(self) -> int:
        return sum(part.pence for part in self.parts)

    @property
    def held(self) -> int:
        return self.figure - self.entries


def behind(member: Member, period: Period, *, car: Car | None = None, category: str = "") -> Behind | None:
    """Return what a member's own true cost of a period rests on: of one car, or of all that they kept then.

    None if they kept none then. It takes the same number of queries however many entries there are.
    """
    cars = [car] if car else list(kept_cars(member, since=period.first))
    if not cars:
        return None
    books = car_books(cars, period, member=member)
    rate = cooperative().depreciation_rate
    cost = all_together([of_car[0] for of_car in reports_from(books, cars, [period], rate)]).cost
    found = [part for one in cars for part in parts(books[one.pk], period) if not category or part.category == category]
    figure = cost.by_category.get(category, 0) if category else cost.true_cost
    return Behind(sorted(found, key=_by_day, reverse=True), figure, cost)


def _by_day(part: Part) -> tuple[date, int]:
    record = part.record
    return record.paid_on if isinstance(record, Cost) else record.filled_on, record.key or 0
