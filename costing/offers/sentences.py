"""What a report says in sentences: which offer overtakes which, what an event changes, what would change the answer."""

from collections.abc import Iterator, Sequence
from itertools import accumulate, combinations, groupby
from typing import NamedTuple

from config.showing import pence_as_pounds
from costing.core.offers.compare import Figures, Outcome
from costing.core.offers.inputs import INPUTS
from costing.core.offers.switching import Switch
from costing.core.offers.terms import Use
from costing.offers import wording


class Pair(NamedTuple):
    """Two offers: what would make the other one cheaper, and what, within its range, would not."""

    cheaper: str
    than: str
    changes: list[str]
    no_changes: list[str]


class Line(NamedTuple):
    """One offer in the course of an event: its total, and what that is beside the plan."""

    name: str
    total: str
    change: str
    is_cheapest: bool


class Event(NamedTuple):
    """Something that could happen, and what it makes of the offers, cheapest first."""

    name: str
    verdict: str
    is_change: bool
    lines: list[Line]


def overtakings(figures: Sequence[Figures], use: Use) -> list[str]:
    """In which month an offer that had cost more so far has cost less than another, in order of months."""
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


def event(base: Outcome, outcome: Outcome) -> Event:
    """An outcome beside the plan."""
    planned = {one.offer.name: one for one in base.figures}
    ranked = sorted(outcome.figures, key=lambda one: one.total)
    was, now = base.ranking, outcome.ranking
    if now[0] != was[0]:
        verdict = f"{now[0]} is cheapest then, no longer {was[0]}."
    elif now != was:
        verdict = f"{now[0]} stays cheapest, but the order of the others changes."
    else:
        verdict = f"{now[0]} stays cheapest." if len(now) < 3 else f"{now[0]} stays cheapest, and the order stays."
    lines = [
        Line(
            one.offer.name,
            pence_as_pounds(one.total),
            _change(planned[one.offer.name], one),
            one.total == ranked[0].total,
        )
        for one in ranked
    ]
    return Event(outcome.name, verdict, now != was, lines)


def _change(planned: Figures, one: Figures) -> str:
    """The difference in all; over fewer months, which no total compares with, that of a week."""
    if len(one.flow.months) != len(planned.flow.months):
        return f"{pence_as_pounds(one.per_week)} a week, planned {pence_as_pounds(planned.per_week)}"
    pence = one.total - planned.total
    return f"{pence_as_pounds(abs(pence))} {'more' if pence > 0 else 'less'} than planned" if pence else "as planned"


def pairs(switches: Sequence[Switch]) -> list[Pair]:
    """What would change the answer, pair by pair."""
    found = []
    for (cheaper, than), group in groupby(switches, key=lambda one: (one.cheaper, one.than)):
        of_pair = list(group)
        changes = [wins(one) for one in of_pair if one.value is not None]
        found.append(Pair(cheaper, than, changes, [_stays(one) for one in of_pair if one.value is None]))
    return found


def wins(switch: Switch) -> str:
    """The other wins beyond the value; of months and weeks no more is known than that it does there."""
    assert switch.value is not None  # noqa: S101 - for the type alone
    at, planned = wording.amount(switch.input, switch.value), wording.amount(switch.input, switch.base)
    if switch.input == "months":
        return f"{switch.than} wins if you leave after {at} instead of {planned}."
    if switch.input == "weeks_off":
        return f"{switch.than} wins if you give no lessons for {at}."
    thing = wording.thing(switch.input, switch.offer)
    if switch.value == switch.base:
        return f"Both cost the same at {at}, the figure planned for {thing}."
    side = "above" if switch.value > switch.base else "below"
    verb = "are" if INPUTS[switch.input].unit == "miles" else "is"
    return f"{switch.than} wins if {thing} {verb} {side} {at}; planned: {planned}."


def _stays(switch: Switch) -> str:
    low, high = wording.amount(switch.input, switch.low), wording.amount(switch.input, switch.high)
    return f"{wording.thing(switch.input, switch.offer)}: anything from {low} to {high}"
