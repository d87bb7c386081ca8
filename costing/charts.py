"""The costs of a car as records for `config.charts`, by the groups that have a tone."""

from collections import Counter
from collections.abc import Iterable

from config.charts.pound import EachPound, Part
from config.charts.scales import shares_of_100
from costing.core.catalogue.costs import CostGroup


def parts_of(amounts: Iterable[tuple[CostGroup, int]]) -> tuple[Part, ...]:
    """The pence of each group that has some, from the axis up."""
    pence: Counter[CostGroup] = Counter()
    for group, amount in amounts:
        pence[group] += amount
    return tuple(Part(group.value, group.short_words, pence[group]) for group in CostGroup if pence[group])


def group_of(part: Part) -> CostGroup:
    """The group that a part is drawn for."""
    return CostGroup(part.tone)  # type: ignore[call-arg]  # looked up by its value, not made


def each_pound(amounts: Iterable[tuple[CostGroup, int]]) -> EachPound | None:
    """Where each pound of a true cost went; None if no group has cost anything."""
    bar = EachPound("", parts_of(amounts))
    if not bar.drawn:
        return None
    largest, share = bar.drawn[0], shares_of_100([part.pence for part in bar.drawn])[0]
    return EachPound(f"{group_of(largest).spoken} took {share}p of each pound", bar.parts)
