"""The backup of each day in a place off this machine, and which of them are kept for how long."""

from collections.abc import Callable, Iterable
from datetime import date

from config.backup.making import Made
from config.backup.places import Place, named

#: How many are kept, and what they are the newest one of.
_KEPT: tuple[tuple[int, Callable[[date], object]], ...] = (
    (7, lambda day: day),
    (4, lambda day: day.isocalendar()[:2]),
    (12, lambda day: (day.year, day.month)),
)


def back_up_into(place: Place, recipient: str, day: date) -> Made:
    """Make the backup of a day, then delete those that need not be kept any more. Raises Refused, and OSError."""
    made = place.make(named(day), recipient)
    there = place.days()
    for old in there - to_keep(there):
        place.delete(old)
    return made


def to_keep(days: Iterable[date]) -> set[date]:
    """Of the days with a backup: the newest of each of 7 days, 4 weeks (from Monday) and 12 months that have one."""
    newest_first = sorted(set(days), reverse=True)
    return {day for count, of in _KEPT for day in _newest_of_each(newest_first, count, of)}


def _newest_of_each(newest_first: list[date], count: int, of: Callable[[date], object]) -> list[date]:
    newest: dict[object, date] = {}
    for day in newest_first:
        newest.setdefault(of(day), day)
    return list(newest.values())[:count]
