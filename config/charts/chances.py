"""The ways that something may go, as branches from one point: the likelier the thicker, over the months they take."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from config.charts.marks import Disc, Drawing, Frame, Mark, Stroke, Words
from config.charts.text import fitted

_ROW, _THICKEST = 38.0, 14.0


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
        height = _ROW * len(self.branches) + 2
        return Drawing(self.title, self.description, frame.width, height, tuple(self._marks(frame)))

    def _marks(self, frame: Frame) -> Iterator[Mark]:
        last = max(one.month for one in self.branches)
        left, right = 8.0, frame.width - 8.0
        bend = left + 26
        start = (left, _ROW * (len(self.branches) + 1) / 2 - 12)
        for index, one in enumerate(self.branches):
            y, thick = _ROW * (index + 1) - 12, max(1.5, round(_THICKEST * one.chance, 1))
            end = max(bend + 24, bend + (right - bend) * one.month / last)
            yield Stroke("accent", ((start, (bend, y), (end, y)),), thick)
            yield Disc(end, y, 4.5, "card", "ink", 2)
            chance = Words(bend + 2, y - thick / 2 - 5, one.chance_words, is_bold=True)
            yield chance
            room = frame.width - chance.box.right - 8
            yield Words(chance.box.right + 8, chance.y, fitted(one.words, room), "quiet")
        yield Disc(*start, 5, "ink")
