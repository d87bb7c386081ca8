"""The tread of a car's tyres: which readings belong to one tyre, and how deep it is now."""

from collections.abc import Collection
from datetime import date
from decimal import Decimal
from typing import NamedTuple

#: mm. The Road Vehicles (Construction and Use) Regulations 1986 reg. 27, as amended (read in a secondary text).
LEGAL_LEAST = Decimal("1.6")
#: mm. Replacement by then is common practice, advised by road-safety bodies; it is not the law.
PRACTICE_LEAST = Decimal("3.0")


class Depth(NamedTuple):
    """Tread at one wheel on one day, in mm."""

    wheel: str
    read_on: date
    inner: Decimal
    centre: Decimal
    outer: Decimal

    @property
    def lowest(self) -> Decimal:
        """The depth that counts: the law looks at the lowest, not at the mean."""
        return min(self.inner, self.centre, self.outer)

    @property
    def is_even(self) -> bool:
        """Whether it is the same across the tyre, as it is where only the lowest was entered."""
        return self.inner == self.centre == self.outer


class Move(NamedTuple):
    """A tyre fitted at ``wheel``: from another wheel, or new if ``came_from`` is empty."""

    wheel: str
    moved_on: date
    came_from: str = ""


class Stay(NamedTuple):
    """The days a tyre was at one wheel, ``since`` counted and ``until`` not; ``is_first`` if it came there new."""

    wheel: str
    since: date
    until: date
    is_first: bool


def stays_of_tyre(wheel: str, moves: Collection[Move]) -> list[Stay]:
    """Where the tyre now at ``wheel`` has been, latest first, followed back through its rotations.

    If none ``is_first``, nobody recorded when it was fitted, and all earlier readings count as its own.
    """
    stays: list[Stay] = []
    at, until = wheel, date.max
    while True:
        move = max((m for m in moves if m.wheel == at and m.moved_on < until), key=lambda m: m.moved_on, default=None)
        if move is None:
            return [*stays, Stay(at, date.min, until, is_first=False)]
        stays.append(Stay(at, move.moved_on, until, is_first=not move.came_from))
        if not move.came_from:
            return stays
        at, until = move.came_from, move.moved_on


def readings_of_tyre(wheel: str, depths: Collection[Depth], moves: Collection[Move]) -> list[Depth]:
    """The readings of the tyre now at ``wheel``, oldest first, at whichever wheel it was.

    A reading on the day of a move counts as taken after it.
    """
    stays = stays_of_tyre(wheel, moves)
    found = [d for d in depths if any(d.wheel == stay.wheel and stay.since <= d.read_on < stay.until for stay in stays)]
    return sorted(found, key=lambda depth: depth.read_on)


def latest_depths(depths: Collection[Depth], moves: Collection[Move]) -> list[Depth]:
    """The last reading of the tyre now at each wheel, as that wheel's; a tyre that was never read has none."""
    return [
        readings[-1]._replace(wheel=wheel)
        for wheel in sorted({depth.wheel for depth in depths} | {move.wheel for move in moves})
        if (readings := readings_of_tyre(wheel, depths, moves))
    ]


def unlawful_wheels(depths: Collection[Depth], moves: Collection[Move]) -> list[Depth]:
    """The last reading of each tyre that shows less tread than the law requires, by wheel."""
    return [depth for depth in latest_depths(depths, moves) if depth.lowest < LEGAL_LEAST]
