"""The backup of each day in a folder off this machine, and which of them are kept for how long."""

import re
from collections.abc import Callable, Iterable, Iterator
from datetime import date
from pathlib import Path

from config.backup.making import Made, back_up_to

#: How many are kept, and what they are the newest one of.
_KEPT: tuple[tuple[int, Callable[[date], object]], ...] = (
    (7, lambda day: day),
    (4, lambda day: day.isocalendar()[:2]),
    (12, lambda day: (day.year, day.month)),
)
_NAME = re.compile(r"book-(\d{4}-\d{2}-\d{2})\.backup")


def path_for(folder: Path, day: date) -> Path:
    """Where the backup of a day lies. It is there only once it is whole."""
    return folder / f"book-{day}.backup"


def back_up_into(folder: Path, recipient: str, day: date) -> Made:
    """Make the backup of a day, then delete those that need not be kept any more. Raises Refused, and OSError."""
    made = back_up_to(path_for(folder, day), recipient)
    for left in folder.glob(".book-*.part"):
        # Of another day's, which was killed.
        left.unlink(missing_ok=True)
    there = dict(_backups_in(folder))
    for old in set(there) - to_keep(there):
        there[old].unlink(missing_ok=True)
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


def _backups_in(folder: Path) -> Iterator[tuple[date, Path]]:
    for path in folder.iterdir():
        if (named := _NAME.fullmatch(path.name)) and path.is_file():
            try:
                yield date.fromisoformat(named[1]), path
            except ValueError:
                # No day, so none of ours.
                continue
