"""The charts of a comparison's money, in whole numbers for the templates that write SVG.

The same figures always stand beside a chart in words or in a table. Nothing is told by colour alone: an offer has a
letter, each part of its money a number, and each line its own dashes.
"""

from collections.abc import Mapping, Sequence
from itertools import accumulate
from typing import NamedTuple

from config.showing import pence_as_pounds
from costing.charts import WIDTH, StackPart, edges, percent_of
from costing.core.catalogue.agreements import CAR_SUMS
from costing.core.catalogue.running import RUNNING_PARTS, MoneyGroup
from costing.offers.table import OfferColumn

#: The parts of the cash flow by what the money goes on. What the car fetches is taken off what it cost.
GROUPS: Mapping[str, tuple[str, ...]] = {
    group.value: tuple(CAR_SUMS)
    if group is MoneyGroup.CAR
    else tuple(part.name for part in RUNNING_PARTS.values() if part.group is group)
    for group in MoneyGroup
}


class MoneyBar(NamedTuple):
    """One offer's money as a stacked bar, with its words above it."""

    label: str
    value: str
    parts: list[StackPart]
    y: int

    @property
    def label_y(self) -> int:
        return self.y - 20

    @property
    def number_y(self) -> int:
        return self.y - 4


class MoneyChart(NamedTuple):
    """Stacked bars on one scale. ``key`` gives the name of each numbered part."""

    description: str
    bars: list[MoneyBar]
    key: list[tuple[int, str]]
    height: int
    width: int = WIDTH


class RunningLine(NamedTuple):
    """One offer's running total: its path, its dashes, and where its letter stands."""

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
    """Running totals over the months. ``levels`` are round sums of money and their heights."""

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


def money_chart(columns: Sequence[OfferColumn]) -> MoneyChart | None:
    """Draw where each offer's money goes. Parts of nothing or less are left out; None if no part is left."""
    amounts = [_by_group(column) for column in columns]
    longest = max((sum(max(0, pence) for pence in row) for row in amounts), default=0)
    if not longest:
        return None
    bars = [
        MoneyBar(label_of(column), pence_as_pounds(column.figures.total), _parts(row, longest), 40 + index * _MONEY_ROW)
        for index, (column, row) in enumerate(zip(columns, amounts, strict=True))
    ]
    drawn = {part.label for bar in bars for part in bar.parts}
    key = [(number, label) for number, label in enumerate(GROUPS, 1) if label in drawn]
    said = "; ".join(
        f"{column.letter} {column.name}: "
        + ", ".join(f"{part.label} {pence_as_pounds(part.pence)}" for part in bar.parts)
        for column, bar in zip(columns, bars, strict=True)
    )
    return MoneyChart(f"{said}.", bars, key, height=len(bars) * _MONEY_ROW + 8)


def _by_group(column: OfferColumn) -> list[int]:
    return [sum(column.figures.flow.parts.get(code, 0) for code in codes) for codes in GROUPS.values()]


def _parts(row: Sequence[int], longest: int) -> list[StackPart]:
    """The parts of one bar. They are marked by number, because letters stand for the offers."""
    drawn = [
        (number, label, pence) for number, (label, pence) in enumerate(zip(GROUPS, row, strict=True), 1) if pence > 0
    ]
    places, whole = edges([pence for *_, pence in drawn], longest), sum(pence for *_, pence in drawn)
    return [
        StackPart(f"{number}", label, pence, percent_of(pence, whole), f"tone-{number}", *place)
        for (number, label, pence), place in zip(drawn, places, strict=True)
    ]


def running_chart(columns: Sequence[OfferColumn]) -> RunningChart:
    """Draw what each offer has cost so far, month by month."""
    totals = [list(accumulate(column.figures.flow.months)) for column in columns]
    months = len(totals[0]) - 1
    low, high = min(0, *map(min, totals)), max(1, *map(max, totals))
    frame = RunningChart("", [], [], months)

    def x(month: int) -> int:
        return frame.left + (frame.right - frame.left) * month // months

    def y(pence: int) -> int:
        return frame.bottom - (frame.bottom - frame.top) * (pence - low) // (high - low)

    lines = []
    for index, (column, row) in enumerate(zip(columns, totals, strict=True)):
        path = "M" + "L".join(f"{x(month)} {y(pence)}" for month, pence in enumerate(row))
        # Letters stand at different months, so that close lines leave room for them.
        at = months * (index + 1) // (len(columns) + 1)
        lines.append(RunningLine(column.letter, column.name, path, _DASHES[index % len(_DASHES)], x(at), y(row[at])))
    ends = "; ".join(
        f"{column.letter} {column.name} ends at {pence_as_pounds(row[-1])}"
        for column, row in zip(columns, totals, strict=True)
    )
    levels = [(y(pence), _thousands(pence)) for pence in _levels(low, high)]
    return frame._replace(description=f"Over {months} months: {ends}.", lines=lines, levels=levels)


def _levels(low: int, high: int) -> list[int]:
    """Four to eight round sums of money, from the lowest to the highest drawn."""
    step = next(s for s in (unit * 10**k for k in range(3, 12) for unit in (1, 2, 5)) if (high - low) // s < 8)
    return list(range(-(-low // step) * step, high + 1, step))


def _thousands(pence: int) -> str:
    return pence_as_pounds(pence).removesuffix(".00")


def label_of(column: OfferColumn) -> str:
    """The words above a bar: a letter, and as much of the name as fits."""
    name = column.name if len(column.name) <= _MOST_LETTERS else f"{column.name[: _MOST_LETTERS - 1]}…"
    return f"{column.letter}  {name}"
