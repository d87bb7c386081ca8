"""The names beside the last month that is told, which stands above the sums: a stroke joins each to its slice.

So is the whole of that month, where it has a name, and the line across: the two are of one month, and stand together.

Tones that only other months have are named below, each beside a patch of its own.
"""

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, NamedTuple

from config.charts.marks import Bars, Box, Frame, Mark, Stroke, Words
from config.charts.scales import spread
from config.charts.text import width_of

if TYPE_CHECKING:
    from config.charts.months import Column, Layout, MonthsStacked

_LINE = 15.5
#: The paints of the two names that stand for no slice: the whole of the month, and the line across.
_WHOLE, _ACROSS = "accent", "ink"
#: How wide and high the patch is beside the name of a tone that the last month does not have.
PATCH = 8.5


class _Name(NamedTuple):
    """One name: the words in full and short, the sum ("" of a tone of other months), and its paint."""

    words: str
    short_words: str
    value: str
    paint: str

    @property
    def is_bold(self) -> bool:
        return self.paint in (_WHOLE, _ACROSS)

    def shown(self, frame: Frame) -> str:
        return self.short_words if frame.is_narrow else self.words


class Names(NamedTuple):
    """The names of one picture, and the column that they stand beside: its place, and its short name."""

    column: int
    head: str
    names: tuple[_Name, ...]

    def width(self, frame: Frame) -> float:
        """The room that the longest name takes with the widest sum, at the right of the picture."""
        names = max((width_of(name.shown(frame), is_bold=True) for name in self.names), default=0)
        values = max((width_of(name.value, is_bold=True) for name in self.names), default=0)
        return names + values + (6 if frame.is_narrow else 24)

    def marks(self, layout: "Layout") -> Iterator[Mark]:
        """Strokes, names and sums from the top down, none on another; above the sums, which month they are of."""
        if not self.names:
            return
        x, width = layout.bar(self.column)
        places = sorted((self._y(layout, name), index) for index, name in enumerate(self.names))
        left = layout.frame.width - self.width(layout.frame)
        lines = spread([y for y, _ in places], _LINE, 8 + _LINE, layout.bottom - 2)
        if self.head:
            yield Words(layout.frame.width, lines[0] - _LINE + 4.5, self.head, "quiet", "end")
        for (at, index), y in zip(places, lines, strict=True):
            name = self.names[index]
            if name.value:
                start = layout.right if name.paint == _ACROSS else x + width
                yield Stroke(name.paint, (((start, at), (left - 3, y)),), 2)
            else:
                yield Bars(name.paint, (Box(left - 3 - PATCH, y - PATCH / 2, PATCH, PATCH),))
            yield Words(left, y + 4.5, name.shown(layout.frame), is_bold=name.is_bold)
            if name.value:
                yield Words(layout.frame.width, y + 4.5, name.value, anchor="end", is_bold=name.is_bold)

    def _y(self, layout: "Layout", name: _Name) -> float:
        """Where its stroke begins: in its slice, at the top of all, or on the line; without a sum it stands lowest."""
        if not name.value:
            return layout.bottom
        if name.paint == _ACROSS:
            return layout.y(layout.line[self.column] or 0)
        if name.paint == _WHOLE:
            return min(box.y for box in layout.slices[self.column].values())
        box = layout.slices[self.column][name.paint]
        return box.y + box.height / 2


def names_beside(columns: Sequence["Column"], line: Sequence[int | None], what: "MonthsStacked") -> Names:
    """The names for the last column with slices, and for what only others have; none if no column has any."""
    told = [index for index, column in enumerate(columns) if any(column.slices.values())]
    if not told:
        return Names(0, "", ())
    if not what.tells_last:
        found = [group for group in what.groups if any(column.slices.get(group.tone) for column in columns)]
        return Names(told[-1], "", tuple(_Name(group.words, group.short_words, "", group.tone) for group in found))
    last = columns[told[-1]]
    is_whole = max(abs(pence) for pence in last.slices.values()) >= 100_00
    names = [
        _Name(group.words, group.short_words, _sum(last.slices[group.tone], is_whole), group.tone)
        for group in what.groups
        if last.slices.get(group.tone)
    ]
    names += [
        _Name(group.words, group.short_words, "", group.tone)
        for group in what.groups
        if not last.slices.get(group.tone) and any(column.slices.get(group.tone) for column in columns)
    ]
    if what.whole:
        names.append(_Name(what.whole, what.whole, _sum(last.total, is_whole), _WHOLE))
    across = line[told[-1]]
    if across is not None:
        names.append(_Name(what.across.words, what.across.words, _sum(across, is_whole), _ACROSS))
    return Names(told[-1], last.short_words, tuple(names))


def _sum(pence: int, is_whole: bool) -> str:
    """A sum in pounds, without the sign that the axis has; large ones without their pence."""
    sign, amount = "−" if pence < 0 else "", abs(pence)
    return f"{sign}{(amount + 50) // 100:,}" if is_whole else f"{sign}{amount // 100:,}.{amount % 100:02}"
