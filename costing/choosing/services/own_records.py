"""What a member's own records tell of one car: its value, a year's running costs, and how far repairs went."""

from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any, NamedTuple

from config.showing import day, month, pence_as_pounds
from costing.choosing.core.case import Spread
from costing.core.car_year import car_year
from costing.core.catalogue.running import AS_ASKED, FIT_OUT, FUEL, INSURANCE, REPAIRS, TYRES
from costing.core.depreciation import owned_spans, worth
from costing.core.keeping import own_agreements, own_valuations
from costing.core.money import divide_half_up, to_places
from costing.core.periods import month_of, months_ending
from costing.core.records import CarBook, Period
from costing.core.running_cost import running_cost
from fleet.core.days import add_months
from fleet.models import Car

#: Over so many years of records one may say how far repairs go. Our own assumption.
LEAST_YEARS = 3
#: How many years of records count. Older ones are of another car, as it were.
MOST_YEARS = 5
#: What a car will fetch is a guess, so it is proposed in tens of pounds.
_TENS = 1_000


class Known(NamedTuple):
    """A figure that the book knows, in the document's typed form, and where it comes from."""

    value: Any
    source: str


def value_on(book: CarBook, on: date, yearly_rate: Decimal) -> Known | None:
    """What the car is worth on a day, in pence, by its last known value and the yearly rate."""
    owned = next((span for span in owned_spans(book) if span.period.first <= on <= span.period.last), None)
    known = [point for point in owned.points if point.valued_on <= on] if owned else []
    if not known:
        return None
    last = known[-1]
    source = f"{pence_as_pounds(last.pence)} on {day(last.valued_on)}"
    if on == last.valued_on:
        return Known(last.pence, source)
    pence = worth(last.pence, yearly_rate, (on - last.valued_on).days)
    return Known(_in_tens(pence), f"{source}, less the co-op’s yearly rate up to {day(on)}")


def value_after(value: int, yearly_rate: Decimal, starts_on: date, months: int) -> Known:
    ends_on = add_months(starts_on, months)
    pence = worth(value, yearly_rate, (ends_on - starts_on).days)
    return Known(_in_tens(pence), f"that value, less the co-op’s yearly rate up to {day(ends_on)}")


def _in_tens(pence: int) -> int:
    return divide_half_up(pence, _TENS) * _TENS


def running_known(book: CarBook, car: Car, year: Period) -> Iterator[tuple[str, Known]]:
    """What the member's own records tell of running the car, by key; what they don't tell is left out."""
    source = f"your own records, {month(year.first)} to {month(year.last)}"
    told = car_year([book], year).running
    keys = [key for part in AS_ASKED if part is not FIT_OUT for key in (part.key, part.life_key) if key in told]
    for key in keys:
        yield key, Known(typed_figure(key, told[key]), source)
    if repairs := _repairs_by_year(book, car, year):
        yield REPAIRS.key, repairs


def typed_figure(key: str, told: Fraction) -> Any:
    """A figure of the records in the document's typed form: pence a year, or pence a mile and miles as they are."""
    if key == FUEL.key:
        return Fraction(to_places(told, 2))
    if key == TYRES.life_key:
        return told
    pence = divide_half_up(told * 100, 1)
    return (pence,) if key == INSURANCE.key else pence


def _repairs_by_year(book: CarBook, car: Car, newest: Period) -> Known | None:
    """How far repairs went over at least three years of the member's own records; None with fewer."""
    since = max(_recorded_from(book), car.in_service_from)
    years = [months_ending(add_months(newest.last.replace(day=1), -12 * back), 12) for back in range(MOST_YEARS)]
    sums = [
        # The rate has no effect on repairs.
        running_cost(book, year, depreciation_rate=Decimal(0)).by_category.get(REPAIRS.category.name, 0)
        for year in years
        if since <= year.first
    ]
    if len(sums) < LEAST_YEARS:
        return None
    likely = divide_half_up(Fraction(sum(sums), len(sums)), 1)
    spread = Spread(Fraction(min(sums)), Fraction(likely), Fraction(max(sums)))
    return Known(spread if min(sums) < max(sums) else likely, f"your repairs of the last {len(sums)} years")


def _recorded_from(book: CarBook) -> date:
    """The first day of the month in which the member's records of the car begin."""
    days = [
        *(cost.paid_on for cost in book.costs),
        *(fill.filled_on for fill in book.fills if fill.pence),
        *(taught.from_on for taught in book.teaching),
        *(agreement.starts_on for agreement in own_agreements(book)),
        *(valuation.valued_on for valuation in own_valuations(book)),
    ]
    return month_of(min(days, default=book.service.first)).first
