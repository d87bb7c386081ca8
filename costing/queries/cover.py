"""What a member's own records say about the days that a new cost of a car covers."""

from collections.abc import Iterable
from datetime import date

from django.db.models import QuerySet

from costing.core import records
from costing.core.catalogue.costs import COST_CATEGORIES
from costing.core.cover import proposed_days, term_ends_on
from costing.models import Agreement, CostEntry, PaymentFrequency
from fleet.models import Car
from instructors.models import Member


def usual_days(
    category: str, paid_on: date, by: Member, car: Car | None, cost: CostEntry | None = None
) -> records.Period:
    """Return the days that a cost of ``car``, paid on ``paid_on`` by a member, is proposed to cover.

    ``cost`` is that cost if it is in the book already. It takes one query at most.
    """
    row = COST_CATEGORIES[category]
    if car is None:
        return proposed_days(row, paid_on)
    until_now = ends_on = None
    if row.is_renewed:
        bought = CostEntry.objects.standing().filter(car=car, member=by, category=category, amount__gt=0)
        until_now = _covered_until(bought.exclude(pk=cost.pk) if cost else bought, paid_on)
    elif row.stays_in_car:
        ends_on = term_ends_on(_terms(car, by), paid_on)
    return proposed_days(row, paid_on, until_now, ends_on)


def covers_of(member: Member, car: Car, period: records.Period) -> list[CostEntry]:
    """Return the member's own costs of a car that cover days of ``period``, by the first day covered."""
    costs = CostEntry.objects.standing().filter(
        member=member, car=car, covers_from__lte=period.last, covers_to__gte=period.first
    )
    return list(costs.exclude(ended_on__lt=period.first).order_by("covers_from", "pk"))


def _covered_until(bought: QuerySet[CostEntry], on: date) -> date | None:
    """Return the last day of the covers that have begun by ``on``."""
    begun = bought.filter(covers_from__lte=on).order_by().values_list("covers_to", "ended_on")
    return max((min(filter(None, ends)) for ends in begun), default=None)


def _terms(car: Car, by: Member) -> Iterable[records.Agreement]:
    rows = Agreement.objects.filter(car=car, member=by).order_by()
    for starts_on, kind, payments, frequency in rows.values_list("starts_on", "kind", "payments", "frequency"):
        every: records.Frequency = "week" if frequency == PaymentFrequency.WEEK else "month"
        yield records.Agreement(starts_on, kind, payments=payments or 0, frequency=every)
