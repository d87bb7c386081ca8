"""Keep or replace: what each further year of a member's car costs, beside the best offer of a comparison."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from functools import cached_property
from typing import NamedTuple

from config.showing import day, pence_as_pounds, whole
from costing.choosing.core.case import Case, Offer, scenario
from costing.choosing.core.cash_flow import cash_flow
from costing.choosing.core.figures import Figures, compare, present_value
from costing.choosing.core.keep_or_replace import (
    AnswerRange,
    KeptCar,
    KeptYear,
    RepairYear,
    answer_range,
    equivalent_yearly_cost,
    repairs_trend,
    year_to_replace,
    years_of_keeping,
)
from costing.core.catalogue.agreements import OWNED
from costing.core.catalogue.running import REPAIRS
from costing.core.depreciation import owned_spans, worth
from costing.core.keeping import own_agreements, own_valuations
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

#: How many years we look ahead, and how many years of records we look back on.
YEARS = 5
#: The share of the coming year's repairs that each later year adds, if the records don't tell. Our own assumption.
USUAL_RISE = Fraction(15, 100)


class CannotTell(LookupError):
    """Why we can't work out what keeping the car costs; a sentence."""


class OwnAssumptions(NamedTuple):
    """What a member has typed in place of the book's own figures, in pence and yearly shares; None where nothing."""

    repairs: int | None = None
    rise: Fraction | None = None
    value_loss: Fraction | None = None


class CarIsHired(CannotTell):
    """A hired car has no value to lose."""


@dataclass(frozen=True)
class KeepOrReplace:
    """A car beside the best offer. ``sources`` says in words where each assumption comes from."""

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
        """What the best offer costs a year, in pence, paid at the end of each."""
        use = self.case.use
        return equivalent_yearly_cost(self.best.present_value, use.months, use.discount_rate)

    @property
    def replace_in(self) -> int | None:
        """The first year in which the car costs more than the best offer; None if it never does in these years."""
        return year_to_replace(self.years, self.best_per_year)

    @cached_property
    def rise_range(self) -> AnswerRange:
        return answer_range(self.kept, YEARS, self.best_per_year, "repairs_rise")

    @cached_property
    def loss_range(self) -> AnswerRange:
        return answer_range(self.kept, YEARS, self.best_per_year, "value_loss")


def keep_or_replace_of(member: Member, car: Car, case: Case, today: date, assumed: OwnAssumptions) -> KeepOrReplace:
    """The member's car beside the best offer of ``case``; its further years begin when the offers start.

    Raises CannotTell if the car is hired, or if nobody has said what it is worth.
    """
    periods = list(_years_back(car, today))
    newest = last_ended_month(today)
    span = Period(periods[-1].first if periods else newest.first, newest.last)
    book = car_books([car], span, member=member)[car.pk]
    rate = cooperative().depreciation_rate
    value, value_from = _value(book, max(case.use.starts_on, today), rate)
    repairs, rise, sources = _repairs(book, readings_of([car.pk])[car.pk], periods, rate, case)
    given = {"repairs": assumed.repairs, "rise": assumed.rise, "loss": assumed.value_loss}
    sources |= {"value": value_from, "loss": "the co-op’s yearly rate"}
    sources |= {name: "your own figure" for name, typed in given.items() if typed is not None}
    kept = KeptCar(
        value=value,
        value_loss=Fraction(rate) if assumed.value_loss is None else assumed.value_loss,
        repairs_per_year=repairs if assumed.repairs is None else assumed.repairs,
        repairs_rise=rise if assumed.rise is None else assumed.rise,
        other_by_year=tuple(_other(case, car, year) for year in range(YEARS)),
        discount_rate=case.use.discount_rate,
    )
    best = min(compare(case).figures, key=lambda one: one.present_value)
    return KeepOrReplace(car, case, best, kept, sources)


def _years_back(car: Car, today: date) -> Iterator[Period]:
    """The last spans of twelve closed months in which the car was in service throughout, newest first."""
    month = last_ended_month(today).first
    for year in range(YEARS):
        period = months_ending(add_months(month, -12 * year), 12)
        if period.first < car.in_service_from:
            return
        yield period


def _value(book: CarBook, on: date, yearly_rate: Decimal) -> tuple[int, str]:
    """What the car is worth on a day, in pence, by its last known value and the yearly rate; and where that is from."""
    owned = next((span for span in owned_spans(book) if span.period.first <= on <= span.period.last), None)
    if owned is None:
        raise CarIsHired("This car is hired, so it has no value of its own. Enter its terms as another offer.")
    known = [point for point in owned.points if point.valued_on <= on]
    if not known:
        raise CannotTell("Nobody has said what this car is worth yet. Record that first.")
    last = known[-1]
    pence = worth(last.pence, yearly_rate, (on - last.valued_on).days)
    since = f", less the co-op’s yearly rate up to {day(on)}" if on > last.valued_on else ""
    return pence, f"{pence_as_pounds(last.pence)} on {day(last.valued_on)}{since}"


def _repairs(
    book: CarBook, odometer: Odometer, periods: list[Period], rate: Decimal, case: Case
) -> tuple[int, Fraction, dict[str, str]]:
    """The coming year's repairs in pence, how they rise, and where both figures come from.

    Only years that the member's own records cover are used, because an earlier keeper's repairs aren't in them.
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
        source = f"a straight line through your repairs of {len(years)} years and their miles"
        return trend.next_year, trend.rise, {"repairs": source, "rise": source}
    rise = {"rise": "our assumption, as your records don’t reach back three years"}
    if costs:
        period = costs[0].period
        source = f"your repairs from {day(period.first)} to {day(period.last)}"
        return costs[0].by_category.get(REPAIRS.category.name, 0), USUAL_RISE, {"repairs": source} | rise
    return case.running.repairs_per_year, USUAL_RISE, {"repairs": "the running costs of this comparison"} | rise


def _recorded_from(book: CarBook) -> date:
    """The first day of the month in which the member's records of the car begin."""
    days = [
        *(cost.paid_on for cost in book.costs),
        *(fill.filled_on for fill in book.fills if fill.pence),
        *(taught.from_on for taught in book.teaching),
        *(agreement.starts_on for agreement in own_agreements(book)),
        *(valuation.valued_on for valuation in own_valuations(book)),
    ]
    return month_of(min(days)).first


def _other(case: Case, car: Car, year: int) -> int:
    """What running the car costs in one further year apart from repairs, as the comparison works it out for its offers.

    The car is the member's own and already fitted out, and nothing else is included.
    """
    running = case.running
    insurance = running.insurance[year:] or running.insurance[-1:]
    use = case.use._replace(months=12, starts_on=add_months(case.use.starts_on, 12 * year))
    one_year = scenario(use, running._replace(insurance=insurance, repairs_per_year=0, one_repair=0, fit_out=0))
    flow = cash_flow(Offer(car.registration, OWNED.name, first_registered=car.first_registered), one_year)
    return equivalent_yearly_cost(present_value(flow, use.discount_rate), 12, use.discount_rate)


def answer(found: KeepOrReplace) -> str:
    """The answer in one sentence."""
    best, first = found.best.offer.name, found.replace_in
    if first is None:
        return f"Keep it: in each of the next {YEARS} years it costs no more than {best}."
    if first == 1:
        return f"Replace it: even one more year costs more than {best}."
    years = f"{whole(first - 1)} more year{'' if first == 2 else 's'}"
    return f"Keep it for {years}: in year {first} it costs more than {best}."


def range_words(what: str, found: AnswerRange) -> str:
    """The range within which the answer stays the same, in words."""
    low, high = (None if end is None else f"{100 * float(end):.1f} %" for end in found)
    if low and high:
        return f"That holds while {what} is between {low} and {high} a year."
    if low or high:
        return f"That holds while {what} is {'above' if low else 'below'} {low or high} a year."
    return f"That holds whatever {what} is."
