"""Whether a car can be worth what was typed: by its price, and by what it was worth before and after."""

from collections.abc import Iterable, Iterator
from datetime import date

from fleet.core.plausible.checks import Candidate, Check, weigh
from fleet.core.plausible.days import day_candidates
from fleet.core.plausible.doubt import Doubt, Limits, Typed
from fleet.core.plausible.odometer import days_between
from fleet.core.plausible.slips import as_text, undone

#: Pence that a car is worth where nothing is known of it.
_VALUES = (20_000, 8_000_000)
#: A value may have been guessed too low before: by so much in a hundred it may rise.
_RISE_PERCENT = 10
#: A car that is sold as it is keeps so much in a hundred, and of that so much each year. Common practice, no source.
_KEEPS_PERCENT, _A_YEAR_PERCENT = 55, 65


def limits(price: tuple[date, int] | None, valuations: Iterable[tuple[date, int]], today: date) -> Limits:
    """What is known: when the car was got for how many pence, if that is known, and what it was worth on which days."""
    known = sorted([*([price] if price else []), *valuations])
    return {
        "worth": [[day.isoformat(), pence] for day, pence in known],
        "price": price[1] if price else None,
        "today": today.isoformat(),
        "latest": None,
    }


def doubts(typed: Typed, limits: Limits) -> list[Doubt]:
    """What may be wrong with ``value`` in pence on the day ``valued_on``."""
    return weigh(typed, lambda tried: list(_checks(tried, limits)), lambda: _candidates(typed, limits), written)


def written(field: str, value: int | str | None) -> str:
    """A value as it is typed."""
    return as_text(value, 2) if isinstance(value, int) else value or ""


def _checks(typed: Typed, limits: Limits) -> Iterator[Check]:
    value, day, price = typed["value"], typed["valued_on"], limits["price"]
    before = next((one for one in reversed(limits["worth"]) if one[0] < day), None)
    rests_on = ("value", "valued_on")
    if before is None:
        low, high = _VALUES
        yield Check("value", "value_far", value, low, (low + high) // 8, high, ("value",), {"value": value})
        return
    since, last = before
    years = days_between(since, day) // 366 + 1
    low = last * _KEEPS_PERCENT * _A_YEAR_PERCENT**years // 100 ** (years + 1)
    high = last + last * _RISE_PERCENT // 100
    figures = {"value": value, "last": last, "since": since, "price": price or 0}
    middle = last * 85 // 100
    if price is not None and price <= high:
        yield Check("value", "value_above_price", value, 0, middle, price, rests_on, figures)
    yield Check("value", "value_above", value, 0, middle, high, rests_on, figures)
    yield Check("value", "value_below", value, low, middle, 10**9, rests_on, figures)


def _candidates(typed: Typed, limits: Limits) -> Iterator[Candidate]:
    for rank, value in undone(typed["value"], 2):
        yield Candidate(rank, {"value": value})
    if typed["valued_on"] != limits["today"]:
        yield from day_candidates(typed, limits, "valued_on")
