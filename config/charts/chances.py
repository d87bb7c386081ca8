"""The ways that something may go, as branches from one point: the likelier the thicker, over the months they take."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from config.charts.marks import Disc, Drawing, Frame, Mark, Stroke, Words
from config.charts.text import fitted, width_of

_ROW, _TOP, _THICKEST = 34.0, 12.0, 14.0


class Branch(NamedTuple):
    """One way that it may go: its chance from 0 to 1, the month in which it ends, and words for both."""

    chance: float
    month: int
    chance_words: str
    words: str


@dataclass(frozen=True)
class ChancesTree:
    """The branches in the order of their months, at least one."""

    title: str
    branches: tuple[Branch, ...]

    @property
    def description(self) -> str:
        return " ".join(f"{one.chance_words}: {one.words}." for one in self.branches)

    def draw(self, frame: Frame) -> Drawing:
        """The picture of them."""
        height = _TOP + _ROW * len(self.branches)
        return Drawing(self.title, self.description, frame.width, height, tuple(self._marks(frame)))

    def _marks(self, frame: Frame) -> Iterator[Mark]:
        last = max(one.month for one in self.branches)
        chances = max(width_of(one.chance_words, is_bold=True) for one in self.branches) + 8
        left, right = 8.0, frame.width - chances - 6
        bend = left + 22
        start = (left, _TOP + _ROW * (len(self.branches) - 1) / 2 + _ROW / 2)
        for index, one in enumerate(self.branches):
            y = _TOP + _ROW * index + _ROW / 2
            end = max(bend + 24, bend + (right - bend) * one.month / last)
            line = (start, (bend, y), (end, y))
            yield Stroke("accent", (line,), max(1.5, round(_THICKEST * one.chance, 1)))
            yield Disc(end, y, 4.5, "card", "ink", 2)
            yield Words(end + 10, y + 4.5, one.chance_words, is_bold=True)
            room = frame.width - bend - 2
            above = y - max(1.5, _THICKEST * one.chance) / 2 - 4
            yield Words(bend + 2, above, fitted(one.words, room), "quiet")
        yield Disc(*start, 5, "ink")
