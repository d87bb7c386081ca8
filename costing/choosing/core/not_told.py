"""What an offer neither includes nor tells, and the keys in whose place something is assumed."""

from collections.abc import Iterator, Sequence

from costing.choosing.core.case import Offer, Running
from costing.choosing.core.course import Course
from costing.choosing.core.credit import why_no_half_rule
from costing.choosing.core.running import given_back_premium, is_told, mot_months
from costing.choosing.core.ways_out import VALUE, Exit
from costing.core.catalogue.agreements import DAMAGE, EARLY_EXIT, EXCESS_MILES, SETTLEMENT
from costing.core.catalogue.running import INSURANCE, MOT, RUNNING_PARTS, RunningPart, When

#: Every part that may be not told, in the order in which they are listed.
PARTS = (*RUNNING_PARTS, VALUE, EARLY_EXIT.name, DAMAGE.name, EXCESS_MILES.name)
#: Those of them that are paid at the start.
UP_FRONT = frozenset(
    part.name for part in RUNNING_PARTS.values() if part.when in (When.AT_START, When.PREMIUMS, When.YEAR_STARTS)
)
#: Every key in whose place something may be assumed, in the order in which they are listed.
ASSUMED = (INSURANCE.given_back_key, "value_now", "mileage_allowance", SETTLEMENT.name)


def not_told_of(running: Running, offer: Offer, course: Course, exits: Sequence[Exit], taken: Exit) -> tuple[str, ...]:
    """The parts that apply and have no figure.

    What the car will fetch bears on every way in which it is sold. A charge bears on the total only if its way is the
    lowest with the charge at nothing: otherwise the other way is taken, whatever the charge is.
    """
    missing = {part.name for part in RUNNING_PARTS.values() if _is_missing(part, running, offer, course)}
    missing |= {*taken.untold}
    if any(one.is_open and VALUE in one.untold for one in exits):
        missing.add(VALUE)
    return tuple(part for part in PARTS if part in missing)


def _is_missing(part: RunningPart, running: Running, offer: Offer, course: Course) -> bool:
    if part.name in offer.includes or is_told(part, running):
        return False
    return part is not MOT or bool(mot_months(offer, course.use, course.months))


def assumed_of(running: Running, offer: Offer, course: Course, exits: Sequence[Exit]) -> set[str]:
    """The keys that aren't told and on whose assumed value the figures rest."""
    return {*_assumed(running, offer, course, [one for one in exits if one.is_open])}


def _assumed(running: Running, offer: Offer, course: Course, exits: Sequence[Exit]) -> Iterator[str]:
    given_back, value_now, allowance, settlement = ASSUMED
    if running.insurance_given_back is None and given_back_premium(running, offer, course):
        yield given_back  # taken as nothing
    # At the horizon the car fetches what is told for then, whatever it was worth at the start.
    is_on_curve = offer.value_at_horizon is not None and course.months != course.use.months
    if offer.value_now is None and is_on_curve and any(one.is_sale for one in exits):
        yield value_now  # taken as the price
    if offer.mileage_allowance is None and not all(one.is_sale for one in exits):
        yield allowance  # taken as unlimited
    if why_no_half_rule(offer) and any(one.way == "settle" for one in exits):
        yield settlement  # taken as the law has it for others; here the contract says
