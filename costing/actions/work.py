"""The cost of work on a car, as the fleet passes it on: see ``fleet.costs``."""

from collections.abc import Collection, Iterable, Mapping
from datetime import date
from decimal import Decimal

from costing.actions.entries import log_cost
from costing.models import CostEntry
from fleet.costs import CostBook, WorkCost
from fleet.models import Car
from instructors.models import Member


class _OwnCosts:
    """How the fleet reaches members' cost entries."""

    def log(self, *, by: Member, car: Car, ref: str, cost: WorkCost) -> None:
        """Log a cost once for each ``ref``; ValidationError on the field that is wrong."""
        log_cost(by=by, car=car, ref=ref, **cost._asdict())

    def amounts(self, *, of: Member, refs: Collection[str]) -> Mapping[str, Decimal]:
        """Return the pounds of the member's own standing entries by reference."""
        return dict(CostEntry.objects.standing().filter(member=of, ref__in=refs).values_list("ref", "amount"))

    def find(self, *, of: Member, car: Car, ref: str) -> WorkCost | None:
        """Return the member's own standing entry on ``car`` with this reference, if there is one."""
        row = CostEntry.objects.standing().filter(member=of, car=car, ref=ref).values(*WorkCost._fields).first()
        return WorkCost(**row) if row else None

    def paid_on(self, *, car_ids: Collection[int], category: str, until: date) -> Iterable[tuple[int, date, int]]:
        """Yield car id, day and member's id of each standing payment up to ``until``; a refund is none."""
        entries = CostEntry.objects.standing().filter(car__in=car_ids, category=category, amount__gte=0)
        return entries.filter(paid_on__lte=until).order_by().values_list("car_id", "paid_on", "member_id")


COST_BOOK: CostBook = _OwnCosts()
