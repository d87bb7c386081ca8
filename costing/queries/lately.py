"""What a member logged of late, for the forms that log more of it."""

from collections import defaultdict
from collections.abc import Sequence
from datetime import date, timedelta
from decimal import ROUND_HALF_UP, Decimal
from statistics import median

from django.db.models import Count, Max

from costing.core.catalogue.costs import ENTRY_CHOICES
from costing.models import CostEntry, Fill
from fleet.models import Car
from instructors.models import Member

#: Prices move: what was paid before this says little. No source.
_LATE_PRICES = timedelta(days=60)
_LATE_COSTS = timedelta(days=366)


def usual_prices(member: Member, cars: Sequence[Car], today: date) -> dict[str, Decimal]:
    """Return by unit the middle price of the member's late fills of these cars, in pence to one place; one query."""
    fills = Fill.objects.standing().filter(member=member, car__in=cars, amount__gt=0)
    prices: dict[str, list[Decimal]] = defaultdict(list)
    late = fills.filter(filled_on__gt=today - _LATE_PRICES).order_by("-filled_on", "-pk")
    for unit, amount, quantity in late.values_list("unit", "amount", "quantity"):
        prices[unit].append(amount * 100 / quantity)
    middles = {unit: median(prices[unit][:5]) for unit in sorted(prices, reverse=True)}
    return {unit: middle.quantize(Decimal("0.1"), ROUND_HALF_UP) for unit, middle in middles.items()}


def categories_of(member: Member, today: date) -> list[tuple[str, str]]:
    """Return the names and words of all cost categories: those that the member logs most of late first; one query."""
    costs = CostEntry.objects.standing().filter(member=member, repeat=None, paid_on__gt=today - _LATE_COSTS)
    used = costs.order_by().values_list("category").annotate(Count("pk"), Max("paid_on"))
    often = {name: (count, last_on.toordinal()) for name, count, last_on in used}
    return sorted(ENTRY_CHOICES, key=lambda choice: often.get(choice[0], (0, 0)), reverse=True)
