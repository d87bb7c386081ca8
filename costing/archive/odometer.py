"""Checks that no odometer falls, with the archive's readings and fills among those in the book."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from itertools import groupby
from typing import NamedTuple

from config.showing import day, whole
from costing.archive.reading import FileRow, Sheet
from costing.archive.recorded import recorded
from costing.archive.table import Table
from costing.archive.tables import FILLS, ODOMETER

#: The files that show an odometer, each with its columns for the day and the miles.
_SHOWING = ((ODOMETER, "read_on", "miles"), (FILLS, "filled_on", "odometer"))


class _Shown(NamedTuple):
    """The miles on an odometer on one day, from a line of a file or (``line`` 0) from the book."""

    on: date
    miles: int
    table: Table
    column: str
    line: int = 0

    @property
    def place(self) -> str:
        return f"{self.table.file}, line {self.line}" if self.line else "already in the book"


def check_odometers(sheets: Mapping[str, Sheet], new: Mapping[str, list[FileRow]]) -> None:
    """Add a fault wherever a day's miles are below the highest of the previous day with any.

    Only neighbouring days are compared, so that one slip makes one fault, which names both places.
    """
    by_car: defaultdict[str, list[_Shown]] = defaultdict(list)
    for mark, shown in _in_archive(new):
        by_car[mark].append(shown)
    for mark, shown in _in_book() if by_car else ():
        if mark in by_car:
            by_car[mark].append(shown)
    for history in by_car.values():
        for wrong, words in _falls(history):
            sheets[wrong.table.file].add_fault(wrong.line, wrong.column, words)


def _in_archive(new: Mapping[str, list[FileRow]]) -> Iterator[tuple[str, _Shown]]:
    for table, on, miles in _SHOWING:
        for row in new.get(table.file, ()):
            if row.unread.isdisjoint({"registration", on, miles}):
                shown = _Shown(row.values[on], row.values[miles], table, miles, row.line)
                yield row.values["registration"], shown


def _in_book() -> Iterator[tuple[str, _Shown]]:
    for table, on, miles in _SHOWING:
        for values in recorded(table, "standing"):
            yield values["registration"], _Shown(values[on], values[miles], table, miles)


def _falls(history: Iterable[_Shown]) -> Iterator[tuple[_Shown, str]]:
    highest: _Shown | None = None
    for _, group in groupby(sorted(history, key=lambda shown: shown.on), key=lambda shown: shown.on):
        today = list(group)
        for shown in today:
            if highest is not None and shown.miles < highest.miles:
                yield from _fall(highest, shown)
        highest = max(today, key=lambda shown: shown.miles)


def _fall(earlier: _Shown, later: _Shown) -> Iterator[tuple[_Shown, str]]:
    if later.line:
        words = f"{whole(later.miles)} miles is less than the {whole(earlier.miles)} of {day(earlier.on)}"
        yield later, f"{words} ({earlier.place}): an odometer never falls"
    elif earlier.line:
        words = f"{whole(earlier.miles)} miles is more than the {whole(later.miles)} of {day(later.on)}"
        yield earlier, f"{words} ({later.place}): an odometer never falls"
