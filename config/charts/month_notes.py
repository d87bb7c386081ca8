"""The reasons above the one or two odd months."""

from typing import TYPE_CHECKING

from config.charts.marks import Box, Words
from config.charts.text import fitted, width_of

if TYPE_CHECKING:
    from config.charts.months import _Layout

MOST_NOTES = 2
_LINE, _ABOVE = 15, 5


def notes_above(layout: "_Layout") -> list[Words]:
    """At most two reasons, of the dearest months that have one; none lies on a column, the line or the other."""
    odd = [index for index, column in enumerate(layout.columns) if column.note]
    dearest = sorted(odd, key=lambda index: -layout.columns[index].total)[:MOST_NOTES]
    placed: list[Words] = []
    for index in sorted(dearest):
        words = _placed(layout, index)
        while any(words.box.meets(other.box, 4) for other in placed):
            words = words._replace(y=words.y - _LINE)
        if words.box.y >= 0:
            placed.append(words)
    return placed


def _placed(layout: "_Layout", index: int) -> Words:
    """The reason as near above its column as columns and line leave room, within the columns' part of the picture."""
    text = fitted(layout.columns[index].note, layout.right, is_bold=True)
    half = width_of(text, is_bold=True) / 2
    middle = layout.first + (index + 0.5) * layout.slot
    x = max(half, min(middle, layout.right - half))
    top = min((box.y for box in _under(layout, x - half, x + half)), default=layout.y(0))
    return Words(x, top - _ABOVE, text, anchor="middle", is_bold=True)


def _under(layout: "_Layout", left: float, right: float) -> list[Box]:
    """What the words must stay above: the columns from left to right, and the line over them."""
    found: list[Box] = []
    for index, boxes in enumerate(layout.slices):
        start = layout.first + index * layout.slot
        if start + layout.slot <= left or start >= right:
            continue
        found += boxes.values()
        pence = layout.line[index]
        if pence is not None:
            half = layout.thickness / 2 + 1
            found.append(Box(start, layout.y(pence) - half, layout.slot, 2 * half))
    return found
