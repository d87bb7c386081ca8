"""Keep or replace: the car that a member has, made into an offer like any other, from the member's own records."""

from collections.abc import Iterator, Mapping
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any, NamedTuple

from config.showing import day, month, pence_as_pounds
from costing.choosing.core.case import Spread
from costing.core.car_year import car_year
from costing.core.catalogue.agreements import AGREEMENT_KINDS, OWNED, AgreementKind
from costing.core.catalogue.running import AS_ASKED, FIT_OUT, FUEL, INSURANCE, REPAIRS, TYRES
from costing.core.depreciation import owned_spans, worth
from costing.core.finance import due_day
from costing.core.keeping import own_agreements, own_valuations
from costing.core.money import divide_half_up, to_pence, to_places
from costing.core.periods import last_ended_month, month_of, months_ending
from costing.core.records import Agreement as Terms
from costing.core.records import CarBook, Period
from costing.core.running_cost import running_cost
from costing.models import Agreement
from costing.queries import car_books
from costing.queries.listing import agreements_of
from fleet.core.days import add_months
from fleet.core.registration import show
from fleet.models import Car
from instructors.models import Member
from instructors.queries import cooperative

#: Over so many years of records one may say how far repairs go. Our own assumption.
LEAST_YEARS = 3
#: How many years of records count. Older ones are of another car, as it were.
MOST_YEARS = 5
#: What a car will fetch is a guess, so it is proposed in tens of pounds.
_TENS = 1_000


class CannotTell(LookupError):
    """Why the car can't be compared; a sentence."""


class Known(NamedTuple):
    """A figure that the book knows, in the document's typed form, and where it comes from."""

    value: Any
    source: str


class KeptCar(NamedTuple):
    """What the book knows of a car that could be kept.

    ``kind`` is that of its offer, and ``terms`` what its agreement says of the time to come. ``value`` is what it is
    worth when the offers start, in pence, and ``fetches`` what it may be worth at their end; None if the book knows no
    value. ``running`` is its own table, by key. ``held`` says how it is held, in a sentence.
    """

    car: Car
    kind: str
    held: str
    terms: Mapping[str, Any]
    running: Mapping[str, Known]
    value: Known | None = None
    fetches: Known | None = None

    @property
    def name(self) -> str:
        """What its offer is called."""
        return f"Keep {show(self.car.registration)}"

    @property
    def way(self) -> AgreementKind:
        """The catalogue row of its kind."""
        return AGREEMENT_KINDS[self.kind]

    @property
    def sources(self) -> dict[str, str]:
        """Where each figure of its own running costs comes from, by key."""
        return {key: known.source for key, known in self.running.items()}

    def offer_terms(self, given: Mapping[str, Any]) -> dict[str, Any]:
        """The terms of its offer, with what the member has ``given`` by key, in the document's typed form.

        ``settlement`` is what the lender asks today; the rest of the value is the member's own stake in the car.
        """
        running = {key: known.value for key, known in self.running.items()}
        own = {key: value for key, value in given.items() if key != "settlement" and value is not None}
        if repairs := own.pop(REPAIRS.key, None):
            running[REPAIRS.key] = repairs
        terms = {**self.terms, **own, "includes": frozenset({FIT_OUT.name})}
        if not self.way.is_hire:
            terms["price"] = terms["value_now"]
        if self.way.is_credit:
            terms["deposit"] = terms["value_now"] - given["settlement"]
        return terms | ({"running": running} if running else {})


def kept_car_of(member: Member, car: Car, starts_on: date, months: int, today: date) -> KeptCar:
    """What the book knows of a member's car that could go on from ``starts_on`` for ``months``.

    Raises CannotTell if its agreement lacks the payments.
    """
    year = months_ending(last_ended_month(today).first, 12)
    back = add_months(year.first, -12 * (MOST_YEARS - 1))
    book = car_books([car], Period(back, year.last), member=member)[car.pk]
    running = dict(_running(book, car, year))
    held = next((one for one in agreements_of(member, car) if one.starts_on <= today), None)
    left = 0 if held is None else _payments_left(held, starts_on)
    if held is not None and AGREEMENT_KINDS[held.kind].is_hire:
        return KeptCar(car, held.kind, _left_words("hired", left), _hire_terms(held, left), running)
    rate = cooperative().depreciation_rate
    value = _value(book, max(starts_on, today), rate)
    fetches = None if value is None else _fetches(value.value, rate, starts_on, months)
    if held is not None and left:
        return KeptCar(
            car, held.kind, _left_words("on credit", left), _credit_terms(held, left), running, value, fetches
        )
    words = "Nothing is owed on it any more." if held else "The book has no agreement for it, so it counts as yours."
    return KeptCar(car, OWNED.name, words, {}, running, value, fetches)


def _left_words(how: str, left: int) -> str:
    if not left:
        return f"It is {how}, and its term is over: the payments go on until you hand it back."
    return f"It is {how}, and {left} payment{'s are' if left > 1 else ' is'} still to come."


def _payments_left(held: Agreement, starts_on: date) -> int:
    """How many payments of an agreement fall due after ``starts_on``. Raises CannotTell if they aren't recorded."""
    way = AGREEMENT_KINDS[held.kind]
    if not way.instalments:
        return 0
    if not held.payments or not held.payment:
        raise CannotTell("Its agreement doesn’t say how many payments there are, or how much. Correct that first.")
    frequency = "week" if held.frequency == "week" else "month"
    terms = Terms(held.starts_on, held.kind, payments=held.payments, frequency=frequency)
    return sum(due_day(terms, number) > starts_on for number in range(1, held.payments + 1))


def _hire_terms(held: Agreement, left: int) -> dict[str, Any]:
    """The terms of a hire for the payments that are left; a term that is over goes on by the payment."""
    return {
        **_payment_terms(held),
        "payments": left or 1,
        **({} if left else {"then": "rolls"}),
        **_mileage_terms(held),
    }


def _credit_terms(held: Agreement, left: int) -> dict[str, Any]:
    """The terms of credit for the payments that are left.

    Half of the whole agreement can't be worked out from what is left of it, so one leaves by settling.
    """
    final = {} if held.final_payment is None else {"final_payment": to_pence(held.final_payment)}
    back = _mileage_terms(held) if AGREEMENT_KINDS[held.kind].has_choice_of_end else {}
    return {**_payment_terms(held), "payments": left, **final, **back, "half_rule": False}


def _payment_terms(held: Agreement) -> dict[str, Any]:
    return {"payment": to_pence(held.payment or Decimal(0)), "frequency": held.frequency or "month"}


def _mileage_terms(held: Agreement) -> dict[str, Any]:
    told = {"mileage_allowance": held.mileage_allowance, "excess_pence_per_mile": held.excess_pence_per_mile}
    return {key: Fraction(value) for key, value in told.items() if value is not None}


def _value(book: CarBook, on: date, yearly_rate: Decimal) -> Known | None:
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


def _fetches(value: int, yearly_rate: Decimal, starts_on: date, months: int) -> Known:
    ends_on = add_months(starts_on, months)
    pence = worth(value, yearly_rate, (ends_on - starts_on).days)
    return Known(_in_tens(pence), f"that value, less the co-op’s yearly rate up to {day(ends_on)}")


def _in_tens(pence: int) -> int:
    return divide_half_up(pence, _TENS) * _TENS


def _running(book: CarBook, car: Car, year: Period) -> Iterator[tuple[str, Known]]:
    """What the member's own records tell of running the car, by key; what they don't tell is left out."""
    source = f"your own records, {month(year.first)} to {month(year.last)}"
    told = car_year([book], year).running
    keys = [key for part in AS_ASKED if part is not FIT_OUT for key in (part.key, part.life_key) if key in told]
    for key in keys:
        yield key, Known(_typed(key, told[key]), source)
    if repairs := _repairs_by_year(book, car, year):
        yield REPAIRS.key, repairs


def _typed(key: str, told: Fraction) -> Any:
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
