"""What a lesson hour is made of: its cost by the groups that charts draw, adding up to it to the penny."""

from fractions import Fraction

from costing.core.catalogue.costs import COST_CATEGORIES, CostGroup
from costing.core.money import divide_half_up
from costing.core.running_cost import RunningCost


def lesson_hour_by_group(cost: RunningCost) -> dict[CostGroup, int]:
    """Return the pence of a lesson hour in each group, from the axis up; empty if the cost of an hour is absent.

    They add up to ``cost.cost_per_lesson_hour``. Each is the difference of two rounded running totals, as every sum of
    the book is shared: so no group is more than a penny off, and each edge of a stack lies where the rounded sum of
    all below it lies. The largest remainder would add up too, but move a penny to a group that has nothing to do with
    it. A group of refunds is below zero; one that comes to nothing is left out.
    """
    share = cost.business_share
    if not share or cost.cost_per_lesson_hour is None:
        return {}
    pence = dict.fromkeys(CostGroup, 0)
    for category, amount in cost.by_category.items():
        pence[COST_CATEGORIES[category].group] += amount
    hours_of_all, below, drawn = Fraction(cost.minutes or 0, 60) / share, 0, 0
    slices = {}
    for group, amount in pence.items():
        below += amount
        edge = divide_half_up(below, hours_of_all)
        slices[group] = edge - drawn
        drawn = edge
    return {group: each for group, each in slices.items() if each}


def dearest_of_groups(cost: RunningCost) -> dict[CostGroup, str]:
    """Return the category of each group that cost most; of two that cost the same, one."""
    cheapest_first = sorted(cost.by_category, key=lambda name: cost.by_category[name])
    return {COST_CATEGORIES[name].group: name for name in cheapest_first}
