"""What was expected of an accepted offer, beside what its car has actually cost so far."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from config.showing import day, pence_as_pounds
from costing.choosing.core.case import Case
from costing.choosing.core.case import Offer as Terms
from costing.choosing.core.figures import figures
from costing.choosing.core.inputs import offer_named
from costing.choosing.core.so_far import Expected, expected_by, lesson_minutes_by, miles_by
from costing.choosing.document.faults import Unreadable
from costing.choosing.services.stored import case_of
from costing.core.catalogue.agreements import AGREEMENT_KINDS, CAR_SUMS, PAYMENTS, PaidBy
from costing.core.catalogue.costs import ENTRY_CATEGORIES, INSTALMENT_CATEGORIES
from costing.core.catalogue.running import AS_PAID, FUEL, MoneyGroup
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

    ``expected`` is None if the offer did not tell it. ``actual`` is None if nothing is logged, and ``why`` says so.
    """

    label: str
    expected: Expected | None
    actual: int | None
    why: str = ""

    @property
    def difference(self) -> str:
        """How far the two are apart, in words; within a range that was told is as expected."""
        if self.actual is None or self.expected is None:
            return ""
        if self.expected.low <= self.actual <= self.expected.high:
            is_range = self.expected.low < self.expected.high
            return "within what was expected" if is_range else "as expected"
        apart = self.actual - (self.expected.high if self.actual > self.expected.high else self.expected.low)
        return f"{pence_as_pounds(abs(apart))} {'more' if apart > 0 else 'less'} than expected"


@dataclass(frozen=True)
class Usage:
    """Miles or hours as planned and as recorded. ``actual`` is None if it isn't known, and ``why`` says so."""

    label: str
    expected: Expected
    actual: int | None
    why: str = ""


@dataclass(frozen=True)
class ExpectedAndActual:
    """Both over the same ``period``: from the agreement's first day up to today, or to the end of the comparison."""

    car: Car
    period: Period
    spending: list[Spending]
    usage: list[Usage]
    report: CarReport

    @property
    def total(self) -> Spending:
        """The parts of which both are known, added up."""
        both = [
            (part.expected, part.actual)
            for part in self.spending
            if part.expected is not None and part.actual is not None
        ]
        expected = Expected(*(sum(getattr(one, end) for one, _ in both) for end in Expected._fields))
        return Spending("Both known", expected, sum(actual for _, actual in both))

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
    cost = running_cost(book, period, depreciation_rate=cooperative().depreciation_rate)
    report = CarReport(cost, offer.car)
    spending = list(_spending(case, offer_named(case, offer.name), last, _paid(book, period), agreement))
    return ExpectedAndActual(offer.car, period, spending, list(_usage(case, last, report)), report)


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
    yield _car_itself(expected, paid, agreement)
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


def _car_itself(expected: dict[str, Expected], paid: dict[str, int], agreement: Agreement) -> Spending:
    """What was paid for the car: the first sum from its agreement, then the instalments logged."""
    sums = [expected[name] for name in CAR_SUMS if name in expected]
    told = Expected(*(sum(getattr(one, end) for one in sums) for end in Expected._fields))
    paid_first = agreement.price if AGREEMENT_KINDS[agreement.kind].paid_by is PaidBy.PRICE else agreement.deposit
    at_start = 0 if paid_first is None else to_pence(paid_first)
    instalments = [paid[category] for category in INSTALMENT_CATEGORIES if category in paid]
    is_due = expected.get(PAYMENTS.name, _NOTHING).high > 0
    if is_due and not instalments:
        return Spending(MoneyGroup.CAR.value, told, None, "no payment logged")
    return Spending(MoneyGroup.CAR.value, told, at_start + sum(instalments))


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
