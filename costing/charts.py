"""The geometry of the charts: bars as plain numbers, for the templates that write SVG.

The numbers are whole units of the chart, so that no local decimal comma can get into the SVG. No chart stands alone:
each has the same figures beside it, in a table or in words.
"""

from collections.abc import Sequence
from itertools import accumulate, pairwise
from string import ascii_uppercase
from typing import NamedTuple

from config.showing import pence_as_pounds
from costing.core.money import divide_half_up

#: The width of a chart: about a phone's, so that its text comes out as large as the text around it.
WIDTH = 320
_BAR_HEIGHT, _ROW_HEIGHT = 22, 48


class Bar(NamedTuple):
    """One of two bars: whose it is, how much, and where it lies. Its words stand above it."""

    label: str
    value: str
    style: str
    y: int
    width: int

    @property
    def text_y(self) -> int:
        """The baseline of the words above the bar."""
        return self.y - 6


class PairOfBars(NamedTuple):
    """Two bars on one scale, one below the other, with a sentence that says the same."""

    title: str
    description: str
    bars: list[Bar]
    height: int
    bar_height: int = _BAR_HEIGHT
    width: int = WIDTH


def own_beside_median(title: str, own: int | None, median: int | None) -> PairOfBars | None:
    """Draw own pence beside the group's median; None unless both are known and neither is below zero."""
    if own is None or median is None or min(own, median) < 0 or not max(own, median):
        return None
    if own == median:
        description = f"Yours and the group's median are both {pence_as_pounds(own)}."
    else:
        than = "above" if own > median else "below"
        apart = pence_as_pounds(abs(own - median))
        description = (
            f"Yours is {pence_as_pounds(own)}, {apart} {than} the group's median of {pence_as_pounds(median)}."
        )
    longest = max(own, median)
    bars = [
        Bar(
            label,
            pence_as_pounds(pence),
            style,
            y=24 + index * _ROW_HEIGHT,
            width=max(2, (WIDTH - 2) * pence // longest),
        )
        for index, (label, pence, style) in enumerate(
            [("You", own, "bar-own"), ("Group's median", median, "bar-group")]
        )
    ]
    return PairOfBars(title, description, bars, height=len(bars) * _ROW_HEIGHT + 4)


class StackPart(NamedTuple):
    """One part of a stacked bar: its letter, label, pence, share of the whole, and where it lies."""

    letter: str
    label: str
    pence: int
    percent: int
    tone: str
    x: int
    width: int

    @property
    def middle(self) -> int:
        return self.x + self.width // 2

    @property
    def has_room(self) -> bool:
        """Whether the letter fits above the part. If not, the table still names it."""
        return self.width >= 12


class Stack(NamedTuple):
    """One bar made of parts that fill its whole width."""

    title: str
    description: str
    parts: list[StackPart]
    width: int = WIDTH


def edges(amounts: Sequence[int], whole: int) -> list[tuple[int, int]]:
    """Return where each amount starts and how wide it is, on a bar that stands for ``whole`` pence.

    It rounds the edges, not the widths, so that the parts meet without a gap.
    """
    at = [WIDTH * pence // whole for pence in accumulate(amounts, initial=0)]
    return [(start, end - start) for start, end in pairwise(at)]


def percent_of(pence: int, whole: int) -> int:
    """The share of the whole in per cent, rounded half up."""
    return (200 * pence + whole) // (2 * whole)


def stacked(title: str, amounts: Sequence[tuple[str, int, str]]) -> Stack | None:
    """Draw labels, pence and tones as one bar, without sums of zero or less; None if nothing is left."""
    drawn = [amount for amount in amounts if amount[1] > 0]
    whole = sum(pence for _, pence, _ in drawn)
    if not whole:
        return None
    parts: list[StackPart] = []
    places = edges([pence for _, pence, _ in drawn], whole)
    for index, ((label, pence, tone), place) in enumerate(zip(drawn, places, strict=True)):
        percent = percent_of(pence, whole)
        parts.append(StackPart(ascii_uppercase[index % 26], label, pence, percent, f"c-{tone}", *place))
    shares = ", ".join(f"{part.letter} {part.label} {part.percent} %" for part in parts)
    return Stack(title, f"Of all drawn: {shares}.", parts)


class UprightBar(NamedTuple):
    """One upright bar: its label, how much, and where it lies."""

    label: str
    value: str
    x: int
    y: int
    width: int
    height: int

    @property
    def middle(self) -> int:
        return self.x + self.width // 2


class UprightBars(NamedTuple):
    """Upright bars on one scale with a line across them, and a sentence that says the same.

    The figures stand below the ``foot`` of the bars, where the line cannot cross them.
    """

    title: str
    description: str
    columns: list[UprightBar]
    line_y: int
    foot: int = 176
    width: int = WIDTH
    height: int = 214


def columns_and_line(title: str, amounts: Sequence[tuple[str, int]], across: tuple[str, int]) -> UprightBars:
    """Draw one or more labels and pence as bars, with the line of another sum across them; no sum is below zero."""
    label, line = across
    frame = UprightBars(title, "", [], 0)
    room, most = frame.foot - 8, max([line, *(pence for _, pence in amounts)]) or 1
    slot = WIDTH // len(amounts)
    columns = []
    for index, (name, pence) in enumerate(amounts):
        height = room * pence // most
        columns.append(UprightBar(name, _round_pounds(pence), index * slot + 6, frame.foot - height, slot - 12, height))
    said = ", ".join(f"{column.label} {column.value}" for column in columns)
    description = f"{said}. Across them: {label}, {_round_pounds(line)}."
    return frame._replace(description=description, columns=columns, line_y=frame.foot - room * line // most)


def _round_pounds(pence: int) -> str:
    return f"£{divide_half_up(pence, 100):,}"
