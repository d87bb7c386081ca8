"""Several cars over one period as one: a member with two cars has one cost per lesson."""

from collections import Counter
from collections.abc import Sequence

from costing.core.economy import Economy
from costing.core.running_cost import RunningCost


def together(costs: Sequence[RunningCost]) -> RunningCost:
    """Add up several cars' costs over the same period.

    Miles are unknown if one car's are. Raises ValueError without cars, or if the periods differ.
    """
    if len({cost.period for cost in costs}) != 1:
        raise ValueError("only costs of one and the same period can be taken together")
    by_category: Counter[str] = Counter()
    for cost in costs:
        by_category.update(cost.by_category)
    known_miles = [cost.miles for cost in costs if cost.miles is not None]
    return RunningCost(
        period=costs[0].period,
        miles=sum(known_miles) if len(known_miles) == len(costs) else None,
        private_miles=sum(cost.private_miles for cost in costs),
        lessons=sum(cost.lessons for cost in costs),
        minutes=sum(cost.minutes for cost in costs),
        by_category={name: pence for name, pence in sorted(by_category.items()) if pence},
        money_out=sum(cost.money_out for cost in costs),
        litre_economy=_pooled([cost.litre_economy for cost in costs]),
        kwh_economy=_pooled([cost.kwh_economy for cost in costs]),
        estimated=tuple(sorted({name for cost in costs for name in cost.estimated})),
        missing=tuple(dict.fromkeys(found for cost in costs for found in cost.missing)),
    )


def _pooled(economies: Sequence[Economy | None]) -> Economy | None:
    known = [economy for economy in economies if economy is not None]
    if not known:
        return None
    return Economy(known[0].unit, sum(e.miles for e in known), sum(e.thousandths for e in known))
