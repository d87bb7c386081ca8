"""The reasons above the one or two odd months."""

from collections.abc import Iterator
from itertools import pairwise
from typing import TYPE_CHECKING

from config.charts.marks import Box, Words
from config.charts.text import fitted, width_of

if TYPE_CHECKING:
    from config.charts.months import Layout

MOST_NOTES = 2
_LINE, _ABOVE = 15, 5
#: Edges as near as this meet, whatever they were added up of.
_TOUCHING = 0.1


def notes_above(layout: "Layout") -> list[Words]:
    """At most two reasons, of the dearest months that have one; none lies on a column, the line or the other.

    Months beside each other with the same reason share it.
    """
    odd = [index for index, column in enumerate(layout.columns) if column.note]
    dearest = sorted(odd, key=lambda index: -layout.columns[index].total)[:MOST_NOTES]
    placed: list[Words] = []
    for first, last in _shared(layout, sorted(dearest)):
        words = _placed(layout, first, last)
        while any(words.box.meets(other.box, 4) for other in placed):
            words = words._replace(y=words.y - _LINE)
        if words.box.y >= 0:
            placed.append(words)
    return placed


def _shared(layout: "Layout", odd: list[int]) -> list[tuple[int, int]]:
    """The months that a reason stands above, from the first to the last."""
    notes = {layout.columns[index].note for index in odd}
    if len(odd) == MOST_NOTES and len(notes) == 1 and odd[1] == odd[0] + 1:
        return [(odd[0], odd[1])]
    return [(index, index) for index in odd]


def _placed(layout: "Layout", first: int, last: int) -> Words:
    """The reason as near above its months as columns and line leave room, within the columns' part of the picture.

    It stands in the middle, unless a higher column beside them would lift it there: then it begins or ends with them.
    """
    text = fitted(layout.columns[first].note, layout.right - layout.left, is_bold=True)
    half = width_of(text, is_bold=True) / 2
    start, end = layout.first + first * layout.slot, layout.first + (last + 1) * layout.slot
    # Where the line goes up or down beside them, it takes half its thickness of their room.
    edge = _half_line(layout) if any(pence is not None for pence in layout.line) else 0
    places = (start + end) / 2, start + edge + half, end - edge - half
    middle, *aside = (_above(layout, first, last, text, x) for x in places)
    lowest = max(aside, key=lambda words: words.y)
    return lowest if lowest.y >= middle.y + _LINE else middle


def _above(layout: "Layout", first: int, last: int, text: str, middle: float) -> Words:
    half = width_of(text, is_bold=True) / 2
    x = max(layout.left + half, min(middle, layout.right - half))
    reach = max(half, (last - first + 1) * layout.slot / 2)
    top = min((box.y for box in _under(layout, x - reach, x + reach)), default=layout.y(0))
    return Words(x, top - _ABOVE, text, anchor="middle", is_bold=True)


def _under(layout: "Layout", left: float, right: float) -> list[Box]:
    """What the words must stay above: the columns from left to right, and the line over them."""
    found: list[Box] = []
    for index, boxes in enumerate(layout.slices):
        start = layout.first + index * layout.slot
        if start + layout.slot <= left + _TOUCHING or start >= right - _TOUCHING:
            continue
        found += boxes.values()
        if not layout.columns[index].slices:
            height = layout.untold_height
            found.append(Box(start, layout.y(0) - height, layout.slot, height))
        pence = layout.line[index]
        if pence is not None:
            half = _half_line(layout)
            found.append(Box(start, layout.y(pence) - half, layout.slot, 2 * half))
    return found + [box for box in _risers(layout) if box.right > left + _TOUCHING and box.x < right - _TOUCHING]


def _risers(layout: "Layout") -> Iterator[Box]:
    """Where the line goes up or down from one month to the next."""
    half = _half_line(layout)
    for index, (before, after) in enumerate(pairwise(layout.line), start=1):
        if before is not None and after is not None and before != after:
            top, bottom = sorted((layout.y(before), layout.y(after)))
            x = layout.first + index * layout.slot
            yield Box(x - half, top - half, 2 * half, bottom - top + 2 * half)


def _half_line(layout: "Layout") -> float:
    """How far the line reaches from its middle, with the hairline of the ground around it."""
    return layout.thickness / 2 + 1
