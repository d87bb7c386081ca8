"""Several cars over one period as one: a member with two cars has one cost per lesson."""

from collections import Counter
from collections.abc import Iterable, Sequence

from costing.core.economy import Economy
from costing.core.running_cost import RunningCost


def together(costs: Sequence[RunningCost]) -> RunningCost:
    """Add up several cars' costs over the same period.

    What one car does not tell is unknown of them all, except that a borrowed car takes no figure away; with nothing but
    borrowed cars there is no figure. Raises ValueError without cars, or if the periods differ.
    """
    if len({cost.period for cost in costs}) != 1:
        raise ValueError("only costs of one and the same period can be taken together")
    if len(costs) == 1:
        return costs[0]
    by_category: Counter[str] = Counter()
    for cost in costs:
        by_category.update(cost.by_category)
    kept = [cost for cost in costs if not cost.is_borrowed] or costs
    until = [cost.known_until for cost in kept]
    return RunningCost(
        period=costs[0].period,
        miles=_sum(cost.miles for cost in costs),
        private_miles=_sum(cost.private_miles for cost in costs),
        lessons=_sum(cost.lessons for cost in costs),
        minutes=_sum(cost.minutes for cost in costs),
        by_category={name: pence for name, pence in sorted(by_category.items()) if pence},
        money_out=sum(cost.money_out for cost in costs),
        litre_economy=_pooled([cost.litre_economy for cost in costs]),
        kwh_economy=_pooled([cost.kwh_economy for cost in costs]),
        estimated=tuple(sorted({name for cost in costs for name in cost.estimated})),
        missing=tuple(dict.fromkeys(found for cost in costs for found in cost.missing)),
        is_known=all(cost.is_known for cost in kept),
        is_borrowed=all(cost.is_borrowed for cost in costs),
        known_until=None if None in until else min(day for day in until if day),
        of_records=tuple(one for cost in costs for one in cost.of_records),
    )


def _sum(parts: Iterable[int | None]) -> int | None:
    """Add up parts, of which one that is not known leaves the sum unknown."""
    total = 0
    for part in parts:
        if part is None:
            return None
        total += part
    return total


def _pooled(economies: Sequence[Economy | None]) -> Economy | None:
    known = [economy for economy in economies if economy is not None]
    if not known:
        return None
    return Economy(known[0].unit, sum(e.miles for e in known), sum(e.thousandths for e in known))
