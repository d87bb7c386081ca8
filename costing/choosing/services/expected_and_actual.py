"""What was expected of an accepted offer, beside what its car has actually cost so far."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from config.showing import day, month, pence_as_pounds
from costing.choosing.core.case import Case, scenario
from costing.choosing.core.case import Offer as Terms
from costing.choosing.core.cash_flow import items_of, place
from costing.choosing.document.checks import Unreadable
from costing.choosing.services.stored import document_of
from costing.core.catalogue.agreements import AGREEMENT_KINDS, CAR_SUMS, PAYMENTS, PaidBy
from costing.core.catalogue.costs import ENTRY_CATEGORIES, INSTALMENT_CATEGORIES
from costing.core.catalogue.running import AS_PAID, FUEL, MoneyGroup
from costing.core.missing import Reason
from costing.core.money import divide_half_up, to_pence
from costing.core.periods import ONE_DAY, last_ended_month
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
    """One part of the money out, in pence. ``actual`` is None if nothing is logged, and ``why`` says so."""

    label: str
    expected: int
    actual: int | None
    why: str = ""

    @property
    def difference(self) -> str:
        """How far the two are apart, in words."""
        if self.actual is None:
            return "not known"
        if self.actual == self.expected:
            return "as expected"
        apart = pence_as_pounds(abs(self.actual - self.expected))
        return f"{apart} {'more' if self.actual > self.expected else 'less'} than expected"


@dataclass(frozen=True)
class Usage:
    """Miles or hours as planned and as recorded. ``actual`` is None if it isn't known, and ``why`` says so."""

    label: str
    expected: int
    actual: int | None
    why: str = ""


@dataclass(frozen=True)
class ExpectedAndActual:
    """Both over the same ``months``: the whole months of the agreement that are closed."""

    car: Car
    period: Period
    months: int
    spending: list[Spending]
    usage: list[Usage]
    report: CarReport

    @property
    def total(self) -> Spending:
        """All of the money out. A part without any entry counts as nothing; see ``unlogged``."""
        return Spending(
            "All money out", sum(p.expected for p in self.spending), sum(p.actual or 0 for p in self.spending)
        )

    @property
    def unlogged(self) -> int:
        """Pence that were expected for the parts without any entry."""
        return sum(part.expected for part in self.spending if part.actual is None)


def expected_and_actual_of(member: Member, offer: Offer, today: date) -> ExpectedAndActual:
    """What was expected of a member's offer, beside what they have logged. Raises NotYet."""
    if offer.car is None:
        raise NotYet("You haven’t accepted this offer, so there is nothing to compare with it.")
    case, terms = _case_of(offer)
    agreement = _agreement_of(member, offer, offer.car)
    months = min(_whole_months(agreement.starts_on, last_ended_month(today).last), case.use.months)
    if not months:
        first_end = add_months(agreement.starts_on, 1) - ONE_DAY
        begins = "begins" if agreement.starts_on >= today else "began"
        raise NotYet(
            f"The agreement {begins} on {day(agreement.starts_on)}. You can look at its first whole month once "
            f"{month(first_end)} is over."
        )
    period = Period(agreement.starts_on, add_months(agreement.starts_on, months) - ONE_DAY)
    book = car_books([offer.car], period, member=member)[offer.car.pk]
    cost = running_cost(book, period, depreciation_rate=cooperative().depreciation_rate)
    report = CarReport(cost, offer.car)
    expected = _expected(case, terms, agreement.starts_on, months)
    usage = list(_usage(case, report, months))
    return ExpectedAndActual(
        offer.car, period, months, list(_spending(expected, _paid(book, period), agreement)), usage, report
    )


def _case_of(offer: Offer) -> tuple[Case, Terms]:
    try:
        case = document_of(offer.comparison).case
    except Unreadable as faults:
        raise NotYet("The comparison that it was part of can no longer be worked out.") from faults
    for terms in case.offers:
        if terms.name == offer.name:
            return case, terms
    raise NotYet("Something is missing from this offer: fill it in first.")


def _agreement_of(member: Member, offer: Offer, car: Car) -> Agreement:
    for agreement in agreements_of(member, car):
        if agreement.kind == offer.kind:
            return agreement
    raise NotYet(f"The car no longer has an agreement of this kind ({offer.get_kind_display()}).")


def _whole_months(start: date, closed: date) -> int:
    """How many whole months from ``start`` have ended by the day ``closed``."""
    months = 0
    while add_months(start, months + 1) - ONE_DAY <= closed:
        months += 1
    return months


def _expected(case: Case, terms: Terms, starts_on: date, months: int) -> dict[str, int]:
    """Pence expected in the first ``months``, by part, without what only leaving the car brings."""
    planned = scenario(case.use._replace(starts_on=starts_on), case.running)
    by_part: dict[str, int] = {}
    for item in items_of(terms, planned):
        if item.part not in CAR_SUMS or not CAR_SUMS[item.part].is_of_end:
            flow = place([item], planned.months).months
            by_part[item.part] = by_part.get(item.part, 0) + sum(flow[: months + 1])
    return by_part


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


def _spending(expected: dict[str, int], paid: dict[str, int], agreement: Agreement) -> Iterator[Spending]:
    """Each part of the money out that was expected or paid."""
    yield _car_itself(expected, paid, agreement)
    for part in AS_PAID:
        category = part.category.name
        if expected.get(part.name) or category in paid:
            why = "" if category in paid else "nothing logged"
            yield Spending(part.words, expected.get(part.name, 0), paid.get(category), why)
    compared = {part.category for part in AS_PAID}
    for other in ENTRY_CATEGORIES:
        if other.name in paid and other not in compared and not other.is_instalment:
            yield Spending(f"{other.words}, not in the comparison", 0, paid[other.name])


def _car_itself(expected: dict[str, int], paid: dict[str, int], agreement: Agreement) -> Spending:
    """What was paid for the car: the first sum from its agreement, then the instalments logged."""
    paid_first = agreement.price if AGREEMENT_KINDS[agreement.kind].paid_by is PaidBy.PRICE else agreement.deposit
    at_start = 0 if paid_first is None else to_pence(paid_first)
    instalments = [paid[category] for category in INSTALMENT_CATEGORIES if category in paid]
    why = "" if instalments or not expected.get(PAYMENTS.name) else "no payment logged"
    actual = at_start + sum(instalments)
    return Spending(MoneyGroup.CAR.value, sum(expected.get(name, 0) for name in CAR_SUMS), actual, why)


def _usage(case: Case, report: CarReport, months: int) -> Iterator[Usage]:
    planned = scenario(case.use, case.running)
    so_far = Fraction(months, planned.months)
    cost = report.cost
    gaps = "the odometer readings don’t cover all of it" if _READINGS & {m.reason for m in cost.missing} else ""
    yield Usage("Miles", divide_half_up(planned.miles * so_far, 1), cost.miles or None, gaps)
    yield Usage(
        "Lesson hours",
        divide_half_up(planned.lesson_hours * so_far, 1),
        divide_half_up(cost.minutes, 60) if cost.minutes else None,
        "" if cost.minutes else "no lessons logged",
    )
