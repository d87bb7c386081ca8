"""What a report says in sentences: which offer overtakes which, what an event changes, and what decides the answer."""

from collections.abc import Iterator, Sequence
from itertools import accumulate, combinations, groupby
from typing import NamedTuple

from config.showing import pence_as_pounds
from costing.choosing.core.case import Use
from costing.choosing.core.figures import Figures, ScenarioResult
from costing.choosing.core.inputs import INPUTS
from costing.choosing.core.switching import Switch
from costing.choosing.pictures import wording


class OfferPair(NamedTuple):
    """Two offers: what would make the other one cheaper, and what wouldn't within its range."""

    cheaper: str
    than: str
    changes: list[str]
    no_changes: list[str]


class WhatIfSummary(NamedTuple):
    """One event, and what it makes of the answer; ``cheapest`` is the name of the offer that is cheapest then."""

    name: str
    verdict: str
    is_change: bool
    cheapest: str


def overtakings(figures: Sequence[Figures], use: Use) -> list[str]:
    """The months in which one offer overtakes another: it had cost more so far, and now it has cost less."""
    found = [one for pair in combinations(figures, 2) for one in _changes_of_lead(*pair)]
    return [
        f"From {wording.month(use, month)}, {leader} has cost less so far than {other}."
        for month, leader, other in sorted(found)
    ]


def _changes_of_lead(one: Figures, other: Figures) -> Iterator[tuple[int, str, str]]:
    leads = accumulate(o - p for o, p in zip(other.flow.months, one.flow.months, strict=True))
    before = 0
    for month, lead in enumerate(leads):
        if lead * before < 0:
            names = (one.offer.name, other.offer.name)
            yield month, *(names if lead > 0 else names[::-1])
        before = lead or before


def what_if_summary(base: ScenarioResult, result: ScenarioResult) -> WhatIfSummary:
    """Describe an event beside the plan."""
    was, now = base.ranking, result.ranking
    if now[0] != was[0]:
        verdict = f"{now[0]} is then the cheapest, in place of {was[0]}."
    elif now != was:
        verdict = f"{now[0]} is still the cheapest, but the others change places."
    else:
        verdict = (
            f"{now[0]} is still the cheapest."
            if len(now) < 3
            else f"{now[0]} is still the cheapest, in the same order."
        )
    return WhatIfSummary(result.name, verdict, now != was, now[0])


def change(planned: Figures, one: Figures) -> str:
    """The difference in total; over fewer months, where totals don't compare, the cost a week."""
    if len(one.flow.months) != len(planned.flow.months):
        return f"{pence_as_pounds(one.per_week)} a week; as planned, {pence_as_pounds(planned.per_week)}"
    pence = one.total - planned.total
    return f"{pence_as_pounds(abs(pence))} {'more' if pence > 0 else 'less'} than planned" if pence else "as planned"


def pairs(switches: Sequence[Switch]) -> list[OfferPair]:
    """What would change the answer, pair by pair."""
    found = []
    for (cheaper, than), group in groupby(switches, key=lambda one: (one.cheaper, one.than)):
        of_pair = list(group)
        changes = [wins(one) for one in of_pair if one.value is not None]
        found.append(OfferPair(cheaper, than, changes, [_stays(one) for one in of_pair if one.value is None]))
    return found


def wins(switch: Switch) -> str:
    """When the other offer wins: beyond the value, or, for months and weeks, at the value itself."""
    assert switch.value is not None  # noqa: S101 - for the type alone
    at, planned = wording.amount(switch.input, switch.value), wording.amount(switch.input, switch.base)
    if switch.input == "months":
        return f"{switch.than} wins if you leave after {at} instead of {planned}."
    if switch.input == "weeks_off":
        return f"{switch.than} wins if you give no lessons for {at}."
    thing = wording.thing(switch.input, switch.offer)
    if switch.value == switch.base:
        return f"At {at}, the figure planned for {thing}, both cost the same."
    side = "above" if switch.value > switch.base else "below"
    verb = "are" if INPUTS[switch.input].unit == "miles" else "is"
    return f"{switch.than} wins if {thing} {verb} {side} {at}. The plan has {planned}."


def _stays(switch: Switch) -> str:
    low, high = wording.amount(switch.input, switch.low), wording.amount(switch.input, switch.high)
    return f"{wording.thing(switch.input, switch.offer)}: anything from {low} to {high}"
