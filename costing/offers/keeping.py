"""Whether to keep the car one has: what each further year of it costs, beside the best offer of a comparison."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from functools import cached_property
from typing import NamedTuple

from config.showing import day, pence_as_pounds, whole
from costing.core.catalogue.agreements import OWNED
from costing.core.catalogue.running import REPAIRS
from costing.core.depreciation import owned_from, value_points, worth
from costing.core.offers.cash_flow import cash_flow
from costing.core.offers.compare import Figures, compare, present_value
from costing.core.offers.keeping import (
    Holds,
    KeptCar,
    KeptYear,
    RepairYear,
    answer_holds,
    equivalent_yearly_cost,
    repairs_trend,
    year_to_replace,
    years_of_keeping,
)
from costing.core.offers.terms import Case, Offer, scene
from costing.core.periods import ONE_DAY, last_ended_month, month_of, months_ending
from costing.core.records import CarBook, Period
from costing.core.running_cost import running_cost
from costing.queries import car_books
from fleet.core.days import add_months
from fleet.core.odometer import Odometer
from fleet.models import Car
from fleet.queries import readings_of
from instructors.models import Member
from instructors.queries import cooperative

#: How many further years are looked at, and how many years of records are looked back on.
YEARS = 5
#: By how much of the coming year's repairs each later year's are dearer, where records do not tell. Our assumption.
USUAL_RISE = Fraction(15, 100)


class CannotTell(LookupError):
    """Why nothing can be said of keeping the car; a sentence."""


class Assumed(NamedTuple):
    """What whoever asks has put in the place of what would be taken; None: nothing. Pence, and shares a year."""

    repairs: int | None = None
    rise: Fraction | None = None
    value_loss: Fraction | None = None


class CarIsHired(CannotTell):
    """It has no value of its own to lose."""


@dataclass(frozen=True)
class Keeping:
    """One car against the best offer; ``sources`` says where each assumption came from, in words by its name."""

    car: Car
    case: Case
    best: Figures
    kept: KeptCar
    sources: dict[str, str]

    @cached_property
    def years(self) -> list[KeptYear]:
        return years_of_keeping(self.kept, YEARS)

    @property
    def best_per_year(self) -> int:
        """Pence a year of the best offer, paid at the end of each."""
        use = self.case.use
        return equivalent_yearly_cost(self.best.present_value, use.months, use.discount_rate)

    @property
    def replace_in(self) -> int | None:
        """The first further year in which the car costs more than the best offer; None: not in these years."""
        return year_to_replace(self.years, self.best_per_year)

    @cached_property
    def rise_holds(self) -> Holds:
        return answer_holds(self.kept, YEARS, self.best_per_year, "repairs_rise")

    @cached_property
    def loss_holds(self) -> Holds:
        return answer_holds(self.kept, YEARS, self.best_per_year, "value_loss")


def keeping_of(member: Member, car: Car, case: Case, today: date, assumed: Assumed) -> Keeping:
    """The member's car against the best offer of ``case``, whose start the further years begin with.

    Raises CannotTell where the car is hired or nobody has said what it is worth.
    """
    periods = list(_years_back(car, today))
    newest = last_ended_month(today)
    span = Period(periods[-1].first if periods else newest.first, newest.last)
    book = car_books([car], span, member=member)[car.pk]
    rate = cooperative().depreciation_rate
    value, value_from = _value(book, max(case.use.starts_on, today), rate)
    repairs, rise, sources = _repairs(book, readings_of([car.pk])[car.pk], periods, rate, case)
    given = {"repairs": assumed.repairs, "rise": assumed.rise, "loss": assumed.value_loss}
    sources |= {"value": value_from, "loss": "the co-op's yearly rate"}
    sources |= {name: "as you typed it in" for name, told in given.items() if told is not None}
    kept = KeptCar(
        value=value,
        value_loss=Fraction(rate) if assumed.value_loss is None else assumed.value_loss,
        repairs_per_year=repairs if assumed.repairs is None else assumed.repairs,
        repairs_rise=rise if assumed.rise is None else assumed.rise,
        other_by_year=tuple(_other(case, car, year) for year in range(YEARS)),
        discount_rate=case.use.discount_rate,
    )
    best = min(compare(case).figures, key=lambda one: one.present_value)
    return Keeping(car, case, best, kept, sources)


def _years_back(car: Car, today: date) -> Iterator[Period]:
    """The last spans of twelve closed months that the car was in service for, the newest first."""
    month = last_ended_month(today).first
    for year in range(YEARS):
        period = months_ending(add_months(month, -12 * year), 12)
        if period.first < car.in_service_from:
            return
        yield period


def _value(book: CarBook, on: date, yearly_rate: Decimal) -> tuple[int, str]:
    """Pence the car is worth on a day, by its last known value and the yearly rate, and those in words."""
    if owned_from(book) is None:
        raise CarIsHired("This car is hired, so it has no value to lose: enter its own terms as another offer.")
    known = [point for point in value_points(book) if point.valued_on <= on]
    if not known:
        raise CannotTell("Nobody has said what this car is worth: record that first.")
    last = known[-1]
    pence = worth(last.pence, yearly_rate, (on - last.valued_on).days)
    since = f", less the co-op's yearly rate until {day(on)}" if on > last.valued_on else ""
    return pence, f"{pence_as_pounds(last.pence)} on {day(last.valued_on)}{since}"


def _repairs(
    book: CarBook, odometer: Odometer, periods: list[Period], rate: Decimal, case: Case
) -> tuple[int, Fraction, dict[str, str]]:
    """The coming year's repairs in pence, how they rise, and where both came from.

    Only years that the member's own records reach over count: in another keeper's they show no repairs at all.
    """
    since = _recorded_from(book)
    costs = [running_cost(book, period, depreciation_rate=rate) for period in periods if since <= period.first]
    years = [
        RepairYear(
            (odometer.at(cost.period.first - ONE_DAY) + odometer.at(cost.period.last)) // 2,
            cost.by_category.get(REPAIRS.category.name, 0),
        )
        for cost in costs
        if cost.miles is not None
    ]
    if years and (trend := repairs_trend(years, odometer.at(odometer.last_on), case.use.miles_per_year)):
        told = f"a straight line through your own repairs of {len(years)} years, over the miles"
        return trend.next_year, trend.rise, {"repairs": told, "rise": told}
    rise = {"rise": "an assumption: your own records do not reach back three years"}
    if costs:
        period = costs[0].period
        told = f"your own repairs from {day(period.first)} to {day(period.last)}"
        return costs[0].by_category.get(REPAIRS.category.name, 0), USUAL_RISE, {"repairs": told} | rise
    return case.running.repairs_per_year, USUAL_RISE, {"repairs": "the comparison's running costs"} | rise


def _recorded_from(book: CarBook) -> date:
    """The first day of the month in which the member's own records of the car begin."""
    days = [
        *(cost.paid_on for cost in book.costs),
        *(fill.filled_on for fill in book.fills if fill.pence),
        *(taught.from_on for taught in book.teaching),
        *(agreement.starts_on for agreement in book.agreements),
        *(valuation.valued_on for valuation in book.valuations),
    ]
    return month_of(min(days)).first


def _other(case: Case, car: Car, year: int) -> int:
    """What running the car costs in one further year but for repairs, as the comparison reckons it for its offers.

    It includes nothing but what it is fitted out with already, and is paid for as a car of one's own is.
    """
    running = case.running
    insurance = running.insurance[year:] or running.insurance[-1:]
    use = case.use._replace(months=12, starts_on=add_months(case.use.starts_on, 12 * year))
    one_year = scene(use, running._replace(insurance=insurance, repairs_per_year=0, one_repair=0, fit_out=0))
    flow = cash_flow(Offer(car.registration, OWNED.name, first_registered=car.first_registered), one_year)
    return equivalent_yearly_cost(present_value(flow, use.discount_rate), 12, use.discount_rate)


def answer(keeping: Keeping) -> str:
    """What the figures say, in one sentence."""
    if keeping.replace_in is None:
        return f"In none of the next {YEARS} years does keeping it cost more than {keeping.best.offer.name}."
    if keeping.replace_in == 1:
        return f"Keeping it even one more year costs more than {keeping.best.offer.name}."
    return (
        f"Keeping it costs less than {keeping.best.offer.name} for {whole(keeping.replace_in - 1)} more "
        f"year{'' if keeping.replace_in == 2 else 's'}; in year {keeping.replace_in} replacing it begins to pay."
    )


def range_words(what: str, holds: Holds) -> str:
    """Between which shares the answer stays as it is, in words."""
    low, high = (None if end is None else f"{100 * float(end):.1f} %" for end in holds)
    if low and high:
        return f"It stays so while {what} lies between {low} and {high} a year."
    if low or high:
        return f"It stays so while {what} is {'above' if low else 'below'} {low or high} a year."
    return f"It stays so whatever {what} is."
