"""Months as columns of slices in the tones of the costs, with a line of other sums across them."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise
from typing import NamedTuple

from config.charts.marks import Bars, Box, Drawing, Frame, Link, Mark, Point, Stroke, Words
from config.charts.month_names import names_beside
from config.charts.month_notes import notes_above
from config.charts.scales import axis_money, levels
from config.charts.text import width_of
from config.look.tokens import TONES
from config.showing import pence_as_pounds

MOST_COLUMNS = 12
#: The line is shown as a road from this thickness on.
ROAD_FROM = 7


class Group(NamedTuple):
    """What one tone stands for, in words where there is room, and in short ones."""

    tone: str
    words: str
    short_words: str


class Column(NamedTuple):
    """One month: its name in full, short and as a letter, and its pence by tone; without slices it is not told.

    ``note`` is the reason why it is odd, for one or two columns. ``to`` is the address that it opens, if any.
    """

    words: str
    short_words: str
    letter: str
    slices: Mapping[str, int]
    note: str = ""
    to: str = ""

    @property
    def total(self) -> int:
        return sum(self.slices.values())

    @property
    def told(self) -> str:
        """Its sum in words."""
        return f"{self.words}: {pence_as_pounds(self.total) if self.slices else 'not known'}"


class Across(NamedTuple):
    """The line across: pence for each column, None where there is none, and what they are rounded to."""

    words: str
    pence: tuple[int | None, ...]
    rounding: int = 20


@dataclass(frozen=True)
class MonthsStacked:
    """Up to twelve columns, oldest first, from the axis up in the order of the tones.

    The names beside it tell the sums of the last month, unless that is no more than any other (``tells_last``).
    ``whole`` is whose a whole column is, where it is told beside the line across.
    """

    title: str
    groups: tuple[Group, ...]
    columns: tuple[Column, ...]
    across: Across = field(default=Across("Group", ()))
    tells_last: bool = True
    whole: str = ""

    def draw(self, frame: Frame) -> Drawing:
        """The picture; of more than twelve columns the last twelve."""
        return Layout(self, frame).drawing()

    @property
    def description(self) -> str:
        """The figures in words: each column, and the line's lowest and highest."""
        words = f"{'; '.join(column.told for column in self.columns)}."
        line = [pence for pence in self.across.pence if pence is not None]
        if line:
            low, high = pence_as_pounds(min(line)), pence_as_pounds(max(line))
            words += f" {self.across.words}: {low}." if low == high else f" {self.across.words}: from {low} to {high}."
        return words


class Layout:
    """Where everything of one picture lies."""

    #: How high the open box is of a month that is not told: enough to be seen, and no sum.
    untold_height = 28

    def __init__(self, what: MonthsStacked, frame: Frame) -> None:
        self.what, self.frame = what, frame
        self.columns = what.columns[-MOST_COLUMNS:]
        line = what.across.pence[-MOST_COLUMNS:]
        self.line: tuple[int | None, ...] = (None,) * (len(self.columns) - len(line)) + line
        self.height = 202 if frame.is_narrow else 356
        self.bottom = self.height - 24.0
        self.top = max(12.0, 2.0 + 17 * min(2, sum(bool(column.note) for column in self.columns)))
        self.names = names_beside(self.columns, self.line, what)
        self.low, self.high = self._range()
        self.levels = levels(self.low, self.high)
        axis = max((width_of(axis_money(level)) for level in self.levels), default=0)
        self.left = axis + 6
        self.right = frame.width - self.names.width(frame) - (12 if frame.is_narrow else 18)
        count = max(1, len(self.columns))
        self.slot = min((self.right - self.left) / count, 28 if frame.is_narrow else 48)
        self.first = self.right - self.slot * count

    def _range(self) -> tuple[float, float]:
        """The lowest and the highest that is drawn, in pence; nought is among them."""
        half = self.what.across.rounding / 2
        tops = [sum(max(0, pence) for pence in column.slices.values()) for column in self.columns]
        feet = [sum(min(0, pence) for pence in column.slices.values()) for column in self.columns]
        line = [pence for pence in self.line if pence is not None]
        # A line alone, near nought, must not fill the picture with its own thickness.
        least = 24 * half if line else 0
        high = max([least, *tops, *(pence + half for pence in line)])
        return min([0, *feet, *(pence - half for pence in line if pence < 0)]), high or 100

    @cached_property
    def scale(self) -> float:
        """Units a penny."""
        return (self.bottom - self.top) / (self.high - self.low)

    def y(self, pence: float) -> float:
        return self.bottom + (self.low - pence) * self.scale

    def bar(self, index: int) -> tuple[float, float]:
        """Where a column's bars begin across, and how wide they are."""
        width = round(self.slot * 0.76, 1)
        return round(self.first + index * self.slot + (self.slot - width) / 2, 1), width

    @cached_property
    def slices(self) -> list[dict[str, Box]]:
        """Each column's slices by tone. It rounds their edges, so that they meet and add up to the tenth of a unit."""
        found = []
        for index, column in enumerate(self.columns):
            x, width = self.bar(index)
            up = down = 0
            boxes = {}
            for tone in TONES:
                pence = column.slices.get(tone, 0)
                start = up if pence > 0 else down
                edges = sorted((round(self.y(start), 1), round(self.y(start + pence), 1)))
                up, down = up + max(0, pence), down + min(0, pence)
                if pence:
                    boxes[tone] = Box(x, edges[0], width, edges[1] - edges[0])
            found.append(boxes)
        return found

    @property
    def thickness(self) -> float:
        """How thick the line is: as its rounding is on the axis, but never too thin to see."""
        return max(1.5, self.what.across.rounding * self.scale)

    def drawing(self) -> Drawing:
        marks = (*self._axis(), *self._stacks(), *self._across(), *self._baseline(), *self._months())
        names = self.names.marks(self)
        notes = notes_above(self)
        seen = (*marks, *names, *notes, *self._links())
        return Drawing(self.what.title, self.what.description, self.frame.width, self.height, seen)

    def _axis(self) -> Iterator[Mark]:
        for level in self.levels:
            y = self.y(level)
            yield Stroke("grid", (((self.left, y), (self.right, y)),))
            yield Words(0, y + 4.5, axis_money(level), "quiet")

    def _stacks(self) -> Iterator[Mark]:
        for tone in TONES:
            boxes = tuple(boxes[tone] for boxes in self.slices if tone in boxes)
            if boxes:
                yield Bars(tone, boxes)
        seams = tuple(line for boxes in self.slices for line in _seams(boxes))
        if seams:
            yield Stroke("card", seams)
        for index, column in enumerate(self.columns):
            if not column.slices:
                yield Stroke("quiet", (self._outline(index),), 1.5, "3 3")

    def _links(self) -> Iterator[Mark]:
        """What of each column is pressed: all of its room, from the top down to its name."""
        for index, column in enumerate(self.columns):
            if column.to:
                room = Box(self.first + index * self.slot, 0, self.slot, self.height)
                yield Link(room, column.to, column.told)

    def _outline(self, index: int) -> tuple[Point, ...]:
        """The dashed box of a column that nobody has told of."""
        x, width = self.bar(index)
        left, right, foot = x + 0.75, x + width - 0.75, self.y(0)
        # Where all that is told lies below nought, there is little room above it.
        top = max(1.0, foot - self.untold_height)
        return ((left, foot), (left, top), (right, top), (right, foot))

    def _across(self) -> Iterator[Mark]:
        lines = tuple(self._runs())
        if not lines:
            return
        yield Stroke("card", lines, self.thickness + 2)
        yield Stroke("ink", lines, self.thickness)
        if self.thickness >= ROAD_FROM:
            yield Stroke("card", lines, 1.5, "6 5")

    def _runs(self) -> Iterator[tuple[Point, ...]]:
        """The line month by month, broken where there is none."""
        run: list[Point] = []
        for index, pence in enumerate(self.line):
            if pence is None:
                if run:
                    yield tuple(run)
                run = []
                continue
            x, y = self.first + index * self.slot, self.y(pence)
            run += [(x, y), (x + self.slot, y)]
        if run:
            yield tuple(run)

    def _baseline(self) -> Iterator[Mark]:
        yield Stroke("ink", (((self.first, self.y(0)), (self.right, self.y(0))),), 2)

    def _months(self) -> Iterator[Mark]:
        for index, column in enumerate(self.columns):
            words = column.letter if self.frame.is_narrow else column.short_words
            yield Words(self.first + (index + 0.5) * self.slot, self.height - 6, words, "quiet", "middle")


def _seams(boxes: Mapping[str, Box]) -> Iterator[tuple[Point, ...]]:
    """A hairline of the ground between two slices, unless one is so thin that it would hide it."""
    stack = sorted(boxes.values(), key=lambda box: box.y)
    for over, under in pairwise(stack):
        if min(over.height, under.height) >= 2.5:
            yield ((under.x, under.y), (under.right, under.y))
