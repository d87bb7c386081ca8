"""The ranges of a document, whether they stand in place of a figure or in an ``[[uncertain]]`` of their own."""

from collections.abc import Iterator
from fractions import Fraction
from typing import Any

from costing.choosing.core.case import Fuel, Spread, Uncertain
from costing.choosing.document.combined import PRICE_KEYS
from costing.choosing.document.figures import likely
from costing.choosing.document.keys import Values
from costing.choosing.document.running_keys import FUEL_KEY, FUEL_KEYS, PENCE_A_MILE_KEY
from costing.choosing.document.schema import Tables
from costing.core.catalogue.running import INSURANCE


def ranges_in_place(tables: Tables) -> Iterator[Uncertain]:
    """The ranges that stand in place of a figure, in the order of the document."""
    yield from _in_table(tables["use"], "")
    yield from _in_table(tables["running"], "")
    for offer in tables["offer"]:
        yield from _in_table(offer, offer.get("name", ""))


def _in_table(values: Values, offer: str) -> Iterator[Uncertain]:
    for name, value in values.items():
        if isinstance(value, Spread):
            yield Uncertain(name, (_exact(value),), offer)
        elif name == INSURANCE.key and any(isinstance(year, Spread) for year in value):
            # A year without a range of its own has one of no width.
            yield Uncertain(name, tuple(_exact(year) for year in value), offer)
        elif name == FUEL_KEY:
            for at, fuel in enumerate(value):
                if isinstance(fuel.price, Spread):
                    yield Uncertain(PRICE_KEYS[fuel.unit], (_exact(fuel.price),), offer, at)
        elif name == "running":
            yield from _in_table(value, offer)


def _exact(value: Any) -> Spread:
    return Spread(*(Fraction(end) for end in (value if isinstance(value, Spread) else [value] * 3)))


def range_apart(row: Values, tables: Tables) -> Uncertain:
    """The range of an ``[[uncertain]]``. For insurance it is the first year's, and the others follow in proportion.

    It has a fuel's place if the case tells just one fuel that is sold so.
    """
    name, offer = row["input"], row.get("offer", "")
    spread = Spread(*(Fraction(row[end]) for end in Spread._fields))
    running = running_of(offer, tables)
    if name == INSURANCE.key and running.get(name):
        return Uncertain(name, tuple(_in_proportion(running[name], spread)), offer)
    at = next(iter(places_of_fuel(name, running)), 0)
    return Uncertain(name, (spread,), offer, at)


def _in_proportion(premiums: tuple[Any, ...], first: Spread) -> Iterator[Spread]:
    base = likely(premiums[0])
    for premium in premiums:
        times = Fraction(likely(premium), base) if base else Fraction(1)
        yield Spread(*(end * times for end in first))


def running_of(offer: str, tables: Tables) -> dict[str, Any]:
    """The running costs of the offer of this name: the common ones with its own laid over them; "" has the common."""
    own = next((one.get("running", {}) for one in tables["offer"] if offer and one.get("name") == offer), {})
    common = tables["running"]
    if any(key in own for key in FUEL_KEYS):  # either form replaces both
        common = {key: value for key, value in common.items() if key not in FUEL_KEYS}
    return {**common, **own}


def places_of_fuel(price_key: str, running: Values) -> list[int]:
    """Which of the fuels that a car burns are told by a price of this key; none for a key that is no such price."""
    if price_key == PENCE_A_MILE_KEY:
        return [0] if price_key in running else []
    fuels: tuple[Fuel, ...] = running.get(FUEL_KEY, ())
    return [at for at, fuel in enumerate(fuels) if PRICE_KEYS[fuel.unit] == price_key]
