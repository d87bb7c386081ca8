"""Whether a reading that comes alone, with a test, a handover or a piece of work can be right."""

from collections.abc import Iterable, Iterator
from datetime import date

from fleet.core.odometer import Reading
from fleet.core.plausible import odometer
from fleet.core.plausible.checks import Candidate, Check, weigh
from fleet.core.plausible.days import day_candidates, day_checks
from fleet.core.plausible.doubt import Doubt, Limits, Typed
from fleet.core.plausible.odometer import days_between

#: Miles that a car just entered ran on a day since it was new, at the most: 55,000 a year. Common practice, no source.
_MOST_SINCE_NEW = 150


def limits(readings: Iterable[Reading], today: date) -> Limits:
    """What one car's readings allow of another one."""
    return {"odometer": odometer.limits(readings), "today": today.isoformat(), "latest": None}


def limits_when_new(first_registered: date | None, today: date) -> Limits:
    """What is plausible of a car of which nothing is known but when it was new, if that."""
    known = limits([Reading(first_registered, 0)] if first_registered else (), today)
    known["odometer"]["most_tenths"] = 10 * _MOST_SINCE_NEW
    return known


def doubts(typed: Typed, limits: Limits, field: str, day_field: str, *, day_is_set: bool = False) -> list[Doubt]:
    """What may be wrong with the miles in ``field`` on the day in ``day_field``, which may be set and not typed."""

    def check(tried: Typed) -> list[Check]:
        found = list(odometer.checks(tried, limits["odometer"], field, day_field))
        if not day_is_set and days_between(tried[day_field], limits["today"]) >= 0:
            found += day_checks(tried, limits, day_field)
        return found

    def candidates() -> Iterator[Candidate]:
        yield from odometer.candidates(typed, limits["odometer"], field, day_field)
        # Today stands there already: nobody mistyped it.
        if not day_is_set and typed[day_field] != limits["today"]:
            yield from day_candidates(typed, limits, day_field)

    # Even where the day is rather wrong, the question stands at the miles: one looks for it there.
    found = weigh(typed, check, candidates, written)
    return [doubt if doubt.reason.startswith("day_") else doubt._replace(field=field) for doubt in found]


def written(field: str, value: int | str | None) -> str:
    """A value as it is typed."""
    return "" if value is None else str(value)
