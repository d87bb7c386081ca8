"""The days or miles proposed for a cost whose file says nothing of them: the same as the page of a cost proposes."""

from collections.abc import Iterable, Mapping
from datetime import date, timedelta
from decimal import Decimal
from typing import Any, NamedTuple

from costing.core.catalogue.costs import COST_CATEGORIES, CostCategory
from costing.queries import usual_days
from fleet.models import Car
from instructors.models import Member
from instructors.queries import cooperative

#: Two payments for one thing nearer than this are instalments, and none of them buys a year. No source.
_APART = timedelta(days=300)


class Paid(NamedTuple):
    """A cost of the file: its values, to which what it covers is added, and its category."""

    values: dict[str, Any]
    category: str


def put_cover(costs: Iterable[Paid], member: Member) -> None:
    """Add what each cost is proposed to cover, as ``proposed``, unless somebody said that it counts ``on_the_day``."""
    by_kind: dict[tuple[Car, str], list[Paid]] = {}
    for one in costs:
        if one.category and _is_for_all_of_it(COST_CATEGORIES[one.category], one.values["amount"]):
            by_kind.setdefault((one.values["car"], one.category), []).append(one)
    miles = cooperative().tyre_life_miles if by_kind else 0
    for (car, category), paid in by_kind.items():
        paid.sort(key=lambda one: one.values["day"])
        until_now: date | None = None
        for place, one in enumerate(paid):
            near = [*paid[max(place - 1, 0) : place], *paid[place + 1 : place + 2]]
            if COST_CATEGORIES[category].covers == "miles":
                _put(one.values, category, {"covers_miles": miles})
            elif not any(_is_near(one, other) for other in near):
                days = usual_days(category, one.values["day"], member, car, until_now=until_now)
                _put(one.values, category, {"covers_from": days.first, "covers_to": days.last})
            until_now = max(filter(None, [until_now, one.values.get("covers_to")]), default=None)


def _is_for_all_of_it(category: CostCategory, amount: Decimal) -> bool:
    """Whether a sum may pay for all that such a cost covers: less than any year costs is an instalment."""
    return bool(category.covers) and amount * 100 >= category.usual_pence[0]


def _is_near(one: Paid, other: Paid) -> bool:
    return abs(one.values["day"] - other.values["day"]) < _APART


def _put(values: dict[str, Any], category: str, cover: Mapping[str, Any]) -> None:
    if "covers_from" not in values:
        values["proposed"] = category
        values.update({} if values.get("on_the_day") else cover)


def covered(values: Mapping[str, Any]) -> dict[str, Any]:
    """Return what a row covers, as the action that logs it takes it."""
    return {name: values.get(name) for name in ("covers_from", "covers_to", "covers_miles")}
