"""Whether a cost that repeats runs already: entered twice, it would be made twice each time."""

from collections.abc import Iterable, Iterator
from datetime import date
from typing import NamedTuple

from costing.core.catalogue.costs import COST_CATEGORIES
from fleet.core.plausible.checks import Candidate, Check, weigh
from fleet.core.plausible.doubt import Doubt, Limits, Typed
from fleet.core.plausible.slips import POINT, as_text


class Runs(NamedTuple):
    """One that runs on a car: its category, the pence of each payment, how often it comes, and its first day."""

    category: str
    pence: int
    interval: str
    starts_on: date


def limits(running: Iterable[Runs]) -> Limits:
    """What a member has running on one car."""
    return {"running": [[one.category, one.pence, one.interval, one.starts_on.isoformat()] for one in running]}


def doubts(typed: Typed, limits: Limits) -> list[Doubt]:
    """What may be wrong with ``category``, ``amount`` in pence, ``interval`` and ``car``: that it runs already."""
    return weigh(typed, lambda tried: list(_checks(tried, limits)), _candidates, _written)


def _checks(typed: Typed, limits: Limits) -> Iterator[Check]:
    if typed.get("leave_out"):
        return
    told = [typed["category"], typed["amount"], typed["interval"]]
    same = [one for one in limits["running"] if one[:3] == told]
    figures: dict[str, int | str] = {
        "amount": typed["amount"],
        "category": COST_CATEGORIES[typed["category"]].spoken,
        "since": same[-1][3] if same else "",
    }
    rests_on = ("category", "amount", "interval", "car")
    yield Check("amount", f"same_repeat_{typed['interval']}", len(same), 0, 0, 0, rests_on, figures)


def _candidates() -> Iterator[Candidate]:
    yield Candidate(POINT, {"leave_out": "on"}, "leave_out")


def _written(field: str, value: int | str | None) -> str:
    return as_text(value, 2) if isinstance(value, int) else value or ""
