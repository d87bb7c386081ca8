"""What running the car of an offer costs until one leaves, and what of it is given back then."""

from collections.abc import Callable, Iterator, Mapping
from typing import Any

from costing.choosing.core.case import Offer, Running, Use
from costing.choosing.core.course import Course
from costing.choosing.core.payments import CashFlowItem
from costing.core.catalogue.agreements import GIVEN_BACK
from costing.core.catalogue.running import AS_PAID, INSURANCE, REPAIRS, VEHICLE_TAX, RunningPart, When
from fleet.core.days import add_months
from fleet.core.mot import first_mot_due


def is_told(part: RunningPart, running: Running) -> bool:
    """Whether a table of running costs has a figure for a part."""
    has_sum = _field(running, part.field) is not None
    return has_sum and (not part.life_key or _field(running, part.life_key) is not None)


def mot_months(offer: Offer, use: Use, last: int) -> tuple[int, ...]:
    """The months, up to ``last``, in which the car is tested: each year's end, once it is old enough.

    Where nobody knows when it was first registered, it is old enough.
    """
    ends = range(12, last + 1, 12)
    if offer.first_registered is None:
        return tuple(ends)
    first = first_mot_due(offer.first_registered, use.nation)
    return tuple(month for month in ends if first <= add_months(use.starts_on, month))


def months_left_of_year(month: int) -> int:
    """The whole months left of a year that was paid for at its start; none at its end."""
    return -month % 12


def given_back_premium(running: Running, offer: Offer, course: Course) -> int:
    """The premium of which a part may come back when one leaves; 0 if there is none, or if no month of it is left."""
    if INSURANCE.name in offer.includes or not running.insurance or not months_left_of_year(course.months):
        return 0
    return _premium(running.insurance, course.months // 12)


def given_back(running: Running, offer: Offer, course: Course) -> Iterator[CashFlowItem]:
    """Vehicle tax of the whole months left, and the insurer's share of the premium, each rounded down."""
    left, end = months_left_of_year(course.months), (course.months,)
    premium = given_back_premium(running, offer, course)
    if running.insurance_given_back is not None:
        yield CashFlowItem(GIVEN_BACK.name, -(premium * running.insurance_given_back * left // 12), end)
    if left and VEHICLE_TAX.name not in offer.includes and running.vehicle_tax_per_year is not None:
        # A licence runs from the first of its month, so a month that has begun is lost.
        whole = left if course.use.starts_on.day == 1 else left - 1
        yield CashFlowItem(GIVEN_BACK.name, -(running.vehicle_tax_per_year * whole // 12), end)


def running_items(running: Running, offer: Offer, course: Course) -> Iterator[CashFlowItem]:
    """The running costs that the offer doesn't include, as far as they are told."""
    for part in AS_PAID:
        if part.name not in offer.includes and is_told(part, running):
            yield from _ITEMS[part.when](part, running, offer, course)
    if course.one_repair and REPAIRS.name not in offer.includes:
        yield CashFlowItem(REPAIRS.name, course.one_repair, ((course.months + 1) // 2,))


def _at_start(part: RunningPart, running: Running, offer: Offer, course: Course) -> Iterator[CashFlowItem]:
    yield CashFlowItem(part.name, _field(running, part.field), (0,))


def _premiums(part: RunningPart, running: Running, offer: Offer, course: Course) -> Iterator[CashFlowItem]:
    by_year = _field(running, part.field)
    for year, start in enumerate(_year_starts_of(course)):
        yield CashFlowItem(part.name, _premium(by_year, year), (start,))


def _year_starts(part: RunningPart, running: Running, offer: Offer, course: Course) -> Iterator[CashFlowItem]:
    yield CashFlowItem(part.name, _field(running, part.field), _year_starts_of(course))


def _year_ends_with_mot(part: RunningPart, running: Running, offer: Offer, course: Course) -> Iterator[CashFlowItem]:
    yield CashFlowItem(part.name, _field(running, part.field), mot_months(offer, course.use, course.months))


def _monthly(part: RunningPart, running: Running, offer: Offer, course: Course) -> Iterator[CashFlowItem]:
    yield CashFlowItem(part.name, _field(running, part.field) * course.months, over=12)


def _by_set(part: RunningPart, running: Running, offer: Offer, course: Course) -> Iterator[CashFlowItem]:
    sets = course.miles / _field(running, part.life_key)
    yield CashFlowItem(part.name, _field(running, part.field) * sets)


def _by_mile(part: RunningPart, running: Running, offer: Offer, course: Course) -> Iterator[CashFlowItem]:
    a_mile = sum(fuel.pence_per_mile * fuel.share for fuel in _field(running, part.field))
    yield CashFlowItem(part.name, a_mile * course.miles)


_ITEMS: Mapping[When, Callable[[RunningPart, Running, Offer, Course], Iterator[CashFlowItem]]] = {
    When.AT_START: _at_start,
    When.PREMIUMS: _premiums,
    When.YEAR_STARTS: _year_starts,
    When.YEAR_ENDS_WITH_MOT: _year_ends_with_mot,
    When.MONTHLY: _monthly,
    When.BY_SET: _by_set,
    When.BY_MILE: _by_mile,
}


def _year_starts_of(course: Course) -> tuple[int, ...]:
    return tuple(range(0, course.months, 12))


def _premium(by_year: tuple[int, ...], year: int) -> int:
    """The premium of a year, counted from 0; a list that runs out goes on with its last."""
    return by_year[min(year, len(by_year) - 1)]


def _field(running: Running, name: str) -> Any:
    return getattr(running, name)
