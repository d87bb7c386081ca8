"""What the book proposes before anything is typed, in the typed form of a document.

A new comparison starts with the use that the member's own records tell. An offer whose fuel is known starts with the
running costs of the member's cars that burn the same, else the group's rounded medians; what neither tells is not told.
"""

from collections.abc import Callable, Collection, Mapping
from datetime import date
from fractions import Fraction
from typing import Any, NamedTuple

from config import showing
from costing.choosing.services.own_records import typed_figure
from costing.core.car_year import CarYear, car_year
from costing.core.catalogue.running import AS_ASKED, FUEL, MOT
from costing.core.group import fuel_key
from costing.core.money import to_places
from costing.core.periods import last_ended_month, month_of, months_ending
from costing.core.records import Period
from costing.queries import car_books, cars_with_money_of, running_figures
from fleet.core.days import add_months
from fleet.models import Car
from instructors.models import Member
from instructors.queries import cooperative

#: Comparing over three years is common practice; there is no source.
MONTHS = 36
#: A year without holidays and bank holidays is common practice; there is no source.
WEEKS_TAUGHT = 46
TYPED = "typed in"
FROM_FILE = "from the file"
#: The running cost that each key belongs to.
_PART_OF = {key: part.name for part in AS_ASKED for key in (part.key, part.life_key) if key}
#: The pence that an MOT may cost at most in Great Britain, with its source: we read a copy of the official table.
_MOT_PENCE, _MOT_SOURCE = 5485, "the most that an MOT of a car may cost (GOV.UK, MOT test fees)"


class Proposal(NamedTuple):
    """Running costs of an offer, and where each came from, by key."""

    running: dict[str, Any]
    sources: dict[str, str]


def use_of_records(member: Member, today: date) -> dict[str, Any]:
    """How the member's own cars were used in the last 12 closed months; figures that nobody logged are left out."""
    own = _own_year(member, today, lambda car: True)
    use: dict[str, Any] = {
        "starts_on": add_months(month_of(today).first, 1),
        "months": MONTHS,
        "weeks_taught_per_year": Fraction(WEEKS_TAUGHT),
    }
    if own.miles is not None:
        use["miles_per_year"] = Fraction(to_places(own.miles, 0))
        use["private_miles_per_year"] = Fraction(to_places(own.private_miles, 0))
    if own.lesson_hours is not None:
        use["lesson_hours_per_week"] = Fraction(to_places(own.lesson_hours / WEEKS_TAUGHT, 1))
    return use


def proposed_running(member: Member, burns: str, today: date) -> Proposal:
    """Running costs for an offered car that ``burns`` this fuel, as far as the book knows any."""
    year = _year(today)
    own = _own_year(member, today, lambda car: car.fuel == burns).running
    of_own = f"your own records, {_months(year)}"
    group = running_figures(cooperative().minimum_contributors)
    medians = group.medians if group else {}
    proposal = Proposal({}, {})
    for part in AS_ASKED:
        median = medians.get(fuel_key(burns) if part is FUEL else part.key)
        if part.key in own:
            keys = [key for key in (part.key, part.life_key) if key in own]
            proposal.running.update((key, typed_figure(key, own[key])) for key in keys)
            proposal.sources.update(dict.fromkeys(keys, of_own))
        elif group and median is not None:
            proposal.running[part.key] = typed_figure(part.key, Fraction(median))
            proposal.sources[part.key] = from_group(group.year)
        elif part is MOT and cooperative().nation == "GB":
            proposal.running[part.key], proposal.sources[part.key] = _MOT_PENCE, _MOT_SOURCE
    return proposal


def running_of_offer(
    *, told: Mapping[str, Any], included: Collection[str], saved: Proposal, shown: Proposal, proposed: Proposal
) -> Proposal:
    """An offer's own running costs as ``told``, each with where it came from, and what is ``proposed`` where none is.

    ``saved`` is what is stored, and ``shown`` what was proposed on the page; if that is the very proposal, a figure
    without a value was cleared and stays so. If the fuel has changed since, what was only proposed for the other one
    goes. Nothing is proposed for what the payments include.
    """
    result = Proposal({}, {})
    for key in dict.fromkeys((*told, *proposed.running)):
        value = told.get(key)
        if shown is not proposed:
            if value is not None and (value == shown.running.get(key) or _is_proposed(saved, key, value)):
                value = None
            if value is None and _PART_OF.get(key, key) not in included and not (key == FUEL.key and "fuel" in told):
                value = proposed.running.get(key)
        if value is None or (key == FUEL.key and "fuel" in told and value == proposed.running.get(key)):
            continue
        result.running[key] = value
        if value == saved.running.get(key) and key in saved.sources:
            result.sources[key] = saved.sources[key]
        else:
            result.sources[key] = proposed.sources[key] if value == proposed.running.get(key) else TYPED
    return result


def from_group(year: Period) -> str:
    """Say that a running cost is the group's median of a closed ``year``."""
    return f"the group’s rounded median, {_months(year)}"


def _months(year: Period) -> str:
    return f"{showing.month(year.first)} to {showing.month(year.last)}"


def _is_proposed(saved: Proposal, key: str, value: object) -> bool:
    """Whether a value is the saved one, which the book proposed."""
    return value == saved.running.get(key) and saved.sources.get(key, TYPED) not in (TYPED, FROM_FILE)


def _year(today: date) -> Period:
    """The last 12 closed months."""
    return months_ending(last_ended_month(today).first, 12)


def _own_year(member: Member, today: date, is_like: Callable[[Car], bool]) -> CarYear:
    """The year of the member's own cars that are like the one offered."""
    cars = [car for car in cars_with_money_of(member) if is_like(car)]
    year = _year(today)
    return car_year(car_books(cars, year, member=member).values(), year)
