"""What a member logged of late, for the forms that log more of it."""

from collections import defaultdict
from collections.abc import Sequence
from datetime import date, timedelta
from decimal import ROUND_HALF_UP, Decimal
from statistics import median

from django.db.models import Count, Max

from costing.core.catalogue.costs import ENTRY_CHOICES
from costing.models import CostEntry, Fill, FillUnit
from costing.queries.entries import BY_HAND
from fleet.models import Car
from fleet.queries import Keepership, kept_cars
from instructors.models import Member

#: Prices move: what was paid before this says little. No source.
_LATE_PRICES = timedelta(days=60)
_LATE_FILLS = 5
_TENTH = Decimal("0.1")
#: The last bills for a car may come in for so long after it has gone.
_BILLS_COME_FOR = timedelta(days=366)
_LATE_COSTS = timedelta(days=366)


def loggable_cars(member: Member, today: date) -> dict[Car, list[Keepership]]:
    """Return the cars that the member may log on, those kept in service first, with everybody's times; one query.

    Bills may come after a car has gone, and whoever has handed a car over still logs the last days of their own time.
    """
    times = kept_cars(member, since=today - _BILLS_COME_FOR)
    order = sorted(times, key=lambda car: (car.keeper_id != member.pk, (car.in_service_to or today) < today))
    return {car: times[car] for car in order}


def usual_prices(member: Member, cars: Sequence[Car], today: date) -> dict[Car, dict[str, Decimal]]:
    """Return by car and unit the middle price of the member's late fills, in pence to one place; one query."""
    fills = Fill.objects.standing().filter(member=member, car__in=cars, amount__gt=0)
    prices: dict[tuple[int, str], list[Decimal]] = defaultdict(list)
    late = fills.filter(filled_on__gt=today - _LATE_PRICES).order_by("-filled_on", "-pk")
    for car_id, unit, amount, quantity in late.values_list("car_id", "unit", "amount", "quantity"):
        prices[car_id, unit].append(amount * 100 / quantity)
    middles = {key: median(found[:_LATE_FILLS]).quantize(_TENTH, ROUND_HALF_UP) for key, found in prices.items()}
    return {car: {unit: middles[car.pk, unit] for unit in FillUnit.values if (car.pk, unit) in middles} for car in cars}


def categories_of(member: Member, today: date) -> list[tuple[str, str]]:
    """Return the names and words of all cost categories: those that the member logs most of late first; one query."""
    costs = CostEntry.objects.standing().filter(BY_HAND, member=member, paid_on__gt=today - _LATE_COSTS)
    used = costs.order_by().values_list("category").annotate(Count("pk"), Max("paid_on"))
    often = {name: (count, last_on.toordinal()) for name, count, last_on in used}
    return sorted(ENTRY_CHOICES, key=lambda choice: often.get(choice[0], (0, 0)), reverse=True)
