"""Due days that follow from cover: insurance, tax and breakdown cover run until what was paid for ends."""

from collections.abc import Iterable
from datetime import date

from costing.actions.cover import cover_bought
from costing.archive.recorded import Values
from costing.models import CostEntry

#: A car's registration mark and a kind of due item.
Subject = tuple[str, str]

_BEARING_ON_IT = ("category", "amount", "covers_from", "covers_to", "ended_on")


def cover_ends(costs: Iterable[Values]) -> dict[Subject, date]:
    """The last day covered, for each car and kind: what costs logged day by day come to in the end."""
    ends: dict[Subject, date] = {}
    for cost in costs:
        cover = cover_bought(CostEntry(**{name: cost[name] for name in _BEARING_ON_IT}))
        if cover is not None:
            subject = (cost["registration"], cover.kind)
            ends[subject] = max(cover.until, ends.get(subject, cover.until))
    return ends
