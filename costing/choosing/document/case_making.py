"""The case that the typed tables of a document make: of a range the plan takes the likely figure."""

from typing import Any

from costing.choosing.core.case import Case, Fuel, Offer, Running, Use, WhatIf
from costing.choosing.document.figures import likely
from costing.choosing.document.keys import FUEL_KEY, FUEL_KEYS, PENCE_A_MILE_KEY, Values
from costing.choosing.document.ranges import range_apart, ranges_in_place
from costing.choosing.document.schema import Tables
from costing.core.catalogue.agreements import AGREEMENT_KINDS
from costing.core.catalogue.running import INSURANCE


def case_made_of(tables: Tables, nation: str) -> Case:
    """The case of faultless tables, for a co-op in ``nation``."""
    apart = (range_apart(row, tables) for row in tables["uncertain"])
    return Case(
        Use(**_planned(tables["use"]), nation=nation),
        running_made_of(tables["running"]),
        tuple(offer_made_of(offer) for offer in tables["offer"]),
        tuple(_what_if(change) for change in tables["what_if"]),
        (*ranges_in_place(tables), *apart),
    )


def offer_made_of(values: Values) -> Offer:
    """The offer of faultless typed values. Whoever doesn't say how often it is paid pays as is usual for its kind."""
    usual = {"frequency": AGREEMENT_KINDS[values["kind"]].usual_frequency}
    return Offer(**{**usual, **_planned(values), "running": running_made_of(values.get("running", {}))})


def running_made_of(values: Values) -> Running:
    """The running costs of faultless typed values."""
    planned = _planned({key: value for key, value in values.items() if key not in (*FUEL_KEYS, INSURANCE.key)})
    if INSURANCE.key in values:
        planned[INSURANCE.key] = tuple(likely(year) for year in values[INSURANCE.key])
    if FUEL_KEY in values:
        planned["fuel"] = tuple(fuel._replace(price=likely(fuel.price)) for fuel in values[FUEL_KEY])
    elif PENCE_A_MILE_KEY in values:
        planned["fuel"] = (Fuel(likely(values[PENCE_A_MILE_KEY])),)
    return Running(**planned)


def _planned(values: Values) -> dict[str, Any]:
    return {key: likely(value) for key, value in values.items()}


def _what_if(change: Values) -> WhatIf:
    planned = _planned(change)
    return WhatIf(off=planned.pop("weeks_off", None), **planned)
