"""An entry's figures as the rooms of this package take them: whole pence, thousandths, days as "2027-03-05"."""

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from fleet.core.plausible.doubt import Typed


def fill(figures: Mapping[str, Any]) -> Typed:
    """A fill, by the names of its action's arguments."""
    return {
        "filled_on": _day(figures["filled_on"]),
        "odometer": figures["odometer"],
        "amount": _units(figures["amount"], 2),
        "quantity": _units(figures["quantity"], 3),
        "unit": str(figures["unit"]),
        "brimmed": "on" if figures["brimmed"] else "",
        "gap_before": "on" if figures["gap_before"] else "",
    }


def cost(figures: Mapping[str, Any]) -> Typed:
    """A cost, by the names of its action's arguments; a refund is negative there."""
    covered = figures.get("covers_from") and figures.get("covers_to")
    return {
        "category": figures["category"],
        "amount": abs(_units(figures["amount"], 2)),
        "refund": "on" if figures["amount"] < 0 else "",
        "paid_on": _day(figures["paid_on"]),
        "covers_from": _day(figures["covers_from"]) if covered else None,
        "covers_to": _day(figures["covers_to"]) if covered else None,
        "covers_miles": figures.get("covers_miles"),
        "in_place_of": figures.get("in_place_of", ""),
    }


def lessons(figures: Mapping[str, Any]) -> Typed:
    """A record of lessons over a span of days, by the names of its action's arguments."""
    told = {name: figures[name] for name in ("lesson_count", "minutes", "private_miles")}
    return {"from_on": _day(figures["from_on"]), "to_on": _day(figures["to_on"]), **told}


def agreement(figures: Mapping[str, Any]) -> Typed:
    """The terms of an agreement, by the names of its fields."""
    pounds = ("price", "deposit", "payment", "final_payment", "fees")
    told = {name: _units(figures[name], 2) if figures[name] is not None else None for name in (*pounds, "quoted_apr")}
    return told | {name: figures[name] for name in ("kind", "payments", "frequency", "mileage_allowance")}


def valuation(figures: Mapping[str, Any]) -> Typed:
    """What a car was worth on a day."""
    return {"value": _units(figures["value"], 2), "valued_on": _day(figures["valued_on"])}


def _day(day: date) -> str:
    return day.isoformat()


def _units(amount: Decimal, places: int) -> int:
    return int(Decimal(amount).scaleb(places))
