"""What was expected of an accepted offer, beside what its car has actually cost so far."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from config.showing import day
from costing.choosing.core.case import Case
from costing.choosing.core.case import Offer as Terms
from costing.choosing.core.figures import figures
from costing.choosing.core.inputs import offer_named
from costing.choosing.core.so_far import Expected, expected_by, lesson_minutes_by, miles_by
from costing.choosing.document.checks import Unreadable
from costing.choosing.services.stored import case_of
from costing.core.catalogue.agreements import AGREEMENT_KINDS, DEPOSIT, FEES, FINAL_PAYMENT, PAYMENTS, PRICE, PaidBy
from costing.core.catalogue.costs import ENTRY_CATEGORIES, INSTALMENT_CATEGORIES
from costing.core.catalogue.running import AS_PAID, FUEL
from costing.core.keeping import own_times
from costing.core.missing import Reason
from costing.core.money import divide_half_up, to_pence
from costing.core.periods import ONE_DAY
from costing.core.records import CarBook, Period
from costing.core.running_cost import running_cost
from costing.models import Agreement, Offer
from costing.queries import car_books
from costing.queries.listing import agreements_of
from costing.report import CarReport
from fleet.core.days import add_months
from fleet.models import Car
from instructors.models import Member
from instructors.queries import cooperative

_READINGS = {Reason.NO_READINGS, Reason.NO_READING_BEFORE, Reason.NO_READING_AFTER}


class NotYet(LookupError):
    """Why there is nothing to compare yet; a sentence."""


@dataclass(frozen=True)
class Spending:
    """One part of the money out, in pence.

    ``expected`` is None if the offer did not tell it, ``actual`` if nothing is logged; ``why`` says what that rests on.
    """

    label: str
    expected: Expected | None
    actual: int | None
    why: str = ""


@dataclass(frozen=True)
class Usage:
    """Miles or hours as planned and as recorded. ``actual`` is None if it isn't known, and ``why`` says so."""

    label: str
    expected: Expected
    actual: int | None
    why: str = ""


@dataclass(frozen=True)
class ExpectedAndActual:
    """Both over the same ``period``.

    It runs from the agreement's first day up to today, to the end of the comparison, or to the member's last day with
    the car.
    """

    car: Car
    period: Period
    spending: list[Spending]
    usage: list[Usage]
    report: CarReport

    @property
    def both_known(self) -> list[Spending]:
        """The parts of which both are known."""
        return [part for part in self.spending if part.expected is not None and part.actual is not None]

    @property
    def total(self) -> Spending:
        """The parts of which both are known, added up."""
        told = [part.expected for part in self.both_known if part.expected is not None]
        return Spending("", _sum(told), sum(part.actual or 0 for part in self.both_known))

    @property
    def unlogged(self) -> list[Spending]:
        """The parts that were expected to cost something by now, and of which nothing is logged."""
        return [part for part in self.spending if part.actual is None and part.expected and part.expected.high]

    @property
    def not_told(self) -> list[Spending]:
        """The parts that the offer did not tell."""
        return [part for part in self.spending if part.expected is None]


def expected_and_actual_of(member: Member, offer: Offer, today: date) -> ExpectedAndActual:
    """What was expected of a member's offer, beside what they have logged. Raises NotYet."""
    if offer.car is None:
        raise NotYet("You haven’t accepted this offer, so there is nothing to compare with it.")
    case = _case_with(offer)
    agreement = _agreement_of(member, offer, offer.car)
    if agreement.starts_on > today:
        raise NotYet(f"The agreement begins on {day(agreement.starts_on)}. Look again a week later.")
    case = case._replace(use=case.use._replace(starts_on=agreement.starts_on))
    last = min(today, add_months(agreement.starts_on, case.use.months) - ONE_DAY)
    period = Period(agreement.starts_on, last)
    book = car_books([offer.car], period, member=member)[offer.car.pk]
    # A bill that comes after the car has gone is still the member's.
    paid = _paid(book, period)
    period = _while_kept(book, period)
    cost = running_cost(book, period, depreciation_rate=cooperative().depreciation_rate)
    report = CarReport(cost, offer.car)
    spending = list(_spending(case, offer_named(case, offer.name), period.last, paid, agreement))
    return ExpectedAndActual(offer.car, period, spending, list(_usage(case, period.last, report)), report)


def _while_kept(book: CarBook, period: Period) -> Period:
    """The period up to the day on which the member's time with the car ended: no more is expected after it."""
    last = max((time.period.last for time in own_times(book)), default=period.last)
    return Period(period.first, max(period.first, min(period.last, last)))


def _case_with(offer: Offer) -> Case:
    """The case that the offer is part of. Raises NotYet."""
    try:
        case = case_of(offer.comparison)
    except Unreadable as faults:
        raise NotYet("The comparison that it was part of can no longer be worked out.") from faults
    if all(terms.name != offer.name for terms in case.offers):
        raise NotYet("Something is missing from this offer: fill it in first.")
    return case


def _agreement_of(member: Member, offer: Offer, car: Car) -> Agreement:
    for agreement in agreements_of(member, car):
        if agreement.kind == offer.kind:
            return agreement
    raise NotYet(f"The car no longer has an agreement of this kind ({offer.get_kind_display()}).")


def _paid(book: CarBook, period: Period) -> dict[str, int]:
    """Pence paid in the period by category; a category without any entry is left out."""
    paid: dict[str, int] = {}
    for cost in book.costs:
        if period.first <= cost.paid_on <= period.last:
            paid[cost.category] = paid.get(cost.category, 0) + cost.pence
    for fill in book.fills:
        if period.first <= fill.filled_on <= period.last:
            paid[FUEL.category.name] = paid.get(FUEL.category.name, 0) + fill.pence
    return paid


def _spending(case: Case, terms: Terms, last: date, paid: dict[str, int], agreement: Agreement) -> Iterator[Spending]:
    """Each part of the money out that was expected, not told, or paid."""
    expected = expected_by(case, terms.name, last)
    not_told = figures(case, terms).not_told
    yield from _car_itself(expected, paid, agreement)
    for part in AS_PAID:
        category = part.category.name
        told = None if part.name in not_told else expected.get(part.name, _NOTHING)
        if told is None or told.high or category in paid:
            yield Spending(part.words, told, paid.get(category), "" if category in paid else "nothing logged")
    compared = {part.category for part in AS_PAID}
    for other in ENTRY_CATEGORIES:
        if other.name in paid and other not in compared and not other.is_instalment:
            yield Spending(f"{other.words}, not in the comparison", _NOTHING, paid[other.name])


_NOTHING = Expected(0, 0, 0)


def _car_itself(expected: dict[str, Expected], paid: dict[str, int], agreement: Agreement) -> Iterator[Spending]:
    """What was paid for the car: the first sum, as its agreement has it, and the instalments logged."""
    way = AGREEMENT_KINDS[agreement.kind]
    is_bought = way.paid_by is PaidBy.PRICE
    first = expected.get(PRICE.name if is_bought else DEPOSIT.name, _NOTHING)
    paid_first = agreement.price if is_bought else agreement.deposit
    if first.high or paid_first:
        words = PRICE.words if is_bought else way.deposit_words.capitalize()
        yield Spending(words, first, to_pence(paid_first or Decimal(0)), "as its agreement says")
    sums = [expected[name] for name in (PAYMENTS.name, FEES.name, FINAL_PAYMENT.name) if name in expected]
    due = _sum(sums)
    logged = [paid[category] for category in INSTALMENT_CATEGORIES if category in paid]
    if due.high or logged:
        yield Spending(PAYMENTS.words, due, sum(logged) if logged else None, "" if logged else "nothing logged")


def _sum(parts: Sequence[Expected]) -> Expected:
    return Expected(*(sum(getattr(one, end) for one in parts) for end in Expected._fields))


def _usage(case: Case, last: date, report: CarReport) -> Iterator[Usage]:
    cost = report.cost
    gaps = "the odometer readings don’t cover all of it" if _READINGS & {m.reason for m in cost.missing} else ""
    yield Usage("Miles", miles_by(case, last), cost.miles or None, gaps)
    hours = divide_half_up(lesson_minutes_by(case, last), 60)
    yield Usage(
        "Lesson hours",
        Expected(hours, hours, hours),
        divide_half_up(cost.minutes, 60) if cost.minutes else None,
        "" if cost.minutes else "no lessons logged",
    )
