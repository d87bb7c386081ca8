"""Checks that a car's times with its keepers neither overlap nor end with somebody else than its keeper."""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from typing import NamedTuple

from costing.archive.reading import FileRow, Sheet
from costing.archive.recorded import Values, recorded
from costing.archive.tables import CARS, KEEPERS


class _Time(NamedTuple):
    """A time with its keeper, from a line of the file or (``line`` 0) from the book."""

    values: Values
    line: int = 0

    @property
    def place(self) -> str:
        return f"{KEEPERS.file}, line {self.line}" if self.line else "already in the book"


def check_keepers(sheets: Mapping[str, Sheet], new: Mapping[str, list[FileRow]]) -> None:
    """Add a fault where a car's times overlap, one but the last has no end, or the last is not its keeper's.

    Cars of which a line could not be read are left out.
    """
    sheet = sheets.get(KEEPERS.file)
    if sheet is None or not sheet.is_whole:
        return
    unread = {row.values.get("registration") for row in sheet.rows if row.unread}
    by_car: defaultdict[str, list[_Time]] = defaultdict(list)
    for row in new.get(KEEPERS.file, ()):
        by_car[row.values["registration"]].append(_Time(row.values, row.line))
    for values in recorded(KEEPERS) if by_car else ():
        if values["registration"] in by_car:
            by_car[values["registration"]].append(_Time(values))
    keeper_of = _keepers_by_car(sheets) if by_car else {}
    for mark, unsorted in by_car.items():
        if mark in unread:
            continue
        times = sorted(unsorted, key=lambda time: time.values["from_on"])
        for line, column, words in _overlaps(times):
            sheet.add_fault(line, column, words)
        if times[-1].line not in sheet.faulty:
            for line, column, words in _another_keeper(times, keeper_of.get(mark)):
                sheet.add_fault(line, column, words)


def _keepers_by_car(sheets: Mapping[str, Sheet]) -> dict[str, str | None]:
    """Return the keeper of each car by its mark: as the archive says, else as the book does; None beside a fault."""
    keepers = {values["registration"]: values["keeper_email"] for values in recorded(CARS)}
    cars = sheets.get(CARS.file)
    for row in cars.rows if cars else ():
        is_sound = row.line not in cars.faulty
        keepers[row.values.get("registration")] = row.values.get("keeper_email") if is_sound else None
    return keepers


def _overlaps(times: list[_Time]) -> Iterator[tuple[int, str, str]]:
    """Compare each time with the one before it that ends last: one that is too long may run over several."""
    before = times[0]
    for later in times[1:]:
        begins, ends = later.values["from_on"], before.values["to_on"]
        if ends is None and before.line:
            words = f"is empty, but another time begins on {begins} ({later.place})"
            yield before.line, "to_on", words
        elif ends is None or (begins <= ends and later.line):
            end = f"{ends}, the end of another time" if ends else "the start of another time, which has no end"
            yield later.line, "from_on", f"{begins} is not after {end} ({before.place})"
        elif begins <= ends:
            yield before.line, "to_on", f"{ends} is not before {begins}, when another time begins ({later.place})"
        if ends is None or later.values["to_on"] is None or later.values["to_on"] >= ends:
            before = later


def _another_keeper(times: list[_Time], keeper: str | None) -> Iterator[tuple[int, str, str]]:
    """Complain if the last time is not the keeper's; beside that time if it is in the file."""
    last = times[-1]
    told = last.values["member_email"]
    if keeper is not None and told != keeper:
        line = last.line or max(time.line for time in times)
        yield line, "member_email", f"is {told} in the last time, but the car's keeper_email is {keeper}"
