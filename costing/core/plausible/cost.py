"""Whether a cost can be right: its sum for its category, its day, what it refunds, and whether it is in the book."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date
from typing import Any, NamedTuple

from costing.core.catalogue.costs import COST_CATEGORIES, ENTRY_CATEGORIES, CostCategory
from costing.core.plausible.cover import cover_candidates, cover_checks, days_covered
from costing.core.records import Cost
from costing.core.repeats import LOOKS_THE_SAME_WITHIN
from fleet.core.plausible.checks import FAR, Candidate, Check, weigh
from fleet.core.plausible.days import day_candidates, day_checks
from fleet.core.plausible.doubt import Doubt, Limits, Typed
from fleet.core.plausible.odometer import days_between
from fleet.core.plausible.scatter import FEWEST, usual_range
from fleet.core.plausible.slips import DIGIT, NEIGHBOUR, POINT, as_text, undone

#: So many costs are looked at, the last ones.
MOST_COSTS = 80
#: And so many of those one by one: what is logged again was logged not long ago, and each weighs on the phone's kit.
_MOST_NAMED = 40
#: How near a sum must be to one that was paid before.
_NEAR_PERCENT = 25
_YEAR = 365
#: What varies so many times over is known only from several sums.
_IRREGULAR = 8
#: Covers of so long ago are known of what is renewed.
MOST_COVERS = 40
#: A set of tyres lasts so many miles. Common practice, no source.
_LASTS = (3_000, 20_000, 80_000)
_PLACES = {"amount": 2, "covers_miles": 0}


class Awaited(NamedTuple):
    """A payment that a repeat makes by itself: its due day, category and pence, and its entry's reference."""

    on: date
    category: str
    pence: int
    ref: str


def limits(
    costs: Iterable[Cost],
    latest: date | None,
    today: date,
    of_group: Mapping[str, int],
    *,
    rows: Sequence[CostCategory] = ENTRY_CATEGORIES,
    awaited: Iterable[Awaited] = (),
) -> Limits:
    """What a member's standing costs of one car allow in the categories of ``rows``.

    ``latest`` is the day of the cost that was logged last. ``of_group`` has the group's medians in pence a year, by
    category: they speak where the member's own sums do not tell yet. ``awaited`` are payments that repeats make by
    themselves.
    """
    ordered = sorted(set(costs), key=lambda one: (one.paid_on, one.category, one.pence))
    known = ordered[-_MOST_NAMED:]
    paid: dict[str, list[Cost]] = defaultdict(list)
    for cost in ordered:
        if cost.pence > 0:
            paid[cost.category].append(cost)
    return {
        "today": today.isoformat(),
        "latest": latest.isoformat() if latest else None,
        "categories": {row.name: _limits_of(row, paid[row.name], of_group.get(row.name)) for row in rows},
        "costs": [[one.paid_on.isoformat(), one.category, one.pence] for one in known],
        "covers": {row.name: _covers(paid[row.name]) for row in rows if row.is_renewed},
        "awaited": [[one.on.isoformat(), one.category, one.pence, one.ref] for one in awaited],
        "awaited_within": LOOKS_THE_SAME_WITHIN.days,
    }


def _covers(costs: Iterable[Cost]) -> list[list[str]]:
    """The covers bought, as [first, last], by their first day."""
    covered = [
        [one.covers_from.isoformat(), min(filter(None, (one.covers_to, one.ended_on))).isoformat()]
        for one in costs
        if one.covers_from and one.covers_to
    ]
    return sorted(covered)


def _limits_of(row: CostCategory, costs: Sequence[Cost], of_group: int | None) -> Limits:
    least, most = row.usual_pence
    seen = sorted(_weight(row.name, one.pence, _length(one)) for one in costs)
    own, is_group = _own_range(row, costs), False
    if not own and of_group and least <= of_group <= most:
        own, is_group = [of_group // row.times, of_group, of_group * row.times], True
    return {
        "words": row.spoken,
        "range": [least, most],
        "own": own,
        "is_group": is_group,
        "seen": sorted(set(seen)),
        "bought": _bought(row, [one.pence for one in costs]),
        # What comes once a month or less often is the same payment a few days later; other costs on the same day alone.
        "same_within": 0 if row.comes_often else LOOKS_THE_SAME_WITHIN.days,
    }


def _own_range(row: CostCategory, costs: Sequence[Cost]) -> list[int] | None:
    """From where to where a member's own sums of a category usually lie, with their middle; None if too few are known.

    What is renewed is held against a year, of which a sum that covers no days tells nothing: it may be a month's.
    """
    told = [one for one in costs if _length(one)] if row.is_renewed else costs
    seen = sorted(_weight(row.name, one.pence, _length(one)) for one in told)
    if not row.times or len(seen) < (1 if row.times < _IRREGULAR else FEWEST):
        return None
    usual = usual_range(seen, floor_percent=0)
    low, middle, high = usual or (seen[0], seen[len(seen) // 2], seen[-1])
    middle_or = (middle, middle) if usual else (low, high)
    return [min(low, middle_or[0] // row.times), middle, max(high, middle_or[1] * row.times)]


def _bought(row: CostCategory, sums: Sequence[int]) -> int:
    """The most of a category that can be paid back: one sum, or all of what is paid in instalments."""
    return sum(sums) if row.is_renewed else max(sums, default=0)


def _length(cost: Cost) -> int:
    return (cost.covers_to - cost.covers_from).days + 1 if cost.covers_from and cost.covers_to else 0


def _weight(category: str, pence: int, days: int) -> int:
    """What a sum is compared by: itself, or what a year of it costs if it is renewed."""
    return pence * _YEAR // days if COST_CATEGORIES[category].is_renewed and days else pence


def doubts(typed: Typed, limits: Limits, *, with_meanings: bool = True) -> list[Doubt]:
    """What may be wrong with a cost: ``category``, ``amount`` (above nought), ``refund`` ("on" or ""), ``paid_on``,
    ``covers_from`` and ``covers_to`` (both or neither; None), ``covers_miles`` (or None), ``in_place_of`` (the
    reference of the payment in whose place it is logged, or "").
    """
    return weigh(
        typed,
        lambda tried: list(_checks(tried, limits)),
        lambda: _candidates(typed, limits) if with_meanings else (),
        written,
    )


def written(field: str, value: int | str | None) -> str:
    """A value as it is typed."""
    if not isinstance(value, int):
        return value or ""
    text = as_text(value, _PLACES[field])
    return f"{text}0" if text[-2:-1] == "." else text


def _checks(typed: Typed, limits: Limits) -> Iterator[Check]:
    if typed.get("leave_out"):
        return
    category, amount = typed["category"], typed["amount"]
    own = limits["categories"][category]
    same = [one for one in limits["costs"] if _is_same(typed, one, limits)]
    figures: dict[str, int | str] = {
        "amount": amount,
        "category": own["words"],
        "day": same[-1][0] if same else "",
    }
    yield Check("paid_on", "same_cost", len(same), 0, 0, 0, ("paid_on", "category", "amount"), figures)
    if (meant := _awaited(typed, limits)) and not same:
        on, _, pence, ref = meant
        figures = {"day": on, "pence": pence, "category": own["words"]}
        is_open = int(typed.get("in_place_of") != ref)
        yield Check("category", "awaited", is_open, 0, 0, 0, ("category", "amount", "paid_on"), figures)
    if typed["refund"]:
        bought = own["bought"]
        figures = {"amount": amount, "category": own["words"], "most": bought}
        yield Check("amount", "refund_unpaid", bought, amount, amount, FAR, ("amount", "refund", "category"), figures)
        yield from day_checks(typed, limits, "paid_on")
        return
    yield sum_check(typed, own)
    # A policy that runs already is entered when the book begins: it was paid long ago.
    runs = (typed["covers_from"] or "9") <= limits["today"] <= (typed["covers_to"] or "")
    is_first = runs and not limits["covers"].get(category, [0])
    yield from day_checks(typed, limits | {"latest": None, "first": None} if is_first else limits, "paid_on")
    if miles := typed.get("covers_miles"):
        least, middle, most = _LASTS
        yield Check("covers_miles", "lasts", miles, least, middle, most, ("covers_miles",), {"miles": miles})
    if typed["covers_from"] and category in limits["covers"]:
        yield from cover_checks(typed, limits["covers"][category])


def sum_check(typed: Typed, own: Limits) -> Check:
    """The check of a sum by what `limits` has of its category."""
    category, amount = typed["category"], typed["amount"]
    is_renewed = COST_CATEGORIES[category].is_renewed
    days = days_covered(typed) if is_renewed else 0
    weight, (low, high) = _weight(category, amount, days), own["range"]
    middle, reason = (low + high) // 2, "sum_new"
    if own["own"]:
        low, high = max(low, own["own"][0]), min(high, own["own"][2])
        middle, reason = own["own"][1], "sum_group" if own["is_group"] else "sum_year" if is_renewed else "sum"
    if is_renewed and not days:
        low //= 12
    near = [one for one in own["seen"] if 100 * abs(weight - one) <= _NEAR_PERCENT * one]
    if category == "mot" and weight > own["range"][1]:
        # The law bounds the fee: what was paid within it says nothing of more.
        near = [one for one in near if one > own["range"][1]]
        reason = "sum_mot"
    if near:
        low, high = min(low, weight), max(high, weight)
    figures = {"amount": amount, "category": own["words"], "days": days, "usual": middle, "most": own["range"][1]}
    rests_on = ("category", "amount", "covers_from", "covers_to")
    return Check("amount", reason, weight, low, middle, high, rests_on, figures)


def _is_same(typed: Typed, cost: list[Any], limits: Limits) -> bool:
    """Whether a cost in the book is the same one: of the same sum and category, near its day."""
    day, category, pence = cost
    if (category, pence) != (typed["category"], -typed["amount"] if typed["refund"] else typed["amount"]):
        return False
    within: int = limits["categories"][category]["same_within"]
    return abs(days_between(day, typed["paid_on"])) <= within


def _awaited(typed: Typed, limits: Limits) -> list[Any] | None:
    """The payment of a repeat that a cost of another sum may be: that of the nearest day, then of the nearest sum."""
    within = limits["awaited_within"]
    near = [
        (abs(days_between(one[0], typed["paid_on"])), abs(one[2] - typed["amount"]), one)
        for one in limits["awaited"]
        if one[1] == typed["category"] and not typed["refund"]
    ]
    days, off, nearest = min(near, default=(within + 1, 0, None))
    return nearest if days <= within and off else None


def _candidates(typed: Typed, limits: Limits) -> Iterator[Candidate]:
    if any(_is_same(typed, one, limits) for one in limits["costs"]):
        yield Candidate(POINT, {"leave_out": "on"}, "leave_out")
        return
    if meant := _awaited(typed, limits):
        settles = {"in_place_of": meant[3]}
        yield Candidate(POINT, settles, "in_place")
        if all(one.is_met for one in _checks({**typed, **settles}, limits)):
            return
    if typed["refund"]:
        yield Candidate(NEIGHBOUR, {"refund": "", "amount": typed["amount"]}, "paid")
        for name in dict.fromkeys(one[1] for one in limits["costs"] if one[2] == typed["amount"]):
            yield Candidate(POINT, {"category": name}, f"as_{name}")
        for name in dict.fromkeys(one[1] for one in limits["costs"] if one[2] > typed["amount"]):
            yield Candidate(DIGIT, {"category": name}, f"as_{name}")
    for rank, value in undone(typed["amount"], 2):
        yield Candidate(rank, {"amount": value})
    if typed.get("covers_miles"):
        for rank, value in undone(typed["covers_miles"], 0):
            yield Candidate(rank, {"covers_miles": value})
    if typed["covers_from"]:
        yield from cover_candidates(typed, limits["covers"].get(typed["category"], []))
    yield from day_candidates(typed, limits, "paid_on")
