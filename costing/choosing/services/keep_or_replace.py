"""Keep or replace: the car that a member has, made into an offer like any other."""

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any, NamedTuple

from config.showing import pence_as_pounds
from costing.choosing.services.own_records import MOST_YEARS, Known, running_known, value_after, value_on
from costing.choosing.services.starting_figures import TYPED
from costing.core.catalogue.agreements import AGREEMENT_KINDS, OWNED
from costing.core.catalogue.running import FIT_OUT, REPAIRS
from costing.core.finance import due_day
from costing.core.money import to_pence
from costing.core.periods import last_ended_month, months_ending
from costing.core.records import Agreement as Terms
from costing.core.records import Frequency, Period
from costing.models import Agreement
from costing.queries import car_books
from costing.queries.listing import agreements_of
from fleet.core.days import add_months
from fleet.core.registration import show
from fleet.models import Car
from instructors.models import Member
from instructors.queries import cooperative


class CannotTell(LookupError):
    """Why the car can't be compared; a sentence."""


class KeptCar(NamedTuple):
    """What the book knows of a car that could be kept.

    ``kind`` is that of its offer, and ``terms`` what its agreement says of the time to come; ``held`` says in a
    sentence how it is held. ``running`` is its own table, by key, mostly from the ``year`` of records. ``value`` is
    what it is worth when the offers start, in pence, and ``fetches`` what it may be worth at their end; None if the
    book knows no value. ``owed`` is what its credit still asks for, in pence; 0 if nothing is owed, or if it is hired.
    """

    car: Car
    kind: str
    held: str
    terms: Mapping[str, Any]
    year: Period
    running: Mapping[str, Known]
    value: Known | None = None
    fetches: Known | None = None
    owed: int = 0

    @property
    def name(self) -> str:
        """What its offer is called."""
        return f"Keep {show(self.car.registration)}"

    @property
    def is_hired(self) -> bool:
        """Whether it belongs to somebody else, and so has no value of its own to the member."""
        return AGREEMENT_KINDS[self.kind].is_hire

    def offer_terms(self, given: Mapping[str, Any]) -> dict[str, Any]:
        """The terms of its offer, with what the member has ``given`` by key, all in the document's typed form.

        A car of one's own counts as bought today at its value. Controls and plates are on it already.
        """
        own = dict(given)
        running = {key: known.value for key, known in self.running.items()}
        if REPAIRS.key in own:
            running[REPAIRS.key] = own.pop(REPAIRS.key)
        price = {} if self.is_hired else {"price": own["value_now"]}
        first = {"first_registered": self.car.first_registered} if self.car.first_registered else {}
        included = {"includes": frozenset({FIT_OUT.name})}
        return {**self.terms, **own, **price, **first, **included, **({"running": running} if running else {})}

    def sources(self, given: Mapping[str, Any], settlement: int | None) -> dict[str, str]:
        """Where each figure comes from, by key; of the value also what has to be paid off it first."""
        sources = {key: known.source for key, known in self.running.items()}
        known = {"value_now": self.value, "value_at_horizon": self.fetches, REPAIRS.key: self.running.get(REPAIRS.key)}
        for key, value in given.items():
            proposed = known[key]
            sources[key] = proposed.source if proposed and proposed.value == value else TYPED
        if self.owed:
            sources["value_now"] += f"; {_owed_words(self.owed, settlement)}"
        return sources


def _owed_words(owed: int, settlement: int | None) -> str:
    """What is still to pay on a car on credit, which is paid whether it is kept or not."""
    if settlement is None:
        return f"{pence_as_pounds(owed)} is still to pay on it, whichever car you take: ask what settling it takes"
    words = f"settling it takes {pence_as_pounds(settlement)}, whichever car you take"
    if owed > settlement:
        return f"{words}, and going on paying {pence_as_pounds(owed - settlement)} more than that"
    return words


def kept_car_of(member: Member, car: Car, starts_on: date, months: int, today: date) -> KeptCar:
    """What the book knows of a member's car that could go on from ``starts_on`` for ``months``.

    Raises CannotTell if its agreement lacks the payments.
    """
    year = months_ending(last_ended_month(today).first, 12)
    back = add_months(year.first, -12 * (MOST_YEARS - 1))
    book = car_books([car], Period(back, year.last), member=member)[car.pk]
    running = dict(running_known(book, car, year))
    held = next((one for one in agreements_of(member, car) if one.starts_on <= today), None)
    left = 0 if held is None else _payments_left(held, starts_on)
    if held is not None and AGREEMENT_KINDS[held.kind].is_hire:
        return KeptCar(car, held.kind, _left_words("hired", left), _hire_terms(held, left), year, running)
    rate = cooperative().depreciation_rate
    value = value_on(book, max(starts_on, today), rate)
    fetches = None if value is None else value_after(value.value, rate, starts_on, months)
    owed = _owed(held, left) if held is not None and left else 0
    if owed:
        words = _left_words("on credit", left)
    elif held is None:
        words = "The book has no agreement for it, so it counts as your own."
    else:
        words = "It is your own, and nothing is owed on it."
    return KeptCar(car, OWNED.name, words, {}, year, running, value, fetches, owed)


def _left_words(how: str, left: int) -> str:
    if not left:
        return f"It is {how}, and its term is over: the payments go on until you hand it back."
    return f"It is {how}, and {left} payment{'s are' if left > 1 else ' is'} still to come."


def _payments_left(held: Agreement, starts_on: date) -> int:
    """How many payments of an agreement fall due after ``starts_on``. Raises CannotTell if they aren't recorded."""
    if not AGREEMENT_KINDS[held.kind].instalments:
        return 0
    if not held.payments or not held.payment:
        raise CannotTell("Its agreement doesn’t say how many payments there are, or how much each is.")
    frequency: Frequency = "week" if held.frequency == "week" else "month"
    terms = Terms(held.starts_on, held.kind, payments=held.payments, frequency=frequency)
    return sum(due_day(terms, number) > starts_on for number in range(1, held.payments + 1))


def _owed(held: Agreement, left: int) -> int:
    """What ``left`` payments and the final payment come to, in pence."""
    return left * to_pence(held.payment or Decimal(0)) + to_pence(held.final_payment or Decimal(0))


def _hire_terms(held: Agreement, left: int) -> dict[str, Any]:
    """The terms of a hire for the payments that are left; a term that is over goes on by the payment."""
    allowed = {"mileage_allowance": held.mileage_allowance, "excess_pence_per_mile": held.excess_pence_per_mile}
    return {
        "payment": to_pence(held.payment or Decimal(0)),
        "payments": left or 1,
        "frequency": held.frequency or "month",
        **({} if left else {"then": "rolls"}),
        **{key: Fraction(value) for key, value in allowed.items() if value is not None},
    }
