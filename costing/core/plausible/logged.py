"""What the book has of the days of a week that is typed, by the limits of `costing.core.plausible.week`.

A record there is [first day, last day, lessons, minutes, private miles], None for what is not known.
"""

from collections.abc import Iterable
from datetime import date, timedelta
from typing import Any

from fleet.core.plausible.doubt import Limits, Typed
from fleet.core.plausible.odometer import days_between

DAY_FIELDS = tuple(f"day_{number}" for number in range(7))


def lessons_of(typed: Typed) -> int | None:
    """The lessons of all days; None if they are not told."""
    by_day = [typed[field] for field in DAY_FIELDS if typed.get(field) is not None]
    return sum(by_day) if by_day else typed.get("lesson_count")


def hours_field(typed: Typed) -> str:
    """The field that has the minutes taught."""
    return "hours" if "hours" in typed else "minutes"


def logged_on(typed: Typed, limits: Limits) -> list[list[Any]]:
    """The records of lessons on the days that are told, as `limits` has them; none of no lessons."""
    first, last = typed["from_on"], typed["to_on"]
    records = [one for one in limits["days"] if one[0] <= last and first <= one[1]]
    if "how" in typed:
        told = [(after(first, number), typed[field]) for number, field in enumerate(DAY_FIELDS) if field in typed]
        return [
            one
            for one in records
            if any(one[0] <= day <= one[1] and (lessons or one[2] != 0) for day, lessons in told if lessons is not None)
        ]
    return [one for one in records if one[2] != 0 and (typed["lesson_count"] or typed["minutes"])]


def reaches_beyond(typed: Typed, logged: list[list[Any]]) -> bool:
    """Whether a record has days that are not told."""
    told = [after(typed["from_on"], number) for number, name in enumerate(DAY_FIELDS) if typed.get(name) is not None]
    return any(days_between(first, last) + 1 > sum(first <= day <= last for day in told) for first, last, *_ in logged)


def after(day: str, days: int) -> str:
    """The day so many days later."""
    return (date.fromisoformat(day) + timedelta(days=days)).isoformat()


def had_on(day: str, limits: Limits) -> tuple[int, int]:
    """The lessons and minutes in the book of a day; those of a record with other days are of none."""
    own = [one for one in limits["days"] if one[0] == one[1] == day]
    return sum(one[2] or 0 for one in own), sum(one[3] or 0 for one in own)


def is_only_private(typed: Typed, limits: Limits) -> bool:
    """Whether nothing but the private miles of a week is new: the lessons of its days are as in the book."""
    if typed.get("how") != "" or typed["private_miles"] is None:
        return False
    told = {after(typed["from_on"], n): typed[name] for n, name in enumerate(DAY_FIELDS) if typed[name] is not None}
    own = [one for one in limits["days"] if any(one[0] <= day <= one[1] for day in told)]
    if not told or reaches_beyond(typed, own):
        return False
    for day, lessons in told.items():
        of_day = [one for one in own if one[0] <= day <= one[1]]
        if not of_day or any(one[2] is None or (one[2] and one[0] != one[1]) for one in of_day):
            return False
        if sum(one[2] for one in of_day) != lessons:
            return False
    return typed["hours"] in {None, _sum_of(own, 3)} and typed["private_miles"] != _sum_of(own, 4)


def _sum_of(records: Iterable[list[Any]], place: int) -> int | None:
    """The sum of a figure of records; None if one is not known."""
    figures = [one[place] for one in records]
    return None if None in figures else sum(figures)
