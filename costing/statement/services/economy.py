"""A member's own cars brim by brim, and what they paid for a litre or kWh, up to the end of a period."""

from collections.abc import Iterator, Sequence
from datetime import date
from typing import NamedTuple

from costing.core.economy import Stretch
from costing.core.money import divide_half_up
from costing.core.periods import overlap
from costing.core.records import Period, Unit
from costing.core.use import Use
from costing.statement.core.brims import USUAL_WITHIN, Brims, brims_of
from costing.statement.core.odd import Fall, fall_of, looked_at
from costing.statement.services.own import OwnBooks
from fleet.core.days import add_months
from fleet.models import Car

#: So many brims are shown at least, also of a month that has fewer, and so many years at most.
_FEWEST_SHOWN, _MOST_MONTHS = 12, 60
_UNITS: tuple[Unit, ...] = ("litre", "kwh")


class Bought(NamedTuple):
    """What a litre or kWh cost at a fill, in tenths of a penny."""

    on: date
    tenths: int


class CarEconomy(NamedTuple):
    """One car on one unit: its brims, if there are any, and what was paid for it, oldest first.

    ``fall`` is that of its economy if it had fallen beyond its own scatter at the end.
    """

    car: Car
    unit: Unit
    brims: Brims | None
    bought: tuple[Bought, ...]
    fall: Fall | None


def days_of_economy(period: Period) -> Period:
    """Return the days that `economy_of` looks at: those of a period and of the year before."""
    return Period(max(_oldest(period), period.first - USUAL_WITHIN), period.last)


def economy_of(own: OwnBooks, period: Period) -> list[CarEconomy]:
    """Return the economy of the cars that a member filled in a period, for each unit; of one car or of all."""
    read = days_of_economy(period)
    own = own.reaching(read)
    shown = Period(max(_oldest(period), period.first), period.last)
    return [found for one in own.cars for found in _of_car(one, own.uses[one.pk], read, shown)]


def _oldest(period: Period) -> date:
    return add_months(period.last, -_MOST_MONTHS)


def _of_car(car: Car, use: Use, read: Period, period: Period) -> Iterator[CarEconomy]:
    for unit in _UNITS:
        fills = [one for one in use.fills if one.unit == unit and one.thousandths and not one.is_anothers]
        if not any(period.first <= one.filled_on <= period.last for one in fills):
            continue
        stretches = [one for one in use.stretches(unit) if read.first <= one.ends_on <= read.last]
        shown = overlap(Period(min(period.first, _enough(stretches, period.first)), period.last), read) or period
        bought = tuple(
            Bought(one.filled_on, divide_half_up(one.pence * 1000 * 10, one.thousandths))
            for one in fills
            if shown.first <= one.filled_on <= shown.last
        )
        yield CarEconomy(car, unit, brims_of(stretches, unit, shown), bought, _fall(use, stretches, unit, period))


def _fall(use: Use, stretches: Sequence[Stretch], unit: Unit, period: Period) -> Fall | None:
    """What stood out at the end of the period, from the days that were looked at then."""
    if any(one.unit != unit and not one.is_anothers for one in use.fills):
        return None
    first = looked_at(period.last).first
    return fall_of((one for one in stretches if one.ends_on >= first), unit)


def _enough(stretches: Sequence[Stretch], otherwise: date) -> date:
    """From when on there are as many brims as are shown at least."""
    return stretches[-_FEWEST_SHOWN:][0].ends_on if stretches else otherwise
