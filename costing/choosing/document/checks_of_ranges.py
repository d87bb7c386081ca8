"""The checks of the ranges of a document against what they are about."""

import math
from collections.abc import Iterator, Sequence

from config import budgets
from costing.choosing.document.checks import Wrongs
from costing.choosing.document.keys import Values
from costing.choosing.document.offer_keys import OFFER, why_refused
from costing.choosing.document.ranges import places_of_fuel, range_apart, ranges_in_place, running_of
from costing.choosing.document.running_keys import RUNNING
from costing.choosing.document.schema import FUEL_PRICES, OF_TIME, Tables
from costing.core.money import divide_half_up

_OF_OFFERS = {key.name for key in OFFER}
_OF_RUNNING = {key.name for key in RUNNING} | FUEL_PRICES.keys()


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
    yield from _of_pairs(rows)


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


def _of_pairs(rows: Sequence[tuple[int, Values]]) -> Iterator[tuple[int, str, str]]:
    """Limit the work: months and weeks off are drawn whole, and each pair is worked out for every offer."""
    whole = [(index, row) for index, row in rows if row["input"] in OF_TIME]
    pairs = math.prod(max(1, divide_half_up(row["high"] - row["low"], 1) + 1) for _, row in whole)
    if len(whole) > 1 and pairs > budgets.DRAWN_PAIRS:
        words = f"makes {pairs:,} pairs of months and weeks off, together with the range before it"
        most = f"at most {budgets.DRAWN_PAIRS:,} can be worked out, so narrow one of the two ranges"
        yield whole[-1][0], "high", f"{words}: {most}"
