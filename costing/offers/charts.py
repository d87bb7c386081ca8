"""The geometry of the pictures of the money of a comparison, as plain whole numbers for the templates that write SVG.

A picture never stands alone: the same figures are in words and in a table beside it. An offer is told by its letter,
a part of its money by a number, a line by its dashes too: never by colour alone.
"""

from collections.abc import Mapping, Sequence
from itertools import accumulate
from typing import NamedTuple

from config.showing import pence_as_pounds
from costing.charts import WIDTH, edges
from costing.core.catalogue.agreements import CAR_SUMS
from costing.core.catalogue.running import RUNNING_PARTS, MoneyGroup
from costing.offers.sides import Side

#: The parts of the cash flow by what the money is for. What comes back for the car is taken off what it cost.
GROUPS: Mapping[str, tuple[str, ...]] = {
    group.value: tuple(CAR_SUMS)
    if group is MoneyGroup.CAR
    else tuple(part.name for part in RUNNING_PARTS.values() if part.group is group)
    for group in MoneyGroup
}


class Part(NamedTuple):
    """One part of a bar: the number that stands for it, and where it lies."""

    number: int
    pence: int
    x: int
    width: int

    @property
    def middle(self) -> int:
        return self.x + self.width // 2

    @property
    def has_room(self) -> bool:
        """Whether the number fits above the part; the table says it all the same."""
        return self.width >= 12


class MoneyBar(NamedTuple):
    """One offer's money as a stacked bar, its words above it."""

    label: str
    value: str
    parts: list[Part]
    y: int

    @property
    def label_y(self) -> int:
        return self.y - 20

    @property
    def number_y(self) -> int:
        return self.y - 4


class MoneyChart(NamedTuple):
    """Stacked bars to one scale. ``key`` names the parts by their numbers."""

    description: str
    bars: list[MoneyBar]
    key: list[tuple[int, str]]
    height: int
    width: int = WIDTH


class RunningLine(NamedTuple):
    """One offer's running total: a path, the dashes it is drawn with, and its letter on it."""

    letter: str
    name: str
    path: str
    dashes: str
    x: int
    y: int

    @property
    def letter_y(self) -> int:
        return self.y + 4


class RunningChart(NamedTuple):
    """Running totals over the months. ``levels`` are sums of money with the heights they lie at."""

    description: str
    lines: list[RunningLine]
    levels: list[tuple[int, str]]
    months: int
    left: int = 50
    right: int = 312
    top: int = 12
    bottom: int = 196
    width: int = WIDTH
    height: int = 218


_MONEY_ROW = 68
_MOST_LETTERS = 34
_DASHES = ("none", "8 4", "2 3", "12 3 3 3", "5 5", "1 5", "16 4", "8 2 2 2 2 2")


def money_chart(sides: Sequence[Side]) -> MoneyChart | None:
    """Where the money of each offer goes; a part of nothing or below it is left out. None if nothing is left."""
    amounts = [_by_group(side) for side in sides]
    longest = max((sum(max(0, pence) for pence in row) for row in amounts), default=0)
    if not longest:
        return None
    bars = [
        MoneyBar(label_of(side), pence_as_pounds(side.figures.total), _parts(row, longest), 40 + index * _MONEY_ROW)
        for index, (side, row) in enumerate(zip(sides, amounts, strict=True))
    ]
    drawn = {part.number for bar in bars for part in bar.parts}
    key = [(number, label) for number, label in enumerate(GROUPS, 1) if number in drawn]
    said = "; ".join(
        f"{side.letter} {side.name}: "
        + ", ".join(f"{list(GROUPS)[part.number - 1]} {pence_as_pounds(part.pence)}" for part in bar.parts)
        for side, bar in zip(sides, bars, strict=True)
    )
    return MoneyChart(f"{said}.", bars, key, height=len(bars) * _MONEY_ROW + 8)


def _by_group(side: Side) -> list[int]:
    return [sum(side.figures.flow.parts.get(code, 0) for code in codes) for codes in GROUPS.values()]


def _parts(row: Sequence[int], longest: int) -> list[Part]:
    drawn = [(number, pence) for number, pence in enumerate(row, 1) if pence > 0]
    places = edges([pence for _, pence in drawn], longest)
    return [Part(number, pence, *place) for (number, pence), place in zip(drawn, places, strict=True)]


def running_chart(sides: Sequence[Side]) -> RunningChart:
    """What each offer has cost so far, month by month."""
    totals = [list(accumulate(side.figures.flow.months)) for side in sides]
    months = len(totals[0]) - 1
    low, high = min(0, *map(min, totals)), max(1, *map(max, totals))
    frame = RunningChart("", [], [], months)

    def x(month: int) -> int:
        return frame.left + (frame.right - frame.left) * month // months

    def y(pence: int) -> int:
        return frame.bottom - (frame.bottom - frame.top) * (pence - low) // (high - low)

    lines = []
    for index, (side, row) in enumerate(zip(sides, totals, strict=True)):
        path = "M" + "L".join(f"{x(month)} {y(pence)}" for month, pence in enumerate(row))
        # Letters stand at different months, so that lines close to each other leave them room.
        at = months * (index + 1) // (len(sides) + 1)
        lines.append(RunningLine(side.letter, side.name, path, _DASHES[index % len(_DASHES)], x(at), y(row[at])))
    ends = "; ".join(
        f"{side.letter} {side.name} ends at {pence_as_pounds(row[-1])}" for side, row in zip(sides, totals, strict=True)
    )
    levels = [(y(pence), _thousands(pence)) for pence in _levels(low, high)]
    return frame._replace(description=f"Over {months} months: {ends}.", lines=lines, levels=levels)


def _levels(low: int, high: int) -> list[int]:
    """Round sums of money, four to eight of them, from the lowest to the highest drawn."""
    step = next(s for s in (unit * 10**k for k in range(3, 12) for unit in (1, 2, 5)) if (high - low) // s < 8)
    return list(range(-(-low // step) * step, high + 1, step))


def _thousands(pence: int) -> str:
    return pence_as_pounds(pence).removesuffix(".00")


def label_of(side: Side) -> str:
    """The words above a bar: a letter, and as much of a name as the picture is wide."""
    name = side.name if len(side.name) <= _MOST_LETTERS else f"{side.name[: _MOST_LETTERS - 1]}…"
    return f"{side.letter}  {name}"
