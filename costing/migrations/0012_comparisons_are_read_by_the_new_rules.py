"""Comparisons stored under the first rules of an offers document are carried over to the present ones.

A key that a kind of agreement has no use for goes. What was left out counted as nothing, or as something usual that the
page named; the first is now not told, and the second is written down. Whatever cannot be read stays as it was typed.
"""

from collections.abc import Iterator
from decimal import ROUND_HALF_UP, Decimal, InvalidOperation
from typing import Any

from django.apps.registry import Apps
from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

_ANY = {"first_registered", "includes"}
_CREDIT = {"price", "deposit", "payment", "payments", "frequency", "final_payment", "fees", "quoted_apr"}
_GOING_BACK = {"mileage_allowance", "excess_pence_per_mile", "damage"}
_HIRE = {"deposit", "payment", "payments", "frequency", "fees", "early_exit", "pauses_when_off"}
_KEYS = {
    "owned": {*_ANY, "price", "value_at_horizon"},
    "hire_purchase": {*_ANY, *_CREDIT, *_GOING_BACK, "value_at_horizon"},
    "pcp": {*_ANY, *_CREDIT, *_GOING_BACK, "value_at_horizon", "at_end"},
    "contract_hire": {*_ANY, *_HIRE, *_GOING_BACK},
    "weekly_rental": {*_ANY, *_HIRE, *_GOING_BACK},
}
#: Figures that are never nothing, so that nothing stood there for "not filled in".
_NEVER_NOTHING = {"value_at_horizon", "excess_pence_per_mile", "fuel_pence_per_mile", "tyre_set", "tyre_set_miles"}
#: What the page said that it took for the miles of a set of tyres, if nobody told.
_TYRE_MILES, _SOURCE = "25000", "what comparisons used to take for a set of tyres"
#: Ranges that were meant for every offer that has such a figure; now each offer has its own.
_OF_OFFERS = {
    "payment": {"contract_hire", "weekly_rental"},
    "value_at_horizon": {"owned", "hire_purchase", "pcp"},
    "damage": {"contract_hire", "weekly_rental", "pcp"},
}
_NOT_POUNDS = {"miles_per_year", "fuel_pence_per_mile", "months", "weeks_off"}


def carry_over(apps: Apps, _: BaseDatabaseSchemaEditor | None) -> None:
    """Carry every comparison and its offers over, whether or not an offer was accepted."""
    for comparison in apps.get_model("costing", "Comparison").objects.prefetch_related("offers"):
        offers = list(comparison.offers.order_by("position"))
        for offer in offers:
            if isinstance(offer.terms, dict):
                offer.terms = _terms(offer)
                offer.save(update_fields=["terms"])
        if not isinstance(comparison.running, dict) or not isinstance(comparison.sources, dict):
            continue
        _carry_running_over(comparison)
        if isinstance(comparison.uncertain, list) and all(map(_is_range, comparison.uncertain)):
            comparison.uncertain = list(_uncertain(comparison, offers))
        comparison.save(update_fields=["running", "sources", "uncertain"])


def _is_range(row: Any) -> bool:
    """Whether a stored row is a table whose input and offer are words, if it has them."""
    return isinstance(row, dict) and all(isinstance(row.get(key, ""), str) for key in ("input", "offer"))


def _terms(offer: Any) -> dict[str, Any]:
    terms = {key: value for key, value in _told(offer.terms).items() if key in _KEYS[offer.kind]}
    if offer.kind == "pcp":
        terms.setdefault("at_end", "sell")
        if offer.chosen_on:  # it can't be filled in any more
            terms.setdefault("final_payment", "0.00")
    return terms


def _carry_running_over(comparison: Any) -> None:
    running, sources = _told(comparison.running), comparison.sources
    if "tyre_set" in running and "tyre_set_miles" not in running:
        running["tyre_set_miles"] = _TYRE_MILES
        sources = {**sources, "tyre_set_miles": _SOURCE}
    comparison.running = running
    comparison.sources = {key: source for key, source in sources.items() if key in running}


def _told(values: dict[str, Any]) -> dict[str, Any]:
    """The values without nothings that stand for "not filled in"."""
    return {key: value for key, value in values.items() if key not in _NEVER_NOTHING or _number(value) != 0}


def _uncertain(comparison: Any, offers: list[Any]) -> Iterator[dict[str, Any]]:
    """The ranges, each of an offer's figure under that offer."""
    rows = [_in_pence(row) for row in comparison.uncertain]
    own = {(row.get("input"), row["offer"]) for row in rows if row.get("offer")}
    kinds = {offer.name: offer.kind for offer in offers}
    for row in rows:
        name = row.get("input")
        if name == "fuel_pence_per_mile" and name not in comparison.running:
            continue
        if name not in _OF_OFFERS:
            yield {key: value for key, value in row.items() if key != "offer" or value}
        elif row.get("offer"):
            if kinds.get(row["offer"]) in _OF_OFFERS[name]:
                yield row
        else:
            meant = [offer for offer, kind in kinds.items() if kind in _OF_OFFERS[name] and (name, offer) not in own]
            yield from ({**row, "offer": offer} for offer in meant)


def _in_pence(row: dict[str, Any]) -> dict[str, Any]:
    """The range with pounds of at most two decimals: a file might have more."""
    if row.get("input") in _NOT_POUNDS:
        return row
    numbers = {end: _number(row.get(end)) for end in ("low", "likely", "high")}
    told = {end: number for end, number in numbers.items() if number is not None}
    return row | {end: str(number.quantize(Decimal("0.01"), ROUND_HALF_UP)) for end, number in told.items()}


def _number(value: Any) -> Decimal | None:
    """The number in a stored text; None if there is none."""
    if isinstance(value, bool) or not isinstance(value, str | int):
        return None
    try:
        number = Decimal(value)
    except InvalidOperation:
        return None
    return number if number.is_finite() and abs(number.adjusted()) < 20 else None


class Migration(migrations.Migration):
    dependencies = [("costing", "0011_whether_an_offer_is_complete_is_read_from_it")]

    operations = [migrations.RunPython(carry_over, migrations.RunPython.noop, elidable=True)]
