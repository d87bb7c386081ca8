"""What an offer should have cost by a day, part by part, without what only leaving the car brings."""

from datetime import date
from itertools import count
from typing import NamedTuple

from costing.choosing.core.case import Case, Offer
from costing.choosing.core.course import course_of
from costing.choosing.core.figures import items_before_leaving
from costing.choosing.core.inputs import Place, bears_on, offer_named, varied
from costing.choosing.core.payments import CashFlowItem
from costing.core.catalogue.agreements import CAR_SUMS, PAYMENTS
from costing.core.shares import share
from fleet.core.days import add_months


class Expected(NamedTuple):
    """What should have come by now, in pence or miles: all ranges at their lowest, as planned, all at their highest."""

    low: int
    likely: int
    high: int


def expected_by(case: Case, name: str, on: date) -> dict[str, Expected]:
    """What the offer of this name, begun on the first day of the case, should have cost by the end of a day, by part.

    A sum that falls due in a month does so on its last day, a weekly payment at the end of its week. What is shared
    over the months is shared over the days of each.
    """
    offer = offer_named(case, name)
    likely = _paid_by(case, offer, on)
    low, high = (_paid_by(at, offer_named(at, name), on) for at in _ends(case, offer))
    return {part: Expected(low.get(part, 0), pence, high.get(part, 0)) for part, pence in likely.items()}


def miles_by(case: Case, on: date) -> Expected:
    """The miles that should have been driven by the end of a day, in whole miles, rounded down."""
    spread = next((one.spreads[0] for one in case.uncertain if one.input == "miles_per_year"), None)
    a_year = case.use.miles_per_year
    low, high = (spread.low, spread.high) if spread else (a_year, a_year)
    return Expected(*(_by_day(int(miles * case.use.months / 12), case, on) for miles in (low, a_year, high)))


def lesson_minutes_by(case: Case, on: date) -> int:
    """The minutes that should have been taught by the end of a day."""
    use = case.use
    hours = use.lesson_hours_per_week * use.weeks_taught_per_year * use.months / 12
    return _by_day(int(hours * 60), case, on)


def _ends(case: Case, offer: Offer) -> tuple[Case, Case]:
    """The case with all the ranges that bear on the offer at their lowest, and at their highest."""
    told = {Place(one.input, one.offer, one.at): one.spreads[0] for one in case.uncertain}
    mine = {place: spread for place, spread in told.items() if not place.is_whole and bears_on(case, place, offer)}
    return (
        varied(case, {place: spread.low for place, spread in mine.items()}).case,
        varied(case, {place: spread.high for place, spread in mine.items()}).case,
    )


def _paid_by(case: Case, offer: Offer, on: date) -> dict[str, int]:
    by_part: dict[str, int] = {}
    for item in items_before_leaving(case.running_of(offer), offer, course_of(case.use)):
        if item.part not in CAR_SUMS or not CAR_SUMS[item.part].is_of_end:
            by_part[item.part] = by_part.get(item.part, 0) + _of_item(item, offer, case, on)
    return by_part


def _of_item(item: CashFlowItem, offer: Offer, case: Case, on: date) -> int:
    """What of one sum falls due by the end of a day."""
    if item.months is None:
        return _by_day(item.pence, case, on)
    if item.part == PAYMENTS.name and offer.frequency == "week":
        return item.pence * min(len(item.months), (on - case.use.starts_on).days // 7)
    return item.pence * sum(month <= _months_over(case, on) for month in item.months)


def _by_day(whole: int, case: Case, on: date) -> int:
    """The part by the end of a day of what is shared over the months, and within each over its days."""
    months, start = case.use.months, case.use.starts_on
    over = _months_over(case, on)
    by_month = share(whole, min(over, months), months)
    if over >= months:
        return by_month
    first, following = add_months(start, over), add_months(start, over + 1)
    return by_month + share(share(whole, over + 1, months) - by_month, (on - first).days, (following - first).days)


def _months_over(case: Case, on: date) -> int:
    """How many whole months have passed by the end of a day; 0 on the first."""
    return next(month for month in count() if add_months(case.use.starts_on, month + 1) > on)
