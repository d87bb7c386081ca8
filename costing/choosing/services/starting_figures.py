"""The figures that a new comparison starts with: the member's own last 12 closed months, or else the group's medians.

The most that an MOT may cost is known without either.
"""

from collections.abc import Collection
from datetime import date
from decimal import Decimal
from typing import Any, NamedTuple

from config import showing
from costing.choosing.document.schema import RUNNING
from costing.core.car_year import CarYear, car_year
from costing.core.catalogue.running import FUEL, INSURANCE, MOT
from costing.core.group import fuel_key
from costing.core.money import to_places
from costing.core.periods import last_ended_month, month_of, months_ending
from costing.queries import car_books, cars_with_money_of, running_figures
from fleet.core.days import add_months
from fleet.models import Car
from instructors.models import Member
from instructors.queries import cooperative

#: Comparing over two years is common practice; there is no source.
MONTHS = 24
#: A year without holidays and bank holidays is common practice; there is no source.
WEEKS_TAUGHT = 46
TYPED = "typed in"
FROM_FILE = "from the file"
#: What is known for every car, in pounds, with its source: we read a copy of the official table.
_FOR_ANY_CAR = {MOT.key: (Decimal("54.85"), "the most that an MOT of a car may cost (GOV.UK, MOT test fees)")}


class StartingFigures(NamedTuple):
    """The tables ``use`` and ``running`` of a document, and the source of each running cost."""

    use: dict[str, Any]
    running: dict[str, Any]
    sources: dict[str, str]


def starting_figures(member: Member, today: date) -> StartingFigures:
    """What the book knows for a member before they type anything. Figures that it doesn't know are left out."""
    month = last_ended_month(today).first
    year = months_ending(month, 12)
    cars = cars_with_money_of(member)
    own = car_year(car_books(cars, year, member=member).values(), year)
    group = _group_figures([car for car in cars if car.keeper_id == member.pk])
    running: dict[str, Any] = {}
    sources: dict[str, str] = {}
    for key in (key.name for key in RUNNING):
        if key in own.running:
            value = to_places(own.running[key], 2)
            sources[key] = f"your own records, {showing.month(year.first)} to {showing.month(year.last)}"
        elif key in group:
            value, sources[key] = group[key], "the group’s rounded median"
        elif key in _FOR_ANY_CAR:
            value, sources[key] = _FOR_ANY_CAR[key]
        else:
            continue
        running[key] = [value] if key == INSURANCE.key else value
    return StartingFigures(_use(own, today), running, sources)


def _group_figures(kept: Collection[Car]) -> dict[str, Decimal]:
    """The group's medians under the document's keys. Fuel is the median for what the member's one car burns."""
    group = dict(running_figures(cooperative().minimum_contributors))
    fuels = {car.fuel for car in kept}
    if len(fuels) == 1 and (pence := group.get(fuel_key(fuels.pop()))) is not None:
        group[FUEL.key] = pence
    return group


def _use(own: CarYear, today: date) -> dict[str, Any]:
    use: dict[str, Any] = {
        "starts_on": add_months(month_of(today).first, 1),
        "months": MONTHS,
        "weeks_taught_per_year": Decimal(WEEKS_TAUGHT),
    }
    if own.miles is not None:
        use["miles_per_year"] = to_places(own.miles, 0)
        use["private_miles_per_year"] = to_places(own.private_miles, 0)
    if own.lesson_hours is not None:
        use["lesson_hours_per_week"] = to_places(own.lesson_hours / WEEKS_TAUGHT, 1)
    return use
