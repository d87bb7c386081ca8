"""What a member's own records say about the days that a new cost of a car covers."""

from collections.abc import Iterable
from datetime import date

from costing.core import records
from costing.core.catalogue.costs import COST_CATEGORIES
from costing.core.cover import proposed_days, term_ends_on
from costing.models import Agreement, CostEntry, PaymentFrequency
from fleet.models import Car


def usual_days(
    category: str, paid_on: date, car: Car | None, member_id: int | None, *, without: int | None = None
) -> records.Period:
    """Return the days that a cost which the member paid for ``car`` on ``paid_on`` is proposed to cover.

    ``without`` is the cost itself, if it is in the book already. It takes one query, or none.
    """
    row = COST_CATEGORIES[category]
    if car is None or member_id is None:
        return proposed_days(row, paid_on)
    until_now = _covered_until(car, member_id, category, paid_on, without) if row.is_renewed else None
    ends_on = term_ends_on(_terms(car, member_id), paid_on) if row.stays_in_car else None
    return proposed_days(row, paid_on, until_now, ends_on)


def _covered_until(car: Car, member_id: int, category: str, on: date, without: int | None) -> date | None:
    """Return the last day of the member's own covers of the category that have begun by ``on``."""
    bought = CostEntry.objects.standing().filter(
        car=car, member_id=member_id, category=category, amount__gt=0, covers_from__lte=on
    )
    days = bought.exclude(pk=without).order_by().values_list("covers_to", "ended_on")
    return max((min(last, ended_on or last) for last, ended_on in days), default=None)


def _terms(car: Car, member_id: int) -> Iterable[records.Agreement]:
    rows = Agreement.objects.filter(car=car, member_id=member_id).order_by()
    for starts_on, kind, payments, frequency in rows.values_list("starts_on", "kind", "payments", "frequency"):
        every: records.Frequency = "week" if frequency == PaymentFrequency.WEEK else "month"
        yield records.Agreement(starts_on, kind, payments=payments or 0, frequency=every)
