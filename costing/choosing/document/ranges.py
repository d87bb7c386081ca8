"""The ranges of a document, whether they stand in place of a figure or in an ``[[uncertain]]``, and their checks."""

from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from typing import Any

from config import budgets
from costing.choosing.core.case import Fuel, Spread, Uncertain
from costing.choosing.document.combined import PRICE_KEYS
from costing.choosing.document.figures import likely
from costing.choosing.document.keys import FUEL_KEY, FUEL_KEYS, PENCE_A_MILE_KEY, RUNNING, Key, Table, Values, Wrongs
from costing.choosing.document.offer_keys import OFFER, why_refused
from costing.choosing.document.schema import FUEL_PRICES, USE, Tables
from costing.core.catalogue.running import INSURANCE
from costing.core.money import divide_half_up

_OF_OFFERS = {key.name for key in OFFER}
_OF_RUNNING = {key.name for key in RUNNING} | FUEL_PRICES.keys()


def ranges_in_place(tables: Tables) -> Iterator[Uncertain]:
    """The ranges that stand in place of a figure, in the order of the schema, however the figures were told."""
    return (one for _, one in _placed(tables))


def too_many_ranges(tables: Tables) -> Iterator[tuple[tuple[str | int, ...], str]]:
    """The place of the first range beyond the most that may be told, and the words; nothing if they are few enough."""
    places = [place for place, _ in _placed(tables)]
    places += [("uncertain", index, "input") for index in range(len(tables["uncertain"]))]
    if len(places) > budgets.RANGES:
        words = f"is one range too many, of {len(places)} in all: at most {budgets.RANGES} can be worked out"
        yield places[budgets.RANGES], words


def _placed(tables: Tables) -> Iterator[tuple[tuple[str | int, ...], Uncertain]]:
    yield from _in_table(USE, tables["use"], "", ("use",))
    yield from _in_table(RUNNING, tables["running"], "", ("running",))
    for index, offer in enumerate(tables["offer"]):
        yield from _in_table(OFFER, offer, offer.get("name", ""), ("offer", index))


def _in_table(
    keys: Iterable[Key], values: Values, offer: str, table: tuple[str | int, ...]
) -> Iterator[tuple[tuple[str | int, ...], Uncertain]]:
    """The ranges of one table, each with its place in the document; a list of premiums has one."""
    for key in keys:
        name, value = key.name, values.get(key.name, ())
        place = (*table, name)
        if isinstance(key.shape, Table):
            yield from _in_table(key.shape.keys, value or {}, offer, place)
        elif isinstance(value, Spread):
            yield place, Uncertain(name, (_exact(value),), offer)
        elif name == INSURANCE.key and any(isinstance(year, Spread) for year in value):
            # A year without a range of its own has one of no width.
            yield place, Uncertain(name, tuple(_exact(year) for year in value), offer)
        elif name == FUEL_KEY:
            for at, fuel in enumerate(value):
                if isinstance(fuel.price, Spread):
                    yield place, Uncertain(PRICE_KEYS[fuel.unit], (_exact(fuel.price),), offer, at)


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
    own: Values = next((one.get("running", {}) for one in tables["offer"] if offer and one.get("name") == offer), {})
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


def wrong_in_ranges(tables: Tables, rows: Sequence[tuple[int, Values]]) -> Iterator[tuple[int, str, str]]:
    """What is wrong in the ``rows`` that are sound by themselves: the number of the row, its key, and the words."""
    seen = {(one.input, one.offer, one.at) for one in ranges_in_place(tables)}
    for index, row in rows:
        faults = [(place[0], words) for place, words in (*_of_order(row), *_of_subject(row, tables))]
        yield from ((index, key, words) for key, words in faults)
        if not faults:
            one = range_apart(row, tables)
            if (one.input, one.offer, one.at) in seen:
                whose = f" of “{one.offer}”" if one.offer else ""
                yield index, "input", f"{one.input}{whose} has two ranges: remove one of them"
            seen.add((one.input, one.offer, one.at))


def _of_order(row: Values) -> Wrongs:
    for lesser, greater in (("low", "likely"), ("likely", "high")):
        if row[lesser] > row[greater]:
            yield (lesser,), f"is more than {greater}"


def _of_subject(row: Values, tables: Tables) -> Wrongs:
    """Check that there is such a figure, and whose it is."""
    name, offer = row["input"], row.get("offer", "")
    meant = next((one for one in tables["offer"] if offer and one.get("name") == offer), None)
    if offer and meant is None:
        yield ("offer",), f"there is no offer called “{offer}”"
    elif offer and name not in _OF_OFFERS | _OF_RUNNING:
        yield ("offer",), f"{name} is the same for every offer"
    elif name in _OF_OFFERS and meant is None:
        yield ("input",), f'{name} is each offer’s own: say whose, as in offer = "name"'
    elif meant and "kind" in meant and (why := why_refused(meant.get("kind", ""), name)):
        yield ("offer",), f"{name} makes no difference to “{offer}”: {why}"
    elif name in FUEL_PRICES and len(places_of_fuel(name, running_of(offer, tables))) != 1:
        yield ("input",), f"{name} is not how the fuel is told: write the range in its place"
    elif name == "months" and tables["use"].get("leaving"):
        yield ("input",), "months cannot have a range beside leaving, which says when you leave"


def longest_of(months: int, rows: Sequence[Values]) -> int:
    """The months of the horizon, or those to which a range of months may stretch."""
    return max([months, *(divide_half_up(row["high"], 1) for row in rows if row["input"] == "months")])
